"""What `check --explain` tells of a scenario, row by row."""

from __future__ import annotations

from dataclasses import replace

import pytest

from flatodds.scenario import Scenario, parse_scenario
from flatodds.scenario.charging_explain import charging_rows
from flatodds.scenario.cooling_explain import cooling_rows
from flatodds.scenario.explain import appliance_rows, assumed_rows, summary
from flatodds.scenario.habits import habit_words
from flatodds.scenario.limits_bank import low_v
from flatodds.scenario.parts import Assumed

RIG = """
bank = { chemistry = "lithium", volts = 12, amp_hours = 400 }
inverter.watts = 3000
household.pattern = "light"
"""
STAY = """
[[stay]]
place = "36.10, -79.95"
elevation_m = 300
first_day = "20 Nov"
nights = 10
"""


def made(more: str = "", array: str = "array.watts = 400", stay: str = "") -> Scenario:
    return parse_scenario(f"{RIG}{array}\n{more}\n{STAY}{stay}", "x.toml")


def row(scenario: Scenario, name: str) -> str:
    return dict(summary(scenario))[name]


def test_no_panels_in_words() -> None:
    assert row(made(array="array.watts = 0"), "Panels") == "none"


def test_charging_in_words() -> None:
    assert charging_rows(made()) == []
    rows = charging_rows(
        made(
            "generator = { watts = 2000, charger_amps = 40, hours = ['8-10', '17-20'] }\n"
            "drive = { amps = 30, every_days = 3 }\n"
            "hookup = { every_days = 9, charger_amps = 25 }\n"
        )
    )
    assert rows == [
        (
            "Generator",
            "2000 W (petrol), charges with 40 A from 25% to 80%, may run 8-10 and 17-20",
        ),
        ("Driving", "30 A, 10-12, on 3 days"),
        (
            "Hookup",
            "25 A, 18-8, on 1 day; loads and charger at most 2880 W of a pedestal of 30 A at 120 V",
        ),
    ]


def test_a_generator_that_may_never_run() -> None:
    """Hours of several stays are told once each."""
    told = charging_rows(made("generator = { watts = 2000 }", stay=STAY.replace("20 Nov", "1 Dec")))
    assert told[0][1].endswith("may run 7-22")
    silent = made("generator = { watts = 2000 }", stay="generator_hours = []\n")
    assert charging_rows(silent)[0][1].endswith("may run at no hour")


def test_cooling_in_words() -> None:
    assert cooling_rows(made()) == []
    unit = 'cooling = { unit = "rooftop_13500", inside_cool_c = 25'
    ((what, told),) = cooling_rows(made(unit + " }"))
    assert what == "Cooling"
    assert told.endswith("keeps 77 F (25 C) above 50 % charge")
    assert ": 1350 W running, " in told
    must = cooling_rows(made(unit + ', need = "must", hours = ["11-20"] }'))[0][1]
    assert must.endswith("whenever it is hot, in the hours 11-20")
    spare = cooling_rows(made(unit + ', need = "spare-sun", must_hours = ["12-14"] }'))[0][1]
    assert spare.endswith("on sun left over; at any charge in 12-14")


@pytest.mark.parametrize(
    ("array", "told"),
    [
        ("watts = 400", "400 W lying flat"),
        ("watts = 400, tilt_deg = 30", "400 W tilted 30 degrees towards the equator"),
        (
            "watts = 400, tilt_deg = 30, azimuth_deg = 200",
            "400 W tilted 30 degrees towards 200 degrees",
        ),
        (
            "watts = 400, aimed_times_a_day = 2",
            "400 W on the ground, aimed 2 times a day",
        ),
        (
            f"watts = 400, tilt_by_month = {[40.0 + at for at in range(12)]}",
            "400 W tilted 40 to 51 degrees by month towards the equator",
        ),
    ],
)
def test_panels_in_words(array: str, told: str) -> None:
    assert row(made(array=f"array = {{ {array} }}"), "Panels") == told


@pytest.mark.parametrize(
    ("location", "told"),
    [("inside", "inside"), ("bay", "in a vented bay"), ("outside", "outside")],
)
def test_where_the_battery_sits(location: str, told: str) -> None:
    changed = made().with_changes({"bank.location": location})
    assert row(changed, "Battery").endswith(f"lithium), sits {told}")


def test_the_rest_of_the_rows() -> None:
    found = made()
    assert row(found, "Inverter") == "3000 W, 2748 W in a home of 104 F (40 C)"
    cool = made().with_changes({"inverter.heat_loss_frac_per_c": 0.0})
    assert row(cool, "Inverter") == "3000 W"
    assert row(made().with_changes({"inverter.watts": 0.0}), "Inverter") == "none"
    assert row(found, "Household").startswith("light, about ")
    assert row(found, "Inside").endswith("by night, heated by gas furnace")
    cold = made().with_changes({"household.heat": "none"})
    assert row(cold, "Inside").endswith("by night, no heating")
    assert "Habits" not in dict(summary(found))
    assert row(found, "Stay").startswith("10 nights from 20 Nov, ")
    assert "984 ft" in row(found, "Stay")
    one = made().with_changes({"stay.0.nights": 1})
    assert row(one, "Stay").startswith("1 night from 20 Nov, ")


def test_heights_in_either_unit() -> None:
    stay = row(made('units = "us"'), "Stay")
    assert ", 984 ft (300 m)," in stay
    stay = row(made('units = "si"'), "Stay")
    assert ", 300 m (984 ft)," in stay
    nameless = made(stay="").with_changes({"stay.0.elevation_m": None})
    assert " ft" not in row(nameless, "Stay")


def test_appliances_and_assumptions() -> None:
    found = made()
    rows = dict(appliance_rows(found))
    assert set(rows) == {use.name for use in found.appliances}
    for use in found.appliances:
        assert rows[use.name].endswith(f", {use.need}")
    told = {key: value for key, value, _ in assumed_rows(found)}
    assert told["bank.arrival_charge_frac"] == "0.8"
    assert not [key for key in told if key.startswith("appliance.") and key.count(".") == 1]
    odd = replace(
        found,
        assumed=(
            Assumed("a", True, "w"),
            Assumed("b", False, "w"),
            Assumed("c", 12345.6, "w"),
            Assumed("d", 1234.56, "w"),
            Assumed("round", 10000.0, "w"),
            Assumed("minus", -10000.0, "w"),
            Assumed("e", None, "w"),
            Assumed("f", "", "w"),
            Assumed("g", 7, "w"),
            Assumed("appliance.lamp", 1, "w"),
            Assumed("appliance.lamp.watts", 1, "w"),
        ),
    )
    assert [(key, value) for key, value, _ in assumed_rows(odd)] == [
        ("a", "true"),
        ("b", "false"),
        ("c", "12346"),
        ("d", "1235"),
        ("round", "10000"),
        ("minus", "-10000"),
        ("e", "-"),
        ("f", "-"),
        ("g", "7"),
        ("appliance.lamp.watts", "1"),
    ]


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("people = 2", ""),
        ("people = 4", "4 people"),
        ('rise = "early"', "rise early"),
        ('rise = "late", people = 1', "1 person, rise late"),
        ('away_every_days = 3, away_hours = "8-17"', "away 9 h on one day in 3"),
        ('away_weekdays = ["Tue", "Sat"], away_hours = "9-17"', "away 8 h on Tue, Sat"),
    ],
)
def test_habits_in_words(words: str, told: str) -> None:
    text = RIG.replace(
        'household.pattern = "light"', f'household = {{ pattern = "light", {words} }}'
    )
    found = parse_scenario(f"{text}array.watts = 400\n{STAY}", "x.toml")
    assert habit_words(found.household.habits) == told
    assert dict(summary(found)).get("Habits", "") == told


def test_the_voltage_of_an_empty_bank_without_points_low_enough() -> None:
    bank = made().bank
    assert low_v(replace(bank, rest_points=((0.5, 13.0), (1.0, 13.6)))) == 13.0
    points = ((0.0, 10.0), (0.1, 12.0), (0.3, 13.0), (1.0, 14.0))
    assert low_v(replace(bank, rest_points=points)) == pytest.approx(12.5)


def test_a_stay_is_told_by_its_name_and_place() -> None:
    plain, named = row(made(), "Stay"), row(made(stay='name = "Back field"'), "Stay")
    assert "20 Nov, 36.10 N 79.95 W, " in plain
    assert "20 Nov, Back field, at 36.10 N 79.95 W, " in named
