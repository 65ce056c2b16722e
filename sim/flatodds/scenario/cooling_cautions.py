"""What deserves a look about cooling and electric heat, safety first."""

from __future__ import annotations

from collections.abc import Sequence

from flatodds.catalog.called import called
from flatodds.errors import Problem
from flatodds.scenario import defaults_cooling as defaults
from flatodds.scenario.parts import ApplianceUse, Bank, Inverter, Stay
from flatodds.scenario.parts_cooling import Cooling
from flatodds.scenario.problems import Where, shown
from flatodds.units import degrees_text

SPACE_HEATER = "space_heater"

# A parked vehicle warms by some 20 K within the hour even on mild days: McLaren, Null and Quinn,
# Pediatrics 116 (2005) e109 (from memory). A home with windows open warms less, but does.
HEAT_KILLS = (
    "Safety: never let a life depend on this air conditioner.",
    "A parked home can become deadly within an hour when power, fuse or air conditioner fails:"
    " never leave a child, a pet or anyone who cannot help themselves alone in it, have a cooler"
    " place to go to, and an alarm on your phone if something living is inside.",
)


def built_in_air(stays: Sequence[Stay], where: Where) -> list[Problem]:
    """Caution, once, where summer heat rests on the built-in estimate of air and its moisture."""
    guessed = [
        (index, stay)
        for index, stay in enumerate(stays)
        if stay.weather is None and stay.monthly_temp_c is None
    ]
    if not guessed:
        return []
    names = " and ".join(shown(stay.name) for _, stay in guessed)
    return [
        Problem(
            where.line(("stay", guessed[0][0], "place")),
            f"{names}: the built-in estimate of air temperature is spread between a few hundred"
            " cities.",
            "In hot deserts far from any of them July was up to 6 C (11 F) too cool, and winter"
            " 5 C (9 F) too warm in the middle of Australia. For cooling give monthly_temp_c or"
            " monthly_temp_f, or a weather file; in deserts also cooling.inside_wet_bulb_c,"
            " since moisture is estimated from records without a hot desert.",
        )
    ]


def cooling_cautions(
    cooling: Cooling | None,
    uses: tuple[ApplianceUse, ...],
    bank: Bank,
    inverter: Inverter,
    stays: Sequence[Stay],
    where: Where,
    *,
    us: bool,
) -> list[Problem]:
    """Cautions about an air conditioner against its inverter and bank, and electric heaters."""
    found = [_heater(use, bank, where) for use in uses if use.use == SPACE_HEATER]
    if cooling is None:
        return found
    line = where.line(("cooling",))
    found.append(Problem(line, *HEAT_KILLS))
    found += built_in_air(stays, where)
    if cooling.side == "ac":
        found += _inverter_cautions(cooling, inverter, line, us=us)
    most_w = bank.discharge_c_rate * bank.amp_hours * bank.rest_points[0][1]
    if bank.chemistry != "ideal" and cooling.start_w > most_w:
        found.append(
            Problem(
                line,
                f"Its start takes about {cooling.start_w:,.0f} W for a moment; this bank gives"
                f" {most_w:,.0f} W.",
                "Its protection may switch everything off: a soft starter helps.",
            )
        )
    return found


def _inverter_cautions(
    cooling: Cooling, inverter: Inverter, line: str, *, us: bool
) -> list[Problem]:
    """Caution where running in great heat, or starting, is more than the inverter gives."""
    found = []
    outside = degrees_text(defaults.HOTTEST_C, us=us)
    hot_w = cooling.watts * defaults.HOT_INPUT_RATIO
    if hot_w > inverter.watts > 0.0:
        found.append(
            Problem(
                line,
                f"It draws about {hot_w:,.0f} W with {outside} outside; the"
                f" inverter gives {inverter.watts:,.0f} W.",
                "In such hours it is counted as standing still. Take a larger inverter.",
            )
        )
    surge_w = inverter.watts * inverter.surge_ratio
    if cooling.start_w > surge_w > 0.0:
        found.append(
            Problem(
                line,
                f"Its start takes about {cooling.start_w:,.0f} W for a moment; the inverter"
                f" gives {surge_w:,.0f} W for seconds.",
                "It may not start at all: a soft starter, or a larger inverter. Every hour in which"
                " it starts is counted as an overload.",
            )
        )
    return found


def _heater(use: ApplianceUse, bank: Bank, where: Where) -> Problem:
    """Say how soon an electric heater empties the bank."""
    hours = bank.capacity_wh / max(use.watts / 0.9, 1.0)
    return Problem(
        where.line(("appliance",)),
        f"{shown(called(use.name))} of {use.watts:,.0f} W empties a full battery of"
        f" {bank.capacity_wh / 1000.0:.1f} kWh in about {hours:.1f} hours.",
        "Heat with fuel. Its warmth is not counted here.",
    )
