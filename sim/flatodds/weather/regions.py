"""Where the worldwide sun estimate is known to fail: what to say of a place that lies there.

Own comparison of the estimate with stations (DEVELOPERS.md): corrected, it was 51 % too sunny
in the dull season on the Guinea coast, and uncorrected 24 to 26 % too sunny in the wet season
of the Philippines and north-west India, 24 to 37 % in the Himalaya's front ranges. Boxes and
limits around those few places are judgement.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from flatodds.errors import WARNING
from flatodds.weather.normals import heights_around


class Region(NamedTuple):
    """A box in degrees, the greatest height it means [m], and how far the sea may be [degree]."""

    name: str
    south: float
    north: float
    west: float
    east: float
    highest_m: float
    sea_deg: float


# Lowlands near the sea that have a summer monsoon; judgement.
MONSOON_COASTS = (
    Region("the Guinea coast", 3.0, 9.0, -15.0, 12.0, 500.0, 2.0),
    Region("the monsoon coast of South Asia", 5.0, 26.0, 67.0, 93.0, 500.0, 2.0),
    Region("the monsoon coast of South-East Asia", -11.0, 24.0, 92.0, 128.0, 500.0, 2.0),
)
RELIEF_DEG = 0.5  # half width of the box whose heights are compared; as a cell of the estimate
RELIEF_M = 1500.0  # between lowest and highest pixel of the box; judgement
LEAST_SEA = 0.02  # share of sea that makes a coast; judgement

URGENT = WARNING + "at {latitude:.2f}, {longitude:.2f} "
COAST_CAUTION = URGENT + (
    "sun may be 25 to 50 % overstated: a monsoon coast. "
    "That is {name}, where the worldwide estimate has been so much too sunny in "
    "the dull season: the true odds of running flat may be far higher. Use a weather file or "
    "monthly_sun_kwh_m2 of the place."
)
MOUNTAIN_CAUTION = URGENT + (
    "sun may be 24 to 37 % overstated: mountains. "
    "The land within {deg:g} degree of {latitude:.2f}, {longitude:.2f} lies {low:,.0f} to "
    "{high:,.0f} m high. The worldwide estimate knows neither the clouds of mountains nor their "
    "shade and has been so much too sunny in the Himalaya: use a weather file or "
    "monthly_sun_kwh_m2 of the place."
)


def region_caution(latitude: float, longitude: float, elevation_m: float) -> str | None:
    """Say what is known to go wrong at a place without sun data of its own, None if nothing is.

    Parameters
    ----------
    latitude, longitude : float
        Of the place [degree].
    elevation_m : float
        Its height [m].
    """
    for region in MONSOON_COASTS:
        inside = region.south <= latitude <= region.north
        inside = inside and region.west <= longitude <= region.east
        if inside and elevation_m <= region.highest_m:
            around = heights_around(latitude, longitude, region.sea_deg)
            if np.isnan(around).mean() >= LEAST_SEA:
                return COAST_CAUTION.format(
                    name=region.name, latitude=latitude, longitude=longitude
                )
    around = heights_around(latitude, longitude, RELIEF_DEG)
    land = around[~np.isnan(around)]
    if land.size and land.max() - land.min() >= RELIEF_M:
        low, high = float(land.min()), float(land.max())
        return MOUNTAIN_CAUTION.format(
            low=low, high=high, deg=RELIEF_DEG, latitude=latitude, longitude=longitude
        )
    return None
