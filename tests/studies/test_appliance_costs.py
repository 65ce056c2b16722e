"""What an appliance costs is the difference of two runs; what meets on the inverter, geometry."""

from __future__ import annotations

from itertools import pairwise

import pytest

from flatodds import Scenario, parse_scenario, simulate
from flatodds.catalog.called import called
from flatodds.report.explain_words import explain_text
from flatodds.studies.appliance_costs import Cost, appliance_costs, cost_rows, dropped
from flatodds.studies.overloads import worst_meetings

pytestmark = pytest.mark.usefixtures("estimate_taken_for_exact")

TEXT = """
title = "Hills"
bank.chemistry = "lithium"
bank.volts = 12
bank.amp_hours = 390
array.watts = 1050
inverter.watts = 1000
household = { pattern = "light", heat = "gas furnace" }
uncertain = { sun_frac = 0, use_frac = 0 }
stay = [{ place = "36.10, -79.95", first_day = "10 Dec", nights = 10 }]

[[appliance]]
use = "laptop"
watts = 120

[[appliance]]
use = "tool_or_ebike_charging"
need = "can-wait"

[[appliance]]
name = "pump of mine"
watts = 60
side = "dc"
minutes = 200
times_a_day = 2
window = ["6-22"]
"""
DROP = """
[[appliance]]
use = "{}"
times_a_day = 0
"""
MEMBERS = 64
SEED = 3


@pytest.fixture(scope="module")
def home() -> Scenario:
    return parse_scenario(TEXT, "home.toml")


@pytest.fixture(scope="module")
def costs(home: Scenario) -> list[Cost]:
    return appliance_costs(home, members=MEMBERS, seed=SEED)


def lived(text: str) -> tuple[float, float]:
    """Share of stays that run flat, and energy asked for a day [kWh]."""
    outcomes = simulate(parse_scenario(text, "home.toml"), members=MEMBERS, seed=SEED)
    data = outcomes.dataset.sel(case="as_estimated")
    wh = data["demand_wh"].sum("period") + data["spare_served_wh"].sum("period")
    return float((data["hours_flat"].sum("period") > 0.0).mean()), float(wh.mean()) / 10.0 / 1000.0


WITHOUT = {
    "compressor_fridge_12v": TEXT + DROP.format("compressor_fridge_12v"),
    "led_lights": TEXT + DROP.format("led_lights"),
    "laptop": TEXT.replace("watts = 120\n", "times_a_day = 0\n"),
    "tool_or_ebike_charging": TEXT.replace('need = "can-wait"', "times_a_day = 0"),
    "pump of mine": TEXT.replace("times_a_day = 2", "times_a_day = 0"),
}


@pytest.mark.parametrize("name", list(WITHOUT))
def test_a_cost_is_the_difference_of_two_runs(name: str, home: Scenario, costs: list[Cost]) -> None:
    odds, kwh = lived(TEXT)
    fewer, less = lived(WITHOUT[name])
    cost = next(one for one in costs if one.name == name)
    assert cost.odds_change["estimate"] == pytest.approx(fewer - odds, abs=1e-12)
    assert cost.kwh_day == pytest.approx(kwh - less, rel=1e-6)
    assert cost.kwh_day > 0.0
    assert cost.bank_frac == pytest.approx(1000.0 * (kwh - less) / home.bank.capacity_wh, rel=1e-6)


def test_something_is_at_stake_and_the_most_telling_comes_first(costs: list[Cost]) -> None:
    changes = [cost.odds_change["estimate"] for cost in costs]
    assert changes[0] < -0.1
    assert all(a <= b for a, b in pairwise(changes))
    for cost in costs:
        change = cost.odds_change
        assert change["low"] <= change["estimate"] <= change["high"]


def test_all_but_the_heat_are_listed_once(home: Scenario, costs: list[Cost]) -> None:
    names = [use.name for use in home.appliances]
    assert {"furnace_blower"} == set(names) - {cost.name for cost in costs}
    assert len(costs) == len(names) - 1


def test_only_what_is_dropped_goes(home: Scenario) -> None:
    for use in home.appliances:
        if use.kind != "furnace":
            left = dropped(home, use.name).appliances
            assert left == tuple(one for one in home.appliances if one.name != use.name)


# --- too much at once -----------------------------------------------------------------------

BARE = """
bank = { chemistry = "ideal", volts = 12, amp_hours = 500 }
array.watts = 100
inverter = { watts = 2000, surge_ratio = 2, hours_on = 24 }
household = { pattern = "none", heat = "none" }
stay = [{ place = "36.10, -79.95", first_day = "10 Dec", nights = 100 }]
"""
THING = """
[[appliance]]
name = "{}"
watts = {}
side = "ac"
minutes = {}
times_a_day = 1
times_sd = 0
window = ["{}"]
surge_ratio = {}
"""


def test_two_meet_as_often_as_geometry_says() -> None:
    """Starts uniform in two hours, runs of 9 and 6 minutes: 1 - ((W-9)^2 + (W-6)^2) / 2W^2."""
    text = BARE + THING.format("coffee", 1000, 9, "7-9:09", 1)
    text += THING.format("microwave", 1050, 6, "7-9:06", 1)
    (meeting,) = worst_meetings(parse_scenario(text, "home.toml"), seed=SEED)
    chance = 1.0 - (111.0**2 + 114.0**2) / (2.0 * 120.0**2)
    assert set(meeting.names) == {"coffee", "microwave"}
    assert meeting.watts == 2050.0
    assert not meeting.starting
    spread = (chance * (1.0 - chance) / 12800.0) ** 0.5
    assert meeting.days_frac == pytest.approx(chance, abs=3.3 * spread)


def test_alone_starting_and_never() -> None:
    text = BARE + THING.format("oven", 2100, 30, "17-19", 1)
    text += THING.format("pump", 900, 30, "7-9", 5)
    text += THING.format("lamp", 100, 30, "7-9", 1)
    alone, starting = worst_meetings(parse_scenario(text, "home.toml"), seed=SEED)
    assert (alone.names, alone.watts, alone.starting) == (("oven",), 2100.0, False)
    assert (starting.names, starting.watts, starting.starting) == (("pump",), 4500.0, True)
    assert alone.days_frac == starting.days_frac == 1.0
    apart = BARE + THING.format("a", 1500, 30, "7-9", 1) + THING.format("b", 1500, 30, "9-11", 1)
    assert worst_meetings(parse_scenario(apart, "home.toml"), seed=SEED) == []


COOLED = """
[cooling]
unit = "rooftop_13500"
soft_start = true
hours = ["12-18"]
"""


HOT = "monthly_temp_c = [12, 14, 17, 21, 26, 31, 36, 35, 30, 23, 16, 11]"
JULY = BARE.replace("volts = 12, amp_hours = 500", "volts = 48, amp_hours = 15000").replace(
    'first_day = "10 Dec", nights = 100', f'first_day = "1 Jul", nights = 28, {HOT}'
)


def overloaded_days(text: str) -> float:
    """Share of days with an hour of overload, where no day can have two, by a run."""
    outcomes = simulate(parse_scenario(text, "home.toml"), members=128, seed=SEED)
    hours = outcomes.dataset["hours_overload"].sel(case="as_estimated").to_numpy()
    return float(hours.sum()) / 128.0 / 28.0


def test_beside_an_air_conditioner_that_cools_then() -> None:
    """1,350 W with 1,050 W are more than 2,000 W, on days on which it cools in that hour;
    2,900 W for its start and 1,500 W are more than 4,000 W for seconds. As a run counts them."""
    text = JULY + THING.format("at noon", 1050, 60, "12-13", 1)
    text += THING.format("in the morning", 1050, 6, "7-9", 1) + COOLED
    (meeting,) = worst_meetings(parse_scenario(text, "home.toml"), seed=SEED)
    assert meeting.names == ("at noon", "rooftop_13500")
    assert 2400.0 <= meeting.watts < 2900.0  # more than its label on the hottest day
    assert not meeting.starting
    assert 0.5 < meeting.days_frac < 1.0
    assert meeting.days_frac == pytest.approx(overloaded_days(text), abs=1e-9)
    strong = text.replace("watts = 2000, surge_ratio = 2", "watts = 3000, surge_ratio = 1.3")
    start, hot = worst_meetings(parse_scenario(strong, "home.toml"), seed=SEED)
    assert (start.watts, start.starting) == (3950.0, True)
    assert not hot.starting  # what heat takes off 3,000 W, and the unit draws more then
    assert start.days_frac + hot.days_frac == pytest.approx(overloaded_days(strong), abs=1e-9)
    row = {"names": start.names, "watts": 3950.0, "starting": True, "days_frac": 1.0}
    assert "it cools in an hour in which" in " ".join(explain_text([], [row], members=64).split())


def test_what_heat_takes_off_the_rating_counts_in_its_hours() -> None:
    """1,850 W fit an inverter of 2,000 W up to a cabin of 38.6 C (0.55 % a kelvin above 25 C).

    Runs that fill their hour: the days of the table are those a run counts, to the day; in
    December there are none.
    """
    pair = THING.format("a", 950, 60, "15-16", 1) + THING.format("b", 900, 60, "15-16", 1)
    (meeting,) = worst_meetings(parse_scenario(JULY + pair, "home.toml"), seed=SEED)
    assert (meeting.names, meeting.watts, meeting.starting) == (("a", "b"), 1850.0, False)
    assert 0.02 < meeting.days_frac < 0.98
    assert meeting.days_frac == pytest.approx(overloaded_days(JULY + pair), abs=1e-9)
    assert worst_meetings(parse_scenario(BARE + pair, "home.toml"), seed=SEED) == []
    (alone,) = worst_meetings(
        parse_scenario(JULY + THING.format("c", 1850, 60, "15-16", 1), "home.toml"), seed=SEED
    )
    assert alone.names == ("c",)
    assert alone.days_frac == meeting.days_frac


def test_the_air_conditioner_is_dropped_like_any_other() -> None:
    """What it costs is the difference of two runs, and it costs most in a July of 40 C."""
    words = "monthly_temp_c = [12, 14, 17, 21, 26, 31, 34, 33, 30, 23, 16, 11]"
    text = TEXT.replace('first_day = "10 Dec"', f'first_day = "10 Jul", {words}')
    text = text.replace("inverter.watts = 1000", "inverter.watts = 3000") + COOLED
    scenario = parse_scenario(text, "home.toml")
    cost = next(
        one
        for one in appliance_costs(scenario, members=MEMBERS, seed=SEED)
        if one.name == "rooftop_13500"
    )
    (odds, kwh), (bare, less) = lived(text), lived(text.replace(COOLED, ""))
    assert cost.kwh_day == pytest.approx(kwh - less, rel=1e-6)
    assert cost.kwh_day > 1.0
    assert cost.odds_change["estimate"] == pytest.approx(bare - odds, abs=1e-12)


# --- words --------------------------------------------------------------------------------


@pytest.mark.parametrize("plain", [False, True])
def test_words_fit_eighty_columns(costs: list[Cost], plain: bool) -> None:
    rows = cost_rows(costs)
    worst = {"estimate": -1.0, "low": -1.0, "high": -0.995}
    rows.append({"name": "ä" * 90, "kwh_day": 123.4, "bank_frac": 9.9, "odds_change": worst})
    meeting = {"names": ("x" * 50, "y"), "watts": 12345.0, "starting": True, "days_frac": 1.0}
    text = explain_text(rows, [meeting], members=512, kept=["furnace_blower"], plain=plain)
    assert max(len(line) for line in text.split("\n")) <= 80
    assert text.isascii()
    assert "furnace blower" in text
    assert "512" in text
    assert "Safety" in text
    assert "-0.0" not in text
    for cost in costs:
        assert called(cost.name) in text


def test_a_plus_is_explained_where_there_is_one() -> None:
    for estimate, told in ((0.02, True), (0.0, False), (-0.02, False)):
        change = {"estimate": estimate, "low": -0.1, "high": 0.1}
        row = {"name": "pump", "kwh_day": 0.1, "bank_frac": 0.1, "odds_change": change}
        assert ("another hour" in explain_text([row], [], members=64)) is told


def test_an_empty_household_says_so() -> None:
    empty = parse_scenario(BARE, "home.toml")
    assert appliance_costs(empty, members=MEMBERS) == []
    assert worst_meetings(empty) == []
    assert explain_text([], [], members=64).split() == ["No", "appliance", "can", "be", "dropped."]
