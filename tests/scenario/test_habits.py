"""How many people, early or late, away or at home: words, defaults, errors and effects."""

from __future__ import annotations

from typing import Any

import pytest

from flatodds.catalog import appliances
from flatodds.errors import ScenarioError
from flatodds.scenario import ApplianceUse, Scenario, parse_scenario, scenario_from
from flatodds.scenario.explain import summary
from flatodds.scenario.templates import starter


def household(*entries: dict[str, Any], pattern: str = "medium", **words: Any) -> Scenario:
    document = parse_scenario(starter()).document
    document["household"] = {"pattern": pattern, **words}
    document["appliance"] = list(entries)
    document["inverter"] = {"watts": 3000}
    return scenario_from(document)


def uses(scenario: Scenario) -> dict[str, ApplianceUse]:
    return {use.name: use for use in scenario.appliances}


def refused(*entries: dict[str, Any], **words: Any) -> str:
    with pytest.raises(ScenarioError) as caught:
        household(*entries, **words)
    return " ".join(f"{problem.found} {problem.hint}" for problem in caught.value.problems)


def test_two_people_usual_hours_and_never_away_are_assumed() -> None:
    habits = household().household.habits
    assert (habits.people, habits.rise_h, habits.away_hours) == (2, 0.0, None)
    assumed = {item.key: item.value for item in household().assumed}
    assert assumed["household.people"] == 2
    assert assumed["household.rise"] == "usual"


def test_use_per_person_goes_with_the_people_and_its_spread_with_the_root() -> None:
    two, four = uses(household()), uses(household(people=4))
    for name in two:
        ratio = 2.0 if appliances()[name].per_person else 1.0
        assert four[name].mean_times == pytest.approx(ratio * two[name].mean_times)
        assert four[name].times_sd == pytest.approx(ratio**0.5 * two[name].times_sd)
    assert two["microwave"].mean_times < four["microwave"].mean_times


def test_what_is_written_is_not_scaled() -> None:
    written = {"use": "microwave", "times_a_day": 3, "window": ["7-9"]}
    use = uses(household(written, people=5, rise="late"))["microwave"]
    assert use.times_a_day == 3.0
    assert use.windows == ((7.0, 9.0),)


@pytest.mark.parametrize(("rise", "hours"), [("early", -1.5), ("usual", 0.0), ("late", 1.5)])
def test_rising_moves_the_mornings_only(rise: str, hours: float) -> None:
    found = uses(household(rise=rise))
    assert found["microwave"].windows == (
        (7.0 + hours, 9.0 + hours),
        (12.0, 13.0),
        (17.0, 19.5),
    )
    assert found["tv_media"].windows == ((18.0, 22.5),)


def test_away_days_by_weekday_or_every_so_many() -> None:
    commuting = household(away_weekdays=["Mon", "Fri", "Mon"], away_hours="8-17:30")
    assert commuting.household.habits.away_weekdays == (0, 4)
    assert commuting.household.habits.away_hours == (8.0, 17.5)
    outing = household(away_every_days=3)
    assert outing.household.habits.away_hours == (9.0, 17.0)
    assert ("Habits", "away 8 h on one day in 3") in summary(outing)


def test_away_words_that_do_not_fit_are_refused() -> None:
    assert "both written" in refused(away_every_days=3, away_weekdays=["Sun"])
    assert "not on which days" in refused(away_hours="9-17")
    assert "goes over midnight" in refused(away_every_days=2, away_hours="20-6")


def test_what_runs_on_while_nobody_is_home() -> None:
    extra = {"use": "cpap_dry"}, {"use": "laptop", "when_away": True}
    found = uses(household(*extra))
    running = {name for name, use in found.items() if use.when_away}
    assert running == {
        "standby_detectors",
        "laptop",
        "compressor_fridge_12v",
        "furnace_blower",
        "cpap_dry",
    }


def test_nothing_medical_is_shed() -> None:
    pump = {"name": "pump", "watts": 20, "side": "dc", "kind": "steady", "medical": True}
    assert uses(household(pump))["pump"].need == "must"
    assert "need would shed something medical" in refused({**pump, "need": "can-wait"})
    assert "shrink_frac would shed something medical" in refused({**pump, "shrink_frac": 0.5})
    on_tv = uses(household({"use": "tv_media", "medical": True}))["tv_media"]
    assert (on_tv.shrink_frac, on_tv.when_away) == (0.0, True)
    assert all(
        item.need == "must" and item.shrink_frac == 0.0 and item.when_away
        for item in appliances().values()
        if item.medical
    )


def test_a_charge_line_is_for_spare_sun_use_only() -> None:
    line = {"only_above_charge_frac": 0.8}
    found = uses(household({"use": "water_heater_element", **line}))["water_heater_element"]
    assert found.only_above_charge_frac == 0.8
    assert "no meaning" in refused({"use": "tv_media", **line})
    assert "no meaning" in refused({"use": "vacuum", "shrink_frac": 0.4})


def test_what_overloads_the_inverter_alone_is_pointed_out() -> None:
    """Trade practice: a 3,000 VA unit gives 2,400 W at a power factor of 0.8."""
    heater = {
        "name": "heater",
        "watts": 2500,
        "side": "ac",
        "minutes": 30,
        "times_a_day": 1,
        "window": ["7-9"],
    }
    document = household(heater).document
    assert not any("Alone" in caution.found for caution in household(heater).cautions)
    document["inverter"] = {"watts": 2400}
    found = [caution.found for caution in scenario_from(document).cautions]
    assert any("Alone more than the inverter's 2400 W: heater" in text for text in found)
    hard = household({"use": "vacuum", "surge_ratio": 5.0})
    assert any("May not start" in caution.found for caution in hard.cautions)


def test_a_day_of_the_week_that_is_none_is_told_with_those_there_are() -> None:
    told = refused(away_weekdays=["Mon", "mon"])
    assert '"mon" is not offered; use "Mon", "Tue", "Wed", "Thu", "Fri", "Sat" or "Sun".' in told
    assert told.endswith('= "Mon"')
