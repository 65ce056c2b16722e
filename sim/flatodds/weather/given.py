"""Weather handed in as a table: what it rests on, and an empty generator beside it."""

from __future__ import annotations

import hashlib

import numpy as np

from flatodds.sun import DAYS
from flatodds.weather.contract import WeatherTable
from flatodds.weather.source import WeatherBasis
from flatodds.weather.synthetic import Z_NODES, SyntheticTables


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
        "year_sd": (1,),
    }
    return SyntheticTables(
        *[np.zeros(shapes.get(name, (DAYS,))) for name in SyntheticTables._fields]
    )
