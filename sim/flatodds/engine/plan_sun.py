"""From a scenario's panels, controllers and shade to the solar room's tables."""

from __future__ import annotations

import datetime as dt
from functools import cache
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import numpy as np
import numpy.typing as npt

from flatodds.engine.records import LIMITS, MOST_CONTROLLERS, NO_LIMIT
from flatodds.solar.aim import Aim
from flatodds.solar.array import CURRENT_FRAC_PER_C
from flatodds.solar.geometry import NEVER_BRUSHED, NEVER_STOWED, NEVER_WIPED, Cover, Plane
from flatodds.solar.shade import Surroundings
from flatodds.sun import DAYS

if TYPE_CHECKING:
    from flatodds.scenario import Scenario, Stay
    from flatodds.scenario.parts_arrays import Array

CLOCK_YEAR = 2025  # year whose daylight-saving rules the household's clock follows
# Hours by which snow is brushed off, standard time: judgement.
BRUSH_H = {"morning": 9, "noon": 12, "never": NEVER_BRUSHED}
# Volts at most power, for each 12 V of the bank, of panels made to charge it directly:
# medians of the California Energy Commission's list of modules, see the scenario's defaults.
VMP_PER_12_V = 18.5


def planes_of(scenario: Scenario, stay: Stay) -> tuple[Plane, ...]:
    """Planes of all groups at a stay."""
    equator_deg = 180.0 if stay.latitude >= 0.0 else 0.0
    return tuple(
        Plane(
            tilts_deg=array.tilt_by_month or (array.tilt_deg,),
            azimuth_deg=equator_deg if array.azimuth_deg is None else array.azimuth_deg,
            temp_coefficient=(
                CURRENT_FRAC_PER_C
                if at_bank_v(scenario, array)
                else array.temp_coefficient_frac_per_c
            ),
            incidence_loss=array.incidence_loss,
            open_mount=array.mount == "open",
            roof_shade_frac=array.shade_frac,
            under_trees=array.under_trees,
            stow_wind_m_s=array.stow_wind_m_s or NEVER_STOWED,
            aim=_aim(array),
            cover=_cover(array),
            noct_c=array.noct_c,
        )
        for array in scenario.arrays
    )


def _aim(array: Array) -> Aim | None:
    if array.aimed_times_a_day == 0:
        return None
    return Aim(array.aimed_times_a_day, array.aim_error_deg, array.out_hours)


def _cover(array: Array) -> Cover:
    return Cover(
        dust_per_day=array.dust_per_day_frac,
        wipe_days=array.wipe_every_days or NEVER_WIPED,
        snowed_on=array.snow_cover,
        brush_h=BRUSH_H[array.brush],
        stowed_days_frac=array.stowed_days_frac,
    )


def surroundings_of(stay: Stay) -> Surroundings:
    """Horizon and trees of a stay."""
    shade = stay.shade
    return Surroundings(
        horizon_deg=shade.horizon_deg,
        tree_beam_frac=shade.tree_shade_frac,
        tree_sky_frac=shade.tree_sky_shade_frac,
        bare_frac=shade.bare_shade_frac,
        leaf_doys=tuple(float(doy) for doy in shade.leaf_doys),
    )


def clock_shifts_h(scenario: Scenario, stay: Stay) -> tuple[float, ...]:
    """Hours the household's clock is ahead on each day of a year; zeros if no panel asks."""
    if not any(array.aimed_times_a_day for array in scenario.arrays):
        return (0.0,) * DAYS
    return clock_ahead_h(stay.time_zone, stay.utc_offset_h)


@cache
def clock_ahead_h(time_zone: str, utc_offset_h: float) -> tuple[float, ...]:
    """Hours that a zone's clock is ahead of the simulation clock at noon, by day of the year."""
    zone, first = ZoneInfo(time_zone), dt.datetime(CLOCK_YEAR, 1, 1, 12)
    shifts = []
    for doy in range(DAYS):
        offset = (first + dt.timedelta(days=doy)).replace(tzinfo=zone).utcoffset()
        assert offset is not None  # noqa: S101  (an aware time always has one)
        shifts.append(offset.total_seconds() / 3600.0 - utc_offset_h)
    return tuple(shifts)


def at_bank_v(scenario: Scenario, array: Array) -> bool:
    """Whether a group's current flows at the bank's voltage instead of at its own best."""
    return scenario.controllers[array.controller].kind == "pwm"


def label_table(scenario: Scenario) -> npt.NDArray[np.float64]:
    """Give what each controller takes, (controller, LIMITS + group), as in `Rigs.label_w`."""
    table = np.zeros((MOST_CONTROLLERS, LIMITS + len(scenario.arrays)))
    for k, controller in enumerate(scenario.controllers):
        most_a = NO_LIMIT if controller.amps is None else controller.amps
        most_w = NO_LIMIT if controller.watts is None else controller.watts
        table[k, :LIMITS] = (most_a, most_w, float(controller.kind == "pwm"))
    for g, array in enumerate(scenario.arrays):
        efficiency = scenario.controllers[array.controller].efficiency_frac
        label = label_a(scenario, array) if at_bank_v(scenario, array) else array.watts
        table[array.controller, LIMITS + g] = label * (1.0 - array.loss_frac) * efficiency
    return table


def label_a(scenario: Scenario, array: Array) -> float:
    """Give the current of a group at its most power, at 1000 W/m2 and 25 degrees Celsius [A]."""
    if array.panel is not None:
        return array.in_parallel * array.panel.imp_a
    return array.watts / (VMP_PER_12_V * scenario.bank.volts / 12.0)
