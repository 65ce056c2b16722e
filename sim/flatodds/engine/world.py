"""First kernel: the days that a block of members meets, whoever they are.

Day by day: draw the weather, and turn sun into watts per watt of panel. The days go to the
second kernel a few at a time, while they lie in the cache.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from flatodds.engine.records import (
    DOY,
    FIRST_DAY,
    FOLLOWS,
    PLACE,
    SPIN_DAYS,
    Calendar,
    Given,
    Key,
    World,
)
from flatodds.lanes import LANES, kernel, outlined
from flatodds.solar.array import draw_yield
from flatodds.solar.cover import cover_panels
from flatodds.solar.geometry import Planes
from flatodds.weather.contract import SKY
from flatodds.weather.moisture import SNOW, WET, draw_moisture
from flatodds.weather.synthetic import (
    WET_LEVEL,
    SkyTables,
    Z,
    advance_weather,
    begin_weather,
    draw_day,
)

Array = npt.NDArray[np.floating]
Ints = npt.NDArray[np.int64]


@kernel
def draw_days(
    calendar: Calendar,
    at: int,
    count: int,
    key: Key,
    tables: SkyTables,
    given: Given,
    planes: Planes,
    fresh: bool,
    latent: npt.NDArray[np.float64],
    world: World,
) -> None:
    """Draw `count` days of a stay from its day `at` on into `world`.

    Parameters
    ----------
    fresh : bool
        Whether no weather has been drawn yet, so that its latent state begins anew.
    latent : ndarray
        Latent weather state carried from day to day and stay to stay, (rows, LANES).
    """
    drawn = given.values.shape[0] == 0
    place = calendar.stay[PLACE]
    if drawn and at == 0:
        _spin_up(calendar.days[0, DOY], calendar.stay, key, tables, fresh, latent)
    for c in range(count):
        n = at + c
        doy = calendar.days[n, DOY]
        day = calendar.stay[FIRST_DAY] + n
        sky = world.sky[c]
        if drawn:
            draw_day(tables, doy, day, key.first_member, place, key.k0, key.k1, latent, sky)
        else:
            _read_day(given, n, sky, latent[Z])
        draw_yield(planes, doy, sky, world.watts[c])
        level = float(tables.by_day[doy, WET_LEVEL])
        draw_moisture(
            sky,
            latent[Z],
            level,
            day,
            key.first_member,
            place,
            key.k0,
            key.k1,
            world.moist[c],
        )
        cover_panels(
            planes,
            n == 0 and calendar.stay[FOLLOWS] == 0,
            day,
            key.first_member,
            key.k0,
            key.k1,
            sky,
            world.moist[c, WET],
            world.moist[c, SNOW],
            world.cover,
            world.watts[c],
        )


@outlined
def _spin_up(
    first_doy: int,
    stay: Ints,
    key: Key,
    tables: SkyTables,
    fresh: bool,
    latent: npt.NDArray[np.float64],
) -> None:
    """Draw the weather's daily state up to the stay's eve."""
    spin = stay[SPIN_DAYS]
    place = stay[PLACE]
    for n in range(spin):
        day = stay[FIRST_DAY] - spin + n
        doy = (first_doy - spin + n) % 365
        if n == 0 and fresh:
            begin_weather(tables, doy, day, key.first_member, place, key.k0, key.k1, latent)
        else:
            advance_weather(tables, doy, day, key.first_member, place, key.k0, key.k1, latent)


@outlined
def _read_day(given: Given, n: int, sky: Array, score: Array) -> None:
    """Copy one day of a weather table into `sky`, and its clearness score into `score`."""
    first = given.first_hour[0] + 24 * n
    for i in range(LANES):
        score[i] = given.values[given.row[i], first, SKY]
    for h in range(24):
        at = first + h
        for i in range(LANES):
            for k in range(SKY):
                sky[k, h, i] = given.values[given.row[i], at, k]
