"""A scenario in words: what it holds, and everything it leaves to assumptions."""

from __future__ import annotations

from flatodds.scenario.appliances import catalogue_words
from flatodds.scenario.charging_explain import charging_rows
from flatodds.scenario.cooling_explain import cooling_rows
from flatodds.scenario.dates import day_text
from flatodds.scenario.defaults_arrays import EQUATOR
from flatodds.scenario.habits import habit_words
from flatodds.scenario.inverter import rating_words
from flatodds.scenario.limits_bank import limit_words
from flatodds.scenario.model import Scenario
from flatodds.scenario.parts import Assumed, Stay
from flatodds.scenario.parts_arrays import Array
from flatodds.scenario.places import names_a_town, place_text
from flatodds.scenario.totals import day_ah, day_wh
from flatodds.units import degrees_text, ft_from_m

Row = tuple[str, str]  # what, and the words for it


def summary(scenario: Scenario) -> list[Row]:
    """Rig, household and stays, one row each."""
    bank, inverter, household = scenario.bank, scenario.inverter, scenario.household
    energy_wh = day_wh(scenario.appliances, inverter)
    rain = any(use.wet_day_factor != 1.0 for use in scenario.appliances)
    rows = [
        (
            "Battery",
            f"{bank.capacity_wh / 1000.0:.1f} kWh ({bank.amp_hours:g} Ah, {bank.volts} V,"
            f" {bank.chemistry}), sits {_location(bank.location)}",
        ),
        ("", limit_words(bank, scenario.arrays, scenario.controllers, inverter)),
        ("Panels", "; ".join(_panels(array) for array in scenario.arrays)),
        ("Inverter", rating_words(inverter, us=scenario.printed_units == "us")),
        *charging_rows(scenario),
        (
            "Household",
            f"{household.pattern}, about {energy_wh / 1000.0:.1f} kWh a day from the battery"
            f" ({day_ah(energy_wh):.0f} Ah at 12.8 V){' in dry weather' * rain},"
            " before heating and spare-sun loads",
        ),
        *[("Habits", words) for words in [habit_words(household.habits)] if words],
        ("Inside", _inside(scenario)),
        *cooling_rows(scenario),
    ]
    rows += [("Stay", _stay(scenario, stay)) for stay in scenario.stays]
    return rows


def appliance_rows(scenario: Scenario) -> list[Row]:
    """Name of every appliance, and what it does."""
    return [(use.name, f"{catalogue_words(use)}, {use.need}") for use in scenario.appliances]


def assumed_rows(scenario: Scenario) -> list[tuple[str, str, str]]:
    """Key, value and reason of every assumption but those about single appliances."""
    return [
        (item.key, _value(item), item.why)
        for item in scenario.assumed
        if not item.key.startswith("appliance.") or item.key.count(".") > 1
    ]


def _value(item: Assumed) -> str:
    if isinstance(item.value, bool):
        return "true" if item.value else "false"
    if isinstance(item.value, float):
        return f"{item.value:.4g}" if abs(item.value) < 1e4 else f"{item.value:.0f}"
    return "-" if item.value in (None, "") else str(item.value)


def _location(location: str) -> str:
    return {"inside": "inside", "bay": "in a vented bay", "outside": "outside"}[location]


def _panels(array: Array) -> str:
    if array.watts <= 0.0:
        return "none"
    if array.aimed_times_a_day:
        return f"{array.watts:g} W on the ground, aimed {array.aimed_times_a_day} times a day"
    if array.tilt_deg == 0.0:
        return f"{array.watts:g} W lying flat"
    facing = EQUATOR if array.azimuth_deg is None else f"towards {array.azimuth_deg:g} degrees"
    if array.tilt_by_month is not None:
        low, high = min(array.tilt_by_month), max(array.tilt_by_month)
        return f"{array.watts:g} W tilted {low:g} to {high:g} degrees by month {facing}"
    return f"{array.watts:g} W tilted {array.tilt_deg:g} degrees {facing}"


def _inside(scenario: Scenario) -> str:
    day_c, night_c = scenario.household.inside_day_c, scenario.household.inside_night_c
    heat = scenario.household.heat
    words = "no heating" if heat == "none" else f"heated by {heat}"
    day, night = (degrees_text(c, us=scenario.printed_units == "us") for c in (day_c, night_c))
    return f"{day} by day, {night} by night, {words}"


def _stay(scenario: Scenario, stay: Stay) -> str:
    where = place_text(stay.latitude, stay.longitude)
    words = [name for name in dict.fromkeys((stay.name, stay.place)) if names_a_town(name)]
    named = f"{', '.join(words)}, at {where}" if words else where
    height = ""
    if stay.elevation_m is not None:
        feet = f"{ft_from_m(stay.elevation_m):,.0f} ft"
        metres = f"{stay.elevation_m:,.0f} m"
        us = scenario.printed_units == "us"
        height = f", {feet} ({metres})" if us else f", {metres} ({feet})"
    nights = "1 night" if stay.nights == 1 else f"{stay.nights} nights"
    return f"{nights} from {day_text(*stay.first_day)}, {named}{height}, {stay.time_zone}"
