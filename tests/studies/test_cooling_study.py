"""How much cooling a rig holds: its ways, what each month says, and what is refused."""

from __future__ import annotations

import json

import numpy as np
import pytest
from jsonschema import Draft202012Validator

from flatodds import CoolingStudy, Scenario, UsageError, air_conditioning, parse_scenario, simulate
from flatodds.outcomes import study_schema
from flatodds.report.cooling_words import cooling_sentence, cooling_text, idle_sentence
from flatodds.report.figures_cooling import cooling_figure
from flatodds.studies.cooling import parse_months, with_months

pytestmark = pytest.mark.usefixtures("estimate_taken_for_exact")

TEXT = """
title = "Hot"
bank.chemistry = "lithium"
bank.volts = 12
bank.amp_hours = 600
array.watts = 2000
inverter.watts = 3000
household.pattern = "light"
uncertain.sun_frac = 0.0
uncertain.use_frac = 0.0

[cooling]
unit = "rooftop_13500"
soft_start = true
inside_wet_bulb_c = 18

[[stay]]
name = "low desert"
place = "33.10, -113.40"
first_day = "25 Jul"
nights = 12
monthly_temp_f = [56, 59, 65, 72, 81, 90, 95, 94, 88, 76, 64, 55]
"""


@pytest.fixture(scope="module")
def base() -> Scenario:
    return parse_scenario(TEXT, "x.toml")


@pytest.fixture(scope="module")
def found(base: Scenario) -> CoolingStudy:
    return air_conditioning(base, members=64)


def test_ways(found: CoolingStudy) -> None:
    names = [way.name for way in found.ways]
    assert names == [
        "no cooling",
        "by its rule",
        "by its rule + generator",
        "whenever hot",
        "whenever hot + generator",
    ]
    summary = json.loads(json.dumps(found.summary(), allow_nan=False))
    Draft202012Validator(study_schema("cooling")).validate(summary)
    none, rule, helped, hot, _ = summary["ways"]
    assert none["cooling_hours_day"] is None
    assert 0.0 < rule["cooling_hours_day"] < 24.0
    assert none["hot_hours_day"] > rule["hot_hours_day"] > helped["hot_hours_day"]
    assert helped["generator_hours_day"] > 0.0 == rule["generator_hours_day"]
    assert helped["held_frac"] >= rule["held_frac"]
    assert hot["odds_flat"]["estimate"] > rule["odds_flat"]["estimate"]
    # What it would be without cooling is what it is without cooling.
    assert rule["held_hours_day"] + rule["hot_hours_day"] == pytest.approx(
        none["hot_hours_day"], rel=1e-3
    )


def test_months_make_up_the_stay(found: CoolingStudy) -> None:
    for way in found.summary()["ways"]:
        assert [month["month"] for month in way["months"]] == [7, 8]
        assert sum(month["nights"] for month in way["months"]) == way["nights"] == 12
        for key in ("hot_hours_day", "cooling_hours_day", "generator_hours_day"):
            if way[key] is None:
                continue
            total = sum(month[key] * month["nights"] for month in way["months"])
            assert total == pytest.approx(way[key] * 12, abs=1e-6)
        worst = max(month["odds_flat"]["estimate"] for month in way["months"])
        assert way["odds_flat"]["estimate"] >= worst


def test_a_way_is_what_run_lives(base: Scenario, found: CoolingStudy) -> None:
    alone = simulate(base, members=64)
    data = found.dataset.sel(way="by its rule")
    for key in ("cooling_hours", "days_held", "hours_flat"):
        assert np.array_equal(data[key].to_numpy(), alone.dataset[key].to_numpy())
    part = alone.summary()["stays"][0]["cooling"]
    way = found.summary()["ways"][1]
    assert way["held_frac"] == pytest.approx(part["held_frac"])
    assert way["cooling_hours_day"] * 12 == pytest.approx(part["cooling_hours"]["mean"])


def test_own_generator_is_taken_away_and_kept(base: Scenario, found: CoolingStudy) -> None:
    own = base.with_changes({"generator": {"watts": 1200}})
    study = air_conditioning(own, unit="dc_7000", members=64)
    assert study.scenario.cooling is not None
    assert study.scenario.cooling.unit == "dc_7000"
    summary = study.summary()
    assert summary["generator_watts"] == 1200.0
    hours = [way["generator_hours_day"] for way in summary["ways"]]
    assert hours[1] == hours[2] == hours[3] == 0.0 < hours[4]  # it starts below the rule's line
    assert "hardly helps" in idle_sentence(summary)
    assert idle_sentence(found.summary()) == ""


def test_words_and_picture(found: CoolingStudy) -> None:
    summary = found.summary()
    sentence = cooling_sentence(summary, us=False)
    assert "Without a generator cooling runs" in sentence
    text = cooling_text(summary, "Hot", us=False)
    assert "Safety: heat kills" in text
    assert "gen h" in text
    assert all(len(line) <= 80 for line in text.splitlines())
    _, shown = cooling_figure(summary, us=False)
    assert len(shown.rows) == 8
    north = found.scenario.with_changes({"stay.0.monthly_temp_f": [30] * 12})
    cool = air_conditioning(north, members=64).summary()
    assert "nothing to cool" in cooling_sentence(cool, us=True)
    cooling_figure(cool, us=True)


def test_months() -> None:
    assert parse_months("may-sep") == (5, 9)
    assert parse_months("11 - February") == (11, 2)
    assert parse_months("jun") == (6, 6)
    for bad in ("ju", "0-3", "13", "may-", "a-b-c", "", "5-99999"):
        with pytest.raises(UsageError, match="months"):
            parse_months(bad)


def test_whole_months(base: Scenario) -> None:
    stay = with_months(base, (12, 2)).stays[0]
    assert (stay.first_day, stay.nights) == ((12, 1), 31 + 31 + 28)


def test_refusals(base: Scenario) -> None:
    without = base.with_changes({"cooling": None})
    with pytest.raises(UsageError, match=r"no air conditioner(.|\n)*rooftop_13500"):
        air_conditioning(without, members=64)
    with pytest.raises(UsageError, match="There is no 'fridge'"):
        air_conditioning(base, unit="fridge")
    with pytest.raises(UsageError, match="members"):
        air_conditioning(base, members=0)
