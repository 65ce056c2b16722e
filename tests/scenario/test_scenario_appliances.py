"""A household's appliances: pattern, changes, additions, removals, and a plausible day."""

from __future__ import annotations

from typing import Any

import pytest

from flatodds.catalog import appliances, patterns
from flatodds.errors import ScenarioError
from flatodds.scenario import ApplianceUse, Scenario, parse_scenario, scenario_from
from flatodds.scenario.templates import starter
from flatodds.scenario.totals import appliance_wh, day_ah, day_wh


def household(pattern: str, *entries: dict[str, Any], **other: Any) -> Scenario:
    """Starter with another pattern and appliances."""
    document = parse_scenario(starter()).document
    document["household"] = {"pattern": pattern, **other}
    document["appliance"] = list(entries)
    return scenario_from(document)


def uses(scenario: Scenario) -> dict[str, ApplianceUse]:
    return {use.name: use for use in scenario.appliances}


def refused(*entries: dict[str, Any], **other: Any) -> list[str]:
    with pytest.raises(ScenarioError) as caught:
        household("light", *entries, **other)
    return [f"{problem.found} {problem.hint}" for problem in caught.value.problems]


@pytest.mark.validation
@pytest.mark.parametrize("pattern", ["light", "medium", "heavy"])
def test_a_mean_day_lies_in_the_pattern_s_band(pattern: str) -> None:
    # Bands across households at 25 C inside, AC side over 0.90: own sums over random days.
    scenario = household(pattern)
    low, high = patterns()[pattern].band_ah
    assert low < day_ah(day_wh(scenario.appliances, scenario.inverter)) < high
    assert not any("households use" in caution.found for caution in scenario.cautions)


def test_the_light_day_by_hand() -> None:
    scenario = household("light")
    by_hand = {
        "standby_detectors": 14 * 24,
        "led_lights": 25 * 4.5,
        "water_pump": 70 * 14 / 60,
        "phones_tablets": 15 * 1.5 * 2,
        "laptop": 55 * 0.5,
        "compressor_fridge_12v": 24 * 21,
        "furnace_blower": 0,
    }
    found = {name: appliance_wh(use) for name, use in uses(scenario).items()}
    assert found == pytest.approx(by_hand)
    assert day_wh(scenario.appliances, scenario.inverter) == pytest.approx(sum(by_hand.values()))


def test_mains_side_and_idle_count_at_the_battery() -> None:
    entry = {"use": "microwave", "times_a_day": 1, "times_a_day_weekend": 8, "times_sd": 0}
    scenario = household("none", entry, heat="none").with_changes({"inverter.hours_on": 10})
    # Losses of an inverter at a quarter of its watts, idle apart.
    expected = 280.0 + 1050.0 * 0.1 * (5 * 1 + 2 * 8) / 7 * (1.0075 + 0.0840 / 4)
    assert day_wh(scenario.appliances, scenario.inverter) == pytest.approx(expected)


def test_spare_sun_loads_are_not_need() -> None:
    scenario = household("none", {"use": "water_heater_element"}, heat="none")
    assert day_wh(scenario.appliances, scenario.inverter) == 0.0


def test_an_entry_changes_the_pattern_s_appliance() -> None:
    laptop = uses(household("light", {"use": "laptop", "times_a_day": 4}))["laptop"]
    assert (laptop.times_a_day, laptop.times_a_day_weekend) == (4.0, 4.0)
    assert laptop.times_sd == pytest.approx(0.5 * 8.0**0.5)  # as counts do
    assert laptop.windows == appliances()["laptop"].windows


def test_the_same_thing_under_another_name_comes_on_top() -> None:
    found = uses(household("light", {"use": "laptop", "name": "second laptop"}))
    assert found["laptop"].times_a_day == 0.5
    assert found["second laptop"].times_a_day == 5.0
    assert found["second laptop"].times_a_day_weekend == 2.0


def test_zero_times_removes() -> None:
    scenario = household("light", {"use": "compressor_fridge_12v", "times_a_day": 0})
    assert "compressor_fridge_12v" not in uses(scenario)
    assert not any("compressor" in item.key for item in scenario.assumed)


def test_heat_brings_and_takes_the_blower() -> None:
    warm, cold = household("none"), household("none", heat="none")
    assert [use.kind for use in warm.appliances] == ["furnace"]
    assert warm.household.heat_output_w == 7000.0
    assert cold.appliances == ()
    strong = uses(household("none", {"use": "furnace_blower", "watts": 120}))["furnace_blower"]
    assert (strong.watts, strong.kind) == (120.0, "furnace")


def test_a_bigger_fridge_draws_more_at_the_same_warmth() -> None:
    fridge = uses(household("light", {"use": "compressor_fridge_12v", "watts": 90}))[
        "compressor_fridge_12v"
    ]
    assert appliance_wh(fridge) == pytest.approx(1.5 * 504.0)


def test_a_fridge_of_a_label_draws_what_homes_measure() -> None:
    """0.94 of the label less 85 kWh a year, of 209 units (LBNL), in a kitchen of 22 C."""
    entry = {"use": "residential_fridge", "label_kwh_year": 1160}
    found = uses(household("none", entry, heat="none"))["residential_fridge"]
    assert found.mean_draw is not None
    assert found.mean_draw.watts(22.0) * 8.76 == pytest.approx(0.94 * 1160.0 - 85.0)
    assert "is no fridge" in refused({"use": "laptop", "label_kwh_year": 500})[0]
    own = {"name": "cooler", "watts": 50, "side": "dc", "kind": "steady", "label_kwh_year": 500}
    assert "residential_fridge" in refused(own)[0]


def test_an_appliance_can_be_made_steady_or_timed() -> None:
    found = uses(
        household(
            "light",
            {"use": "cell_router", "kind": "steady"},
            {
                "use": "standby_detectors",
                "kind": "uses",
                "minutes": 60,
                "times_a_day": 2,
                "window": ["22-6"],
            },
        )
    )
    assert appliance_wh(found["cell_router"]) == 240.0
    assert found["standby_detectors"].windows == ((22.0, 30.0),)


def test_own_appliance_gets_plain_defaults() -> None:
    entry = {
        "name": "bread maker",
        "watts": 450,
        "side": "ac",
        "minutes": 180,
        "times_a_day": 0.5,
        "window": ["9-15"],
    }
    scenario = household("light", entry)
    bread = uses(scenario)["bread maker"]
    assert (bread.use, bread.need, bread.medical) == (None, "must", False)
    assert bread.times_sd == pytest.approx(0.15)
    assert "appliance.times_sd" in {item.key for item in scenario.assumed}


RUN = {"minutes": 60, "times_a_day": 1, "window": ["7-9"]}


@pytest.mark.parametrize(
    ("entry", "found"),
    [
        ({"watts": 5, "side": "dc", **RUN}, "appliance.name is missing"),
        ({"name": "x", "side": "dc", **RUN}, "appliance.watts is missing"),
        ({"name": "microwave", **RUN}, 'To take the one listed, write: use = "microwave"'),
        ({"name": "x", "watts": 5, **RUN}, "appliance.side is missing"),
        ({"name": "x", "watts": 5, "side": "dc", **RUN, "window": ["7-7:30"]}, "leaves no room"),
        ({"name": "x", "watts": 5, "side": "dc", **RUN, "minutes": 121}, "leaves no room"),
        ({"use": "laptop", "minutes": 700}, "appliance.minutes leaves no room"),
        ({"use": "laptop", "window": ["7-9", "8-10"]}, "windows that overlap"),
        ({"use": "laptop", "window": ["7-25"]}, "no window of the day"),
        ({"use": "laptop", "window": "7-9"}, 'Write: appliance.window = ["7-9"]'),
        ({"use": "laptop", "window": []}, "list of a sensible length"),
        ({"use": "standby_detectors", "minutes": 5}, "has no meaning: standby_detectors runs all"),
        ({"use": "compressor_fridge_12v", "times_a_day": 3}, "runs by the temperature inside"),
        ({"name": "x", "watts": 5, "side": "dc", "kind": "steady", "minutes": 5}, "always on"),
        ({"use": "furnace_blower", "times_a_day": 0}, "household.heat"),
        ({"use": "latpop"}, "Nearest: laptop"),
        ({"use": "laptop", "need": "firm"}, 'use "must", "can-wait" or "spare-sun"'),
        ({"use": "laptop", "kind": "fridge"}, 'use "uses" or "steady"'),
    ],
)
def test_faulty_entries_are_refused(entry: dict[str, Any], found: str) -> None:
    problems = refused(entry)
    assert len(problems) == 1, problems
    assert found in problems[0]


def test_kind_uses_over_a_steady_one_needs_all_of_a_run() -> None:
    problems = refused({"use": "standby_detectors", "kind": "uses"})
    assert len(problems) == 3


def test_furnace_without_heat_and_names_twice() -> None:
    assert "does not agree" in refused({"use": "furnace_blower"}, heat="none")[0]
    assert "listed twice" in refused({"use": "kettle"}, {"use": "kettle"})[0]


def test_names_are_unique_in_the_result() -> None:
    scenario = household("heavy", {"use": "kettle"}, {"use": "kettle", "name": "tea"})
    names = [use.name for use in scenario.appliances]
    assert len(names) == len(set(names))


def test_only_what_is_left_to_the_catalogue_is_told() -> None:
    def told(**words: Any) -> list[str]:
        scenario = household("light", {"use": "microwave", **words})
        return [str(one.value) for one in scenario.assumed if "(microwave)" in one.key]

    assert told() == ["minutes, need, times_a_day, watts, windows"]
    assert told(watts=900, need="must") == ["minutes, times_a_day, windows"]
    whole = {"watts": 900, "minutes": 4, "times_a_day": 2, "window": ["7-9"], "need": "must"}
    assert told(**whole) == []
