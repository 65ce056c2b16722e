"""Stays follow one another through the year and over new year."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from flatodds.errors import ScenarioError
from flatodds.scenario import Scenario, parse_scenario, scenario_from
from flatodds.scenario.dates import day_text, month_and_day
from flatodds.scenario.templates import starter


def with_stays(*stays: tuple[str, int]) -> Scenario:
    """Starter with stays of (first day, nights) at one place."""
    document = parse_scenario(starter()).document
    document["stay"] = [
        {"place": "45.0, -93.0", "first_day": day, "nights": nights} for day, nights in stays
    ]
    return scenario_from(document)


def test_days_run_on_over_new_year() -> None:
    found = with_stays(("1 Dec", 20), ("31 Dec", 10), ("10 Jan", 5), ("1 Mar", 30)).stays
    assert [stay.start_day for stay in found] == [334, 364, 374, 424]
    assert [stay.first_doy for stay in found] == [334, 364, 9, 59]
    assert [stay.arrival_charge_frac for stay in found] == [None] * 4


def test_a_stay_may_begin_on_the_day_the_last_one_ends() -> None:
    assert with_stays(("1 Mar", 31), ("1 Apr", 3)).stays[1].start_day == 90


def test_a_whole_year_fits() -> None:
    assert with_stays(("1 Jul", 365)).stays[0].nights == 365


@pytest.mark.parametrize(
    ("stays", "free"),
    [
        ([("1 Mar", 31), ("31 Mar", 3)], "1 Apr"),
        ([("10 Jun", 5), ("1 Jan", 190)], "15 Jun"),
        ([("1 Jan", 365), ("2 Jan", 1)], "1 Jan"),
    ],
)
def test_overlap_and_disorder_are_refused(stays: list[tuple[str, int]], free: str) -> None:
    with pytest.raises(ScenarioError, match=f'may begin on "{free}" or later'):
        with_stays(*stays)


@pytest.mark.law
@given(st.integers(0, 364), st.lists(st.tuples(st.integers(0, 60), st.integers(1, 40)), max_size=5))
def test_stays_with_gaps_keep_their_distances(first: int, legs: list[tuple[int, int]]) -> None:
    stays: list[tuple[str, int]] = []
    starts: list[int] = []
    day = first
    for gap, nights in legs:
        day += gap if stays else 0
        if day + nights - first > 365:
            break
        starts.append(day)
        stays.append((day_text(*month_and_day(day)), nights))
        day += nights
    if stays:
        assert [stay.start_day for stay in with_stays(*stays).stays] == starts
