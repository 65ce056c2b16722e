"""How dull it gets: monthly sun, the dullest quarter, and the worst days in a row in it.

*Dullest quarter*: the three months in a row with least sun on level ground. Each time it comes
round is a season; a spell's mean and its 1 in 10 are over seasons.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from flatodds.sun import DAYS
from flatodds.weather.hours import MONTH_START

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

MONTH_LENGTH = np.diff(np.append(MONTH_START, DAYS))
MONTH_OF_DAY = np.repeat(np.arange(12), MONTH_LENGTH)
SPELLS = (5, 7)  # lengths of the worst spells that are told [day]
DULL_FRAC = 0.5  # a dull day has less than this share of its month's mean; own definition
ONE_IN = 0.1  # seasons that a bad spell is told of; own choice
LEAST_SEASONS = 10  # with fewer, 1 in 10 would be a guess and the worst is told instead


@dataclass(frozen=True, slots=True)
class DailyWeather:
    """Days of one or more stretches of whole years from 1 January, without 29 February.

    Attributes
    ----------
    sun_kwh_m2 : ndarray of float64, (series, day)
        Global horizontal irradiation of each day [kWh/m2].
    temp_c : ndarray of float64, (series, day)
        Mean air temperature [degC].
    first_year : int or None
        Calendar year of day 0; None where the days are generated.
    place : str
        What to call where it is.
    basis : str
        Sentence on where the days come from, and its typical error.
    sha256 : str
        Of the files, or of what the days were generated from; empty: not known.
    """

    sun_kwh_m2: Floats
    temp_c: Floats
    first_year: int | None
    place: str
    basis: str
    sha256: str = ""

    @property
    def years(self) -> int:
        """How many years there are in all."""
        return self.sun_kwh_m2.size // DAYS


@dataclass(frozen=True, slots=True)
class Spread:
    """A figure over seasons: its mean, the value 1 season in 10 is worse than, the worst.

    `tenth` is None where there are too few seasons to tell.
    """

    mean: float
    tenth: float | None
    worst: float


@dataclass(frozen=True, slots=True)
class Months:
    """Twelve months, all (12,).

    Attributes
    ----------
    sun_kwh_m2, temp_c : ndarray of float64
        Mean of the days [kWh/m2, degC].
    dull_kwh_m2 : ndarray of float64
        Mean of the month in the dullest year of 10, or of all when there are fewer [kWh/m2].
    """

    sun_kwh_m2: Floats
    temp_c: Floats
    dull_kwh_m2: Floats


@dataclass(frozen=True, slots=True)
class Dullness:
    """The dullest quarter and its spells.

    Attributes
    ----------
    first_month : int
        0 to 11; the quarter may go on over new year.
    sun_kwh_m2 : float
        Mean of its days [kWh/m2].
    seasons : int
        How many whole seasons there are.
    longest_days : Spread
        Longest run of dull days [day].
    worst_kwh_m2 : dict of int to Spread
        Lowest mean of so many days in a row, by their number [kWh/m2].
    """

    first_month: int
    sun_kwh_m2: float
    seasons: int
    longest_days: Spread
    worst_kwh_m2: dict[int, Spread]


@dataclass(frozen=True, slots=True)
class Spell:
    """Some days in a row: which series, its first day there, how many, their mean [kWh/m2]."""

    series: int
    first_day: int
    days: int
    sun_kwh_m2: float


def months(daily: DailyWeather) -> Months:
    """Work out the twelve months."""
    sun = daily.sun_kwh_m2.reshape(-1, DAYS)
    temp = daily.temp_c.reshape(-1, DAYS)
    of_year = np.add.reduceat(sun, MONTH_START, axis=1) / MONTH_LENGTH
    few = len(of_year) < LEAST_SEASONS
    dull = of_year.min(axis=0) if few else np.quantile(of_year, ONE_IN, axis=0)
    warmth = np.add.reduceat(temp, MONTH_START, axis=1).mean(axis=0) / MONTH_LENGTH
    return Months(of_year.mean(axis=0), warmth, dull)


def dullness(daily: DailyWeather) -> Dullness:
    """Find the dullest quarter and its spells."""
    by_month = months(daily).sun_kwh_m2
    quarter = _dullest_quarter(by_month)
    _, first = season_starts(daily, quarter)
    days = _season_days(daily, quarter)
    dull = days < DULL_FRAC * _month_mean(by_month, quarter)
    return Dullness(
        first_month=quarter,
        sun_kwh_m2=float(days.mean()),
        seasons=len(first),
        longest_days=_spread(longest_runs(dull).astype(np.float64), worse_is_more=True),
        worst_kwh_m2={
            length: _spread(spell_means(days, length).min(axis=1), worse_is_more=False)
            for length in SPELLS
        },
    )


def worst_spells(daily: DailyWeather, quarter: int, length: int, most: int) -> list[Spell]:
    """Find the worst spells, at most one a season, the dullest first.

    Parameters
    ----------
    quarter : int
        First month of the quarter, 0 to 11.
    length : int
        Days in a row.
    most : int
        How many at most.
    """
    series, first = season_starts(daily, quarter)
    means = spell_means(_season_days(daily, quarter), length)
    at = means.argmin(axis=1)
    low = means.min(axis=1)
    order = np.argsort(low, kind="stable")[:most]
    return [
        Spell(int(series[i]), int(first[i] + at[i]), length, float(low[i])) for i in order.tolist()
    ]


def season_starts(daily: DailyWeather, quarter: int) -> tuple[Ints, Ints]:
    """Series and first day of every whole season."""
    series, days = daily.sun_kwh_m2.shape
    first = np.arange(int(MONTH_START[quarter]), days - _length(quarter) + 1, DAYS)
    return np.repeat(np.arange(series), first.size), np.tile(first, series)


def spell_means(days: Floats, length: int) -> Floats:
    """Mean of every `length` days in a row of each season, (season, day - length + 1)."""
    sums = np.cumsum(np.pad(days, ((0, 0), (1, 0))), axis=1)
    means: Floats = (sums[:, length:] - sums[:, :-length]) / length
    return means


def longest_runs(mask: npt.NDArray[np.bool_]) -> Ints:
    """Length of the longest run of True in each row."""
    run = np.zeros(len(mask), dtype=np.int64)
    longest = np.zeros(len(mask), dtype=np.int64)
    for column in mask.T:
        run = (run + 1) * column
        longest = np.maximum(longest, run)
    return longest


def _dullest_quarter(by_month: Floats) -> int:
    """First of the three months in a row, over new year too, with least sun."""
    total = by_month * MONTH_LENGTH
    sums = total + np.roll(total, -1) + np.roll(total, -2)
    lengths = MONTH_LENGTH + np.roll(MONTH_LENGTH, -1) + np.roll(MONTH_LENGTH, -2)
    return int(np.argmin(sums / lengths))


def _length(quarter: int) -> int:
    return int(MONTH_LENGTH[np.arange(quarter, quarter + 3) % 12].sum())


def _season_days(daily: DailyWeather, quarter: int) -> Floats:
    """Sun of the days of every whole season, (season, day)."""
    series, first = season_starts(daily, quarter)
    if not first.size:
        raise ValueError("no whole season: the days must span two years or more")
    at = first[:, None] + np.arange(_length(quarter))
    days: Floats = daily.sun_kwh_m2[series[:, None], at]
    return days


def _month_mean(by_month: Floats, quarter: int) -> Floats:
    """Mean of its month for every day of a season, (day,)."""
    doy = (int(MONTH_START[quarter]) + np.arange(_length(quarter))) % DAYS
    mean: Floats = by_month[MONTH_OF_DAY[doy]]
    return mean


def _spread(values: Floats, *, worse_is_more: bool) -> Spread:
    enough = values.size >= LEAST_SEASONS
    level = 1.0 - ONE_IN if worse_is_more else ONE_IN
    worst = values.max() if worse_is_more else values.min()
    tenth = float(np.quantile(values, level)) if enough else None
    return Spread(float(values.mean()), tenth, float(worst))
