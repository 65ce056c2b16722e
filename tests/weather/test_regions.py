"""Places where the worldwide sun estimate is known to fail are told apart from others."""

from __future__ import annotations

import numpy as np
import pytest

from flatodds.weather.normals import heights_around, terrain_m
from flatodds.weather.regions import RELIEF_DEG, region_caution


def caution(latitude: float, longitude: float) -> str | None:
    return region_caution(latitude, longitude, terrain_m(latitude, longitude))


@pytest.mark.parametrize(
    ("latitude", "longitude", "words"),
    [
        (5.37, -4.13, "Guinea coast"),  # Anguededou, 51 % too sunny
        (14.17, 121.25, "South-East Asia"),  # Los Baños
        (23.07, 72.63, "South Asia"),  # Ahmedabad
        (19.08, 72.88, "South Asia"),  # Mumbai
    ],
)
def test_monsoon_coasts_are_named(latitude: float, longitude: float, words: str) -> None:
    said = caution(latitude, longitude)
    assert said is not None
    assert words in said
    assert "25 to 50 %" in said
    assert said.startswith("Warning: ")
    assert len(said.split(". ")[0]) < 80


@pytest.mark.parametrize(("latitude", "longitude"), [(31.10, 77.17), (46.55, 7.98), (37.6, -118.8)])
def test_mountains_are_named(latitude: float, longitude: float) -> None:
    """Shimla, the Bernese Alps, the eastern Sierra Nevada."""
    said = caution(latitude, longitude)
    assert said is not None
    assert "overstated: mountains." in said
    assert f"within 0.5 degree of {latitude:.2f}, {longitude:.2f} lies" in said
    assert said.startswith("Warning: ")
    assert len(said.split(". ")[0]) < 80


@pytest.mark.parametrize(
    ("latitude", "longitude"),
    [
        (52.10, 5.18),  # De Bilt
        (47.51, -99.13),  # northern plains
        (42.02, -93.77),  # Iowa
        (29.63, -82.37),  # Florida
        (36.08, -79.95),  # Piedmont
        (-18.32, 29.88),  # Kadoma
        (-33.87, 151.21),  # Sydney
        (17.4, 78.5),  # the Deccan plateau, far from the sea
    ],
)
def test_other_places_hear_nothing(latitude: float, longitude: float) -> None:
    assert caution(latitude, longitude) is None


def test_heights_around_are_those_of_the_map() -> None:
    around = heights_around(46.55, 7.98, RELIEF_DEG)
    assert around.shape == (13, 13)
    assert around[6, 6] == terrain_m(46.55, 7.98)
    assert np.isnan(heights_around(30.0, -150.0, RELIEF_DEG)).all()  # open sea
