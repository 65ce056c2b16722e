"""Which way a group of panels faces in every hour of the year, and when it lies stowed."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from flatodds.sun import DAYS, SunTable

Floats = npt.NDArray[np.float64]

MONTH_OF_DAY = np.repeat(np.arange(12), (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31))
STEEPEST_DEG = 75.0  # panels on legs are hardly set steeper: common practice, no source


class Aim(NamedTuple):
    """How panels on the ground are aimed by hand.

    Attributes
    ----------
    times_a_day : int
        Positions they are put in, spread evenly over the hours they stand out.
    error_deg : float
        Angle by which they typically miss the sun when they are put there.
    windows : tuple of (start, end)
        Hours in which they stand out, on the clock the household keeps.
    """

    times_a_day: int
    error_deg: float
    windows: tuple[tuple[float, float], ...]


class Facing(NamedTuple):
    """Tilt and azimuth [degree], cosine of the aiming error and part of the hour out [1].

    All (365, 24).
    """

    tilt_deg: Floats
    azimuth_deg: Floats
    aimed: Floats
    out: Floats


def fixed(tilts_deg: tuple[float, ...], azimuth_deg: float) -> Facing:
    """Facing of panels with one tilt, or one for each month, January first."""
    by_month = np.array(tilts_deg)
    tilt = by_month[MONTH_OF_DAY] if len(tilts_deg) == 12 else np.full(DAYS, by_month[0])
    whole = np.ones((DAYS, 24))
    return Facing(np.repeat(tilt[:, None], 24, axis=1), azimuth_deg * whole, whole, whole)


def by_hand(sun: SunTable, aim: Aim, shift_h: Floats) -> Facing:
    """Facing of panels that someone turns towards the sun a few times a day.

    The hours with sun in which they stand out are cut into equal parts; in each part they
    face where the sun stands in its middle.

    Parameters
    ----------
    shift_h : Floats
        Hours the household's clock is ahead of the simulation clock, (365,).
    """
    out = hours_out(aim.windows, shift_h)
    lit = (sun.cos_zenith > 0.0) & (out > 0.0)
    rank = np.cumsum(lit, axis=1) - 1
    count = lit.sum(axis=1)
    part = np.maximum(rank, 0) * aim.times_a_day // np.maximum(count, 1)[:, None]
    part = np.minimum(part, aim.times_a_day - 1)
    tilt = np.zeros((DAYS, 24))
    azimuth = np.full((DAYS, 24), 180.0)
    for k in range(aim.times_a_day):
        held = lit & (part == k)
        middle = _middle(held)
        days = np.flatnonzero(held.any(axis=1))
        rows = held & held.any(axis=1)[:, None]
        zenith = np.zeros(DAYS)
        towards = np.full(DAYS, 180.0)
        zenith[days] = sun.zenith_deg[days, middle[days]]
        towards[days] = sun.azimuth_deg[days, middle[days]]
        tilt = np.where(rows, np.minimum(zenith, STEEPEST_DEG)[:, None], tilt)
        azimuth = np.where(rows, towards[:, None], azimuth)
    missed = np.full((DAYS, 24), np.cos(np.radians(aim.error_deg)))
    return Facing(tilt, azimuth, missed, out)


def _middle(held: npt.NDArray[np.bool_]) -> npt.NDArray[np.int64]:
    """Index of the middle one of the hours marked on each day, (365,); 0 where there is none."""
    rank = np.cumsum(held, axis=1)
    half = (held.sum(axis=1) + 1) // 2
    return np.asarray(np.argmax((rank == half[:, None]) & held, axis=1))


def hours_out(windows: tuple[tuple[float, float], ...], shift_h: Floats) -> Floats:
    """Part of each hour of the simulation clock inside windows of the household's, (365, 24)."""
    start = np.arange(24.0)[None, :] + shift_h[:, None]
    out = np.zeros((DAYS, 24))
    for first, last in windows:
        for turn in (-24.0, 0.0, 24.0):
            overlap = np.minimum(start + 1.0, last + turn) - np.maximum(start, first + turn)
            out += np.clip(overlap, 0.0, 1.0)
    return np.clip(out, 0.0, 1.0)
