"""Humidity, rain and snow that belong to a day, drawn or real.

A day is wet if its clearness score and a normal number of its own, drawn on a stream of its
own, stay together under the season's level: dull days are wet days, mostly.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from flatodds.lanes import LANES, outlined
from flatodds.weather.contract import TEMP
from flatodds.weather.draws import fill_rough

Floats = npt.NDArray[np.float64]

# Dew point from the day's lowest temperature and its range: own fit to nine warm-season
# records, rms 1.6 degC in sample (two from one place, hot desert absent); dew point at the
# day's lowest temperature alone was 5.5 degC off.
DEW_PER_RANGE = 1.13
DEW_DRY_C = 9.4

# How strongly rain and snow keep to dull days: wetness score = -slope * z + own chance. With 1
# half of a wet day's luck is its dullness. Judgement; no open record of both was at hand.
WET_SLOPE = 1.0
SNOW_C = 0.5  # a wet day this cold or colder brings snow, not rain; judgement

# Share of wet days by a month's mean clearness K where nobody said it. Judgement: a line by
# eye through yearly counts, from memory, at seven of the places in DEVELOPERS.md (some .5 of
# days at K .39 in the Netherlands, .28 at .53 on the northern plains, .08 at .65 in Arizona).
WET_AT_K_0 = 1.15
WET_PER_K = 1.65
JUDGED_SHARE = (0.03, 0.85)  # the line is believed no further; judgement
POSSIBLE_SHARE = (1e-4, 1.0 - 1e-4)  # "never" and "always" leave one day in 10,000

STREAM_WET = np.uint64(5)  # own luck of a day's wetness; the first of four words
DEW_C, WET, SNOW = range(3)  # rows of a day's moisture: dew point [degC], any rain or snow, snow
MOIST = 3


def dew_point_c(lowest_c: Floats | float, range_c: Floats | float) -> Floats:
    """Dew point of a day [degC], never above its lowest temperature.

    Parameters
    ----------
    lowest_c, range_c : float or ndarray of one shape
        Lowest temperature of the day, and highest less lowest [degC].
    """
    span = np.asarray(range_c, dtype=np.float64)
    return np.asarray(lowest_c - np.maximum(DEW_PER_RANGE * span - DEW_DRY_C, 0.0))


def wet_chance(z: Floats | float, wet_share: Floats | float) -> Floats:
    """Chance of rain or snow on a day of clearness score z.

    Falls with z; its mean over the normal law of z is exactly the month's share of wet days.

    Parameters
    ----------
    z : float or ndarray
        The generator's clearness score.
    wet_share : float or ndarray
        Wet days over all days of the month, above 0 and below 1 [1].
    """
    from scipy.special import ndtr, ndtri

    level = ndtri(wet_share) * math.sqrt(1.0 + WET_SLOPE**2)
    return np.asarray(ndtr(level - WET_SLOPE * np.asarray(z, dtype=np.float64)))


def is_wet(
    u: Floats | float, z: Floats | float, wet_share: Floats | float
) -> npt.NDArray[np.bool_]:
    """Whether it rains or snows, for a uniform number u in (0, 1)."""
    return np.asarray(u < wet_chance(z, wet_share))


def is_snow(wet: npt.NDArray[np.bool_] | bool, mean_c: Floats | float) -> npt.NDArray[np.bool_]:
    """Whether what falls on a day of this mean temperature [degC] is snow."""
    return np.asarray(np.logical_and(wet, np.asarray(mean_c) <= SNOW_C))


def wet_level(wet_share: Floats | float) -> Floats:
    """Level that a day's score and its own luck stay under on such a share of days [1]."""
    from scipy.special import ndtri

    share = np.clip(wet_share, *POSSIBLE_SHARE)
    return np.asarray(ndtri(share) * math.sqrt(1.0 + WET_SLOPE**2))


def share_by_clearness(k_mean: Floats | float) -> Floats:
    """Share of wet days where nobody said it, from the month's mean clearness [1]."""
    return np.asarray(np.clip(WET_AT_K_0 - WET_PER_K * np.asarray(k_mean), *JUDGED_SHARE))


def clearness_scores(k: Floats, half_width: int, *, around: bool) -> Floats:
    """Give the normal score of each day's rank among days of the same season.

    Parameters
    ----------
    k : ndarray, (row, day)
        Clearness of days, or anything that rises with it within a season.
    half_width : int
        Days before and after that count as the same season.
    around : bool
        Whether the last day is followed by the first (a year), or by nothing.
    """
    from scipy.special import ndtri

    rows, days = k.shape
    out = np.empty((rows, days))
    for day in range(days):
        near = np.arange(day - half_width, day + half_width + 1)
        near = near % days if around else near[(near >= 0) & (near < days)]
        pool = np.sort(k[:, near].ravel())
        low = np.searchsorted(pool, k[:, day], side="left")
        high = np.searchsorted(pool, k[:, day], side="right")
        out[:, day] = ndtri(0.5 * (low + high) / pool.size)
    return np.clip(out, -4.0, 4.0)


@outlined
def draw_moisture(sky, score, level, day, first_member, place, k0, k1, moist) -> None:  # type: ignore[no-untyped-def]
    """Tell a day's dew point, and whether it rains or snows, from its finished hours.

    Parameters
    ----------
    sky : float32 or float64 (5, 24, LANES)
        Hours of the day, rows of `weather.contract`.
    score : (LANES,)
        Clearness score of the day.
    level : float
        `wet_level` of the season.
    day, first_member, place, k0, k1 : int
        Counter and key; lane i holds member first_member + i.
    moist : in the type of sky, (MOIST, LANES)
        Receives rows `DEW_C` [degC], `WET` and `SNOW` (1 or 0).
    """
    f = sky.dtype.type
    own = np.empty((4, LANES))
    low, high = np.empty(LANES, sky.dtype), np.empty(LANES, sky.dtype)
    total = np.empty(LANES, sky.dtype)
    fill_rough(day, STREAM_WET, first_member, place, k0, k1, own)
    for lane in range(LANES):
        low[lane] = high[lane] = total[lane] = sky[TEMP, 0, lane]
    for h in range(1, 24):
        for lane in range(LANES):
            t = sky[TEMP, h, lane]
            low[lane] = min(low[lane], t)
            high[lane] = max(high[lane], t)
            total[lane] += t
    for lane in range(LANES):
        dry = f(DEW_PER_RANGE) * (high[lane] - low[lane]) - f(DEW_DRY_C)
        wet = f(1.0) if WET_SLOPE * score[lane] + own[0, lane] < level else f(0.0)
        cold = f(1.0) if total[lane] <= f(24.0 * SNOW_C) else f(0.0)
        moist[DEW_C, lane] = low[lane] - max(dry, f(0.0))
        moist[WET, lane] = wet
        moist[SNOW, lane] = wet * cold
