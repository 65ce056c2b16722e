"""Humidity and wet days that belong to a generated day; plain functions, nothing drawn here."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

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
