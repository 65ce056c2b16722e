"""How much of the weather at one place is still the weather when one arrives at another.

Neighbours share their dull days; half a continent away there are others. Every score of the
generator's state keeps the share `weather_kept` and takes the rest afresh, so that it stays
standard normal and days at both places are correlated as places so far apart are.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import numpy.typing as npt

from flatodds.lanes import normal, philox
from flatodds.weather.normals import EARTH_KM
from flatodds.weather.synthetic import STATE, YEAR, T, W, X, Y

Floats = npt.NDArray[np.float64]

# Correlation e^(-d / 450 km): daily sun of four Dutch stations 20 to 165 km apart has .70 to
# .96. One country of flat land; rough.
SHARED_KM = 450.0

STREAM_AWAY = np.uint64(6)  # fast, slow, temperature and wind part of another place's weather
STREAM_AWAY_YEAR = np.uint64(7)  # first of four words: its year

_draw: Any = getattr(philox, "py_func", philox)  # the same function over whole arrays


def weather_kept(one: tuple[float, float], other: tuple[float, float]) -> float:
    """Correlation of the weather at two places (latitude, longitude) [degrees]."""
    (lat1, lon1), (lat2, lon2) = (tuple(map(math.radians, place)) for place in (one, other))
    half = (
        math.sin((lat2 - lat1) / 2.0) ** 2
        + math.cos(lat1) * math.cos(lat2) * math.sin((lon2 - lon1) / 2.0) ** 2
    )
    return math.exp(-2.0 * EARTH_KM * math.asin(math.sqrt(min(half, 1.0))) / SHARED_KM)


def travel(
    state: Floats, kept: float, day: int, first_member: int, key: tuple[np.uint64, np.uint64]
) -> None:
    """Take the latent state (STATE, lane) to another place, in place; nothing drawn at kept 1.

    Parameters
    ----------
    kept : float
        From `weather_kept`.
    day : int
        Counter of the first day at the new place that is drawn or passed.
    """
    if kept >= 1.0:
        return
    members = np.uint64(first_member) + np.arange(state.shape[1], dtype=np.uint64)
    none = np.zeros_like(members)  # the place of the counter: weather has one for all
    at = none + np.uint64(day)
    words = [*_draw(at, none + STREAM_AWAY, members, none, *key)]
    words.append(_draw(at, none + STREAM_AWAY_YEAR, members, none, *key)[0])
    fresh = math.sqrt(1.0 - kept * kept)
    for row, word in zip((X, Y, T, W, YEAR), words, strict=True):
        uniforms = ((word >> np.uint64(8)).astype(np.float64) + 0.5) / 2.0**24
        state[row] = kept * state[row] + fresh * np.array([normal(u) for u in uniforms.tolist()])
    assert state.shape[0] == STATE  # noqa: S101  (a row more would be forgotten here)
