"""The inverter as resolved: its losses from two efficiencies of its data sheet, or as usual."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from flatodds.catalog import patterns
from flatodds.errors import Problem
from flatodds.scenario import defaults
from flatodds.scenario.parts import Inverter
from flatodds.units import degrees_text

if TYPE_CHECKING:
    from flatodds.scenario.defaults import Ledger
    from flatodds.scenario.problems import Where
    from flatodds.scenario.written import WrittenInverter

RATED_C = 25.0  # air in which it gives its watts: from memory
HOT_HOME_C = 40.0  # air for which hot ratings are told: from memory
DIGITS = 4  # of the losses after the point, so that efficiencies of six give them back
WORDS = ("half_load_efficiency_frac", "full_load_efficiency_frac")


def resolve_inverter(
    written: WrittenInverter, pattern: str, where: Where, ledger: Ledger
) -> tuple[Inverter, list[Problem]]:
    """Give the inverter with its losses, and what is wrong with them."""
    watts = ledger.take("inverter.watts", written.watts, *defaults.INVERTER_WATTS)
    slope, bend = defaults.INVERTER_LOSSES
    if watts == 0.0:
        return Inverter(0.0, 0.0, 0.0, 1.0, slope, bend, 0.0), []
    idle_w = ledger.take("inverter.idle_w", written.idle_w, *defaults.IDLE_W)
    hours_on = ledger.take(
        "inverter.hours_on",
        written.hours_on,
        patterns()[pattern].inverter_hours_on,
        f'household.pattern = "{pattern}"',
    )
    surge = ledger.take("inverter.surge_ratio", written.surge_ratio, *defaults.SURGE_RATIO)
    heat_loss = ledger.take(
        "inverter.heat_loss_frac_per_c", written.heat_loss_frac_per_c, *defaults.HOT_INVERTER
    )
    half, full = written.half_load_efficiency_frac, written.full_load_efficiency_frac
    problems: list[Problem] = []
    if half is None and full is None:
        for word, load in zip(WORDS, (0.5, 1.0), strict=True):
            found = 1.0 / (idle_w / watts / load + slope + bend * load)
            ledger.note(f"inverter.{word}", round(found, 6), defaults.INVERTER_SOURCE)
    elif half is None or full is None:
        problems.append(_wrong(where, WORDS[half is not None], "is missing.", "Write both."))
    else:
        slope, bend = losses(idle_w / watts, half, full)
        if bend < 0.0 or slope + 2.0 * math.sqrt(idle_w / watts * bend) < 1.0:
            text = f"does not go with {half:g} at half load and {idle_w:g} W idle."
            problems.append(_wrong(where, WORDS[1], text, "Write what its data sheet says."))
    return Inverter(float(watts), idle_w, hours_on, surge, slope, bend, heat_loss), problems


def rating_words(inverter: Inverter, *, us: bool = False) -> str:
    """Say what it gives all day, cool and in a hot home; for seconds heat is not counted."""
    if inverter.watts <= 0.0:
        return "none"
    left = max(1.0 - inverter.heat_loss_frac_per_c * (HOT_HOME_C - RATED_C), 0.0)
    words = f"{inverter.watts:g} W"
    home = degrees_text(HOT_HOME_C, us=us)
    return words if left == 1.0 else f"{words}, {inverter.watts * left:.0f} W in a home of {home}"


def losses(idle: float, half: float, full: float) -> tuple[float, float]:
    """Watts drawn for each watt given, and what is added to them at the rating [1].

    `idle` is the idling power over the rating; `half` and `full` are efficiencies [1].
    """
    at_half, at_full = 1.0 / half - 2.0 * idle, 1.0 / full - idle
    bend = 2.0 * (at_full - at_half)
    return round(at_full - bend, DIGITS), round(bend, DIGITS)


def _wrong(where: Where, word: str, text: str, hint: str) -> Problem:
    path = ("inverter", word)
    return Problem(where.line(path), f"{where.key(path)} {text}", hint)
