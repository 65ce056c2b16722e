"""Weather from services: asked rightly, understood, kept whole, and never asked for twice."""

from __future__ import annotations

import json
import socket
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest

from flatodds.errors import UsageError, WeatherError
from flatodds.weather import cache
from flatodds.weather.cache import cached_path
from flatodds.weather.cache_note import CachedSet
from flatodds.weather.fetch import Patience, fetch
from flatodds.weather.readers import read_weather, read_years

if TYPE_CHECKING:
    from tests.conftest import Loopback, Made

LAT, LON, LOCAL_H = 40.0, -105.0, -7
KEY, EMAIL = "k3y/with+odd marks", "somebody@invented.example"
QUICK = Patience(connect_s=2.0, read_s=1.0, whole_s=20.0, waits_s=(0.0, 0.0), pause_s=0.0)
SPAN = (2015, 2016)
REAL = ("pvgis", "power", "nsrdb")
NAMES = ("ghi", "dni", "dhi", "temp_air", "wind_speed")


@pytest.fixture
def get(loopback: Loopback, monkeypatch: pytest.MonkeyPatch) -> Callable[..., CachedSet]:
    """Fetch from the loopback service, quickly."""
    monkeypatch.setenv("FLATODDS_NSRDB_KEY", KEY)
    monkeypatch.setenv("FLATODDS_NSRDB_EMAIL", EMAIL)

    def call(service: str = "pvgis", years: tuple[int, int] = (2015, 2015), **more: object):  # type: ignore[no-untyped-def]
        options = {"url": loopback.url(service), "patience": QUICK, **more}
        return fetch(LAT, LON, years, service, **options)  # type: ignore[arg-type]

    return call


def local_hours(column: np.ndarray, stamp: np.ndarray, offset_h: int) -> np.ndarray:
    """Hours without 29 February, moved to the place's clock as the reader moves them."""
    leap = np.char.startswith(np.datetime_as_string(stamp, "D"), "2016-02-29")
    moved: np.ndarray = np.roll(column[~leap], offset_h)
    return moved


@pytest.mark.parametrize("service", REAL)
def test_real_years_come_back_hour_by_hour(
    get: Callable[..., CachedSet], sky: Callable[..., Made], service: str
) -> None:
    kept = get(service, SPAN)
    series = read_years(kept.path, utc_offset_h=LOCAL_H)
    assert series.years == SPAN == kept.years
    minute, offset = (10.0, 0) if service == "pvgis" else (30.0, 0)
    if service == "nsrdb":
        offset = LOCAL_H
    expected = sky(SPAN, minute, offset)
    for name in NAMES:
        wanted = local_hours(getattr(expected, name), expected.stamp, LOCAL_H - offset)
        # PVGIS gives beam on the level and the sun's height to two digits, from which dni comes.
        off = np.abs(getattr(series, name).ravel() - wanted)
        assert off.max() <= (5.0 if (service, name) == ("pvgis", "dni") else 0.011), name
    assert not kept.typical
    assert cached_path(LAT, LON) == kept.path


def test_a_year_asked_alone_equals_the_file_as_downloaded(
    get: Callable[..., CachedSet], loopback: Loopback, tmp_path: Path
) -> None:
    """Both ways to PVGIS weather, the file and the service, give the same hours."""
    kept = read_weather(get().path)
    query = {"lat": str(LAT), "lon": str(LON), "startyear": "2015", "endyear": "2015"}
    path = tmp_path / "pvgis.json"
    path.write_text(loopback.answers["/pvgis/seriescalc"](query))
    file = read_weather(path)
    assert file.kind == "PVGIS hourly"
    for name in NAMES:
        np.testing.assert_allclose(getattr(kept, name), getattr(file, name), atol=0.0051)
    assert [note for note in kept.notes if "minute 10" in note]


@pytest.mark.parametrize("offset_h", [0.1761, -0.2])
def test_typical_year(
    get: Callable[..., CachedSet],
    loopback: Loopback,
    sky: Callable[..., Made],
    offset_h: float,
) -> None:
    answer = loopback.answers["/pvgis/tmy"]
    loopback.answers["/pvgis/tmy"] = lambda query: answer(query, offset_h)  # type: ignore[call-arg]
    kept = get("pvgis-tmy")
    assert kept.typical
    assert kept.years == ()
    year = read_weather(kept.path, utc_offset_h=LOCAL_H)
    assert year.typical
    expected = sky(
        (2008, 2003, 2006, 2002, 2009, 2011, 2007, 2005, 2010, 2014, 2013, 2012), 60.0 * offset_h
    )
    moved = np.roll(expected.ghi, LOCAL_H - (offset_h < 0))
    np.testing.assert_allclose(year.ghi.ravel(), moved, atol=0.011)
    with pytest.raises(WeatherError, match="There is a typical year: weather"):
        cached_path(LAT, LON)


def test_questions_are_what_the_services_expect(
    get: Callable[..., CachedSet], loopback: Loopback
) -> None:
    loopback.answers = {path: lambda query: "{}" for path in loopback.answers}
    once = Patience(connect_s=2.0, read_s=2.0, whole_s=20.0, waits_s=(), pause_s=0.0)
    for service in (*REAL, "pvgis-tmy"):
        with pytest.raises(WeatherError, match="not the service's usual data"):
            get(service, SPAN, patience=once)
    assert [path for path, _ in loopback.asked] == [
        "/pvgis/seriescalc",
        "/power",
        "/nsrdb",
        "/pvgis/tmy",
    ]
    pvgis, power, nsrdb, _ = (query for _, query in loopback.asked)
    assert (pvgis["startyear"], pvgis["endyear"]) == ("2015", "2016")
    assert (pvgis["angle"], pvgis["components"]) == ("0", "1")
    assert (power["start"], power["end"], power["time-standard"]) == ("20150101", "20151231", "utc")
    assert (nsrdb["names"], nsrdb["api_key"], nsrdb["email"]) == ("2015", KEY, EMAIL)
    assert (nsrdb["utc"], nsrdb["leap_day"], nsrdb["interval"]) == ("false", "true", "60")


def test_note_beside_the_hours(get: Callable[..., CachedSet], loopback: Loopback) -> None:
    kept = get("power")
    notes = list(kept.path.parent.glob("*.json"))
    note = json.loads(notes[0].read_text())
    assert len(notes) == 1
    assert note["sha256"] == kept.sha256 == read_weather(kept.path).sha256
    assert note["years"] == [2015]
    assert note["url"] == f"http://127.0.0.1:{loopback.port}/power"
    assert (note["latitude"], note["longitude"], note["service"]) == (LAT, LON, "power")
    assert note["origin"] == "NASA POWER INVENTED"
    assert sorted(path.name for path in kept.path.parent.iterdir()) == sorted(
        [kept.file, notes[0].name]
    )


def test_what_is_kept_is_not_asked_for_again(
    get: Callable[..., CachedSet], loopback: Loopback
) -> None:
    first = get()
    assert get() == first
    assert len(loopback.asked) == 1
    assert get(refresh=True) == first
    assert len(loopback.asked) == 2
    assert get(years=(2016, 2016)) != first
    assert len(cache.cached_sets()[0]) == 2


def test_gaps_are_filled_or_refused(get: Callable[..., CachedSet], loopback: Loopback) -> None:
    plain = loopback.answers["/power"]

    def with_gaps(column: str, hours: int, fill: float = -999.0) -> Callable[[dict[str, str]], str]:
        def answer(query: dict[str, str]) -> str:
            document = json.loads(plain(query))
            values = document["properties"]["parameter"][column]
            for key in list(values)[4000 : 4000 + hours]:
                values[key] = -999.0
            document["header"]["fill_value"] = fill
            return json.dumps(document)

        return answer

    loopback.answers["/power"] = with_gaps("T2M", 2, fill=-99.0)
    notes = read_weather(get("power").path).notes
    assert any("temp_air: 2 missing hours were filled" in note for note in notes)
    loopback.answers["/power"] = with_gaps("ALLSKY_SFC_SW_DNI", 200)
    year = read_weather(get("power", refresh=True).path)
    assert any("estimated from ghi (Erbs-Driesse)" in note for note in year.notes)
    assert (year.dhi <= year.ghi + 1e-9).all()
    loopback.answers["/power"] = with_gaps("T2M", 200)
    before = get("power").path.read_bytes()
    with pytest.raises(WeatherError, match=r"200 of 8760 hourly temp_air values are missing"):
        get("power", refresh=True)
    assert get("power").path.read_bytes() == before


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"time_standard": "LST"}, "The answer is in LST, not in UTC"),
        ({"units": "MJ/hr"}, "ALLSKY_SFC_SW_DWN is in MJ/hr"),
    ],
)
def test_other_clock_or_units(
    get: Callable[..., CachedSet], loopback: Loopback, change: dict[str, str], words: str
) -> None:
    plain = loopback.answers["/power"]

    def answer(query: dict[str, str]) -> str:
        document = json.loads(plain(query))
        if "units" in change:
            document["parameters"]["ALLSKY_SFC_SW_DWN"]["units"] = change["units"]
        else:
            document["header"]["time_standard"] = change["time_standard"]
        return json.dumps(document)

    loopback.answers["/power"] = answer
    with pytest.raises(WeatherError, match=words):
        get("power")


def test_offline_opens_no_socket(
    get: Callable[..., CachedSet], loopback: Loopback, monkeypatch: pytest.MonkeyPatch
) -> None:
    kept = get()

    def no_socket(*args: object, **named: object) -> None:
        raise AssertionError("a socket was opened")

    monkeypatch.setattr(socket, "socket", no_socket)
    monkeypatch.setattr(socket, "create_connection", no_socket)
    assert get(offline=True) == kept
    assert get(offline=True, refresh=True) == kept
    assert cached_path(LAT + 0.09, LON - 0.09) == kept.path
    with pytest.raises(WeatherError) as caught:
        get(years=(2016, 2016), offline=True)
    assert caught.value.exit_code == 4
    words = str(caught.value)
    assert "has not been fetched yet" in words
    assert "flatodds weather get --at 40.000,-105.000 --service pvgis --years 2016-2016" in words
    assert len(loopback.asked) == 1


@pytest.mark.parametrize(
    ("place", "years", "service", "words"),
    [
        ((91.0, 0.0), SPAN, "pvgis", "not on the globe"),
        ((float("nan"), 0.0), SPAN, "pvgis", "not on the globe"),
        ((40.0, 0.0), (2016, 2015), "pvgis", "Years 2016-2015 cannot be had from PVGIS"),
        ((40.0, 0.0), (2000, 2015), "power", "Whole years from 2001 to"),
        ((40.0, 0.0), (2015, 2999), "power", "the latest may not be there yet"),
        ((40.0, 0.0), SPAN, "elsewhere", "There is no service 'elsewhere'"),
    ],
)
def test_questions_without_sense(
    loopback: Loopback, place: tuple[float, float], years: tuple[int, int], service: str, words: str
) -> None:
    with pytest.raises(UsageError, match=words):
        fetch(*place, years, service, url=loopback.url("pvgis"), patience=QUICK)
    assert loopback.asked == []


@pytest.mark.parametrize(
    "url", ["http://192.0.2.1/", "http://127.0.0.1.invented.example/", "ftp://127.0.0.1/", "x"]
)
def test_only_https_leaves_this_machine(loopback: Loopback, url: str) -> None:
    with pytest.raises(UsageError, match="HTTPS only"):
        fetch(LAT, LON, SPAN, "pvgis", url=url, patience=QUICK)
