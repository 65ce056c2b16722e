"""What a scenario's cabin and air conditioner become in a plan and its results."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from flatodds.loads.cooling import cooling_record
from flatodds.loads.household import cabin_record

if TYPE_CHECKING:
    from flatodds.scenario import Scenario

Floats = npt.NDArray[np.float64]

# Results that only rigs with an air conditioner have.
OF_COOLING = (
    "hot_hours_uncooled",
    "cooling_hours",
    "cooling_wanted_wh",
    "cooling_served_wh",
    "hot_days_uncooled",
    "days_held",
)


def cabin_fields(
    scenario: Scenario, stay: int, spare_frac: float, elevation_m: float
) -> npt.NDArray[Any]:
    """Fields of `Cabin` and then of `Cooling` in one stay."""
    shaded = scenario.stays[stay].home_shade_frac
    shaded = scenario.shell.shade_frac if shaded is None else shaded
    cabin = cabin_record(scenario.shell, scenario.household, scenario.appliances, shaded)
    return np.array([*cabin, *cooling_record(scenario.cooling, spare_frac, elevation_m)])


def cooling_clock(scenario: Scenario, shift_h: float) -> list[Floats]:
    """Part of each hour in which the air conditioner must, and in which it may run, (24,) [1].

    By hour of the simulation clock; `shift_h` is how far the household's is ahead of it.
    """
    if scenario.cooling is None:
        return [np.zeros(24), np.zeros(24)]
    must = _share(scenario.cooling.must_windows, shift_h)
    if scenario.cooling.need == "must":
        return [np.maximum(must, _share(scenario.cooling.windows, shift_h)), must]
    return [must, _share(scenario.cooling.windows, shift_h)]


def _share(windows: tuple[tuple[float, float], ...], shift_h: float) -> Floats:
    share = np.zeros(24)
    for start_h, end_h in windows:
        for day_h in (-24.0, 0.0, 24.0):
            hour = np.arange(24.0) + day_h
            start, end = start_h - shift_h, end_h - shift_h
            share += np.clip(end - hour, 0.0, 1.0) - np.clip(start - hour, 0.0, 1.0)
    return np.clip(share, 0.0, 1.0)


def thermostatic(scenario: Scenario) -> tuple[tuple[str, str], ...]:
    """Rows of the results that hold appliances which follow the cabin: (row, name)."""
    found = []
    for kinds, row in (
        (("fridge",), "fridge"),
        (("furnace", "air-heater"), "blower"),
        (("vent",), "vent"),
    ):
        names = [use.name for use in scenario.appliances if use.kind in kinds]
        if names:
            found.append((row, " and ".join(names)))
    if scenario.cooling is not None:
        found.append(("cooling", scenario.cooling.unit))
    return tuple(found)
