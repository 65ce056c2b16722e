"""Weather handed in as a table: what it rests on, and an empty generator beside it."""

from __future__ import annotations

import hashlib

import numpy as np
import numpy.typing as npt

from flatodds.sun import DAYS
from flatodds.weather.contract import GHI, WeatherTable
from flatodds.weather.moisture import clearness_scores
from flatodds.weather.source import WeatherBasis
from flatodds.weather.synthetic import Z_NODES, SyntheticTables

Floats = npt.NDArray[np.float64]

MANY_MEMBERS = 30  # so many at hand on a day show by themselves what is dull for it; judgement
SEASON_DAYS = 15  # otherwise the days so near are taken with it; judgement


def given_basis(weather: WeatherTable) -> WeatherBasis:
    """Basis of weather that the caller supplied; its error is the caller's to state."""
    return WeatherBasis(
        kind="given",
        sentence=f"{weather.members:,} weather years handed in by the caller, used as they are.",
        sources=("given by the caller",),
        sha256=hashlib.sha256(np.ascontiguousarray(weather.values).tobytes()).hexdigest(),
        typical_error_frac=0.0,
    )


def empty_tables() -> SyntheticTables:
    """Tables that no draw is made from, of the shapes that the kernel expects."""
    shapes = {
        "k_by_z": (DAYS, Z_NODES),
        "clear_ghi": (DAYS, 24),
        "cos_zenith": (DAYS, 24),
        "dni_extra": (DAYS, 24),
        "wind_by_z": (Z_NODES,),
        "year_weight": (1,),
    }
    return SyntheticTables(
        *[np.zeros(shapes.get(name, (DAYS,))) for name in SyntheticTables._fields]
    )


def given_clearness(weather: WeatherTable, h0_wh_m2: Floats) -> Floats:
    """Mean daily clearness of a table, the same all year, (365,) [1].

    Parameters
    ----------
    h0_wh_m2 : ndarray, (365,)
        Extraterrestrial irradiation by day of year [Wh/m2].
    """
    hours = weather.start.astype("datetime64[h]") + np.arange(weather.values.shape[1])
    days = hours.astype("datetime64[D]")
    doy = (days - days.astype("datetime64[Y]")).astype(np.int64) % DAYS
    most = h0_wh_m2[doy].mean() / 24.0
    return np.full(DAYS, weather.values[..., GHI].mean() / max(float(most), 1.0))


def table_scores(hours: Floats) -> Floats:
    """Score the clearness of every day of a table of hours (member, 24 * day, 5), (member, day)."""
    members = hours.shape[0]
    ghi = hours[..., GHI].reshape(members, -1, 24).sum(axis=2)
    width = 0 if members >= MANY_MEMBERS else SEASON_DAYS
    return clearness_scores(ghi, width, around=False)


def with_scores(hours: Floats, scores: Floats) -> Floats:
    """Hours (member, 24 * day, 5) with the score of their day as a sixth column."""
    return np.concatenate([hours, np.repeat(scores, 24, axis=1)[..., None]], axis=-1)
