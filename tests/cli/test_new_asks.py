"""`flatodds new`: ten questions on a terminal, or the same answers as options."""

from __future__ import annotations

import io
from pathlib import Path

import pytest

from flatodds.cli import ask
from flatodds.cli.app import main
from flatodds.scenario import load_scenario
from flatodds.scenario.filled import QUESTIONS, default_answer, filled
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
        monkeypatch, "van", "nickel", "lithium", "", "?", "280", "440", "1200", "",
        "Bishop", "30 miles S of Moab, UT", "soon", "10 Nov", "41",
    )  # fmt: skip
    file = tmp_path / "my.toml"
    assert main(["new", str(file)]) == 0
    err = capsys.readouterr().err
    assert "is not offered" in err
    assert "side by side are 200" in err
    assert "Bishop, TX" in err
    assert 'as in "20 Sep"' in err
    scenario = load_scenario(file)
    assert (scenario.home, scenario.bank.amp_hours, scenario.stays[0].nights) == ("van", 280, 41)
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


def test_every_question_is_a_line_of_the_starter() -> None:
    for question in QUESTIONS:
        assert default_answer(question.key)
        assert filled({question.key: default_answer(question.key)})
