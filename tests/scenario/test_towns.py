"""Towns by name: found, told apart, and refused with what to write instead."""

import time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from flatodds.catalog.towns import REGIONS, towns_called
from flatodds.scenario.places import PlaceError, parse_place


@pytest.mark.parametrize(
    ("text", "latitude", "longitude"),
    [
        # Coordinates from memory of common atlases, to a twentieth of a degree.
        ("Moab, UT", 38.57, -109.55),
        ("moab utah", 38.57, -109.55),
        ("Moab, Utah, USA", 38.57, -109.55),
        ("Bishop, CA", 37.36, -118.40),
        ("Quartzsite", 33.66, -114.23),
        ("Alice Springs, Northern Territory", -23.70, 133.88),
        ("Tromso, Norway", 69.65, 18.96),
        ("Ensenada, Baja California", 31.87, -116.60),
        ("Whitehorse, YT", 60.72, -135.05),
        ("London", 51.51, -0.13),
        ("London, ON", 42.98, -81.25),
        ("North Pole, AK", 64.75, -147.35),
    ],
)
def test_finds_the_town(text: str, latitude: float, longitude: float) -> None:
    assert parse_place(text) == pytest.approx((latitude, longitude), abs=0.05)


@pytest.mark.parametrize(
    ("text", "north_km", "east_km"),
    [
        ("30 miles S of Moab, UT", -48.28, 0.0),
        ("10 km north-east of Moab, UT", 7.07, 7.07),
        ("10km W from Moab, UT", 0.0, -10.0),
        ("2.5 mi SSW of Moab, UT", -3.717, -1.540),
    ],
)
def test_so_far_from_a_town(text: str, north_km: float, east_km: float) -> None:
    """A degree of latitude is 111.19 km on the sphere of mean radius; of longitude, times cos."""
    latitude, longitude = parse_place(text)
    assert (latitude - 38.57) * 111.19 == pytest.approx(north_km, abs=0.15)
    assert (longitude + 109.55) * 111.19 * 0.7818 == pytest.approx(east_km, abs=0.15)


@pytest.mark.parametrize(
    ("text", "found", "hint"),
    [
        ("Bishop", "could be any of 2 towns", "There are: Bishop, CA; Bishop, TX."),
        ("Bishop, Nevada", "is not where that town is", "Bishop, CA"),
        ("Quartzite, AZ", "not in the list of towns", "Nearest: Quartzsite, AZ."),
        ("Springfield", "could be any of", "and 17 more"),
        ("Xyzzy", "not in the list of towns", "Small places are missing"),
        ("900 km E of Moab, UT", "too far", "nearer town"),
        ("5 miles foo of Moab, UT", "direction", "N, NE, SSW"),
    ],
)
def test_refuses_and_says_what_to_write(text: str, found: str, hint: str) -> None:
    with pytest.raises(PlaceError, match=found) as caught:
        parse_place(text)
    assert hint in caught.value.hint


def test_every_name_that_is_offered_is_understood() -> None:
    for name in ("Bishop", "Silverton", "Ensenada", "La Paz"):
        for town in towns_called(name):
            same = [other for other in towns_called(name) if other.label == town.label]
            if len(same) == 1:
                assert parse_place(town.label) == (town.latitude, town.longitude)


def test_regions_are_those_of_the_list() -> None:
    """A large town of each province, so that a shifted table of codes would show."""
    for text in ("Calgary, AB", "Winnipeg, MB", "Halifax, NS", "Iqaluit, NU", "Perth, WA",
                 "Hobart, TAS", "Darwin, NT", "Merida, YUC", "Hermosillo, SON"):  # fmt: skip
        parse_place(text)
    assert len(REGIONS["US"].split(",")) == 51


def test_looking_up_is_quick_enough_for_a_check() -> None:
    """Guards against reading line by line (seconds), not a claim of speed."""
    parse_place("Moab, UT")
    begin = time.perf_counter()
    for _ in range(20):
        with pytest.raises(PlaceError):
            parse_place("Quartzite, AZ")
    assert time.perf_counter() - begin < 10.0


@pytest.mark.law
@given(st.text(max_size=60))
def test_never_fails_in_another_way(text: str) -> None:
    try:
        latitude, longitude = parse_place(text)
    except PlaceError:
        return
    assert -90.0 <= latitude <= 90.0
    assert -180.0 <= longitude <= 180.0
