"""Services that are slow, busy, broken or wrong: a try that succeeds, or our error and no trace."""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import quote, quote_plus

import pytest

from flatodds.errors import WeatherError
from flatodds.weather import cache
from flatodds.weather.cache import cached_path
from flatodds.weather.cache_note import CachedSet, weather_folder
from flatodds.weather.fetch import Patience, fetch

if TYPE_CHECKING:
    from tests.conftest import Loopback

LAT, LON = 40.0, -105.0
KEY, EMAIL = "k3y/with+odd marks", "somebody@invented.example"
SECRETS = {
    form for secret in (KEY, EMAIL) for form in (secret, quote(secret, safe=""), quote_plus(secret))
}
QUICK = Patience(connect_s=2.0, read_s=0.4, whole_s=10.0, waits_s=(0.0, 0.0), pause_s=0.0)
SLOW = Patience(connect_s=2.0, read_s=5.0, whole_s=0.6, waits_s=(0.0,), pause_s=0.0)
SERVICES = ("pvgis", "pvgis-tmy", "power", "nsrdb")
NOT_USUAL = "not the service's usual data"
CUT = "connection failed or was cut"
REFUSED = "It refused"

Get = Callable[..., CachedSet]


@pytest.fixture
def get(loopback: Loopback, monkeypatch: pytest.MonkeyPatch) -> Get:
    """Fetch one year from the loopback service."""
    monkeypatch.setenv("FLATODDS_NSRDB_KEY", KEY)
    monkeypatch.setenv("FLATODDS_NSRDB_EMAIL", EMAIL)

    def call(service: str = "pvgis", patience: Patience = QUICK, **more: object) -> CachedSet:
        options = {"url": loopback.url(service), "patience": patience, **more}
        return fetch(LAT, LON, (2015, 2015), service, **options)  # type: ignore[arg-type]

    return call


def files() -> list[str]:
    folder = weather_folder()
    return [path.name for path in folder.rglob("*")] if folder.exists() else []


def clean(text: str) -> bool:
    return not any(secret in text for secret in SECRETS)


@pytest.mark.parametrize(
    "faults", [("500", "cut"), ("429", "html"), ("busy in words", "garbage"), ("503", "half")]
)
def test_a_third_try_succeeds(get: Get, loopback: Loopback, faults: tuple[str, str]) -> None:
    loopback.faults.extend(faults)
    heard: list[str] = []
    kept = get("power", progress=heard.append)
    assert len(loopback.asked) == 3
    assert sum("Trying again" in words for words in heard) == 2
    assert cached_path(LAT, LON) == kept.path


@pytest.mark.parametrize("service", SERVICES)
@pytest.mark.parametrize(
    ("fault", "words"),
    [
        ("500", rf"{REFUSED}|{NOT_USUAL}"),
        ("429", rf"{REFUSED}|{NOT_USUAL}"),
        ("busy in words", rf"{REFUSED}.*(Too many|rate limit)"),
        ("cut", CUT),
        ("html", NOT_USUAL),
        ("garbage", NOT_USUAL),
        ("half", rf"{NOT_USUAL}|cannot be used as weather"),
    ],
)
def test_three_tries_then_our_error(
    get: Get, loopback: Loopback, service: str, fault: str, words: str,
    caplog: pytest.LogCaptureFixture,
) -> None:  # fmt: skip
    loopback.faults.extend([fault] * 3)
    heard: list[str] = []
    with caplog.at_level(logging.DEBUG), pytest.raises(WeatherError, match=words) as caught:
        get(service, progress=heard.append)
    message = str(caught.value)
    assert caught.value.exit_code == 4
    assert "40.000, -105.000" in message
    assert "another service: flatodds weather get --at 40.000,-105.000 --service" in message
    assert "<" not in message
    assert len(message) < 900
    assert files() == []
    assert clean(message + " ".join(heard) + caplog.text)
    parsed = fault == "half" and service == "nsrdb"  # what is left of a table is still a table
    assert len(loopback.asked) == (1 if parsed else 3)


@pytest.mark.parametrize("service", SERVICES)
def test_nobody_sends_us_on_to_a_plain_address(
    get: Get, loopback: Loopback, service: str, caplog: pytest.LogCaptureFixture
) -> None:
    """The question would go out again without encryption, a key in it; it is not asked at all."""
    loopback.faults.append("on to http://192.0.2.1/elsewhere")
    with (
        caplog.at_level(logging.DEBUG),
        pytest.raises(WeatherError, match="an address without encryption") as caught,
    ):
        get(service)
    assert len(loopback.asked) == 1
    assert "192.0.2.1" not in caplog.text
    assert clean(str(caught.value) + caplog.text)
    assert files() == []


def test_an_address_that_has_moved_is_followed(get: Get, loopback: Loopback) -> None:
    """Here as there; and who asks in another way is not held to our rule."""
    from requests import Session

    loopback.faults.append(f"on to {loopback.url('pvgis')}seriescalc")
    assert get().path.is_file()
    assert len(loopback.asked) == 2
    Session().get_adapter("http://192.0.2.1/")


def test_silence_and_dripping_end_in_time(get: Get, loopback: Loopback) -> None:
    loopback.faults.extend(["silence", "silence", "silence"])
    with pytest.raises(WeatherError, match=r"did not answer in time\. \(3 tries\)"):
        get("pvgis")
    for service, fault in (("pvgis", "drip"), ("power", "silence")):
        loopback.asked.clear()
        loopback.faults.extend([fault, fault])
        with pytest.raises(WeatherError, match=r"did not answer in time\. \(2 tries\)"):
            get(service, SLOW)
        assert len(loopback.asked) == 2
    assert files() == []


def test_nobody_there(get: Get, loopback: Loopback, monkeypatch: pytest.MonkeyPatch) -> None:
    import socket

    with socket.socket() as taken:  # bound, and never listening
        taken.bind(("127.0.0.1", 0))
        for service in SERVICES:
            url = f"http://127.0.0.1:{taken.getsockname()[1]}/"
            with pytest.raises(WeatherError, match=CUT) as caught:
                get(service, url=url)
            assert clean(str(caught.value))
    assert files() == []


def test_a_refusal_is_told_once_and_in_the_services_words(get: Get, loopback: Loopback) -> None:
    loopback.faults.append('{"message": "Location over the sea. Please, select another location"}')
    with pytest.raises(WeatherError, match="It refused: Location over the sea"):
        get("pvgis")
    assert len(loopback.asked) == 1
    loopback.faults.append(f'{{"errors": ["The key {KEY} of {EMAIL} is unknown"]}}')
    with pytest.raises(WeatherError, match=r"status 400.*The key \*\*\* of \*\*\* is unknown") as e:
        get("nsrdb")
    assert "https://developer.nlr.gov" in str(e.value)
    assert clean(str(e.value))
    assert len(loopback.asked) == 2


def test_a_library_that_lacks_a_reader_is_not_the_services_fault(
    get: Get, loopback: Loopback, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delattr("pvlib.iotools.get_nasa_power")
    with pytest.raises(WeatherError, match=r"installation cannot read the answer \(pvlib") as e:
        get("power")
    assert "tries" not in str(e.value)
    assert loopback.asked == []
    assert files() == []


@pytest.mark.parametrize("service", ["pvgis", "power", "nsrdb"])
def test_weather_of_another_place(get: Get, loopback: Loopback, service: str) -> None:
    swapped = {"lat": "41", "latitude": "41", "wkt": "POINT(-105.0 41.0)"}
    path = {"pvgis": "/pvgis/seriescalc"}.get(service, f"/{service}")
    answer = loopback.answers[path]
    loopback.answers[path] = lambda query: answer(
        {name: swapped.get(name, value) for name, value in query.items()}
    )
    with pytest.raises(WeatherError, match=r"The answer is for 41"):
        get(service)
    assert files() == []


def test_other_years_and_a_shifted_clock_do_not_pass(get: Get, loopback: Loopback) -> None:
    pvgis = loopback.answers["/pvgis/seriescalc"]
    loopback.answers["/pvgis/seriescalc"] = lambda query: pvgis(
        {**query, "startyear": "2013", "endyear": "2013"}
    )
    with pytest.raises(WeatherError, match="The answer covers 2013"):
        get("pvgis")
    power = loopback.answers["/power"]
    rows = {hour: f"{(hour + 3) % 24:02d}" for hour in range(24)}

    def shifted(query: dict[str, str]) -> str:
        text = power(query)
        for hour, other in rows.items():
            text = text.replace(f'{hour:02d}": ', f'#{other}": ')
        return text.replace("#", "")

    loopback.answers["/power"] = shifted
    with pytest.raises(WeatherError, match="cannot be used as weather"):
        get("power")
    assert files() == []


def test_key_is_wanted_and_never_kept(
    get: Get, loopback: Loopback, monkeypatch: pytest.MonkeyPatch
) -> None:
    get("nsrdb")
    for path in weather_folder().rglob("*"):
        assert clean(path.read_text())
        assert clean(path.name)
    assert loopback.asked[0][1]["api_key"] == KEY
    monkeypatch.delenv("FLATODDS_NSRDB_KEY")
    with pytest.raises(WeatherError, match="FLATODDS_NSRDB_KEY not set") as caught:
        get("nsrdb", refresh=True)
    assert "A key is free" in str(caught.value)
    assert len(loopback.asked) == 1


def test_flipped_byte_is_found_and_mended(get: Get, loopback: Loopback) -> None:
    kept = get("pvgis")
    good = kept.path.read_bytes()
    at = len(good) // 2
    kept.path.write_bytes(good[:at] + bytes([good[at] ^ 1]) + good[at + 1 :])
    again = "flatodds weather get --at 40.000,-105.000 --service pvgis --years 2015-2015"
    for call in (lambda: cached_path(LAT, LON), lambda: get("pvgis", offline=True)):
        with pytest.raises(WeatherError, match="has changed since it was fetched") as caught:
            call()
        assert kept.file in str(caught.value)
        assert again in " ".join(str(caught.value).split())
    heard: list[str] = []
    assert get("pvgis", progress=heard.append) == kept
    assert "has changed since it was fetched" in heard[0]
    assert kept.path.read_bytes() == good
    kept.path.unlink()
    with pytest.raises(WeatherError, match="The fetched file is gone"):
        cached_path(LAT, LON)


def test_a_full_disk_leaves_the_old_set(
    get: Get, loopback: Loopback, monkeypatch: pytest.MonkeyPatch
) -> None:
    kept = get("pvgis")
    before = sorted(files())

    def full(path: Path, data: bytes) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(cache, "_write", full)
    with pytest.raises(WeatherError, match="No space left on device"):
        get("pvgis", refresh=True)
    assert sorted(files()) == before
    assert cached_path(LAT, LON) == kept.path


def test_no_thread_is_left_behind(get: Get, loopback: Loopback) -> None:
    loopback.faults.append("silence")
    with pytest.raises(WeatherError):
        get("power", Patience(whole_s=0.3, waits_s=()))
    loopback.over.set()
    for thread in threading.enumerate():
        if thread.name == "flatodds-fetch":
            thread.join(5.0)
            assert not thread.is_alive()
