"""How much temperature swings about its normal, by climate, and how that hangs on the sun."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from flatodds.sun import DAYS
from flatodds.weather.normals import nearest_city_km, temperature_normals
from flatodds.weather.tables import PROBABILITY, AirClimate, mid_month_weights

Floats = npt.NDArray[np.float64]

# Daily temperature anomaly: correlation with the clearness score, sd [degC] and lag-1, in
# winter, spring, summer, autumn (tropical: December-February first). Own fits to station
# records: 2 maritime, 2 continental, 2 subtropical, 3 tropical places.
CLASSES = ("maritime", "continental", "subtropical", "tropical")
CORRELATION = np.array(
    [
        [-0.37, 0.14, 0.42, -0.15],
        [-0.37, -0.04, 0.10, -0.05],
        [-0.28, -0.14, 0.13, -0.18],
        [0.38, 0.24, 0.31, 0.35],
    ]
)
SD_C = np.array(
    [[4.0, 3.3, 2.8, 2.9], [7.4, 5.4, 3.3, 5.0], [4.0, 3.3, 1.9, 3.0], [1.3, 1.2, 1.2, 1.4]]
)
LAG1 = np.array(
    [
        [0.83, 0.82, 0.77, 0.76],
        [0.78, 0.75, 0.68, 0.69],
        [0.74, 0.73, 0.74, 0.75],
        [0.68, 0.64, 0.60, 0.55],
    ]
)
SEASON_DAY = np.array([15.0, 105.0, 196.0, 288.0])  # middle of January, April, July, October
HALF_YEAR = 182  # days, definition

# Rule for the classes; judgement. By |latitude| tropical up to 20 degrees, subtropical from
# 27 to 34, beyond 41 maritime or continental, shared linearly between; among the last two
# by Gorczynski's continentality (1920, from memory), 12 on the Dutch coast, 56 in Dakota.
TROPIC_DEG = (20.0, 27.0)
TEMPERATE_DEG = (34.0, 41.0)
CONTINENTALITY = (12.0, 56.0)

# Monthly diurnal range from the grid's uncorrected K; rms 2.2 degC with places left out.
RANGE_AT_0_C, RANGE_PER_K_C = -5.2, 27.5
MIN_MEAN_RANGE_C = 3.0  # judgement
WIND_M_S = 3.0  # judgement: no open monthly wind table found; wind only cools panels

FAR_CITY_KM = 500.0  # beyond this, or this latitude, temperatures carry a caution; judgement
HIGH_LATITUDE_DEG = 45.0  # judgement


def class_weights(latitude: float, yearly_range_c: float) -> Floats:
    """Shares (4,) of the classes at a place, adding up to 1.

    Parameters
    ----------
    yearly_range_c : float
        Warmest minus coldest monthly mean temperature [degC].
    """
    size = abs(latitude)
    tropical = float(np.interp(size, TROPIC_DEG, (1.0, 0.0)))
    temperate = float(np.interp(size, TEMPERATE_DEG, (0.0, 1.0)))
    sine = np.sin(np.radians(max(size, TEMPERATE_DEG[0])))
    index = 1.7 * yearly_range_c / sine - 20.4
    inland = float(np.interp(index, CONTINENTALITY, (0.0, 1.0)))
    return np.array(
        [temperate * (1.0 - inland), temperate * inland, 1.0 - tropical - temperate, tropical]
    )


def _by_day(table: Floats, weights: Floats, south: bool) -> Floats:
    """One quantity by day of year (365,) from its class table (4, 4)."""
    day = np.arange(DAYS) + 0.5
    rows = np.stack([np.interp(day, SEASON_DAY, row, period=DAYS) for row in table])
    if south:  # the tropical row is written by calendar month and stays
        rows[:3] = np.roll(rows[:3], HALF_YEAR, axis=1)
    return np.asarray(weights @ rows)


def season_air(latitude: float, normals_c: Floats, range_c: Floats, wind: Floats) -> AirClimate:
    """Air climate from monthly temperature, diurnal range [degC] and wind [m/s], (12,) each."""
    shares = class_weights(latitude, float(np.ptp(normals_c)))
    south = latitude < 0.0
    months = mid_month_weights()
    return AirClimate(
        mean_c=months @ normals_c,
        sd_c=_by_day(SD_C, shares, south),
        corr=_by_day(CORRELATION, shares, south),
        lag1=_by_day(LAG1, shares, south),
        range_c=months @ range_c,
        wind=months @ wind,
    )


def world_air(
    latitude: float,
    longitude: float,
    elevation_m: float,
    grid_quantiles: Floats,
    temp_c: Sequence[float] | None = None,
) -> AirClimate:
    """Air climate of a place nobody gave hours for.

    Parameters
    ----------
    grid_quantiles : ndarray, (12, 129)
        Uncorrected quantiles of daily K, as the diurnal range was fitted to them [1].
    temp_c : sequence of 12 float, optional
        Monthly mean temperatures [degC]; spread from cities when not given.
    """
    if temp_c is None:
        normals = temperature_normals(latitude, longitude, elevation_m)
    else:
        normals = np.asarray(temp_c, dtype=np.float64)
    k = np.trapezoid(grid_quantiles, PROBABILITY, axis=1)
    span = np.maximum(RANGE_AT_0_C + RANGE_PER_K_C * k, MIN_MEAN_RANGE_C)
    return season_air(latitude, normals, span, np.full(12, WIND_M_S))


def temperature_caution(latitude: float, longitude: float) -> str | None:
    """Say so where the cities lie too far away to tell the temperature."""
    far = nearest_city_km(latitude, longitude)
    if far <= FAR_CITY_KM and abs(latitude) <= HIGH_LATITUDE_DEG:
        return None
    why = f"{far:.0f} km away" if far > FAR_CITY_KM else "few so far from the equator"
    return (
        f"Temperatures are spread from cities ({why}) and can be several degrees too warm or "
        "too cold; midwinter in the middle of a continent came out up to 9 °C (16 °F) too warm. "
        "Give a weather file for this place where frost or heat decides."
    )
