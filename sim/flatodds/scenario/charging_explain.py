"""Says in plain words what charges beside the sun."""

from __future__ import annotations

from collections.abc import Sequence

from flatodds.catalog import Window
from flatodds.catalog.windows import window_text
from flatodds.scenario.model import Scenario


def charging_rows(scenario: Scenario) -> list[tuple[str, str]]:
    """List generator, drives and hookup, one row each; none of what the rig does not have."""
    rows = []
    if (generator := scenario.generator) is not None:
        hours = dict.fromkeys(hours_text(windows) for windows in generator.windows)
        rows.append(
            (
                "Generator",
                f"{generator.watts:g} W ({generator.fuel}), charges with {generator.charger_amps:g}"
                f" A from {generator.start_frac:.0%} to {generator.stop_frac:.0%}, may run"
                f" {' or '.join(hours)}",
            )
        )
    if (drive := scenario.drive) is not None:
        rows.append(
            ("Driving", f"{drive.amps:g} A, {hours_text(drive.windows)}, {_days(drive.days)}")
        )
    if (hookup := scenario.hookup) is not None:
        rows.append(
            (
                "Hookup",
                f"{hookup.charger_amps:g} A, {hours_text(hookup.windows)}, {_days(hookup.days)};"
                f" loads and charger at most {hookup.steady_w:.0f} W of a pedestal of"
                f" {hookup.pedestal_amps:g} A at {hookup.pedestal_volts:g} V",
            )
        )
    return rows


def hours_text(windows: Sequence[Window]) -> str:
    """Write hours of the day as people write them."""
    return " and ".join(window_text(window) for window in windows) or "at no hour"


def _days(days: Sequence[Sequence[int]]) -> str:
    count = sum(len(here) for here in days)
    return "on 1 day" if count == 1 else f"on {count} days"
