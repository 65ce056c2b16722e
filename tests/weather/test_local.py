"""Monthly values typed by the user, with the world grid's days."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest

from flatodds.errors import WeatherError
from flatodds.sun import sun_table
from flatodds.weather.climate import world_quantiles
from flatodds.weather.local import local_quantiles, unlike_grid
from flatodds.weather.source import LOCAL_MONTHLY_ERROR_FRAC, stay_weather
from flatodds.weather.tables import monthly_mean

# Monthly means of De Bilt, 2000-2021, from the Dutch weather service's daily values [kWh/m2].
DE_BILT = (0.65, 1.32, 2.46, 4.11, 4.92, 5.30, 4.98, 4.21, 3.01, 1.72, 0.79, 0.50)
WARM = (3.8, 4.1, 6.4, 10.0, 13.5, 16.6, 18.2, 17.8, 14.9, 11.3, 7.4, 4.6)


@dataclass(frozen=True)
class Typed:
    latitude: float = 52.10
    longitude: float = 5.18
    elevation_m: float | None = 2.0
    weather: str | tuple[str, ...] | None = None
    years: str | None = None
    monthly_sun_kwh_m2: tuple[float, ...] | None = DE_BILT
    monthly_temp_c: tuple[float, ...] | None = WARM


def test_months_come_out_as_typed_and_the_basis_says_so() -> None:
    found = stay_weather(Typed(), sun_table(52.10, 5.18, 2.0, 1))
    assert found.ensemble is None
    assert found.tables is not None
    means = monthly_mean(found.tables.k_mean * found.tables.h0_wh_m2)
    np.testing.assert_allclose(means, 1000.0 * np.array(DE_BILT), rtol=1e-3)
    assert found.basis.kind == "local monthly"
    assert found.basis.typical_error_frac == LOCAL_MONTHLY_ERROR_FRAC
    assert "matching your monthly averages" in found.basis.sentence
    assert not any("cities" in caution for caution in found.basis.cautions)
    warm = monthly_mean(found.tables.temp_mean_c)
    assert np.abs(warm - np.array(WARM)).max() < 0.6


def test_temperatures_alone_leave_the_sun_to_the_grid() -> None:
    sun = sun_table(52.10, 5.18, 2.0, 1)
    found = stay_weather(Typed(monthly_sun_kwh_m2=None), sun)
    grid = stay_weather(Typed(monthly_sun_kwh_m2=None, monthly_temp_c=None), sun)
    assert found.basis.kind == grid.basis.kind == "world grid"
    assert found.tables is not None
    assert grid.tables is not None
    np.testing.assert_array_equal(found.tables.k_by_z, grid.tables.k_by_z)
    assert np.abs(found.tables.temp_mean_c - grid.tables.temp_mean_c).max() > 0.2


def test_days_keep_the_grids_spread_within_a_month() -> None:
    k = local_quantiles(52.10, 5.18, DE_BILT, "here")
    grid = world_quantiles(52.10, 5.18)
    own, theirs = (x.quantiles / x.quantiles.mean(axis=1)[:, None] for x in (k, grid))
    np.testing.assert_allclose(own[:, 20:100], theirs[:, 20:100], rtol=0.05)


@pytest.mark.parametrize(
    ("sun", "message"),
    [
        ([3.6 * x for x in DE_BILT], "look like MJ"),
        ([*DE_BILT[6:], *DE_BILT[:6]], "is possible there"),
        ([0.0, *DE_BILT[1:]], "0 for Jan"),
    ],
)
def test_months_no_sky_can_give_are_refused(sun: list[float], message: str) -> None:
    with pytest.raises(WeatherError, match=message):
        local_quantiles(52.10, 5.18, sun, "here")


def test_a_year_far_from_the_grid_gets_a_caution() -> None:
    assert unlike_grid(52.10, 5.18, local_quantiles(52.10, 5.18, DE_BILT, "here")) is None
    half = [0.5 * x for x in DE_BILT]
    caution = unlike_grid(52.10, 5.18, local_quantiles(52.10, 5.18, half, "here"))
    assert caution is not None
    assert "times the worldwide estimate" in caution
