"""What deserves a look where appliances ask more of the inverter than it gives."""

from __future__ import annotations

from flatodds.catalog.called import called
from flatodds.errors import Problem
from flatodds.scenario.parts import ApplianceUse, Inverter
from flatodds.scenario.problems import Where, shown

MOST_NAMES = 3  # in a sentence; own choice


def inverter_cautions(
    uses: tuple[ApplianceUse, ...], inverter: Inverter, where: Where
) -> list[Problem]:
    """Caution about single appliances that overload the inverter on their own."""
    if inverter.watts <= 0.0:
        return []
    mains = [use for use in uses if use.side == "ac"]
    heavy = [use for use in mains if use.watts > inverter.watts]
    surge_w = inverter.watts * inverter.surge_ratio
    hard = [use for use in mains if use not in heavy and use.watts * use.surge_ratio > surge_w]
    line = where.line(("inverter", "watts"))
    found = []
    if heavy:
        found.append(
            Problem(
                line,
                f"Alone more than the inverter's {inverter.watts:g} W: {_listed(heavy)}.",
                "It will switch off. A 3000 VA inverter gives about 2400 W: write watts, not VA.",
            )
        )
    if hard:
        found.append(
            Problem(
                line,
                f"May not start on an inverter that gives {surge_w:g} W for seconds:"
                f" {_listed(hard)}.",
                "If yours gives more, write inverter.surge_ratio; if it starts softly, write"
                " the appliance's surge_ratio.",
            )
        )
    return found


def _listed(uses: list[ApplianceUse]) -> str:
    words = [f"{shown(called(use.name))} ({use.watts:g} W)" for use in uses[:MOST_NAMES]]
    more = f" and {len(uses) - MOST_NAMES} more" if len(uses) > MOST_NAMES else ""
    return ", ".join(words) + more
