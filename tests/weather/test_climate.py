"""World grid: quantiles of its cells, interpolation, correction, and where it ends."""

from __future__ import annotations

import numpy as np
import pytest

from flatodds.sun import sun_position, sun_table
from flatodds.weather import climate
from flatodds.weather.tables import MIN_K, PROBABILITY, monthly_mean


@pytest.mark.parametrize("latitude", [-35.0, 5.0, 52.0])
def test_monthly_h0_is_the_sum_over_the_sun_table(latitude: float) -> None:
    """To 1 %, and the few Wh that refraction lifts over a low horizon."""
    sun = sun_table(latitude, 0.0, 0.0, 0)
    mine = climate.h0_by_month(latitude)
    np.testing.assert_allclose(mine, monthly_mean(sun.h0_wh_m2), rtol=0.01, atol=30.0)


@pytest.mark.validation
def test_declination_is_that_of_the_full_algorithm() -> None:
    noon = np.datetime64("2001-01-01T12", "m") + np.arange(0, 365, 30) * np.timedelta64(1440, "m")
    # Without air, 90 degrees less the zenith at the pole is the declination.
    zenith, _ = sun_position(noon, 90.0, 0.0, pressure_hpa=1e-9)
    wanted = 90.0 - zenith
    np.testing.assert_allclose(np.degrees(climate._declination())[::30], wanted, atol=0.02)


def test_a_cells_mean_is_the_packages() -> None:
    """At a cell's centre the mean of the quantiles is the mean of the package's own law."""
    grid = climate._grid()
    row, column = 25, 59  # 18 N, 3 W
    x, p = grid["xk"][row, column].astype(float), grid["pk"][row, column].astype(float)
    irradiance = (x * p).sum(axis=1) / p.sum(axis=1)
    q = climate.grid_quantiles(18.0, -3.0)
    mean = np.trapezoid(q, PROBABILITY, axis=1) * climate.h0_by_month(18.0) / 24.0
    np.testing.assert_allclose(mean, irradiance, rtol=0.005)
    assert (np.diff(q, axis=1) >= 0.0).all()


def test_yearly_clearness_is_the_mean_of_the_quantiles() -> None:
    """At a cell's centre, between cells, and where the nearest cell stands in."""
    places = np.array([[18.0, -3.0], [33.4, -112.0], [-23.8, 133.9]])
    found = climate.yearly_clearness(*places.T)
    for (lat, lon), k in zip(places, found, strict=True):
        months = np.trapezoid(climate.grid_quantiles(lat, lon), PROBABILITY, axis=1)
        assert k == pytest.approx(months.mean(), rel=0.01)
    assert 0.2 < climate.yearly_clearness(np.array([-80.0]), np.array([0.0]))[0] < 0.8


def test_between_cells_quantiles_are_bilinear() -> None:
    corners = [climate.grid_quantiles(y, x) for y in (45.0, 48.0) for x in (9.0, 12.0)]
    share = np.array([0.75 * 2 / 3, 0.75 / 3, 0.25 * 2 / 3, 0.25 / 3])
    wanted = np.tensordot(share, np.array(corners), axes=1)
    np.testing.assert_allclose(climate.grid_quantiles(45.75, 10.0), wanted, rtol=1e-9)


def test_the_date_line_is_no_seam() -> None:
    west, east = climate.grid_quantiles(66.0, 179.99), climate.grid_quantiles(66.0, -179.99)
    np.testing.assert_allclose(west, east, atol=2e-3)


def test_empty_cells_are_passed_over() -> None:
    """At the coast the sea's empty cell does not pull the land's quantiles to zero."""
    grid = climate._grid()
    empty = ~(grid["pk"].sum(axis=(2, 3)) > 0)
    row, column = next(
        (i, j) for i, j in np.argwhere(empty) if 20 < i < 35 and j > 0 and not empty[i, j - 1]
    )
    lat, lon = float(grid["lat"][row]), float(grid["lon"][column])
    land = climate.grid_quantiles(lat, lon - 3.0)
    np.testing.assert_allclose(climate.grid_quantiles(lat, lon - 1.0), land, rtol=1e-9)


@pytest.mark.parametrize(
    ("latitude", "longitude", "least_km", "most_km"),
    [(21.3, -157.8, 3000.0, 4500.0), (78.2, 15.6, 500.0, 1500.0), (36.1, -79.9, 0.0, 0.0)],
    ids=["mid-ocean island", "far north", "inland"],
)
def test_where_the_grid_is_empty_the_nearest_land_stands_in(
    latitude: float, longitude: float, least_km: float, most_km: float
) -> None:
    assert least_km <= climate.borrowed_km(latitude, longitude) <= most_km
    q = climate.grid_quantiles(latitude, longitude)
    assert np.isfinite(q).all()
    assert (np.diff(q, axis=1) >= 0.0).all()


def test_borrowed_quantiles_are_a_mean_of_the_nearest_cells() -> None:
    """Between the nearest cells' extremes, month by month and quantile by quantile."""
    km = climate._km_to_cells(21.3, -157.8)
    nearest = np.argsort(km, axis=None, kind="stable")[: climate.BORROWED]
    cells = [climate._cell_quantiles(*divmod(int(at), km.shape[1])) for at in nearest]
    stack = np.stack([cell for cell in cells if cell is not None])
    q = climate.grid_quantiles(21.3, -157.8)
    assert len(stack) == climate.BORROWED
    assert (q >= stack.min(axis=0) - 1e-12).all()
    assert (q <= stack.max(axis=0) + 1e-12).all()


def test_beyond_the_polar_circle_there_is_still_summer() -> None:
    q = climate.grid_quantiles(70.0, 25.0)
    assert np.isfinite(q).all()
    assert 0.2 < np.trapezoid(q[5], PROBABILITY) < 0.7


def test_correction_as_published() -> None:
    """q' = 0.92 t min(q/t, 1.05)^1.1, at most 0.82, for a straight line of quantiles."""
    q = np.tile(0.1 + 0.6 * PROBABILITY, (12, 1))
    top = 0.1 + 0.6 * 0.977
    wanted = 0.92 * top * np.minimum(q / top, 1.05) ** 1.1
    np.testing.assert_allclose(climate.corrected(q), wanted, rtol=1e-6)
    high = climate.corrected(np.full((12, 129), 0.95))
    np.testing.assert_allclose(high, 0.82)
    assert climate.corrected(np.full((12, 129), 1e-9)).min() >= MIN_K


def test_correction_never_brightens() -> None:
    for place in ((52.1, 5.2), (3.5, -76.4), (-18.3, 29.9), (33.1, -112.0)):
        raw = climate.world_quantiles(*place, correct=False)
        mended = climate.world_quantiles(*place)
        assert (mended.ghi_wh_m2 < raw.ghi_wh_m2).all()
        assert (mended.ghi_wh_m2 > 0.75 * raw.ghi_wh_m2).all()
