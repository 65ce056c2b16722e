"""Dust, snow and absence: what lies on panels, or keeps them packed away, on a day.

Dust grows with every day without rain and is gone after a wet day that was not snow, or after
wiping. Snow falls before the day's sun and covers all until it is brushed off, melts, or slides.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

from flatodds.lanes import LANES, inlined, outlined, philox, uniform
from flatodds.solar.geometry import Planes

Array = npt.NDArray[np.floating]

DRY_DAYS, SNOW = range(2)  # rows of a group's cover: days since clean, 1 under snow
COVER = 2
# Dust stops growing at this share of the light: judgement.
MOST_DUST_FRAC = 0.2
MELT_C = 1.0  # air warmer than this clears snow within the hour: judgement
# Beam of a sunny hour [W/m2]: the World Meteorological Organization's threshold of sunshine.
SUNNY_W_M2 = 120.0
STREAM_STOWED = np.uint64(64)  # random stream of the first group; one more for each other


@inlined
def dust_share(dry_days: float, per_day: float) -> float:
    """Share of the light that dust lets through after so many days [1]."""
    f = type(dry_days)
    return f(1.0) - min(dry_days * per_day, f(MOST_DUST_FRAC))


@inlined
def days_dry(before: float, wet: float, snow: float, wipe_days: float) -> float:
    """Days since the panels were last clean: washed by rain, or wiped every so many days."""
    f = type(before)
    days = before + f(1.0)
    days = days if days < wipe_days else f(0.0)
    return f(0.0) if wet > snow else days


@inlined
def snow_after(snow: float, temp_air_c: float, dni: float, brushed: float, sheds: float) -> float:
    """1 if snow still lies after an hour, else 0."""
    f = type(snow)
    sunny = sheds if dni > f(SUNNY_W_M2) else f(0.0)
    melts = f(1.0) if temp_air_c > f(MELT_C) else f(0.0)
    return snow * (f(1.0) - max(brushed, sunny, melts))


@outlined
def cover_panels(
    planes: Planes,
    fresh: bool,
    day: int,
    first_member: int,
    k0: int,
    k1: int,
    sky: Array,
    wet: Array,
    snow: Array,
    cover: Array,
    watts: Array,
) -> None:
    """Take from a day's yield what dust and snow hold off, and what lies stowed.

    Parameters
    ----------
    fresh : bool
        Whether the panels begin clean and free.
    day, first_member, k0, k1 : int
        Counter and key; lane i holds member first_member + i.
    sky : Array
        Hours of the day, (5, 24, LANES).
    wet, snow : Array
        1 on a wet day, and on a day with snow, (LANES,).
    cover : Array
        What lies on the panels, changed, (group, COVER, LANES).
    watts : Array
        Yield per watt of label, changed, (group, 24, LANES) [1].
    """
    f = type(sky[0, 0, 0])
    first: Any = np.uint64(first_member)
    for g in range(watts.shape[0]):
        per_day = planes.groups[g, 4]
        wipe_days = planes.groups[g, 5]
        snowed_on = planes.groups[g, 6]
        brush_h = planes.groups[g, 7]
        sheds = planes.groups[g, 8]
        stowed_frac = planes.groups[g, 9]
        dry = cover[g, DRY_DAYS]
        lies = cover[g, SNOW]
        if fresh:
            for i in range(LANES):
                dry[i] = f(0.0)
                lies[i] = f(0.0)
        for i in range(LANES):
            dry[i] = days_dry(dry[i], wet[i], snow[i], wipe_days)
            lies[i] = max(lies[i], snow[i]) * snowed_on
        if per_day > f(0.0):
            for h in range(24):
                for i in range(LANES):
                    watts[g, h, i] *= dust_share(dry[i], per_day)
        if snowed_on > f(0.0):
            for h in range(24):
                brushed = f(1.0) if h + 1 == brush_h else f(0.0)
                for i in range(LANES):
                    watts[g, h, i] *= f(1.0) - lies[i]
                    lies[i] = snow_after(lies[i], sky[3, h, i], sky[1, h, i], brushed, sheds)
        if stowed_frac > f(0.0):
            for i in range(LANES):
                w0, _, _, _ = philox(
                    day, STREAM_STOWED + np.uint64(g), first + np.uint64(i), 0, k0, k1
                )
                out = f(1.0) if uniform(w0) >= stowed_frac else f(0.0)
                for h in range(24):
                    watts[g, h, i] *= out
