"""Clearness of any land site from the world grid that comes with the program.

Monthly distributions of daily irradiance on a 3 degree grid from the MERRA-2
reanalysis, 2011-2015 (package gsee-climate-data; Gelaro et al. 2017, doi
10.1175/JCLI-D-16-0758.1; Pfenninger and Staffell 2016, doi 10.1016/j.energy.2016.08.060).
The reanalysis misses cloud, so it is always corrected.
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from functools import cache

import numpy as np
import numpy.typing as npt

from flatodds.sun import DAYS, REFERENCE_YEAR
from flatodds.weather.tables import (
    MIN_H0_WH_M2,
    MIN_K,
    MONTH_OF_DAY,
    P_NODES,
    POLAR_K,
    PROBABILITY,
    MonthlyK,
)

Floats = npt.NDArray[np.float64]

# Correction of the grid, fitted to 22 places with station or satellite records (mean bias
# of annual sun 13 %, rms 16 % before, rms 8 % after): own work, see DEVELOPERS.md.
CORRECTION = 0.92
CORRECTION_POWER = 1.1
CORRECTION_TOP = 1.05
TOP_P = 0.977  # the quantile that stands for a clear day
MAX_K = 0.82  # cap on corrected daily K; judgement, station days above .86 are faults
BORROWED = 4  # cells that stand in for an empty place; judgement
EARTH_KM = 6371.0  # mean radius, IUGG
EDGE_DEG = 1.5  # half a cell: how far beyond the outermost rows a place may lie


def h0_by_month(latitude: npt.ArrayLike) -> Floats:
    """Monthly mean extraterrestrial irradiation (..., 12) of latitudes (...) [Wh/m2].

    Duffie and Beckman, Solar Engineering of Thermal Processes, eq. 1.10.3, with the sun's
    distance of Spencer (1971) through pvlib. Spencer's declination is not used: it lags the
    sun of 2001 by a day, 2 % of this in spring at 60 degrees.
    """
    from pvlib.irradiance import get_extra_radiation

    doy = np.arange(1, DAYS + 1)
    phi = np.radians(np.asarray(latitude, dtype=np.float64))[..., None]
    delta = _declination()
    sunset = np.arccos(np.clip(-np.tan(phi) * np.tan(delta), -1.0, 1.0))
    part = np.cos(phi) * np.cos(delta) * np.sin(sunset) + sunset * np.sin(phi) * np.sin(delta)
    daily = 24.0 / np.pi * np.asarray(get_extra_radiation(doy, method="spencer")) * part
    return np.stack([daily[..., m == MONTH_OF_DAY].mean(axis=-1) for m in range(12)], axis=-1)


def _declination() -> Floats:
    """Sun's declination at noon UTC of every day of the reference year, (365,) [radian].

    Low-precision formulae of the Astronomical Almanac (0.01 degree; from memory, checked in
    the tests against the full algorithm).
    """
    start = np.datetime64(f"{REFERENCE_YEAR}-01-01", "D") - np.datetime64("2000-01-01", "D")
    n = start.astype(np.float64) + np.arange(DAYS)
    anomaly = np.radians(357.528 + 0.9856003 * n)
    equation = 1.915 * np.sin(anomaly) + 0.020 * np.sin(2.0 * anomaly)
    longitude = np.radians(280.460 + 0.9856474 * n + equation)
    return np.asarray(np.arcsin(np.sin(np.radians(23.439)) * np.sin(longitude)))


@cache
def _grid() -> dict[str, npt.NDArray[np.float32]]:
    """Load the grid's arrays, the two large ones side by side."""
    import gsee_climate_data

    def read(key: str) -> npt.NDArray[np.float32]:
        with gsee_climate_data.load() as data:
            array: npt.NDArray[np.float32] = data[key]
            return array

    keys = ("xk", "pk", "lat", "lon")
    with ThreadPoolExecutor(2) as pool:
        return dict(zip(keys, pool.map(read, keys), strict=True))


def _cell_quantiles(row: int, column: int) -> Floats | None:
    """Quantiles of daily K (12, 129) of one cell, None if it is empty."""
    grid = _grid()
    x = grid["xk"][row, column].astype(np.float64)
    p = grid["pk"][row, column].astype(np.float64)
    h0 = h0_by_month(float(grid["lat"][row]))
    lit = h0 >= MIN_H0_WH_M2
    if not (np.isfinite(x[lit]).all() and np.isfinite(p[lit]).all() and p[lit].any(axis=1).all()):
        return None
    out = np.full((12, P_NODES), POLAR_K)
    for month in np.flatnonzero(lit):
        step = x[month, 1] - x[month, 0]
        edges = np.append(x[month] - 0.5 * step, x[month, -1] + 0.5 * step)
        below = np.append(0.0, np.cumsum(p[month])) / p[month].sum()
        out[month] = np.interp(PROBABILITY, below, edges) * 24.0 / h0[month]
    return np.asarray(np.maximum(out, MIN_K))


def grid_quantiles(latitude: float, longitude: float) -> Floats:
    """Uncorrected quantiles of daily K (12, 129), bilinear between cells that hold data.

    Where all of them are empty (small islands, the far north), the `BORROWED` nearest cells
    that are not stand in, weighted by nearness; `borrowed_km` says how far they are.
    """
    grid = _grid()
    lat, lon = grid["lat"].astype(np.float64), grid["lon"].astype(np.float64)
    size = float(lat[1] - lat[0])
    y = (latitude - lat[0]) / size
    x = (longitude - lon[0]) / size % lon.size
    inside = lat[0] - EDGE_DEG <= latitude <= lat[-1] + EDGE_DEG
    y = min(max(y, 0.0), lat.size - 1.001)
    i, j = int(y), int(x)
    total, weight = np.zeros((12, P_NODES)), 0.0
    for row, column, share in (
        (i, j, (1 - y + i) * (1 - x + j)),
        (i, j + 1, (1 - y + i) * (x - j)),
        (i + 1, j, (y - i) * (1 - x + j)),
        (i + 1, j + 1, (y - i) * (x - j)),
    ):
        cell = _cell_quantiles(row, column % lon.size) if inside and share > 0.0 else None
        if cell is not None:
            total += share * cell
            weight += share
    if weight < 1e-9:
        return _borrowed(latitude, longitude)
    return total / weight


def yearly_clearness(latitude: Floats, longitude: Floats) -> Floats:
    """Mean clearness of the year (place,) [1] of the uncorrected grid at some places (place,).

    Months without sun are left out. Bilinear between cells that hold data; the nearest such
    cell where all four are empty.
    """
    grid = _grid()
    lat, lon = grid["lat"].astype(np.float64), grid["lon"].astype(np.float64)
    size = float(lat[1] - lat[0])
    y = np.clip((latitude - lat[0]) / size, 0.0, lat.size - 1.001)
    x = (longitude - lon[0]) / size % lon.size
    i, j = y.astype(np.int64), x.astype(np.int64)
    full = _holds_data()
    total, weight = np.zeros(len(y)), np.zeros(len(y))
    for up in (0, 1):
        for east in (0, 1):
            row, column = i + up, (j + east) % lon.size
            share = np.abs(1 - up - (y - i)) * np.abs(1 - east - (x - j)) * full[row, column]
            total += share * _mean_of_cells(row, column)
            weight += share
    for at in np.flatnonzero(weight < 1e-9):
        km = _km_to_cells(float(latitude[at]), float(longitude[at]))
        row, column = np.divmod(np.array([int(np.argmin(km))]), lon.size)
        total[at], weight[at] = _mean_of_cells(row, column)[0], 1.0
    return np.asarray(total / weight)


def _mean_of_cells(row: npt.NDArray[np.int64], column: npt.NDArray[np.int64]) -> Floats:
    """Mean clearness (cell,) of the months with sun; 0 for empty cells."""
    grid = _grid()
    x, p = grid["xk"][row, column].astype(np.float64), grid["pk"][row, column].astype(np.float64)
    h0 = h0_by_month(grid["lat"][row].astype(np.float64))
    mass = np.nan_to_num(p).sum(axis=2)
    lit = (h0 >= MIN_H0_WH_M2) & (mass > 0.0)
    mean = np.nan_to_num(x * p).sum(axis=2) / np.where(lit, mass, 1.0) * 24.0
    k = np.where(lit, mean / np.where(lit, h0, 1.0), 0.0)
    return np.asarray(k.sum(axis=1) / np.maximum(lit.sum(axis=1), 1))


def _km_to_cells(latitude: float, longitude: float) -> Floats:
    """Great-circle distance to every cell, (lat, lon), infinite where it is empty [km]."""
    grid = _grid()
    lat, lon = np.radians(grid["lat"])[:, None], np.radians(grid["lon"])[None, :]
    phi, theta = np.radians(latitude), np.radians(longitude)
    cosine = np.sin(phi) * np.sin(lat) + np.cos(phi) * np.cos(lat) * np.cos(lon - theta)
    km = EARTH_KM * np.arccos(np.clip(cosine, -1.0, 1.0))
    return np.asarray(np.where(_holds_data(), km, np.inf), dtype=np.float64)


@cache
def _holds_data() -> npt.NDArray[np.bool_]:
    """Which cells of the grid hold data, (lat, lon)."""
    return np.asarray(_grid()["pk"].sum(axis=(2, 3)) > 0)


def borrowed_km(latitude: float, longitude: float) -> float:
    """Distance to the nearest cell with data where a place's own cells are empty, else 0 [km]."""
    grid = _grid()
    size = float(grid["lat"][1] - grid["lat"][0])
    near = _km_to_cells(latitude, longitude)
    rows = np.abs(grid["lat"] - latitude) < size
    east = np.abs((grid["lon"] - longitude + 180.0) % 360.0 - 180.0) < size
    if np.isfinite(near[np.ix_(rows, east)]).any():
        return 0.0
    return float(near.min())


def _borrowed(latitude: float, longitude: float) -> Floats:
    """Quantiles of the nearest cells with data, weighted by nearness, (12, 129)."""
    km = _km_to_cells(latitude, longitude)
    total, weight, used = np.zeros((12, P_NODES)), 0.0, 0
    for at in np.argsort(km, axis=None, kind="stable"):
        row, column = divmod(int(at), km.shape[1])
        cell = _cell_quantiles(row, column)
        if cell is not None:
            total += cell / km[row, column]
            weight += 1.0 / km[row, column]
            used += 1
        if used == BORROWED:
            break
    return total / weight


def corrected(quantiles: Floats) -> Floats:
    """Grid quantiles (12, 129) with the reanalysis' missing cloud put back, capped."""
    top = np.stack([np.interp(TOP_P, PROBABILITY, row) for row in quantiles])[:, None]
    shape = np.minimum(quantiles / top, CORRECTION_TOP) ** CORRECTION_POWER
    return np.asarray(np.clip(CORRECTION * top * shape, MIN_K, MAX_K))


def world_quantiles(latitude: float, longitude: float, *, correct: bool = True) -> MonthlyK:
    """Monthly distribution of daily clearness from the world grid.

    `correct=False` shows the grid as it is, for comparison only. The monthly irradiation
    uses the same H0, without refraction, that the cells' own irradiance was divided by.
    """
    raw = grid_quantiles(latitude, longitude)
    quantiles = corrected(raw) if correct else raw
    mean_k = np.trapezoid(quantiles, PROBABILITY, axis=1)
    return MonthlyK(quantiles, mean_k * h0_by_month(latitude))
