"""Many generated years for looking at and for tests; a study's own days never pass here."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
import numpy.typing as npt

from flatodds.lanes import LANES, kernel
from flatodds.sun import DAYS
from flatodds.weather.contract import GHI, SKY, TEMP
from flatodds.weather.synthetic import (
    STATE,
    SyntheticTables,
    advance_weather,
    begin_weather,
    draw_day,
    pack,
)

Floats = npt.NDArray[np.float64]

_MASK = 0xFFFFFFFF


@kernel
def draw_block(tables, first_doy, unseen, first_member, k0, k1, states, skies) -> None:  # type: ignore[no-untyped-def]
    """Draw one block of members, after some days whose hours nobody sees.

    Parameters
    ----------
    tables : SkyTables in the dtype of skies
    first_doy, unseen : int
        Day of the year of day 0; how many days are only advanced.
    first_member, k0, k1 : uint64
    states : float64 (day, STATE, LANES)
        Receives the latent state of every drawn day.
    skies : (day, SKY, 24, LANES)
        Receives the hours.
    """
    state = np.empty((STATE, LANES))
    place = np.uint64(0)
    begin_weather(tables, first_doy, np.uint64(0), first_member, place, k0, k1, state)
    for day in range(unseen):
        doy = (first_doy + day) % DAYS
        advance_weather(tables, doy, np.uint64(day), first_member, place, k0, k1, state)
    for i in range(skies.shape[0]):
        day = unseen + i
        doy = (first_doy + day) % DAYS
        draw_day(tables, doy, np.uint64(day), first_member, place, k0, k1, state, skies[i])
        states[i] = state


def generate_skies(
    tables: SyntheticTables,
    members: int,
    days: int,
    seed: int,
    *,
    first_doy: int = 0,
    first_member: int = 0,
    dtype: Any = np.float32,
) -> Iterator[npt.NDArray[Any]]:
    """Yield the hours of one block of members after another.

    Parameters
    ----------
    members, days : int
        How many members, and how many days each, from day of year `first_doy`.
    first_member : int
        Number of the first member.
    dtype : type
        Floating type of the draw.

    Yields
    ------
    ndarray, (day, 5, 24, member)
        ghi, dni, dhi [W/m2], temp_air [degC], wind_speed [m/s] of at most 64 members.
    """
    k0, k1 = np.uint64(seed & _MASK), np.uint64((seed >> 32) & _MASK)
    cast = pack(tables, dtype)
    states = np.empty((days, STATE, LANES))
    for done in range(0, members, LANES):
        skies = np.empty((days, SKY, 24, LANES), dtype)
        first = np.uint64(first_member + done)
        draw_block(cast, first_doy, 0, first, k0, k1, states, skies)
        yield skies[..., : min(LANES, members - done)]


def generate_days(
    tables: SyntheticTables, members: int, days: int, seed: int, **options: Any
) -> tuple[Floats, Floats]:
    """Daily sun and warmth of many members; options as `generate_skies`.

    Returns
    -------
    ghi_wh_m2 : ndarray, (member, day)
        Global horizontal irradiation [Wh/m2].
    temp_c : ndarray, (member, day)
        Mean air temperature [degC].
    """
    ghi = np.empty((members, days))
    temp = np.empty((members, days))
    for block, skies in enumerate(generate_skies(tables, members, days, seed, **options)):
        rows = slice(block * LANES, block * LANES + skies.shape[-1])
        ghi[rows] = skies[:, GHI].sum(axis=1, dtype=np.float64).T
        temp[rows] = skies[:, TEMP].mean(axis=1, dtype=np.float64).T
    return ghi, temp
