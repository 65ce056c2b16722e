"""Season classes by latitude and continentality, and what they say of day-to-day swings."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from flatodds.weather import seasons
from flatodds.weather.seasons import CLASSES, class_weights, season_air
from flatodds.weather.tables import AirClimate


@pytest.mark.parametrize(
    ("latitude", "yearly_range_c", "name"),
    [
        (52.1, 14.6, "maritime"),
        (47.5, 33.3, "continental"),
        (29.6, 14.0, "subtropical"),
        (33.1, 22.0, "subtropical"),
        (14.2, 3.0, "tropical"),
        (-18.3, 8.0, "tropical"),
    ],
)
def test_places_the_classes_come_from_fall_into_them(
    latitude: float, yearly_range_c: float, name: str
) -> None:
    weights = class_weights(latitude, yearly_range_c)
    assert weights[CLASSES.index(name)] > 0.9


@pytest.mark.law
@given(st.floats(-90, 90), st.floats(0, 60))
def test_shares_add_up(latitude: float, yearly_range_c: float) -> None:
    weights = class_weights(latitude, yearly_range_c)
    assert weights.sum() == pytest.approx(1.0)
    assert weights.min() >= -1e-12


def air(latitude: float, swing: float = 30.0) -> AirClimate:
    course = 10.0 - 0.5 * swing * np.cos(2 * np.pi * (np.arange(12) - 0.5) / 12)
    return season_air(latitude, course, np.full(12, 9.0), np.full(12, 3.0))


def test_middle_of_a_season_holds_the_tables_value() -> None:
    north = air(48.0, 45.0)
    assert north.sd_c[14] == pytest.approx(7.4, abs=0.02)
    assert north.sd_c[195] == pytest.approx(3.3, abs=0.02)
    assert north.corr[14] == pytest.approx(-0.37, abs=0.01)
    assert north.lag1[287] == pytest.approx(0.69, abs=0.01)


def test_south_has_its_winter_in_july_but_the_tropics_keep_the_calendar() -> None:
    north, south = air(48.0), air(-48.0)
    np.testing.assert_allclose(south.sd_c, np.roll(north.sd_c, 182))
    np.testing.assert_allclose(air(-10.0).corr, air(10.0).corr)


def test_range_of_a_day_follows_the_grids_clearness() -> None:
    dry, wet = (
        seasons.world_air(30.0, 0.0, 300.0, np.full((12, 129), k)).range_c for k in (0.6, 0.4)
    )
    np.testing.assert_allclose(dry, -5.2 + 27.5 * 0.6)
    np.testing.assert_allclose(wet, -5.2 + 27.5 * 0.4)
    gloomy = seasons.world_air(30.0, 0.0, 300.0, np.full((12, 129), 0.1)).range_c
    np.testing.assert_allclose(gloomy, 3.0)


def test_caution_far_from_cities_and_far_north() -> None:
    assert seasons.temperature_caution(38.72, -9.14) is None
    assert "few so far" in (seasons.temperature_caution(52.5, 13.4) or "")
    assert "km away" in (seasons.temperature_caution(24.0, -1.0) or "")
