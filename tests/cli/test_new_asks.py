"""`flatodds new`: five questions on a terminal, or the same answers as options."""

from __future__ import annotations

import io
from collections.abc import Callable
from pathlib import Path

import pytest

from flatodds.cli import ask
from flatodds.cli.app import main
from flatodds.scenario import load_scenario, spoken
from flatodds.scenario.filled import QUESTIONS, default_answer, filled, usual_answer
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


def test_there_are_five_questions_and_each_has_its_lines_of_the_starter() -> None:
    assert len(QUESTIONS) == 5
    for question in QUESTIONS:
        usual = question.read(usual_answer(question))
        assert usual == {key: default_answer(key) for key in question.keys}
        assert filled(usual).count("\n") == starter().count("\n")


@pytest.mark.parametrize(
    ("answer", "day", "nights"),
    [
        ("20 Sep 45", "20 Sep", "45"),
        ("Sep 20, 45", "Sep 20", "45"),
        ("45 nights from 20 Sep", "20 Sep", "45"),
        ("from Dec 1st for 6 weeks", "Dec 1st", "42"),
        ("1 Dec to 28 Feb", "1 Dec", "89"),
        ("28 Feb until 28 Feb", "28 Feb", "365"),
        ("12-01, 30", "12-01", "30"),
    ],
)
def test_day_and_nights_are_told_apart(answer: str, day: str, nights: str) -> None:
    assert spoken.when(answer) == {"first_day": day, "nights": nights}


@pytest.mark.parametrize(
    ("answer", "kind", "volts", "amp_hours"),
    [
        ("AGM 12v 220ah", "agm", "12", "220"),
        ("24 V lithium of 280 amp-hours", "lithium", "24", "280"),
        ("LiFePO4 280Ah", "lithium", None, "280"),
        ("51.2 V 1,200 Ah", None, "48", "1200"),
        ("400", None, None, "400"),
        ("lead-acid 220", "lead-acid", None, "220"),
    ],
)
def test_a_battery_is_taken_apart(
    answer: str, kind: str | None, volts: str | None, amp_hours: str
) -> None:
    keys = ("bank.chemistry", "bank.volts", "bank.amp_hours")
    wanted = zip(keys, (kind, volts, amp_hours), strict=True)
    assert spoken.battery(answer) == {key: value for key, value in wanted if value is not None}


@pytest.mark.parametrize(
    ("answer", "watts"),
    [("2x400W", "800"), ("1.2 kW", "1200"), ("1,200 w panels", "1200"), ("3 * 100", "300")],
)
def test_watts_of_panels_are_added_up(answer: str, watts: str) -> None:
    assert spoken.panels(answer) == {"array.watts": watts}


@pytest.mark.parametrize(
    ("read", "answer"),
    [
        (spoken.when, "Sep 20"),
        (spoken.when, "45 nights"),
        (spoken.when, "1 Dec to spring"),
        (spoken.battery, "2 x 100 Ah"),
        (spoken.battery, "5 kWh"),
        (spoken.battery, "24 V"),
        (spoken.battery, "12 400"),
        (spoken.panels, "two"),
        (spoken.panels, "2 x 400 Ah"),
        (spoken.panels, "800 Wh"),
        (spoken.life, "light, boat"),
    ],
)
def test_an_unclear_answer_says_what_to_write(
    read: Callable[[str], dict[str, str]], answer: str
) -> None:
    with pytest.raises(spoken.UnclearError, match=r"Say|Write"):
        read(answer)
