"""What a stay's weather rests on: world grid, one year's file, samples, and what is refused."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from flatodds.errors import WeatherError
from flatodds.sun import SunTable, sun_table
from flatodds.weather import preview
from flatodds.weather.own_years import TYPICAL_YEAR_ERROR_FRAC
from flatodds.weather.readers import read_weather
from flatodds.weather.source import (
    BORROWED_ERROR_FRAC,
    WORLD_GRID_ERROR_FRAC,
    build_synthetic,
    weather_path,
)
from flatodds.weather.synthetic import SyntheticTables
from flatodds.weather.tables import MONTH_OF_DAY, monthly_mean


@dataclass(frozen=True)
class Site:
    latitude: float
    longitude: float
    elevation_m: float | None = None


GREENSBORO = Site(36.1, -79.95, 273.0)


@cache
def sun() -> SunTable:
    return sun_table(36.1, -79.95, 273.0, -5)


def test_world_grid_is_the_default_and_says_what_it_is() -> None:
    made, basis = build_synthetic(GREENSBORO, sun(), None)
    assert basis.kind == "world grid"
    assert basis.typical_error_frac == WORLD_GRID_ERROR_FRAC
    assert "±12 %" in basis.sentence
    assert len(basis.sha256) == 64
    assert any("MERRA-2" in source for source in basis.sources)
    assert any("km away" in caution for caution in basis.cautions)
    check_tables(made)


def check_tables(made: SyntheticTables) -> None:
    """Shapes and sanity of everything the generator reads."""
    shapes = {"k_by_z": (365, 257), "wind_by_z": (257,), "year_weight": (1,)}
    hourly = ("clear_ghi", "cos_zenith", "dni_extra")
    for name, array in zip(made._fields, made, strict=True):
        assert array.shape == shapes.get(name, (365, 24) if name in hourly else (365,)), name
        assert array.dtype == np.float64
        assert np.isfinite(array).all(), name
    assert (np.diff(made.k_by_z, axis=1) >= 0.0).all()


def test_without_an_elevation_the_height_map_is_asked() -> None:
    low, _ = build_synthetic(Site(36.1, -79.95), sun(), None)
    given, _ = build_synthetic(GREENSBORO, sun(), None)
    assert np.abs(low.temp_mean_c - given.temp_mean_c).max() < 1.0
    high, _ = build_synthetic(Site(36.1, -79.95, 1273.0), sun(), None)
    np.testing.assert_allclose(given.temp_mean_c - high.temp_mean_c, 6.0)


def test_hash_tells_places_apart_and_not_runs() -> None:
    one, again = (build_synthetic(GREENSBORO, sun(), None)[1].sha256 for _ in range(2))
    other = build_synthetic(Site(36.2, -79.95, 273.0), sun(), None)[1].sha256
    assert one == again != other


@pytest.mark.parametrize("weather", ["sample:greensboro", "path"])
def test_one_years_file_keeps_its_months_and_warmth(weather: str) -> None:
    path = weather_path("sample:greensboro", Path())
    named = weather if weather != "path" else path.name
    made, basis = build_synthetic(GREENSBORO, sun(), named, path.parent)
    year = read_weather(path, -5)
    assert basis.kind == "one typical year"
    assert basis.typical_error_frac == TYPICAL_YEAR_ERROR_FRAC
    assert basis.sha256 == year.sha256
    assert named in basis.sentence
    check_tables(made)
    own = monthly_mean(year.ghi.sum(axis=1))
    np.testing.assert_allclose(monthly_mean(made.k_mean * made.h0_wh_m2), own, rtol=1e-3)
    assert made.temp_mean_c.mean() == pytest.approx(year.temp_air.mean(), abs=0.01)


def test_years_made_from_a_file_are_not_its_repetition() -> None:
    made, _ = build_synthetic(GREENSBORO, sun(), "sample:greensboro")
    ghi, _ = preview.generate_days(made, 256, 365, 1)
    year = read_weather(weather_path("sample:greensboro", Path()), -5)
    own = year.ghi.sum(axis=1)
    np.testing.assert_allclose(monthly_mean(ghi.mean(axis=0)), monthly_mean(own), rtol=0.03)
    runs = np.cumsum(ghi, axis=1)
    worst = ((runs[:, 5:] - runs[:, :-5]) / 5.0).min(axis=1)
    own_runs = np.cumsum(own)
    assert np.std(worst) > 0.1 * np.mean(worst)
    assert worst.min() < ((own_runs[5:] - own_runs[:-5]) / 5.0).min()
    december = ghi[:, MONTH_OF_DAY == 11].mean(axis=1)
    assert 0.04 < december.std() / december.mean() < 0.2


def test_a_file_from_elsewhere_is_used_with_a_caution() -> None:
    _, near = build_synthetic(GREENSBORO, sun(), "sample:greensboro")
    _, far = build_synthetic(Site(37.5, -79.95, 273.0), sun(), "sample:greensboro")
    assert not any("the stay at" in caution for caution in near.cautions)
    assert any("the stay at 37.50" in caution for caution in far.cautions)


def test_unknown_samples_are_refused() -> None:
    with pytest.raises(WeatherError, match="sample:sand-point"):
        build_synthetic(GREENSBORO, sun(), "sample:atlantis")


def test_a_small_island_borrows_its_sun_and_says_so() -> None:
    tables, basis = build_synthetic(Site(21.3, -157.8), sun_table(21.3, -157.8, 0.0, -10), None)
    assert np.isfinite(tables.k_by_z).all()
    assert basis.typical_error_frac == BORROWED_ERROR_FRAC
    assert "nearest land, 3,4" in basis.sentence
