"""Real years shuffled in blocks: invented years made of pieces of real ones.

A block is 30 days of a year that is drawn anew, from up to 15 days earlier or later in the
season. Shorter blocks lose the weeks on end that drain a large bank: with 10 days an 8-day
bank seemed to need up to 6 % less sun than it did in the real years (own comparison with
station records, see DEVELOPERS.md). What moves to the target day is not irradiance but its
share of the clear sky, so that the season's own sun stays where it is.

Blocks drawn alone would lose what holds a real year together: years made of them differed from
each other by half as much as the record's at some places. So a member is dull or clear for its
whole year, and prefers, as strongly as the record's own years hold together, to take its blocks
from years that were.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from flatodds.lanes import philox
from flatodds.sun import DAYS, SunTable
from flatodds.weather.contract import DHI, DNI, GHI, SKY, TEMP, WIND
from flatodds.weather.ensembles import Floats, HoursOfYears, Ints, Key, day_scores
from flatodds.weather.synthetic import CEILING, COS_87, MIN_COS_ZENITH, STREAM_YEAR
from flatodds.weather.tables import yearly_course

BLOCK_DAYS = 30  # longer than the memory of weather; judgement
OFFSET_DAYS = 15  # a block starts up to this much earlier or later in the season
LEAST_YEARS = 5  # own comparison: blocks of 5 years came out 1 to 5 % too sunny, fewer unknown

LEVEL_BLOCKS = DAYS // BLOCK_DAYS  # whole blocks of a year

STREAM_BLOCK = np.uint64(8)  # donor year and offset of a block; the counter's day is the block
STREAM_PHASE = np.uint64(9)  # where a member's blocks begin

LOW_CLEAR_W_M2 = 20.0  # below this the ratio to clear sky is noise: the day's is taken; judgement
DARK_WH_M2 = 10.0  # clear-sky irradiation of a day that has no index of its own; judgement
DARK_INDEX = 0.5  # given to such days; it multiplies next to nothing; judgement
FAINT_W_M2 = 5.0  # all of less than this is taken as diffuse; judgement

_draw: Any = getattr(philox, "py_func", philox)  # the same function over whole arrays


@dataclass(frozen=True, slots=True)
class ShuffledYears:
    """Blocks of real days, carried to the days they are lived on.

    Attributes
    ----------
    years : tuple of int
        Calendar years that blocks come from.
    index : ndarray, (year * 365, 24)
        Global irradiance over clear sky [1].
    day_index : ndarray, (year * 365,)
        The same of the day's sums [1].
    diffuse : ndarray, (year * 365, 24)
        Diffuse over global irradiance [1].
    anomaly_c, wind : ndarray, (year * 365, 24)
        Temperature above the season's mean [degC]; wind speed [m/s].
    mean_c : ndarray, (365,)
        The season's mean temperature [degC].
    clear_ghi, cos_zenith, dni_extra : ndarray, (365, 24)
        Clear sky [W/m2], sun's height [1] and extraterrestrial irradiance [W/m2].
    score : ndarray, (year * 365,)
        Clearness score of each day among those of its season [1].
    order : ndarray of int, (year,)
        Rows of `years` from the dullest to the clearest.
    together : float
        How strongly a member's blocks come from years like each other, 0 to 1: share of the
        variance of yearly clearness that blocks drawn alone would lose [1].
    """

    years: tuple[int, ...]
    index: Floats
    day_index: Floats
    diffuse: Floats
    anomaly_c: Floats
    wind: Floats
    mean_c: Floats
    clear_ghi: Floats
    cos_zenith: Floats
    dni_extra: Floats
    score: Floats
    order: Ints
    together: float

    def hours(self, first_day: int, days: int, members: Ints, key: Key) -> Floats:
        """As `Ensemble.hours`."""
        day = first_day + np.arange(days)
        donor = self.donors(day, members, key)
        doy = day % DAYS
        sky = np.empty((len(members), days, 24, SKY))
        sky[..., GHI] = self._global(donor, doy)
        self._split(donor, doy, sky)
        sky[..., TEMP] = self.anomaly_c[donor] + self.mean_c[doy][:, None]
        sky[..., WIND] = self.wind[donor]
        return sky.reshape(len(members), 24 * days, SKY)

    def scores(self, first_day: int, days: int, members: Ints, key: Key) -> Floats:
        """As `Ensemble.scores`: those of the donor days."""
        return self.score[self.donors(first_day + np.arange(days), members, key)]

    def mean_temp_c(self, doy: int) -> float:
        """Mean of the season [degC]."""
        return float(self.mean_c[doy])

    def donors(self, day: Ints, members: Ints, key: Key) -> Ints:
        """Real day (row of `index`) that each member lives on each day, (member, day)."""
        phase = uniforms(0, STREAM_PHASE, members, key)[0] * BLOCK_DAYS
        block = (day + phase.astype(np.int64)[:, None]) // BLOCK_DAYS
        first = np.uint64(block.min())
        number = first + np.arange(int(block.max()) - int(first) + 1, dtype=np.uint64)
        where = uniforms(number, STREAM_BLOCK, members[:, None], key)[1]
        year = self._donor_years(number, members, key)
        offset = (where * (2 * OFFSET_DAYS + 1)).astype(np.int64) - OFFSET_DAYS
        begin = number.astype(np.int64) * BLOCK_DAYS - phase.astype(np.int64)[:, None]
        shift = year * DAYS + offset + begin % DAYS - begin
        donor: Ints = np.take_along_axis(shift, block - int(first), axis=1) + day
        return donor % (len(self.years) * DAYS)

    def _donor_years(self, number: Any, members: Ints, key: Key) -> Ints:
        """Row of the year that each block comes from, (member, block); every year as often."""
        from scipy.special import ndtr, ndtri

        whole = ndtri(uniforms(0, STREAM_YEAR, members, key)[0])[:, None]
        alone = ndtri(uniforms(number, STREAM_BLOCK, members[:, None], key)[0])
        score = math.sqrt(self.together) * whole + math.sqrt(1.0 - self.together) * alone
        rank = (ndtr(score) * len(self.years)).astype(np.int64)
        return np.asarray(self.order[np.minimum(rank, len(self.years) - 1)])

    def _global(self, donor: Ints, doy: Ints) -> Floats:
        """Global irradiance (member, day, 24) [W/m2] with the donor day's share of clear sky."""
        most = CEILING * self.clear_ghi[doy]
        wanted = self.day_index[donor] * self.clear_ghi.sum(axis=1)[doy]
        ghi = self.index[donor] * self.clear_ghi[doy]
        for _ in range(3):  # bring the sum to the day's, hours never above their ceilings
            total = ghi.sum(axis=-1)
            ghi *= (wanted / np.maximum(total, 1e-6))[..., None]
            np.minimum(ghi, most, out=ghi)
        return ghi

    def _split(self, donor: Ints, doy: Ints, sky: Floats) -> None:
        """Fill in diffuse and beam with the donor hour's shares; all diffuse at a low sun."""
        height, extra = self.cos_zenith[doy], self.dni_extra[doy]
        ghi = sky[..., GHI]
        sine = np.maximum(height, MIN_COS_ZENITH)
        beam = np.where(height > COS_87, ghi * (1.0 - self.diffuse[donor]), 0.0)
        dni = np.minimum(beam / sine, extra)
        sky[..., DNI] = dni
        sky[..., DHI] = ghi - dni * sine


def uniforms(day: Any, stream: np.uint64, members: Ints, key: Key) -> list[Floats]:
    """Four uniform numbers for each day and member, of the broadcast shape."""
    words = _draw(day, stream, members.astype(np.uint64), np.uint64(0), *key)
    return [((word >> np.uint64(8)).astype(np.float64) + 0.5) / 2.0**24 for word in words]


def held_together(score: Floats) -> tuple[Ints, float]:
    """Order of a record's years from dull to clear, and how much of that no block explains.

    With n blocks a year of variance v about their year's mean, and yearly means of variance s,
    a year whose blocks come from like years by a share c has the variance
    s (c + (1 - c) / n) + v (1 - 1/n) / n; it is s for c = 1 - v / (n s).

    Parameters
    ----------
    score : ndarray, (year, 365)
        Clearness scores of days among those of their season.
    """
    blocks = score[:, : LEVEL_BLOCKS * BLOCK_DAYS].reshape(len(score), LEVEL_BLOCKS, BLOCK_DAYS)
    means = blocks.mean(axis=2)
    level = means.mean(axis=1)
    order: Ints = np.argsort(level, kind="stable").astype(np.int64)
    if len(score) < 2:
        return order, 0.0
    within = float((means - level[:, None]).var(axis=1, ddof=1).mean())
    between = float(level.var(ddof=1))
    return order, max(0.0, 1.0 - within / max(LEVEL_BLOCKS * between, 1e-12))


def like_each_other(ensembles: Sequence[ShuffledYears]) -> list[ShuffledYears]:
    """Ensembles of which those of the same years take the same pieces of them.

    Stays that are near each other then share their weather: the first one's order counts.
    """
    first: dict[tuple[int, ...], ShuffledYears] = {}
    out = []
    for one in ensembles:
        lead = first.setdefault(one.years, one)
        out.append(one if one is lead else replace(one, order=lead.order, together=lead.together))
    return out


def shuffled_years(record: HoursOfYears, sun: SunTable, clear_ghi: Floats) -> ShuffledYears:
    """Ensemble of blocks of a record; the caller sees to it that there are years enough.

    Parameters
    ----------
    record : HoursOfYears
        Hours on the clock of `sun`.
    sun : SunTable
        Of the place.
    clear_ghi : ndarray, (365, 24)
        Clear-sky global irradiance [W/m2].
    """
    clear_wh = clear_ghi.sum(axis=1)
    dark = clear_wh < DARK_WH_M2
    day_index = record.ghi.sum(axis=2) / np.where(dark, 1.0, clear_wh)
    day_index[:, dark] = DARK_INDEX
    day_index = np.clip(day_index, 0.0, CEILING)
    low = clear_ghi < LOW_CLEAR_W_M2
    index = record.ghi / np.where(low, 1.0, clear_ghi)
    index = np.where(low, day_index[..., None], np.clip(index, 0.0, CEILING))
    faint = record.ghi < FAINT_W_M2
    share = np.where(faint, 1.0, record.dhi / np.where(faint, 1.0, record.ghi))
    score = day_scores(record.ghi.sum(axis=2))
    order, together = held_together(score.reshape(-1, DAYS))
    mean_c = yearly_course(record.temp_air.mean(axis=(0, 2)))
    return ShuffledYears(
        years=record.years,
        index=index.reshape(-1, 24),
        day_index=day_index.ravel(),
        diffuse=np.clip(share, 0.0, 1.0).reshape(-1, 24),
        anomaly_c=(record.temp_air - mean_c[:, None]).reshape(-1, 24),
        wind=record.wind_speed.reshape(-1, 24),
        mean_c=mean_c,
        clear_ghi=clear_ghi,
        cos_zenith=sun.cos_zenith,
        dni_extra=sun.dni_extra,
        score=score,
        order=order,
        together=together,
    )
