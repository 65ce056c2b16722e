"""How far generated years are from a station's many real ones, in what decides a bank's fate.

The deciding measure is the *equivalent-sun error*: how much more sun, as a share, a household
would have to collect under generated weather than under the real years for the same odds of
running flat. It is found with a daily toy bank over the three dullest months. Positive is
cautious. Worst spells alone do not see a bank that drains for weeks.
"""

from __future__ import annotations

import csv
import gzip
import io
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

import numpy as np

from flatodds.sun import DAYS, SunTable
from flatodds.weather.ensembles import Floats, Ints
from flatodds.weather.resampled import ShuffledYears, shuffled_years
from flatodds.weather.tables import MONTH_OF_DAY, monthly_mean

WH_PER_MJ = 1e6 / 3600.0  # definition
BANK_DAYS = (2.0, 4.0, 8.0, 15.0)  # days of use that the toy bank holds
ODDS = (0.10, 0.30)  # of running flat, of the toy bank; own choice
SEASON = 3  # months of the dull season
LENGTHS = (3, 5, 7)  # of the worst spells [day]; own choice
RESAMPLES = 40_000  # standard errors of a tenth settle to 1 %
RESAMPLE_SEED = 1979  # any would do
MOST_SUN = 50.0  # times the use: more than any bank needs
HALVINGS = 30  # own choice: far below what is told


@dataclass(frozen=True, slots=True)
class Days:
    """A station's daily record.

    Attributes
    ----------
    years : tuple of int
        Complete calendar years, not necessarily following each other.
    ghi_wh_m2 : ndarray, (year, 365)
        Global horizontal irradiation [Wh/m2].
    """

    years: tuple[int, ...]
    ghi_wh_m2: Floats


def read_days(path: Path) -> Days:
    """Complete years of a table with the columns date and ghi_MJ_m2_day, gzipped or not."""
    raw = path.read_bytes()
    text = (gzip.decompress(raw) if path.suffix == ".gz" else raw).decode()
    years: dict[int, dict[str, float]] = {}
    for row in csv.DictReader(io.StringIO(text)):
        if row["date"][5:] != "02-29" and row["ghi_MJ_m2_day"]:
            value = float(row["ghi_MJ_m2_day"]) * WH_PER_MJ
            years.setdefault(int(row["date"][:4]), {})[row["date"][5:]] = value
    whole = [year for year in sorted(years) if len(years[year]) == DAYS]
    return Days(tuple(whole), np.array([[years[y][d] for d in sorted(years[y])] for y in whole]))


def dull_season(ghi_wh_m2: Floats) -> tuple[int, int]:
    """First day and length of the three months in a row with least sun, from (year, 365)."""
    by_month = monthly_mean(ghi_wh_m2.mean(axis=0))
    sums = [by_month[np.arange(m, m + SEASON) % 12].sum() for m in range(12)]
    first = int(np.argmin(sums))
    size = sum(int(np.count_nonzero((first + i) % 12 == MONTH_OF_DAY)) for i in range(SEASON))
    return int(np.flatnonzero(first == MONTH_OF_DAY)[0]), size


def seasons_of(record: Days, start: int, size: int) -> Floats:
    """Every dull season of a record that lies in years that follow each other, (season, day)."""
    ghi, years = record.ghi_wh_m2, record.years
    parts = [
        np.concatenate([ghi[i], ghi[(i + 1) % len(years)]])[start : start + size]
        for i, year in enumerate(years)
        if start + size <= DAYS or year + 1 in years
    ]
    return np.array(parts)


def worst_spell(days: Floats, length: int) -> Floats:
    """Lowest mean of `length` days in a row in each row of days, in their unit."""
    sums = np.cumsum(np.pad(days, ((0, 0), (1, 0))), axis=1)
    return np.asarray((sums[:, length:] - sums[:, :-length]).min(axis=1) / length)


def sun_needed(days: Floats, bank_days: float) -> Floats:
    """Smallest array that keeps a toy bank from running flat, for each row of days.

    The bank begins full, holds `bank_days` days of use and uses 1 a day.

    Parameters
    ----------
    days : ndarray, (season, day)
        Sun of each day in any unit.
    bank_days : float
        Size of the bank in days of use [d].

    Returns
    -------
    ndarray, (season,)
        Days of use that the array makes of one unit of sun.
    """
    low = np.zeros(len(days))
    high = np.full(len(days), MOST_SUN / float(days.mean()))
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        charge = np.full(len(days), bank_days)
        least = charge.copy()
        for sun in days.T:
            charge = np.minimum(charge + middle * sun - 1.0, bank_days)
            least = np.minimum(least, charge)
        high = np.where(least >= 0.0, middle, high)
        low = np.where(least >= 0.0, low, middle)
    return high


def equivalent_sun_errors(real: Floats, made: Floats) -> Floats:
    """Equivalent-sun error by bank and odds, (4, 2) [1], of generated against real seasons."""
    out = np.empty((len(BANK_DAYS), len(ODDS)))
    for i, bank in enumerate(BANK_DAYS):
        of_real, of_made = sun_needed(real, bank), sun_needed(made, bank)
        for j, odds in enumerate(ODDS):
            ratio = np.quantile(of_made, 1.0 - odds) / np.quantile(of_real, 1.0 - odds)
            out[i, j] = ratio - 1.0
    return out


class SpellError(NamedTuple):
    """How far worst spells are off, and how well the record knows them, as shares of its own.

    Attributes
    ----------
    error : float
        Of the generated against the real seasons; positive is too sunny [1].
    standard_error : float
        Of the record's own figure, by drawing its seasons again [1].
    """

    error: float
    standard_error: float


def spell_error(
    real: Floats,
    made: Floats,
    length: int,
    odds: float | None = None,
    resamples: int = RESAMPLES,
) -> SpellError:
    """Error of the worst spell of a season: of its mean, or of the one met once in 1 / odds.

    The lowest tenth of ten seasons is their dullest one or two, duller or not than the tenth
    of a thousand seasons by the rule of interpolation. So like is held against like: the
    mean over many draws of as many generated seasons as the record holds.

    Parameters
    ----------
    real, made : ndarray, (season, day)
        Sun of each day, in one unit.
    length : int
        Days in a row.
    odds : float, optional
        Share of seasons that are worse.
    resamples : int
        How often seasons are drawn again for what happens once in 1 / odds.
    """
    a, b = worst_spell(real, length), worst_spell(made, length)
    if odds is None:  # of a mean, all possible redrawings are known without drawing
        return SpellError(float(b.mean() / a.mean()) - 1.0, float(a.std() / a.mean() / a.size**0.5))
    rng = np.random.default_rng(RESAMPLE_SEED)
    own = float(np.quantile(a, odds))
    again = np.quantile(a[rng.integers(0, a.size, (resamples, a.size))], odds, axis=1)
    as_many = np.quantile(b[rng.integers(0, b.size, (resamples, a.size))], odds, axis=1)
    return SpellError(float(as_many.mean()) / own - 1.0, float(again.std()) / own)


def spell_errors(real: Floats, made: Floats) -> Floats:
    """Error of worst spells by length, (3, 2) [1]: of their mean, and of their 1-in-10 value."""
    found = [[spell_error(real, made, n, odds).error for odds in (None, 0.1)] for n in LENGTHS]
    return np.array(found)


def year_spread(ghi_wh_m2: Floats) -> tuple[float, float]:
    """Year-to-year sd over mean [1] of (year, 365): of calendar months (mean), of whole years."""
    by_month = np.stack([monthly_mean(year) for year in ghi_wh_m2])
    monthly = (by_month.std(axis=0, ddof=1) / by_month.mean(axis=0)).mean()
    yearly = ghi_wh_m2.mean(axis=1)
    return float(monthly), float(yearly.std(ddof=1) / yearly.mean())


@dataclass(frozen=True, slots=True)
class _Hours:
    """A daily record spread over clear-sky hours, to be shuffled like a record of hours."""

    years: tuple[int, ...]
    ghi: Floats
    dni: Floats
    dhi: Floats
    temp_air: Floats
    wind_speed: Floats


def shuffled_days(record: Days, sun: SunTable, clear_ghi: Floats) -> ShuffledYears:
    """Ensemble of blocks of a daily record; a record of any length, for comparisons."""
    clear_wh = np.maximum(clear_ghi.sum(axis=1), 1e-6)
    ghi = (record.ghi_wh_m2 / clear_wh)[..., None] * clear_ghi
    none = np.zeros_like(ghi)
    return shuffled_years(_Hours(record.years, ghi, none, ghi, none, none), sun, clear_ghi)


def lived_days(
    ensemble: ShuffledYears, first_doy: int, days: int, members: int, seed: int
) -> Floats:
    """Daily irradiation of members of an ensemble, (member, day) [Wh/m2]."""
    key = (np.uint64(seed), np.uint64(0))
    out = np.empty((members, days))
    for first in range(0, members, 64):
        lived: Ints = np.arange(first, min(first + 64, members), dtype=np.int64)
        hours = ensemble.hours(DAYS + first_doy, days, lived, key)
        out[lived] = hours[..., 0].reshape(len(lived), days, 24).sum(axis=-1)
    return out


def most_typical_year(record: Days) -> Days:
    """One year put together from the months nearest the long-term distribution.

    The Finkelstein-Schafer statistic of daily sun alone (Finkelstein and Schafer 1971).
    """
    year = np.empty(DAYS)
    for month in range(12):
        here = month == MONTH_OF_DAY
        values = record.ghi_wh_m2[:, here]
        pool = np.sort(values.ravel())
        all_years = np.arange(1, pool.size + 1) / pool.size
        miss = [
            np.abs(np.searchsorted(np.sort(v), pool, side="right") / v.size - all_years).mean()
            for v in values
        ]
        year[here] = values[int(np.argmin(miss))]
    return Days((record.years[0],), year[None])


def mean_over(errors: Sequence[Floats]) -> Floats:
    """Mean over places of errors of one shape."""
    return np.asarray(np.mean(np.stack(errors), axis=0))
