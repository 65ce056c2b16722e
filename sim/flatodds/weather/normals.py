"""Monthly mean temperature of any land site, spread from the normals of 270 cities.

Normals: CHELSA v2.1, 1981-2010 (package world-temperature-data, CC BY 4.0), and those of two
desert cities. Method: temperatures brought to sea level, three waves of the year each spread by
universal kriging on a trend in latitude, land share, and clearness of the sky, alone and over
land: under a clear sky inland it is hotter than on the coast, where most of the cities lie.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
import numpy.typing as npt

from flatodds.weather.climate import yearly_clearness

Floats = npt.NDArray[np.float64]

LAPSE_C_PER_M = 0.006  # common practice, no source; 6.5 is the standard atmosphere's
COVARIANCE_KM = 1000.0  # exponential; 500 to 4,000 km gave the same error within .07 degC
NUGGET = 0.05  # share of the variance that is a city's own; judgement
# Latitude, longitude, height [m] and monthly mean temperature [degC] of hot desert cities: the
# package holds none in North America, and July came out 9 degC too cool from cities on its coast.
# Mean of the published mean daily highest and lowest, rounded by their sources to 1 degF
# (Phoenix Sky Harbor, NOAA normals 1981-2010, by way of an encyclopedia's climate chart) and to
# 1 degC (Las Vegas, climatestotravel.com; years not stated).
DESERT_CITIES = (
    (
        (33.43, -112.0, 337.0),
        (13.9, 15.6, 19.2, 23.1, 28.1, 33.1, 35.6, 34.7, 31.7, 25.3, 18.6, 13.1),
    ),
    (
        (36.08, -115.16, 660.0),
        (9.0, 11.5, 15.5, 19.5, 25.5, 30.5, 33.5, 32.5, 28.0, 21.0, 13.5, 9.0),
    ),
)
EARTH_KM = 6371.0  # mean radius, IUGG
NEAR_DEG, WIDE_DEG = 1.5, 5.0  # half widths of the boxes whose land share is counted; own choice


@cache
def _terrain() -> npt.NDArray[np.uint8]:
    """World heights that pvlib carries, 5 arc minutes from 90 N, 180 W; 255 is sea."""
    import h5py  # type: ignore[import-untyped]
    import pvlib

    path = Path(pvlib.__file__).parent / "data" / "Altitude.h5"
    with h5py.File(path, "r") as file:
        return np.asarray(file["Altitude"][:], dtype=np.uint8)


def _pixel(latitude: float, longitude: float) -> tuple[int, int]:
    """Row and column of the height map."""
    return min(max(int((90.0 - latitude) * 12), 0), 2159), int((longitude + 180.0) * 12) % 4320


def terrain_m(latitude: float, longitude: float) -> float:
    """Height above the sea from pvlib's height map, 0 at sea [m]; errors of 100 m occur."""
    code = int(_terrain()[_pixel(latitude, longitude)])
    return 0.0 if code == 255 else 28.0 * code - 450.0  # pvlib.location.lookup_altitude


def _box(latitude: float, longitude: float, half_width_deg: float) -> npt.NDArray[np.uint8]:
    """Pixels of the height map in a box around a place."""
    row, column = _pixel(latitude, longitude)
    n = int(half_width_deg * 12)
    columns = np.arange(column - n, column + n + 1) % 4320
    return _terrain()[max(row - n, 0) : row + n + 1][:, columns]


def land_share(latitude: float, longitude: float, half_width_deg: float) -> float:
    """Share of land in a box around a place [1]: pixels of the height map that hold a height."""
    return float(np.mean(_box(latitude, longitude, half_width_deg) != 255))


def heights_around(latitude: float, longitude: float, half_width_deg: float) -> Floats:
    """Heights of the pixels in a box around a place, NaN at sea, (row, column) [m]."""
    box = _box(latitude, longitude, half_width_deg)
    return np.where(box == 255, np.nan, 28.0 * box - 450.0)


def _harmonics() -> Floats:
    """Mean, yearly and half-yearly wave at mid-month, (12, 5)."""
    angle = 2.0 * np.pi * (np.arange(12) + 0.5) / 12.0
    waves = [np.cos(angle), np.sin(angle), np.cos(2.0 * angle), np.sin(2.0 * angle)]
    return np.stack([np.ones(12), *waves], axis=1)


EVEN, ODD = [0, 3, 4], [1, 2]  # waves that are alike, and opposite, in both hemispheres


def _trend(latitude: float, longitude: float, clearness: float) -> tuple[list[float], list[float]]:
    """Regressors of the kriging trend at a place: for even and for odd waves."""
    s = float(np.sin(np.radians(latitude)))
    near = land_share(latitude, longitude, NEAR_DEG)
    wide = land_share(latitude, longitude, WIDE_DEG)
    air = [near, wide, clearness, clearness * wide]
    return [1.0, abs(s), s * s, abs(s) ** 3, *air], [s, s * abs(s), s**3, *(s * x for x in air)]


def _unit(latitude: Floats, longitude: Floats) -> Floats:
    """Turn places into unit vectors (n, 3) from the centre of the earth."""
    a, b = np.radians(latitude), np.radians(longitude)
    return np.stack([np.cos(a) * np.cos(b), np.cos(a) * np.sin(b), np.sin(a)], axis=-1)


def _distance_km(one: Floats, other: Floats) -> Floats:
    """Great-circle distances (n, m) between unit vectors (n, 3) and (m, 3) [km]."""
    chord = np.linalg.norm(one[:, None] - other[None], axis=-1)
    return np.asarray(2.0 * EARTH_KM * np.arcsin(np.clip(0.5 * chord, 0.0, 1.0)))


@dataclass(frozen=True, slots=True)
class Cities:
    """The cities' normals brought to sea level, ready for kriging.

    Attributes
    ----------
    unit : ndarray, (city, 3)
    height_m : ndarray, (city,)
    normals_c : ndarray, (city, 12)
        Monthly mean temperature at the city's own height [degC].
    waves_c : ndarray, (city, 5)
        Harmonics of the sea-level temperature [degC].
    even, odd : ndarray, (city, 8), (city, 7)
        Trend regressors.
    """

    unit: Floats
    height_m: Floats
    normals_c: Floats
    waves_c: Floats
    even: Floats
    odd: Floats


@cache
def cities() -> Cities:
    """Read the cities once per process."""
    import world_temperature_data as source

    rows = source.cities()
    points = [(row["lat"], row["lon"]) for row in rows] + [p[:2] for p, _ in DESERT_CITIES]
    months = [[row["monthly"][m] for m in source.MONTHS] for row in rows]
    normals = np.array(months + [list(means) for _, means in DESERT_CITIES])
    heights = [terrain_m(row["lat"], row["lon"]) for row in rows]
    height = np.array(heights + [p[2] for p, _ in DESERT_CITIES])
    lat, lon = np.array(points).T
    clearness = yearly_clearness(lat, lon)
    trends = [
        _trend(float(a), float(b), float(k)) for a, b, k in zip(lat, lon, clearness, strict=True)
    ]
    sea = normals + LAPSE_C_PER_M * height[:, None]
    waves = sea @ np.linalg.pinv(_harmonics()).T
    even, odd = (np.array([trend[k] for trend in trends]) for k in (0, 1))
    return Cities(_unit(lat, lon), height, normals, waves, even, odd)


def _system(trend: Floats, distance: Floats) -> Floats:
    """Matrix of universal kriging (Cressie, Statistics for Spatial Data, 1993, ch. 3.4)."""
    n, k = trend.shape
    matrix = np.zeros((n + k, n + k))
    matrix[:n, :n] = np.exp(-distance / COVARIANCE_KM) + NUGGET * np.eye(n)
    matrix[:n, n:], matrix[n:, :n] = trend, trend.T
    return matrix


def temperature_normals(latitude: float, longitude: float, elevation_m: float) -> Floats:
    """Monthly mean air temperature (12,) [degC] at a place, from the cities' normals."""
    known = cities()
    here = _unit(np.array([latitude]), np.array([longitude]))
    between = _distance_km(known.unit, known.unit)
    to_here = np.exp(-_distance_km(known.unit, here)[:, 0] / COVARIANCE_KM)
    clearness = float(yearly_clearness(np.array([latitude]), np.array([longitude]))[0])
    here_trend = _trend(latitude, longitude, clearness)
    waves = np.empty(5)
    for which, trend, at in zip((EVEN, ODD), (known.even, known.odd), here_trend, strict=True):
        weights = np.linalg.solve(_system(trend, between), np.append(to_here, at))
        waves[which] = weights[: len(to_here)] @ known.waves_c[:, which]
    return np.asarray(_harmonics() @ waves - LAPSE_C_PER_M * elevation_m)


def left_out_error() -> Floats:
    """Error of every city's normals (city, 12) [degC] when it is predicted by the others.

    Through the inverse of the full system (Dubrule, Mathematical Geology 15, 1983).
    """
    known = cities()
    between = _distance_km(known.unit, known.unit)
    n = len(known.height_m)
    error = np.empty((n, 5))
    for which, trend in ((EVEN, known.even), (ODD, known.odd)):
        inverse = np.linalg.inv(_system(trend, between))[:n, :n]
        error[:, which] = -(inverse @ known.waves_c[:, which]) / np.diag(inverse)[:, None]
    fitted = (known.waves_c + error) @ _harmonics().T - LAPSE_C_PER_M * known.height_m[:, None]
    return np.asarray(fitted - known.normals_c)


def nearest_city_km(latitude: float, longitude: float) -> float:
    """Distance to the nearest of the cities [km]."""
    here = _unit(np.array([latitude]), np.array([longitude]))
    return float(_distance_km(here, cities().unit).min())
