"""The sun by a weather file's own clock, and whether that clock is right."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from flatodds.errors import Problem
from flatodds.sun import DAYS, REFERENCE_YEAR, sun_position
from flatodds.weather.hours import YEAR_H, Grid
from flatodds.weather.rows import Floats, Ints, Site

# The clock: bright hours (80 % quantile over half a month) are compared with the sun's height to
# the power 1.15 at shifted times; a simple clear-sky shape, Haurwitz (1945) as pvlib cites it has
# nearly this form. All three numbers are judgement, checked on three measured typical years.
BRIGHT_QUANTILE = 0.8
CLEAR_POWER = 1.15
CLOCK_LIMIT_MIN = 30.0
BLOCK_DAYS = 15
QUARTERS = range(-10, 11)  # shifts tried, in quarters of an hour
SEASON_SHARE_FRAC = 0.05  # a half year with less of the year's sun tells nothing; judgement


@dataclass(frozen=True, slots=True)
class SunHours:
    """The sun over the hours of a year on a file's own clock, all (365, 24).

    Attributes
    ----------
    lowest_zenith_deg : ndarray of float64
        Smallest apparent zenith angle at the hour's start, middle and end [degree].
    cos_high : ndarray of float64
        Its cosine, not below 0 [1].
    cos_mid : ndarray of float64
        Cosine of the zenith angle at the moment the radiation stands for, not below 0 [1].
    dni_extra : ndarray of float64
        Extraterrestrial normal irradiance [W/m2].
    """

    lowest_zenith_deg: Floats
    cos_high: Floats
    cos_mid: Floats
    dni_extra: Floats


def _moments(site: Site, hours: Floats) -> npt.NDArray[np.datetime64]:
    """UTC moments of hours counted from the start of the reference year on the file's clock."""
    seconds = np.round((hours - site.offset_h) * 3600.0).astype("timedelta64[s]")
    moments: npt.NDArray[np.datetime64] = np.datetime64(f"{REFERENCE_YEAR}-01-01", "s") + seconds
    return moments


def _cosine(site: Site, hours: Floats) -> tuple[Floats, Floats]:
    """Apparent zenith [degree] and its cosine, not below 0."""
    moments = _moments(site, hours)
    zenith, _ = sun_position(moments, site.latitude, site.longitude, site.elevation_m)
    return zenith, np.maximum(np.cos(np.radians(zenith)), 0.0)


@lru_cache(maxsize=8)
def sun_hours(site: Site, mid_h: float, beyond_h: float = 0.0) -> SunHours:
    """Place the sun over every hour of a year at a file's site and by its clock.

    `beyond_h`: how far the values of an hour reach over its ends [h].
    """
    from pvlib.irradiance import get_extra_radiation

    hour = np.arange(YEAR_H, dtype=np.float64)
    begin, _ = _cosine(site, hour - beyond_h)
    end, _ = _cosine(site, hour + 1.0 + beyond_h)
    middle, cos_middle = _cosine(site, hour + 0.5)
    cos_mid = cos_middle if mid_h == 0.5 else _cosine(site, hour + mid_h)[1]
    lowest = np.minimum(np.minimum(begin, end), middle)
    doy = np.repeat(np.arange(1, DAYS + 1), 24)
    extra = np.asarray(get_extra_radiation(doy, method="spencer"), dtype=np.float64)
    parts = (lowest, np.maximum(np.cos(np.radians(lowest)), 0.0), cos_mid, extra)
    return SunHours(*(part.reshape(DAYS, 24) for part in parts))


def _blocks() -> tuple[Ints, Ints]:
    """First days of half-month blocks and their middle days."""
    first = np.arange(0, DAYS - DAYS % BLOCK_DAYS, BLOCK_DAYS)
    return first, first + BLOCK_DAYS // 2


@lru_cache(maxsize=8)
def _shifted_sun(site: Site, mid_h: float) -> Floats:
    """Clear-sky shape of each block's middle day at shifted times, (shift, block, 24)."""
    _, middle = _blocks()
    shift = np.array(QUARTERS) / 4.0
    hours = middle[None, :, None] * 24.0 + np.arange(24.0) + mid_h + shift[:, None, None]
    _, cosine = _cosine(site, hours.ravel())
    shape: Floats = cosine.reshape(hours.shape) ** CLEAR_POWER
    return shape


def bright_hours(ghi: Floats) -> Floats:
    """Bright hours of each half month, (block, 24) [W/m2], from (year, 365, 24), NaN as dark."""
    first, _ = _blocks()
    days = np.nan_to_num(ghi)[:, : first.size * BLOCK_DAYS]
    days = days.reshape(-1, first.size, BLOCK_DAYS, 24).transpose(1, 0, 2, 3)
    bright: Floats = np.quantile(days.reshape(first.size, -1, 24), BRIGHT_QUANTILE, axis=1)
    return bright


def clock_shift_min(
    bright: Floats, site: Site, mid_h: float, blocks: Ints | slice = slice(None)
) -> float:
    """How many minutes a file's sun runs ahead of the real one.

    Parameters
    ----------
    bright : ndarray of float64, (block, 24)
        From `bright_hours` [W/m2].
    site : Site
        Where, and by which clock.
    mid_h : float
        The moment the radiation stands for, in hours after the start of its hour [h].
    blocks : ndarray of int64 or slice
        Which half months to look at.

    Returns
    -------
    float
        Minutes; the limits of the search when the best is at its edge.
    """
    bright = bright[blocks]
    shape = _shifted_sun(site, mid_h)[:, blocks]
    norm = np.sqrt((shape**2).sum(axis=(1, 2)) * (bright**2).sum())
    match = np.divide(
        (shape * bright).sum(axis=(1, 2)), norm, out=np.zeros(len(norm)), where=norm > 0
    )
    best = int(np.argmax(match))
    fine = 0.0
    if 0 < best < len(match) - 1:
        left, top, right = match[best - 1 : best + 2]
        curve = left - 2.0 * top + right
        fine = 0.5 * float((left - right) / curve) if curve < 0 else 0.0
    return 15.0 * (QUARTERS[best] + fine)


def clock_problems(grid: Grid) -> list[Problem]:
    """Find a clock that is off all year, or off in one half of the year."""
    site, mid_h = grid.raw.site, grid.raw.mid_h
    bright = bright_hours(grid.values["ghi"])
    half = len(bright) // 4
    seasons = {
        "the year": np.arange(4 * half),
        "April to September": np.arange(half, 3 * half),
        "October to March": np.r_[0:half, 3 * half : 4 * half],
    }
    for name, blocks in seasons.items():
        if bright[blocks].sum() < SEASON_SHARE_FRAC * bright.sum():
            continue
        shift = clock_shift_min(bright, site, mid_h, blocks)
        if abs(shift) >= CLOCK_LIMIT_MIN:
            way = "later" if shift < 0 else "earlier"
            return [
                Problem(
                    grid.raw.source.name,
                    f"Over {name} the sun is about {abs(shift):.0f} minutes {way} in this file "
                    f"than at {site.latitude:g}, {site.longitude:g} by a clock "
                    f"{site.offset_h:+g} h from UTC; under {CLOCK_LIMIT_MIN:g} is accepted.",
                    "Check the time zone, the longitude's sign, summer time, and whether stamps "
                    "mean the start or the end of the hour.",
                )
            ]
    return []
