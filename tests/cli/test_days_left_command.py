"""The command `days-left` as people type it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from flatodds.cli.app import main
from flatodds.report.days_left_words import chance_cell, lasts_sentence

pytestmark = pytest.mark.end

Capture = pytest.CaptureFixture[str]

SCENARIO = """title = "Short stay"
bank.chemistry = "lithium"
bank.volts = 12
bank.amp_hours = 100
array.watts = 200
household.pattern = "light"

[[stay]]
place = "36.10, -79.95"
first_day = "20 Nov"
nights = 6
"""


def run(folder: Path, *more: str) -> int:
    file = folder / "my.toml"
    file.write_text(SCENARIO, encoding="utf-8")
    common = ("--out", str(folder), "--members", "64", "--nights", "5", "-q")
    return main(["days-left", str(file), *common, *more])


def test_answer_and_folder(tmp_path: Path, capsys: Capture) -> None:
    more = ("--charge", "50", "--from", "24 Nov", "--lately", "dull", "--without", "laptop")
    assert run(tmp_path, *more) == 0
    shown = capsys.readouterr().out
    assert "50 % as 24 Nov begins" in shown
    assert "the last 3 days were dull" in shown
    assert "Not a forecast" in shown
    assert "Without laptop:" in shown
    assert all(len(line) <= 80 for line in shown.splitlines()[:-1])
    folder = tmp_path / "short-stay-days-left"
    names = sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*.*"))
    assert names == [
        "figures/dawn.png",
        "figures/dawn.svg",
        "figures/through.png",
        "figures/through.svg",
        "result.nc",
        "summary.json",
        "tables/nights.csv",
    ]
    assert run(tmp_path, *more, "--json") == 0
    printed = json.loads(capsys.readouterr().out)
    assert printed == json.loads((folder / "summary.json").read_text(encoding="utf-8"))
    assert len(printed["through"]) == len(printed["dawn_charge_frac"]["p50"]) == 5


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (("--charge", "140"), "140 % is outside 0 to 100"),
        (("--charge", "0.62"), "--charge 62"),
        (("--charge", "50", "--lately", "wet"), "dull, mixed, clear"),
        (("--charge", "50", "--sun-lately", "1;2"), "no list of numbers"),
        (("--charge", "50", "--sun-lately", "1,99"), "99 kWh/m2 is outside"),
        (("--charge", "50", "--sun-lately", "1", "--lately", "dull"), "not both"),
        (("--charge", "50", "--without", "toaster"), "There are:"),
        (("--charge", "50", "--from", "soon"), "soon"),
        ((), "--charge"),
    ],
)
def test_refusals(tmp_path: Path, capsys: Capture, more: tuple[str, ...], words: str) -> None:
    assert run(tmp_path, *more) == 2
    shown = capsys.readouterr()
    assert words in " ".join(shown.err.split())
    assert shown.out == ""


@pytest.mark.parametrize(
    ("lasts", "words"),
    [
        (
            (4, 9, 20),
            "it lasts 9 nights or more; 1 time in 10 only 4; 1 time in 10, 20 ",
        ),
        ((4, 9, None), "1 time in 10, more than were looked ahead"),
        ((7, None, None), "Most often it lasts the 30 nights looked ahead; 1 time in 10 only 7."),
        ((None, None, None), "More than 9 times in 10 it lasts all 30 nights"),
        ((0, 0, 3), "before the first night is over"),
    ],
)
def test_lasting_in_words(lasts: tuple[int | None, ...], words: str) -> None:
    assert words in lasts_sentence(dict(zip(("p10", "p50", "p90"), lasts, strict=True)), 30)


def test_chances_are_never_none_or_all() -> None:
    sure = {"estimate": 1.0, "low": 0.99, "high": 1.0}
    assert chance_cell(sure, "64 simulated spells") == "all of 64 simulated spells"
    near = {"estimate": 0.995, "low": 0.98, "high": 0.9999}
    assert chance_cell(near, "") == "more than 99 of 100 (98 to >99)"
    rare = {"estimate": 0.004, "low": 0.001, "high": 0.012}
    assert chance_cell(rare, "") == "4 of 1,000 (1 to 12)"
