"""Says in plain words what cools."""

from __future__ import annotations

from flatodds.catalog.coolers import coolers
from flatodds.catalog.windows import window_text
from flatodds.scenario.model import Scenario
from flatodds.units import degrees_text


def cooling_rows(scenario: Scenario) -> list[tuple[str, str]]:
    """One row about the air conditioner, or none."""
    cooling = scenario.cooling
    if cooling is None:
        return []
    rules = {
        "must": "whenever it is hot",
        "above-charge": f"above {100.0 * cooling.only_above_charge_frac:.0f} % charge",
        "spare-sun": "on sun left over",
    }
    words = (
        f"{coolers()[cooling.unit].label}: {cooling.watts:g} W running, {cooling.start_w:g} W to"
        f" start, keeps {degrees_text(cooling.hold_c, us=scenario.printed_units == 'us')}"
        f" {rules[cooling.need]}"
    )
    if cooling.windows != ((0.0, 24.0),):
        words += ", in the hours " + ", ".join(window_text(w) for w in cooling.windows)
    if cooling.must_windows:
        words += "; at any charge in " + ", ".join(window_text(w) for w in cooling.must_windows)
    return [("Cooling", words)]
