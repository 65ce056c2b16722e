"""Coordinates in every common form, and the clock kept there."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from flatodds.scenario.places import (
    PlaceError,
    clock_at,
    in_united_states,
    parse_place,
    place_named,
    place_text,
    sign_forgotten,
)


@pytest.mark.parametrize(
    "text",
    [
        "33.66, -114.23",
        "33.66 -114.23",
        "33.66; -114.23",
        "33.66,-114.23",
        "(33.66, -114.23)",
        "+33.66, −114.23",
        "33.66N 114.23W",
        "33.66 N, 114.23 W",
        "N33.66 W114.23",
        "n 33.66, w 114.23",
        "33.66° N, 114.23° W",
        "33.66 north, 114.23 west",
        "114.23 W, 33.66 N",
        "lat 33.66, lon -114.23",
        "latitude: 33.66 longitude: -114.23",
        "geo:33.66,-114.23",
        "33°39'36\"N 114°13'48\"W",
        "33º39′36″ N, 114º13′48″ W",
        "33 39 36 N 114 13 48 W",
        "33d39'36\" N 114d13'48\" W",
        "33° 39.6' N, 114° 13.8' W",
        "33 39 36, -114 13 48",
        "33 39 36 -114 13 48",
    ],
)
def test_reads_every_common_form(text: str) -> None:
    assert parse_place(text) == pytest.approx((33.66, -114.23), abs=1e-9)


def test_south_and_east() -> None:
    assert parse_place("33.9 S 18.4 E") == (-33.9, 18.4)
    assert parse_place("-0 30, 10 0")[0] == -0.5


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("33.66", "is not a pair of coordinates"),
        ("", "is neither coordinates nor a town"),
        ("1 2 3", "is not a pair of coordinates"),
        ("33,66, -114,23", "too many commas"),
        ("95.0, 10.0", "latitude beyond 90"),
        ("95 N 10 E", "off the globe"),
        ("10.0, 181", "off the globe"),
        ("33.66 N 114.23", "needs one of N or S"),
        ("33.66 N 114.23 S", "needs one of N or S"),
        ("-33.66 S 18 E", "both a sign and a letter"),
        ("N 33.66 114.23 W", "different sides"),
        ("33.5 30 N 114 W", "fraction or a sign inside"),
        ("33 60 N 114 W", "60 or more minutes"),
        ("33 39 36 5 N 114 W", "is not a pair of coordinates"),
        ("33.66 N x 114.23 W", "is not a pair of coordinates"),
    ],
)
def test_refuses_with_coordinates_in_the_hint(text: str, found: str) -> None:
    with pytest.raises(PlaceError, match=found) as caught:
        parse_place(text)
    assert caught.value.hint


@pytest.mark.parametrize("text", ["", "  ", "N", "--", ", ,"])
def test_what_is_neither_coordinates_nor_a_town_is_refused(text: str) -> None:
    with pytest.raises(PlaceError) as caught:
        parse_place(text)
    assert "44.95, -93.60" in caught.value.hint


@pytest.mark.law
@given(st.floats(-90, 90), st.floats(-180, 180))
def test_decimal_degrees_come_back(latitude: float, longitude: float) -> None:
    found = parse_place(f"{latitude:.7f}, {longitude:.7f}")
    assert found == pytest.approx((latitude, longitude), abs=1e-6)


@pytest.mark.law
@given(st.text(alphabet="0123456789.,;+-NSEWnsew °'\"() ", max_size=30))
def test_never_fails_in_another_way(text: str) -> None:
    try:
        latitude, longitude = parse_place(text)
    except PlaceError:
        return
    assert -90.0 <= latitude <= 90.0
    assert -180.0 <= longitude <= 180.0


@pytest.mark.parametrize(
    ("place", "zone", "hours"),
    [
        ((33.66, -114.23), "America/Phoenix", -7),
        ((44.90, -86.02), "America/Detroit", -5),
        ((44.90, -93.60), "America/Chicago", -6),
        ((52.1, 5.2), "Europe/Amsterdam", 1),
        ((53.3, -7.0), "Europe/Dublin", 0),
        ((-33.9, 151.2), "Australia/Sydney", 10),
        ((28.6, 77.2), "Asia/Kolkata", 6),
        ((47.5, -53.0), "America/St_Johns", -3),
    ],
)
def test_standard_clock_in_whole_hours(place: tuple[float, float], zone: str, hours: int) -> None:
    assert clock_at(*place) == (zone, hours)


def test_a_place_at_sea_is_refused() -> None:
    with pytest.raises(PlaceError, match="at sea") as caught:
        clock_at(0.0, -150.0)
    assert "signs" in caught.value.hint


def test_a_great_lake_is_not_the_sea() -> None:
    assert clock_at(45.0, -87.0)[1] in (-5, -6)


def test_united_states_zones() -> None:
    assert in_united_states("America/Chicago")
    assert in_united_states("America/Indiana/Knox")
    assert not in_united_states("America/Toronto")
    assert not in_united_states("America/Denverton")


def test_forgotten_minus() -> None:
    assert sign_forgotten(33.66, 114.23)
    assert not sign_forgotten(33.66, -114.23)
    assert not sign_forgotten(52.1, 5.2)


def test_a_town_alone_is_named_with_where_it_is() -> None:
    """So that people see which of the towns of that name was taken."""
    for text, named in (
        ("Moab", "Moab, UT"),
        ("moab utah", "Moab, UT"),
        ("Atlantis", "Atlantis, ZA"),
        ("Moab, Utah", "Moab, Utah"),
        ("30 miles S of Moab", "30 miles S of Moab"),
        ("44.95 N 93.60 W", "44.95 N 93.60 W"),
    ):
        assert place_named(text) == named


def test_place_text() -> None:
    assert place_text(-33.9, 18.4) == "33.90 S 18.40 E"


@pytest.mark.parametrize("text", ["-114.23, 33.66", "90.01, 0.0", "95, 90"])
def test_a_latitude_beyond_90_may_be_the_other_number(text: str) -> None:
    with pytest.raises(PlaceError) as caught:
        parse_place(text)
    assert "beyond 90 degrees" in str(caught.value)
    assert "swap" in caught.value.hint


def test_the_poles_and_the_date_line_are_places() -> None:
    assert parse_place("90.0, 180.0") == (90.0, 180.0)
    assert parse_place("-90.0, -180.0") == (-90.0, -180.0)


@pytest.mark.parametrize("latitude", [24.0, 55.0])
def test_bands_of_a_forgotten_minus(latitude: float) -> None:
    """Ends belong to the bands: Yunnan and Siberia mirror Mexico's north and Canada's south."""
    assert sign_forgotten(latitude, 100.0)
    assert not sign_forgotten(latitude + (0.01 if latitude == 55.0 else -0.01), 100.0)
