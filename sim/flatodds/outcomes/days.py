"""The days of a stay: names of dates, the gloomiest week, the worst member."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping
from itertools import accumulate
from typing import TypedDict

import numpy as np
import numpy.typing as npt

from flatodds.engine.holding import parts_of
from flatodds.outcomes.amounts import Floats, mixture_quantiles
from flatodds.outcomes.record import Floats32, Record

AT_ONCE = 2048  # members whose days are looked at together, so that memory stays flat
WEEK_DAYS = 7
NEAR_SHARE = 0.10  # share of members, nearest a percentile, whose use is averaged; own choice
# The simulated year has no 29 February.
MONTHS = (
    *(("Jan", 31), ("Feb", 28), ("Mar", 31), ("Apr", 30), ("May", 31), ("Jun", 30)),
    *(("Jul", 31), ("Aug", 31), ("Sep", 30), ("Oct", 31), ("Nov", 30), ("Dec", 31)),
)
YEAR_DAYS = 365
DAWN_LEVELS: Mapping[str, float] = {"p10": 0.10, "p50": 0.50, "p90": 0.90}  # own choice


class SunLevel(TypedDict):
    """Sun taken in and energy asked for in a gloomy week, per day."""

    array_kwh_day: float
    demand_kwh_day: float


class GeneratorLevel(TypedDict):
    """Generator hours a day in a busy week; None without a generator."""

    generator_hours_day: float | None


class WeekLevel(TypedDict):
    """Sun taken in and energy asked for in a gloomy week, per day.

    `generator_hours_day` is of the week with most generator hours; None without a generator.
    """

    array_kwh_day: float
    demand_kwh_day: float
    generator_hours_day: float | None


class WorstWeek(TypedDict):
    """The gloomiest week of a stay, as 1 stay in 10 has it or worse, and as half have it."""

    days: int
    one_in_ten: WeekLevel
    median: WeekLevel


def date_text(doy: int) -> str:
    """Name a day of year counted from 0: ``"1 Dec"``."""
    day = doy % YEAR_DAYS
    ends = list(accumulate(length for _, length in MONTHS))
    month = bisect_right(ends, day)
    name, length = MONTHS[month]
    return f"{day - ends[month] + length + 1} {name}"


def days_of(record: Record, stay: int) -> npt.NDArray[np.int64]:
    """Positions of the days of a stay in the daily arrays, (day of stay,)."""
    return np.flatnonzero(record.day_stay == stay)


def worst_week(record: Record, stay: int) -> WorstWeek:
    """Find each member's gloomiest week and tell it at two levels.

    A member's gloomiest week is its seven consecutive days with the least sun taken in (all
    days, when the stay is shorter), in the ``as_estimated`` case. ``array_kwh_day`` is the
    daily mean in that week that one stay in ten, or half of the stays, does not exceed.
    ``demand_kwh_day`` is what was asked for in those same weeks, averaged over the tenth of
    the members nearest that level.
    """
    at = days_of(record, stay)
    length = min(WEEK_DAYS, len(at))
    taken, wanted = (parts_of(record.daily, key, at, 1) for key in ("array_wh", "demand_wh"))
    found = [
        gloomiest(taken[first : first + AT_ONCE], wanted[first : first + AT_ONCE], length)
        for first in range(0, record.members, AT_ONCE)
    ]
    lowest, asked = (np.concatenate(parts) / 1000.0 for parts in zip(*found, strict=True))
    return {
        "days": length,
        "one_in_ten": {**week_level(lowest, asked, 0.10), **generator_week(record, at, 0.90)},
        "median": {**week_level(lowest, asked, 0.50), **generator_week(record, at, 0.50)},
    }


def gloomiest(taken: Floats32, wanted: Floats32, length: int) -> tuple[Floats, Floats]:
    """Mean sun and demand of each member's gloomiest days, (member, day) to (member,) [Wh]."""
    array = rolling_mean(taken.astype(np.float64), length)
    demand = rolling_mean(wanted.astype(np.float64), length)
    week = np.argmin(array, axis=1)[:, np.newaxis]
    lowest = np.take_along_axis(array, week, axis=1)[:, 0]
    return lowest, np.take_along_axis(demand, week, axis=1)[:, 0]


def generator_week(record: Record, at: npt.NDArray[np.int64], level: float) -> GeneratorLevel:
    """Find the daily hours in members' busiest weeks that a share of them does not exceed."""
    if "generator_h" not in record.daily:
        return {"generator_hours_day": None}
    hours = parts_of(record.daily, "generator_h", at, 1)
    busiest = np.concatenate(
        [
            rolling_mean(some.astype(np.float64), min(WEEK_DAYS, len(at))).max(axis=1)
            for some in np.array_split(hours, -(-record.members // AT_ONCE))
        ]
    )
    found = mixture_quantiles(busiest[np.newaxis, :], np.ones(1), {"level": level})
    return {"generator_hours_day": found["level"]}


def week_level(lowest: Floats, asked: Floats, level: float) -> SunLevel:
    """Percentile of the members' gloomiest weeks (member,) [kWh] with the demand around it."""
    members = len(lowest)
    sun = mixture_quantiles(lowest[np.newaxis, :], np.ones(1), {"level": level})["level"]
    half = NEAR_SHARE / 2.0
    first = min(int((level - half) * members), members - 1)
    last = max(first + 1, round((level + half) * members))
    near = np.argsort(lowest, kind="stable")[first:last]
    return {"array_kwh_day": sun, "demand_kwh_day": float(asked[near].mean())}


def rolling_mean(values: Floats, length: int) -> Floats:
    """Mean of every run of consecutive days: (member, day) to (member, day - length + 1)."""
    windows = np.lib.stride_tricks.sliding_window_view(values, length, axis=1)
    means: Floats = windows.mean(axis=-1)
    return means


def dawn_charge(record: Record, stay: int) -> dict[str, float]:
    """Charge left at dawn over all mornings of all members, ``as_estimated``: 10/50/90 % [1].

    Mornings are not independent; these percentiles say what is usual and carry no interval.
    """
    at = days_of(record, stay)
    dawns = parts_of(record.daily, "dawn_charge_frac", at, 1).astype(np.float64)
    return mixture_quantiles(dawns.reshape(1, -1), np.ones(1), DAWN_LEVELS)


def worst_member(record: Record, stay: int) -> int:
    """Find the member with most flat hours as estimated; ties go to lowest charge, least sun."""
    flat_h = record.stay_sum("hours_flat", stay)[0]
    charge = record.extreme("min_charge_frac", stay)[0]
    array_wh = record.stay_sum("array_wh", stay)[0]
    return int(np.lexsort((array_wh, charge, -flat_h))[0])
