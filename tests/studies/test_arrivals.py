"""Arrivals round the year: the same years for every week, and what is said of them."""

from __future__ import annotations

import json

import numpy as np
import pytest

from flatodds import Scenario, UsageError, parse_scenario, simulate
from flatodds.report.arrivals_words import place_sentence
from flatodds.studies.arrivals import WEEKS, Arrivals, arrivals, day_text, season_of, spells

TEXT = """
title = "Two places"
bank.chemistry = "lithium"
bank.volts = 12
bank.amp_hours = 170
array.watts = 600
household.pattern = "light"
household.heat = "none"

[[stay]]
name = "north"
place = "44.90, -86.02"
first_day = "1 Jun"
nights = 3

[[stay]]
name = "south"
place = "-41.30, 174.80"
first_day = "1 Dec"
nights = 3
"""


@pytest.fixture(scope="module")
def base() -> Scenario:
    return parse_scenario(TEXT, "x.toml")


@pytest.fixture(scope="module")
def found(base: Scenario) -> Arrivals:
    return arrivals(base, nights=5, members=256)


def test_every_arrival_is_the_stay_that_run_lives(base: Scenario, found: Arrivals) -> None:
    """A week of arrival is bitwise what a scenario of that stay alone gives."""
    week = 2
    stay = {
        "name": "north",
        "place": "44.90, -86.02",
        "first_day": day_text(WEEKS[week]),
        "nights": 5,
        "arrival_charge_frac": 1.0,
    }
    alone = simulate(base.with_changes({"stay": [stay]}), members=256).dataset
    weighed = alone["case_weight"].to_numpy() > 0.0  # studies live only what the mixture holds
    hours = alone["hours_flat"].sum("period").to_numpy()[weighed]
    assert np.array_equal(found.lived[0][week].flat[:, :, 0], hours > 0.0)
    assert found.lived[0][week].flat.any()


def test_winter_is_worst_on_either_half_of_the_earth(found: Arrivals) -> None:
    north, south = json.loads(json.dumps(found.summary(), allow_nan=False))["places"]
    for place in (north, south):
        by_season = {row["season"]: row["odds_flat_mean"] for row in place["seasons"]}
        assert by_season["winter"] == max(by_season.values())
        assert by_season["winter"] > by_season["summer"] + 0.05
        assert place["weeks"][0]["first_day"] == "1 Jan"
        assert len(place["weeks"]) == 52
        chances = [week["odds_flat"]["estimate"] for week in place["weeks"]]
        assert place["weeks"][int(np.argmin(chances))]["first_day"] in place["best"]
        assert place["weeks"][int(np.argmax(chances))]["first_day"] not in place["best"]
    assert "from" in place_sentence(north, found.summary())


def test_dataset(found: Arrivals) -> None:
    data = found.dataset
    assert data["flat"].sizes["variant"] == 104
    assert data["place"].to_numpy().tolist().count("south") == 52


def test_days_and_seasons() -> None:
    assert [day_text(doy) for doy in (0, 30, 31, 58, 59, 364)] == [
        "1 Jan",
        "31 Jan",
        "1 Feb",
        "28 Feb",
        "1 Mar",
        "31 Dec",
    ]
    assert [season_of(doy, 40.0) for doy in (0, 59, 151, 243, 334)] == [
        "winter",
        "spring",
        "summer",
        "autumn",
        "winter",
    ]
    assert season_of(0, -40.0) == "summer"
    assert season_of(180, -40.0) == "winter"


def test_runs_of_good_weeks() -> None:
    good = np.zeros(52, dtype=bool)
    assert spells(good.tolist()) == []
    good[[50, 51, 0, 1, 10]] = True
    assert spells(good.tolist()) == [["12 Mar", "12 Mar"], ["17 Dec", "8 Jan"]]
    assert spells([True] * 52) == [["1 Jan", "24 Dec"]]


def test_who_comes_last_leaves_so_many_nights_later(found: Arrivals) -> None:
    """The day to be gone by counts from the last good arrival, past the new year too."""
    told = found.summary()
    days = [day_text(k) for k in range(365)]
    for place in told["places"]:
        assert len(place["leave_by"]) == len(place["good"])
        for (_, last), end in zip(place["good"], place["leave_by"], strict=True):
            assert days[(days.index(last) + told["nights"]) % 365] == end
    assert any(place["leave_by"] for place in told["places"])


def test_refusals(base: Scenario) -> None:
    with pytest.raises(UsageError) as caught:
        arrivals(base, nights=0, charge_frac=50.0, wanted_odds=0.0)
    assert len(caught.value.problems) == 3
