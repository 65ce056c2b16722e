"""Temperatures spread from cities: heights, kriging, and the error when a city is left out."""

from __future__ import annotations

import numpy as np
import pytest
import world_temperature_data
from pvlib.location import lookup_altitude

from flatodds.weather import normals


@pytest.mark.validation
@pytest.mark.parametrize(
    "place", [(46.5, 8.0), (52.1, 5.2), (-33.4, -70.6), (27.9, 86.9), (0.0, -30.0), (65.03, -18.03)]
)
def test_heights_are_pvlibs(place: tuple[float, float]) -> None:
    assert normals.terrain_m(*place) == lookup_altitude(*place)


def test_land_share() -> None:
    assert normals.land_share(0.0, -30.0, 5.0) == 0.0
    assert normals.land_share(23.0, 10.0, 5.0) == 1.0
    assert 0.2 < normals.land_share(52.1, 4.4, 1.5) < 0.9


@pytest.mark.validation
def test_left_out_error_of_the_cities() -> None:
    """Each city from the other 269: measured rms 1.6 degC, as its sentence in the guide says."""
    error = normals.left_out_error()
    assert error.shape == (270, 12)
    assert np.sqrt(np.mean(error**2)) < 1.7
    assert abs(error.mean()) < 0.1
    assert np.quantile(np.abs(error), 0.95) < 3.3


def test_leaving_out_is_kriging_without_the_city(monkeypatch: pytest.MonkeyPatch) -> None:
    """The shortcut through the inverse equals kriging again from 269 cities."""
    known = normals.cities()
    city = world_temperature_data.cities()[100]
    keep = np.arange(270) != 100
    fewer = normals.Cities(*[getattr(known, name)[keep] for name in normals.Cities.__slots__])
    quick = normals.left_out_error()[100]
    monkeypatch.setattr(normals, "cities", lambda: fewer)
    direct = normals.temperature_normals(city["lat"], city["lon"], float(known.height_m[100]))
    np.testing.assert_allclose(direct - known.normals_c[100], quick, atol=1e-8)


def test_close_to_a_city_its_own_normals_come_back_smoothed() -> None:
    known = normals.cities()
    city = world_temperature_data.cities()[0]
    there = normals.temperature_normals(city["lat"], city["lon"], float(known.height_m[0]))
    assert np.abs(there - known.normals_c[0]).max() < 1.5


def test_six_degrees_a_kilometre() -> None:
    low, high = (normals.temperature_normals(45.0, 7.0, h) for h in (200.0, 1200.0))
    np.testing.assert_allclose(low - high, 6.0)


def test_seasons_turn_over_at_the_equator() -> None:
    north = normals.temperature_normals(48.0, 10.0, 400.0)
    south = normals.temperature_normals(-35.0, 148.0, 400.0)
    assert np.argmax(north) in (6, 7)
    assert np.argmax(south) in (0, 1)


def test_distance_to_the_nearest_city() -> None:
    city = world_temperature_data.cities()[5]
    assert normals.nearest_city_km(city["lat"], city["lon"]) < 1e-3
    assert 90 < normals.nearest_city_km(city["lat"] + 1.0, city["lon"]) < 112
