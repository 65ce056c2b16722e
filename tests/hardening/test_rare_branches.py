"""Branches of the scenario's reader that ordinary files do not take."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from flatodds.errors import ScenarioError, UsageError
from flatodds.scenario import load_scenario, parse_scenario
from flatodds.scenario.places import PlaceError, clock_at
from flatodds.scenario.templates import demo
from flatodds.scenario.text import parsed
from flatodds.scenario.toml_text import toml_text

RIG = """bank.chemistry = "lithium"
bank.volts = 12
bank.amp_hours = 100
array.watts = 200
household.pattern = "none"
"""
STAY = '[[stay]]\nplace = "36.10, -79.95"\nfirst_day = "{}"\nnights = 2\n{}'


def refusal(text: str) -> str:
    with pytest.raises(ScenarioError) as caught:
        parse_scenario(text, "x.toml")
    return str(caught.value)


@pytest.mark.parametrize(
    ("day", "words"),
    [
        ("20 Sep 2026", 'Write "20 Sep"'),
        ("2026-09-20", "names a year"),
        ("31 Feb 2026", "stay.first_day"),
        ("99 Sep 2026", "stay.first_day"),
    ],
)
def test_days_with_a_year(day: str, words: str) -> None:
    assert words in refusal(RIG + STAY.format(day, ""))


@pytest.mark.parametrize(
    ("months", "words"),
    [
        ("[-1" + ", 3.0" * 11 + "]", "monthly_sun_kwh_m2.0 = -1; it must be from 0 to 15."),
        ("[" + "3.0, " * 11 + "15.5]", "monthly_sun_kwh_m2.11 = 15.5; it must be from 0 to 15."),
    ],
)
def test_an_entry_of_a_list_out_of_range(months: str, words: str) -> None:
    assert words in refusal(RIG + STAY.format("1 Dec", f"monthly_sun_kwh_m2 = {months}\n"))


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ('bank.amp_hours = "1,200 Ah"', "Write: bank.amp_hours = 1200"),
        ('bank.amp_hours = "about a hundred"', "Write the number alone"),
        ("bank.amp_hours = " + '"' + "9" * 40 + '"', "Write the number alone"),
        ("roof_m2 = -0.0", "above 0 and at most"),
        ('bank = "big"', "a table of values"),
    ],
)
def test_numbers_in_words(line: str, words: str) -> None:
    key = line.partition(" =")[0]
    kept = "".join(row for row in RIG.splitlines(keepends=True) if not row.startswith(key))
    assert words in refusal(f"{line}\n{kept}" + STAY.format("1 Dec", ""))


def test_a_number_too_long_to_read_is_refused() -> None:
    """Python refuses whole numbers of more than 4,300 digits with an error of its own."""
    with pytest.raises(ScenarioError, match="cannot be read"):
        parsed("a = " + "9" * 5000, "x.toml")
    with pytest.raises(ScenarioError, match="cannot be read"):
        parsed("a = " + "[" * 50_000, "x.toml")


def test_a_folder_that_cannot_be_listed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "glob", fail)
    with pytest.raises(ScenarioError, match=r"There is no file my\.toml"):
        load_scenario(tmp_path / "my.toml")


def test_no_such_demo() -> None:
    with pytest.raises(UsageError, match=r"no demo \\x1b"):
        demo("\x1b[2J")


def test_what_toml_cannot_say_is_a_programming_fault() -> None:
    assert toml_text({"a b": True, "c": {"d": [1, {"e": "f"}]}}).count("=") == 3
    with pytest.raises(TypeError, match="holds no set"):
        toml_text({"a": {1}})


@pytest.mark.parametrize("where", [(math.nan, 0.0), (0.0, math.inf)])
def test_nowhere(where: tuple[float, float]) -> None:
    with pytest.raises(PlaceError):
        clock_at(*where)
