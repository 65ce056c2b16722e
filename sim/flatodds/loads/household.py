"""From a scenario's household to the tables that the kernel reads."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from flatodds.loads.appliances import LINES, Away, Uses, UseSpec, use_slots
from flatodds.loads.appliances import NEEDS as KINDS
from flatodds.loads.cabin import VENT_FACTOR, Cabin

if TYPE_CHECKING:
    from flatodds.scenario import ApplianceUse, Household, Shell

NEEDS = {"must": 0, "can-wait": 1, "spare-sun": 2}
DAY_FROM_H, DAY_TO_H = 7, 22  # hours of the day setting of the thermostat, common practice
CATCH_UP_H = 4.0  # put-off use is caught up in about this many hours, common practice
SECONDS_AN_HOUR = 3600.0  # definition
HEATERS = ("furnace", "air-heater")
# A fuel-fired air heater glows and pumps at 120 W for 4 minutes at each start, in place of 25 W:
# from memory.
HEATER_START_WH = (120.0 - 25.0) * 4.0 / 60.0
# What a roof fan adds to open windows: about 0.2 m3/s through a closed-up home, half of what such
# fans move in free air, times 1,200 J/m3/K: from memory.
VENT_FAN_W_PER_K = 240.0


def has_slots(use: ApplianceUse) -> bool:
    """Whether the appliance runs by the clock rather than by the cabin's temperature."""
    return use.kind in ("uses", "steady")


def away_of(household: Household) -> Away | None:
    """Days and hours on which nobody is home; None if somebody always is."""
    habits = household.habits
    if habits.away_hours is None:
        return None
    if habits.away_every_days is not None:
        return Away(habits.away_every_days, 1, *habits.away_hours)
    days = sum(1 << day for day in habits.away_weekdays)
    return Away(7, days, *habits.away_hours)


def charge_lines(appliances: tuple[ApplianceUse, ...]) -> tuple[float, ...]:
    """Different charges above which some spare-sun use runs, rising [1]."""
    lines = {
        use.only_above_charge_frac
        for use in appliances
        if use.need == "spare-sun" and use.only_above_charge_frac is not None
    }
    return tuple(sorted(lines))[:LINES]


def need_of(use: ApplianceUse, lines: tuple[float, ...]) -> int:
    """Kind of need of an appliance; spare-sun use above a charge line has its own."""
    line = use.only_above_charge_frac
    if use.need == "spare-sun" and line is not None:
        return KINDS + lines.index(line)
    return NEEDS[use.need]


def use_specs(appliances: tuple[ApplianceUse, ...], household: Household) -> list[UseSpec]:
    """How the appliances that run by the clock are used."""
    away, lines = away_of(household), charge_lines(appliances)
    return [
        UseSpec(
            name=use.name,
            watts=use.watts * use.duty_frac,
            hours=use.minutes / 60.0,
            times_a_day=use.times_a_day,
            times_a_day_weekend=use.times_a_day_weekend,
            times_sd=use.times_sd,
            windows=use.windows,
            need=need_of(use, lines),
            is_ac=use.side == "ac",
            steady=use.kind == "steady",
            running_w=use.watts,
            surge_w=use.watts * (use.surge_ratio - 1.0),
            shrink_frac=use.shrink_frac if use.need == "must" else 0.0,
            away=None if use.when_away else away,
            wet_day_factor=use.wet_day_factor,
        )
        for use in appliances
        if has_slots(use)
    ]


def clock_tables(
    appliances: tuple[ApplianceUse, ...], household: Household
) -> tuple[Uses, float, float]:
    """Slots, and the most put-off DC and AC use caught up at once [W]."""
    specs = use_specs(appliances, household)
    caps = [0.0, 0.0]
    for spec in specs:
        if spec.need == NEEDS["can-wait"]:
            daily_wh = spec.watts * spec.hours * spec.times_a_day
            caps[spec.is_ac] += daily_wh / CATCH_UP_H + spec.watts * min(spec.hours, 1.0)
    return use_slots(specs), caps[0], caps[1]


def cabin_record(
    shell: Shell, household: Household, appliances: tuple[ApplianceUse, ...], shaded_frac: float
) -> Cabin:
    """Thermal node of the home with its heater, vent fan and fridges.

    `shaded_frac` is the share of the sun that awning or trees keep off the home.
    """
    hours = shell.heat_mass_j_per_k / shell.heat_loss_w_per_k / SECONDS_AN_HOUR
    heaters = [use for use in appliances if use.kind in HEATERS]
    fans = [use for use in appliances if use.kind == "vent"]
    fan_factor = VENT_FACTOR + len(fans) * VENT_FAN_W_PER_K / shell.heat_loss_w_per_k
    return Cabin(
        1.0 / shell.heat_loss_w_per_k,
        shell.sun_aperture_m2 * (1.0 - shaded_frac),
        shell.gains_w,
        math.exp(-1.0 / hours),
        math.exp(-VENT_FACTOR / hours),
        household.heat_output_w if heaters else 0.0,
        sum(use.watts for use in heaters),
        *_fridges(appliances, "dc"),
        *_fridges(appliances, "ac"),
        1.0 / VENT_FACTOR,
        1.0 / fan_factor,
        math.exp(-fan_factor / hours),
        sum(use.watts for use in fans),
        HEATER_START_WH if any(use.kind == "air-heater" for use in heaters) else 0.0,
        household.comfort_high_c,
    )


def thermostat_c(household: Household, shift_h: float) -> npt.NDArray[np.float64]:
    """Give the setting by hour of the simulation clock, (24,) [deg C].

    `shift_h` is how many hours the household's clock is ahead of it.
    """
    clock = (np.arange(24) + round(shift_h)) % 24
    by_day = (clock >= DAY_FROM_H) & (clock < DAY_TO_H)
    return np.where(by_day, household.inside_day_c, household.inside_night_c).astype(float)


def _fridges(appliances: tuple[ApplianceUse, ...], side: str) -> tuple[float, float, float]:
    """Watts at 15 deg C, watts per kelvin and least watts of all fridges on one side."""
    at_15 = per_k = least = 0.0
    for use in appliances:
        if use.kind != "fridge" or use.side != side or use.mean_draw is None:
            continue
        draw = use.mean_draw
        at_15 += draw.base_w + draw.slope_w_per_c * (15.0 - draw.at_c)
        per_k += draw.slope_w_per_c
        least += draw.floor_w
    return at_15, per_k, least
