"""A weather service on this machine that answers in the real services' layouts, and misbehaves.

The weather is made up: the sun's height, one dullness a day, a split into beam and diffuse.
"""

from __future__ import annotations

import contextlib
import json
import threading
from collections import deque
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from functools import lru_cache
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from urllib.parse import parse_qs, urlsplit

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import HealthCheck, settings

from flatodds.engine import plan, prepare
from flatodds.sun import sun_position

# A busy machine is no fault of a test: neither a deadline nor slow drawing fails one.
settings.register_profile("calm", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("calm")

Floats = npt.NDArray[np.float64]
LAT, LON, ELEVATION_M = 40.0, -105.0, 1600.0
LOCAL_H = -7
TMY_YEARS = (2008, 2003, 2006, 2002, 2009, 2011, 2007, 2005, 2010, 2014, 2013, 2012)
KEY, EMAIL = "k3y/with+odd marks", "somebody@invented.example"
Query = dict[str, str]
POWER_NAMES = ("ALLSKY_SFC_SW_DWN", "ALLSKY_SFC_SW_DNI", "ALLSKY_SFC_SW_DIFF", "T2M", "WS10M")
POWER_UNITS = ("W/m^2", "W/m^2", "W/m^2", "C", "m/s")


@dataclass(frozen=True)
class Made:
    """Invented hours: stamps on their own clock, and columns of (hour,)."""

    stamp: npt.NDArray[np.datetime64]
    ghi: Floats
    dni: Floats
    dhi: Floats
    temp_air: Floats
    wind_speed: Floats
    height_deg: Floats


def months_of(years: tuple[int, ...]) -> npt.NDArray[np.datetime64]:
    """Hours of January of the first year, February of the second, and so on, no 29 February."""
    parts = []
    for month, year in enumerate(years, start=1):
        first = np.datetime64(f"{year}-{month:02d}", "M")
        hours = np.arange(first.astype("datetime64[h]"), (first + 1).astype("datetime64[h]"))
        parts.append(hours[: 28 * 24] if month == 2 else hours)
    return np.concatenate(parts)


@lru_cache(maxsize=16)
def made(years: tuple[int, ...], minute: float, offset_h: int = 0) -> Made:
    """Hours of whole years, or of a typical year for twelve years, right at `minute`."""
    stamp: npt.NDArray[np.datetime64]
    if len(years) == 12:
        stamp = months_of(years)
    else:
        ends = (np.datetime64(f"{years[0]}-01-01T00"), np.datetime64(f"{years[-1] + 1}-01-01T00"))
        stamp = np.arange(*ends)
    moments = stamp.astype("datetime64[s]").astype(np.int64) + round(minute * 60 - offset_h * 3600)
    zenith, _ = sun_position(moments.astype("datetime64[s]"), LAT, LON, ELEVATION_M)
    height = np.maximum(90.0 - zenith, 0.0)
    cosine = np.maximum(np.cos(np.radians(zenith)), 0.0)
    day = stamp.astype("datetime64[D]").astype(int)
    dull = np.random.default_rng(5).uniform(0.2, 1.0, 30000)[day]
    ghi = 1000.0 * cosine**1.15 * dull
    share = np.where(cosine > 0.1, np.clip(1.15 - dull, 0.15, 1.0), 1.0)
    dhi = share * ghi
    dni = np.where(cosine > 0.1, (ghi - dhi) / np.maximum(cosine, 0.1), 0.0)
    month = stamp.astype("datetime64[M]").astype(int) % 12
    hour = stamp.astype(int) % 24
    temp = 8.0 - 12.0 * np.cos(2 * np.pi * month / 12) - 5.0 * np.cos(2 * np.pi * hour / 24)
    wind = 3.0 + dull
    columns = (np.round(column, 2) for column in (ghi, dni, dhi, temp, wind, height))
    return Made(stamp.astype("datetime64[m]"), *columns)


def _utc(stamp: npt.NDArray[np.datetime64], minute: int) -> list[str]:
    moments = (stamp + np.timedelta64(minute, "m")).tolist()
    return [f"{t:%Y%m%d:%H%M}" for t in moments]


def _location(query: Query) -> dict[str, float]:
    where = {"latitude": float(query["lat"]), "longitude": float(query["lon"])}
    return {**where, "elevation": ELEVATION_M}


@lru_cache(maxsize=8)
def _pvgis_rows(first: int, last: int, minute: int) -> str:
    sky = made(tuple(range(first, last + 1)), minute)
    columns = (sky.ghi - sky.dhi, sky.dhi, sky.height_deg, sky.temp_air, sky.wind_speed)
    names = ("Gb(i)", "Gd(i)", "H_sun", "T2m", "WS10m")
    rows = [
        {
            "time": when,
            **{name: round(float(value), 2) for name, value in zip(names, values, strict=True)},
            "Gr(i)": 0.0,
            "Int": 0.0,
        }
        for when, *values in zip(_utc(sky.stamp, minute), *columns, strict=True)
    ]
    return json.dumps(rows)


def remembered(answer: Callable[..., str]) -> Callable[..., str]:
    """Make each answer once."""
    known: dict[object, str] = {}

    def call(query: Query, *more: float) -> str:
        key = (tuple(sorted(query.items())), more)
        if key not in known:
            known[key] = answer(query, *more)
        return known[key]

    return call


@remembered
def pvgis_json(query: Query, minute: int = 10) -> str:
    """An answer of PVGIS `seriescalc`."""
    head = {
        "location": _location(query),
        "meteo_data": {"radiation_db": "PVGIS-INVENTED", "meteo_db": "MADE-UP"},
        "mounting_system": {
            "fixed": {
                "slope": {"value": int(query.get("angle", "0")), "optimal": False},
                "azimuth": {"value": 0, "optimal": False},
            }
        },
    }
    rows = _pvgis_rows(int(query["startyear"]), int(query["endyear"]), minute)
    return (
        f'{{"inputs": {json.dumps(head)}, "outputs": {{"hourly": {rows}}},'
        ' "meta": {"inputs": {}}}'
    )


@lru_cache(maxsize=4)
def _tmy_rows(offset_h: float) -> str:
    sky = made(TMY_YEARS, 60.0 * offset_h)
    columns = (sky.ghi, sky.dni, sky.dhi, sky.temp_air, sky.wind_speed)
    names = ("G(h)", "Gb(n)", "Gd(h)", "T2m", "WS10m")
    rows = [
        {
            "time(UTC)": when,
            **{name: round(float(value), 2) for name, value in zip(names, values, strict=True)},
        }
        for when, *values in zip(_utc(sky.stamp, 0), *columns, strict=True)
    ]
    return json.dumps(rows)


@remembered
def pvgis_tmy_json(query: Query, offset_h: float = 0.1761) -> str:
    """An answer of PVGIS `tmy`."""
    location = {**_location(query), "irradiance_time_offset": offset_h}
    data = {"radiation_db": "PVGIS-INVENTED", "meteo_db": "MADE-UP"}
    head = {"location": location, "meteo_data": data}
    chosen = [{"month": at + 1, "year": year} for at, year in enumerate(TMY_YEARS)]
    return (
        f'{{"inputs": {json.dumps(head)}, "outputs": {{"months_selected": {json.dumps(chosen)},'
        f' "tmy_hourly": {_tmy_rows(offset_h)}}}, "meta": {{"inputs": {{}}}}}}'
    )


@remembered
def power_json(query: Query) -> str:
    """An answer of the NASA POWER hourly service."""
    year = int(query["start"][:4])
    sky = made((year,), 30.0)
    columns = (sky.ghi, sky.dni, sky.dhi, sky.temp_air, sky.wind_speed)
    keys = [f"{t:%Y%m%d%H}" for t in sky.stamp.tolist()]
    pairs = zip(POWER_NAMES, columns, strict=True)
    values = {name: dict(zip(keys, column.tolist(), strict=True)) for name, column in pairs}
    where = [float(query["longitude"]), float(query["latitude"]), ELEVATION_M]
    units = zip(POWER_NAMES, POWER_UNITS, strict=True)
    return json.dumps(
        {
            "type": "Feature",
            "geometry": {"type": "Point", "coordinates": where},
            "properties": {"parameter": values},
            "header": {
                "title": "invented",
                "sources": ["INVENTED"],
                "fill_value": -999.0,
                "time_standard": query["time-standard"].upper(),
            },
            "messages": [],
            "parameters": {name: {"units": unit, "longname": name} for name, unit in units},
            "times": {"data": 0.0, "process": 0.0},
        }
    )


@remembered
def nsrdb_csv(query: Query) -> str:
    """An answer of the NSRDB download, for the middle of its own grid cell."""
    longitude, latitude = query["wkt"].removeprefix("POINT(").rstrip(")").split(" ")
    where = f"{float(latitude) + 0.01:.2f},{float(longitude) - 0.01:.2f},{LOCAL_H},1600,{LOCAL_H}"
    sky = made((int(query["names"]),), 30.0, LOCAL_H)
    lines = [
        "Source,Location ID,City,State,Country,Latitude,Longitude,Time Zone,Elevation,"
        "Local Time Zone,Version",
        f"NSRDB,1,-,-,-,{where},v0",
        "Year,Month,Day,Hour,Minute,GHI,DNI,DHI,Temperature,Wind Speed",
    ]
    columns = (sky.ghi, sky.dni, sky.dhi, sky.temp_air, sky.wind_speed)
    for t, *values in zip(sky.stamp.tolist(), *(c.tolist() for c in columns), strict=True):
        cells = ",".join(f"{value:g}" for value in values)
        lines.append(f"{t.year},{t.month},{t.day},{t.hour},30,{cells}")
    return "\n".join(lines) + "\n"


@dataclass
class Loopback:
    """A service on 127.0.0.1: what it answers, the faults still to come, what it was asked."""

    port: int = 0
    answers: dict[str, Callable[[Query], str]] = field(default_factory=dict)
    faults: deque[str] = field(default_factory=deque)
    asked: list[tuple[str, Query]] = field(default_factory=list)
    over: threading.Event = field(default_factory=threading.Event)

    def url(self, service: str) -> str:
        """Address of a service here, as `fetch` takes it."""
        return f"http://127.0.0.1:{self.port}/{service.removesuffix('-tmy')}" + (
            "/" if service.startswith("pvgis") else ""
        )


HTML = b"<!DOCTYPE html><html><head><title>Sorry</title></head><body>Oops</body></html>"
PATHS = {
    "/pvgis/seriescalc": pvgis_json,
    "/pvgis/tmy": pvgis_tmy_json,
    "/power": power_json,
    "/nsrdb": nsrdb_csv,
}


def _handler(state: Loopback) -> type[BaseHTTPRequestHandler]:
    class Handler(BaseHTTPRequestHandler):
        def log_message(self, format: str, *args: object) -> None:
            pass

        def reply(self, body: bytes, status: int = 200, length: int | None = None) -> None:
            self.send_response(status)
            self.send_header("Content-Length", str(len(body) if length is None else length))
            self.end_headers()
            self.wfile.write(body)

        def do_GET(self) -> None:
            parts = urlsplit(self.path)
            query = {name: values[0] for name, values in parse_qs(parts.query).items()}
            state.asked.append((parts.path, query))
            self.close_connection = True
            fault = state.faults.popleft() if state.faults else ""
            if fault == "silence":
                state.over.wait(20.0)
            elif fault.isdigit():
                self.reply(HTML, int(fault))
            elif fault.startswith("{"):
                self.reply(fault.encode(), 400)
            elif fault == "busy in words":
                words = {"message": "Too many requests", "errors": ["Over rate limit"]}
                self.reply(json.dumps(words).encode(), 429)
            elif fault.startswith("on to "):
                self.send_response(302)
                self.send_header("Location", f"{fault.removeprefix('on to ')}?{parts.query}")
                self.send_header("Content-Length", "0")
                self.end_headers()
            elif fault == "html":
                self.reply(HTML)
            elif fault == "garbage":
                self.reply(bytes(range(128, 256)) * 40)
            else:
                self.answer(state.answers[parts.path](query).encode(), fault)

        def answer(self, body: bytes, fault: str) -> None:
            if fault == "drip":
                self.send_response(200)
                self.send_header("Content-Length", str(len(body)))
                self.end_headers()
                while not state.over.wait(0.1):
                    self.wfile.write(body[:1])
                    self.wfile.flush()
            elif fault == "cut":
                self.reply(body[: len(body) // 2], length=len(body))
            elif fault == "half":
                self.reply(body[: len(body) // 2])
            else:
                self.reply(body)

        def handle(self) -> None:
            with contextlib.suppress(OSError):  # the other side has given up, as it should
                super().handle()

    return Handler


LONG_STAY = """
bank.chemistry = "lithium"
bank.volts = 12
bank.amp_hours = 200
array.watts = 400
inverter.watts = 2000
household.pattern = "medium"

[[stay]]
place = "36.1, -79.95"
first_day = "1 Jul"
nights = 365
elevation_m = 270
"""


def pytest_sessionstart(session: pytest.Session) -> None:
    """Compile the kernels once, before several processes that run tests would each do it."""
    several = getattr(session.config.option, "numprocesses", None)
    if several and not hasattr(session.config, "workerinput"):
        prepare.begin()
        prepare.finish()


@pytest.fixture(scope="module")
def estimate_taken_for_exact() -> Iterator[None]:
    """Let scenarios of a module have no doubt of estimated sun: physics is judged by one case."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(plan, "refuse_sure_estimate", lambda scenario: None)
        yield


@pytest.fixture
def long_stay() -> str:
    """Scenario of a whole year, which takes longer to live than people wait."""
    return LONG_STAY


@pytest.fixture
def loopback(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Iterator[Loopback]:
    """The service, with a cache folder of the test's own and no proxy in between."""
    for name in ("http_proxy", "https_proxy", "all_proxy"):
        monkeypatch.delenv(name, raising=False)
        monkeypatch.delenv(name.upper(), raising=False)
    monkeypatch.setenv("FLATODDS_CACHE_DIR", str(tmp_path / "cache"))
    state = Loopback(answers=dict(PATHS))
    server = ThreadingHTTPServer(("127.0.0.1", 0), _handler(state))
    server.daemon_threads = True
    state.port = server.server_address[1]
    thread = threading.Thread(target=server.serve_forever, args=(0.02,), daemon=True)
    thread.start()
    try:
        yield state
    finally:
        state.over.set()
        server.shutdown()
        server.server_close()
        thread.join(5.0)


@pytest.fixture(scope="session")
def sky() -> Callable[..., Made]:
    """What the service's answers are made from."""
    return made


@pytest.fixture
def service_answers() -> dict[str, Callable[[Query], str]]:
    """The service's answers by path, without the service."""
    return dict(PATHS)
