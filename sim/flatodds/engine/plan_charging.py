"""What a scenario's generator, drives and hookup nights become in a plan and its results."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from flatodds.charging.drive import drive_h
from flatodds.charging.generator import permitted_share
from flatodds.charging.hookup import plugged_share
from flatodds.engine.plan_climate import OF_COOLING

if TYPE_CHECKING:
    from flatodds.scenario import Scenario

Floats = npt.NDArray[np.float64]

WITHOUT_GENERATOR = "without_generator"  # the case that lives without it

# Results that only rigs with such a thing have.
OF_GENERATOR = ("generator_wh", "generator_hours", "generator_starts", "fuel_l", "generator_h")
OF_DRIVE = ("drive_wh",)
OF_HOOKUP = ("hookup_wh",)


def charging_hours(scenario: Scenario, stay: int, shift_h: npt.NDArray[np.floating]) -> Floats:
    """Columns of `Calendar.charging`, (day, 24, 7); no days without anything of the kind.

    Nobody runs a generator while plugged in.
    """
    if scenario.generator is None and scenario.drive is None and scenario.hookup is None:
        return np.zeros((0, 24, 7))
    plugged = plugged_share(scenario.hookup, stay, shift_h)
    hookup, drive = scenario.hookup, scenario.drive
    permitted_h = permitted_share(scenario.generator, stay, shift_h) * (1.0 - plugged)
    driving_h = drive_h(drive, stay, shift_h)
    columns = (
        permitted_h,
        plugged,
        (0.0 if hookup is None else hookup.charger_amps) * (plugged > 0.0),
        (0.0 if drive is None else drive.amps) * (driving_h > 0.0),
        driving_h,
        (0.0 if hookup is None else hookup.steady_w) * plugged,
        np.full_like(plugged, 1.0 if hookup is None else hookup.charger_efficiency_frac),
    )
    return np.stack(columns, axis=2)


def drop_unused(scenario: Scenario, *results: dict[str, Any]) -> None:
    """Take out of the results what the rig does not have."""
    unused: tuple[str, ...] = ()
    for has, names in (
        (scenario.generator, OF_GENERATOR),
        (scenario.drive, OF_DRIVE),
        (scenario.hookup, OF_HOOKUP),
        (scenario.cooling, OF_COOLING),
    ):
        unused += names if has is None else ()
    for name in unused:
        for result in results:
            result.pop(name, None)
