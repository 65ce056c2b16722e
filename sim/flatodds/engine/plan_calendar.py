"""The days of a stay: which month, which clock, what the household does by it."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from flatodds.engine.plan_charging import charging_hours
from flatodds.engine.plan_climate import cooling_clock
from flatodds.engine.plan_sun import CLOCK_YEAR, clock_ahead_h
from flatodds.engine.records import Calendar
from flatodds.engine.results import Period
from flatodds.loads.household import thermostat_c
from flatodds.sun import DAYS, SunTable

if TYPE_CHECKING:
    from flatodds.scenario import Scenario, Stay

MONTHS = np.array(
    [(dt.date(CLOCK_YEAR, 1, 1) + dt.timedelta(days=doy)).month for doy in range(DAYS)]
)


def calendar_of(
    scenario: Scenario,
    n: int,
    sun: SunTable,
    where: tuple[int, int, int],
    periods: list[Period],
) -> Calendar:
    """Days of stay `n`; appends its months to `periods`.

    `where` holds the counter of its first day, the days since the last stay, and the days
    simulated before it.
    """
    stay = scenario.stays[n]
    doys = (stay.first_doy + np.arange(stay.nights)) % DAYS
    of_day: list[int] = []
    for month in MONTHS[doys].tolist():
        if not of_day or periods[-1].month != month:
            periods.append(Period(n, month, 0))
        last = periods[-1]
        periods[-1] = Period(n, last.month, last.nights + 1)
        of_day.append(len(periods) - 1)
    shift = np.array(clock_ahead_h(stay.time_zone, stay.utc_offset_h))[doys]
    lit = sun.cos_zenith[doys] > 0.0
    dawn = np.where(lit.any(axis=1), lit.argmax(axis=1), 6)
    first_day, gap, before = where
    kept = sorted({round(hours) for hours in shift.tolist()})
    which = [kept.index(round(hours)) for hours in shift.tolist()]
    follows = n > 0 and _ends_as_begins(scenario.stays[n - 1], stay)
    followed = n + 1 < len(scenario.stays) and _ends_as_begins(stay, scenario.stays[n + 1])
    return Calendar(
        days=np.column_stack([doys, of_day, dawn, which]).astype(np.int64),
        shift_h=shift,
        clock=np.stack([_clock(scenario, hours) for hours in kept]),
        stay=np.array(
            [first_day, gap, before, 24 * before, 0, 0, int(follows), int(followed), 1],
            dtype=np.int64,
        ),
        charging=charging_hours(scenario, n, shift),
    )


def _ends_as_begins(before: Stay, stay: Stay) -> bool:
    """Whether one stay begins on the day that the other ends."""
    return before.start_day + before.nights == stay.start_day


def _clock(scenario: Scenario, shift_h: int) -> npt.NDArray[np.float64]:
    """Tell what the household does by the clock, by hour of the simulation clock, (24, 4)."""
    return np.column_stack(
        [
            _switched_on(scenario.inverter.hours_on, shift_h),
            thermostat_c(scenario.household, shift_h),
            *cooling_clock(scenario, shift_h),
        ]
    )


def _switched_on(hours: float, shift_h: int) -> npt.NDArray[np.float64]:
    """Part of each hour the inverter is left on, centred on 14:00 of the household's clock."""
    start, end = 14.0 - hours / 2.0, 14.0 + hours / 2.0
    on = np.zeros(24)
    for day in (-24.0, 0.0, 24.0):
        hour = np.arange(24) + day
        on += np.clip(end - hour, 0.0, 1.0) - np.clip(start - hour, 0.0, 1.0)
    return np.roll(np.clip(on, 0.0, 1.0), -shift_h)
