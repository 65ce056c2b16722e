"""`flatodds new`: five questions on a terminal, or the same answers as options."""

from __future__ import annotations

import io
from pathlib import Path

import pytest

from flatodds.cli import ask
from flatodds.cli.app import main
from flatodds.scenario import load_scenario
from flatodds.scenario.filled import QUESTIONS
from flatodds.scenario.templates import starter

Capture = pytest.CaptureFixture[str]


def typed(monkeypatch: pytest.MonkeyPatch, *lines: str) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO("".join(f"{line}\n" for line in lines)))
    monkeypatch.setattr(ask, "on_terminal", lambda: True)


def test_enter_all_the_way_is_the_starter(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    typed(monkeypatch, *[""] * len(QUESTIONS))
    assert main(["new", str(tmp_path / "my.toml")]) == 0
    assert (tmp_path / "my.toml").read_text() == starter()


def test_answers_stand_in_the_file_and_faults_are_asked_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Capture
) -> None:
    typed(
        monkeypatch,
        "Bishop", "30 miles S of Moab, UT", "soon", "40 Nov, 41", "10 Nov, 41 nights",
        "nickel 280", "?", "280 Ah", "2 x 600 W", "medium in a tent", "medium, van",
    )  # fmt: skip
    file = tmp_path / "my.toml"
    assert main(["new", str(file)]) == 0
    err = " ".join(capsys.readouterr().err.split())
    assert "is not offered" in err
    assert "side by side are 200" in err
    assert "Bishop, TX" in err
    assert 'as in "20 Sep, 45 nights"' in err
    assert '"40 Nov" does not exist' in err
    assert 'as in "light, van"' in err
    scenario = load_scenario(file)
    assert (scenario.home, scenario.bank.amp_hours, scenario.stays[0].nights) == ("van", 280, 41)
    assert (scenario.household.pattern, scenario.arrays[0].watts) == ("medium", 1200)
    assert (scenario.bank.chemistry, scenario.bank.volts) == ("lithium", 12)
    assert scenario.stays[0].latitude == pytest.approx(38.136, abs=0.01)
    assert scenario.title == "41 nights at 30 miles S of Moab, UT"
    assert "# trailer, van, cabin" in file.read_text()


@pytest.mark.parametrize("lines", [["van"], ["x"] * 9])
def test_ends_without_a_file_when_answers_end_or_never_fit(
    lines: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Capture
) -> None:
    typed(monkeypatch, *lines)
    assert main(["new", str(tmp_path / "my.toml")]) == 2
    assert "othing was written" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_options_answer_and_all_faults_come_at_once(tmp_path: Path, capsys: Capture) -> None:
    file = tmp_path / "my.toml"
    words = ["--volts", "13", "--place", "Bishop", "--nights", "many", "--panels", "1]"]
    assert main(["new", str(file), *words]) == 2
    err = capsys.readouterr().err
    for option in ("--volts:", "--place:", "--nights:", "--panels:"):
        assert option in err
    assert not file.exists()
    assert main(["new", str(file), "--volts", "24", "--place", "Bishop, CA", "--use", "heavy"]) == 0
    assert load_scenario(file).household.pattern == "heavy"


@pytest.mark.parametrize("title", ['quote " here', "back\\slash", "é ü", "# no comment", "a = 1"])
def test_any_title_comes_back(title: str, tmp_path: Path) -> None:
    file = tmp_path / "my.toml"
    assert main(["new", str(file), "--title", title]) == 0
    assert load_scenario(file).title == title


def test_a_demo_takes_no_answers(tmp_path: Path, capsys: Capture) -> None:
    words = ["--demo", "lakeshore-autumn", "--volts", "12"]
    assert main(["new", str(tmp_path / "my.toml"), *words]) == 2
    assert "Leave out" in capsys.readouterr().err


def test_a_refused_answer_is_told_without_the_key(tmp_path: Path, capsys: Capture) -> None:
    assert main(["new", str(tmp_path / "my.toml"), "--nights", "400", "--battery", "lead"]) == 2
    err = capsys.readouterr().err
    assert "--nights: 400; it must be" in err
    assert '--battery: "lead" is not offered' in err
    assert '\n  Write: "flooded"' in err


def test_what_was_understood_is_said(tmp_path: Path, capsys: Capture) -> None:
    words = ["--place", "Ajo, AZ", "--amp-hours", "200", "--panels", "400", "--use", "heavy"]
    assert main(["new", str(tmp_path / "my.toml"), *words]) == 0
    said = capsys.readouterr().out
    for part in ("200 Ah, 12 V, lithium", "400 W lying flat", "2000 W", "heavy, about", "Ajo, AZ"):
        assert part in said


def test_a_rig_may_have_no_panels(tmp_path: Path, capsys: Capture) -> None:
    file = tmp_path / "my.toml"
    assert main(["new", str(file), "--panels", "0"]) == 0
    assert "Panels    none" in capsys.readouterr().out
    assert load_scenario(file).arrays[0].watts == 0.0
    assert main(["check", str(file)]) == 0
    said = capsys.readouterr().out
    assert "Panels     none" in said
    assert "panels push" not in said
