"""Weather files with known hours, written in the published layout of each format.

The skies are made up: the sun's height, one dullness a day, a split into beam and diffuse.
"""

from __future__ import annotations

import gc
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest

from flatodds.sun import sun_position

Floats = npt.NDArray[np.float64]
DATA = "data"
MONTH_DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
TMY_YEARS = (2001, 2003, 2006, 2002, 2009, 2011, 2007, 2005, 2010, 2014, 2013, 2012)


@dataclass(frozen=True)
class Place:
    """An invented site and its clock."""

    latitude: float = 40.0
    longitude: float = -105.0
    elevation_m: float = 1600.0
    offset_h: float = -7.0


@dataclass(frozen=True)
class Sky:
    """Invented hours, five columns of (hour,), and the calendar they stand on."""

    place: Place
    stamp: npt.NDArray[np.datetime64]  # start of each interval on the file's clock
    ghi: Floats
    dni: Floats
    dhi: Floats
    temp_air: Floats
    wind_speed: Floats
    step_min: int = 60

    def columns(self) -> list[Floats]:
        return [self.ghi, self.dni, self.dhi, self.temp_air, self.wind_speed]


def calendar(years: Sequence[int], step_min: int = 60) -> npt.NDArray[np.datetime64]:
    """Interval starts of whole years; twelve years mean one month from each."""
    step = np.timedelta64(step_min, "m")
    if len(years) == 12:
        parts = []
        for month, year in enumerate(years):
            first = np.datetime64(f"{year}-{month + 1:02d}-01T00:00", "m")
            days = np.timedelta64(MONTH_DAYS[month] * 1440, "m")
            parts.append(np.arange(first, first + days, step))
        return np.concatenate(parts)
    return np.arange(
        np.datetime64(f"{years[0]}-01-01T00:00", "m"),
        np.datetime64(f"{years[-1] + 1}-01-01T00:00", "m"),
        step,
    )


def make_sky(
    place: Place = Place(),
    years: Sequence[int] = TMY_YEARS,
    step_min: int = 60,
    mid_h: float | None = None,
    whole: bool = True,
) -> Sky:
    """A sky whose sun is right at `mid_h` after each interval's start."""
    stamp = calendar(years, step_min)
    mid = step_min / 120.0 if mid_h is None else mid_h
    seconds = np.timedelta64(round((mid - place.offset_h) * 3600), "s")
    zenith, _ = sun_position(stamp + seconds, place.latitude, place.longitude, place.elevation_m)
    cosine = np.maximum(np.cos(np.radians(zenith)), 0.0)
    day = (stamp.astype("datetime64[D]") - stamp[0].astype("datetime64[D]")).astype(int)
    rng = np.random.default_rng(20240229)
    dull = rng.uniform(0.2, 1.0, size=5000)[np.abs(day) % 5000]
    ghi = 1000.0 * cosine**1.15 * dull
    share = np.where(cosine > 0.1, np.clip(1.15 - dull, 0.15, 1.0), 1.0)
    dhi = share * ghi
    dni = np.where(cosine > 0.1, (ghi - dhi) / np.maximum(cosine, 0.1), 0.0)
    month = stamp.astype("datetime64[M]").astype(int) % 12
    hour = (stamp - stamp.astype("datetime64[D]")).astype(int) / 60.0
    temp = 8.0 - 12.0 * np.cos(2 * np.pi * month / 12) - 5.0 * np.cos(2 * np.pi * hour / 24)
    wind = 3.0 + 2.0 * np.sin(2 * np.pi * hour / 24) + dull
    digits = 0 if whole else 2
    g, b, d = (np.round(part, digits) for part in (ghi, dni, dhi))
    return Sky(place, stamp, g, b, d, np.round(temp, 1), np.round(wind, 1), step_min)


def _dates(stamp: npt.NDArray[np.datetime64]) -> list[tuple[int, int, int, int, int]]:
    moments = stamp.astype("datetime64[m]").tolist()
    return [(t.year, t.month, t.day, t.hour, t.minute) for t in moments]


def tmy3_text(sky: Sky, heading: str) -> str:
    p = sky.place
    name = "INVENTED PLACE"
    lines = [f'999999,"{name}",CO,{p.offset_h},{p.latitude},{p.longitude},{p.elevation_m:g}']
    lines.append(heading)
    names = heading.split(",")
    at = [
        names.index(n)
        for n in ("GHI (W/m^2)", "DNI (W/m^2)", "DHI (W/m^2)", "Dry-bulb (C)", "Wspd (m/s)")
    ]
    for row, (y, m, d, h, _) in enumerate(_dates(sky.stamp)):
        cells = [f"{m:02d}/{d:02d}/{y}", f"{h + 1:02d}:00"] + ["0"] * (len(names) - 2)
        for index, column in zip(at, sky.columns(), strict=True):
            cells[index] = f"{column[row]:g}"
        lines.append(",".join(cells))
    return "\n".join(lines) + "\n"


def epw_text(sky: Sky) -> str:
    p = sky.place
    lines = [
        f"LOCATION,Invented,CO,USA,made up,999999,{p.latitude},{p.longitude},{p.offset_h},"
        f"{p.elevation_m}",
        "DESIGN CONDITIONS,0",
        "TYPICAL/EXTREME PERIODS,0",
        "GROUND TEMPERATURES,0",
        "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0",
        "COMMENTS 1,invented",
        "COMMENTS 2,invented",
        "DATA PERIODS,1,1,Data,Sunday,1/1,12/31",
    ]
    for row, (y, m, d, h, _) in enumerate(_dates(sky.stamp)):
        cells = [str(y), str(m), str(d), str(h + 1), "0", "?9?9"] + ["0"] * 29
        for index, column in zip((13, 14, 15, 6, 21), sky.columns(), strict=True):
            cells[index] = f"{column[row]:g}"
        lines.append(",".join(cells))
    return "\n".join(lines) + "\n"


def pvgis_tmy_text(sky: Sky, offset_h: float | None = 0.1761) -> str:
    p = sky.place
    lines = [
        f"Latitude (decimal degrees): {p.latitude:.3f}",
        f"Longitude (decimal degrees): {p.longitude:.3f}",
        f"Elevation (m): {p.elevation_m:.1f}",
    ]
    if offset_h is not None:
        lines.append(f"Irradiance Time Offset (h): {offset_h}")
    lines.append("month,year")
    lines += [f"{month + 1},{year}" for month, year in enumerate(TMY_YEARS)]
    lines.append("time(UTC),T2m,RH,G(h),Gb(n),Gd(h),IR(h),WS10m,WD10m,SP")
    for row, (y, m, d, h, _) in enumerate(_dates(sky.stamp)):
        g, b, s, t, w = (column[row] for column in sky.columns())
        cells = f"{t:.2f},50.0,{g:.2f},{b:.2f},{s:.2f},250.0,{w:.2f},200.0,83000.0"
        lines.append(f"{y}{m:02d}{d:02d}:{h:02d}00,{cells}")
    lines += ["", "T2m: 2-m air temperature (degree Celsius)", "", "PVGIS (c) European Union"]
    return "\r\n".join(lines) + "\r\n"


def pvgis_series_text(sky: Sky, minute: int = 10, slope: int = 0) -> str:
    p = sky.place
    lines = [
        f"Latitude (decimal degrees):\t{p.latitude:.3f}",
        f"Longitude (decimal degrees):\t{p.longitude:.3f}",
        f"Elevation (m):\t{p.elevation_m:.0f}",
        "Radiation database:\tinvented",
        "",
        "",
        f"Slope: {slope} deg. ",
        "Azimuth: 0 deg. ",
        "time,Gb(i),Gd(i),Gr(i),H_sun,T2m,WS10m,Int",
    ]
    moment = sky.stamp + np.timedelta64(minute, "m")
    zenith, _ = sun_position(moment, p.latitude, p.longitude, p.elevation_m)
    for row, (y, m, d, h, _) in enumerate(_dates(sky.stamp)):
        beam = sky.ghi[row] - sky.dhi[row]
        height = max(90.0 - zenith[row], 0.0)
        cells = f"{beam:.2f},{sky.dhi[row]:.2f},0.0,{height:.4f},{sky.temp_air[row]:.2f}"
        cells += f",{sky.wind_speed[row]:.2f},0.0"
        lines.append(f"{y}{m:02d}{d:02d}:{h:02d}{minute:02d},{cells}")
    lines += ["", "Gb(i): Beam irradiance (W/m2)", "", "PVGIS (c) European Union"]
    return "\r\n".join(lines) + "\r\n"


def nsrdb_text(sky: Sky, minute: int = 30) -> str:
    p = sky.place
    lines = [
        "Source,Location ID,City,State,Country,Latitude,Longitude,Time Zone,Elevation,"
        "Local Time Zone,Version",
        f"NSRDB,999999,-,-,-,{p.latitude},{p.longitude},{p.offset_h:g},{p.elevation_m:.0f},"
        f"{p.offset_h:g},invented",
        "Year,Month,Day,Hour,Minute,DHI,DNI,GHI,Dew Point,Temperature,Wind Speed",
    ]
    for row, (y, m, d, h, minutes) in enumerate(_dates(sky.stamp + np.timedelta64(minute, "m"))):
        g, b, s, t, w = (column[row] for column in sky.columns())
        lines.append(f"{y},{m},{d},{h},{minutes},{s:g},{b:g},{g:g},1.0,{t:g},{w:g}")
    return "\n".join(lines) + "\n"


def solaranywhere_text(sky: Sky, method: str = "End of Period", shift_min: int = 60) -> str:
    p = sky.place
    lines = [
        f"0,Invented  United States,NA,{p.offset_h:g},{p.latitude},{p.longitude},"
        f'{p.elevation_m:.0f},"Data Version: 3.6 / Type: Typical GHI Year / LatLon Resolution: '
        f"0.010 / Time Resolution: 60 minutes / Averaging Method: {method} / TD: No / "
        'invented L.L.C. DownloadID=0"',
        "ObservationTime(LST),Global Horizontal Irradiance (GHI) W/m2,Direct Normal Irradiance "
        "(DNI) W/m2,Diffuse Horizontal Irradiance (DIF) W/m2,AmbientTemperature (deg C),"
        "WindSpeed (m/s),Relative Humidity (%)",
    ]
    for row, (y, m, d, h, minutes) in enumerate(_dates(sky.stamp + np.timedelta64(shift_min, "m"))):
        g, b, s, t, w = (column[row] for column in sky.columns())
        when = f"{m:02d}/{d:02d}/{y} {h:02d}:{minutes:02d}"
        lines.append(f"{when},{g:g},{b:g},{s:g},{t:g},{w:g},50")
    return "\n".join(lines) + "\n"


def plain_text(sky: Sky, only_ghi: bool = False) -> str:
    p = sky.place
    lines = [
        "# invented weather",
        f"# latitude: {p.latitude}",
        f"# longitude: {p.longitude}",
        f"# elevation_m: {p.elevation_m}",
        f"# utc_offset_h: {p.offset_h}",
    ]
    names = ["ghi", "dni", "dhi", "temp_air", "wind_speed"]
    chosen = [i for i, name in enumerate(names) if not (only_ghi and name in ("dni", "dhi"))]
    lines.append(",".join(["time", *(names[i] for i in chosen)]))
    columns = sky.columns()
    for row, (y, m, d, h, minutes) in enumerate(_dates(sky.stamp)):
        when = f"{y}-{m:02d}-{d:02d}T{h:02d}:{minutes:02d}"
        lines.append(",".join([when, *(f"{columns[i][row]:g}" for i in chosen)]))
    return "\n".join(lines) + "\n"


@dataclass(frozen=True)
class Sample:
    """One good file of a kind: text, first data line, where ghi, dni, dhi, temp, wind stand."""

    kind: str
    text: str
    first: int
    fields: tuple[int, ...] = ()
    sky: Sky | None = field(default=None, repr=False)
    rows: int = 8760  # data rows
    skipped: int = 0  # hours of the year before the first of them


def pvlib_data() -> Path:
    import pvlib

    return Path(pvlib.__file__).parent / DATA


@pytest.fixture(scope="module", autouse=True)
def spare_the_collector() -> None:
    """Exempt what is loaded already from collection, which took half the time of these tests."""
    gc.freeze()


@pytest.fixture(scope="session")
def samples() -> dict[str, Sample]:
    """One good year of every kind, on the same invented place."""
    data = pvlib_data()
    greensboro = (data / "723170TYA.CSV").read_text()
    local = make_sky()
    utc = Place(offset_h=0.0)
    minute_10 = make_sky(utc, (2015,), mid_h=1.0 / 6.0, whole=False)
    tmy_utc = make_sky(utc, mid_h=0.1761, whole=False)
    one_year = make_sky(years=(2015,))
    made = [
        Sample("TMY3", tmy3_text(local, greensboro.splitlines()[1]), 2, (4, 7, 10, 31, 46), local),
        Sample("TMY2", (data / "12839.tm2").read_text(), 1),
        Sample("EPW", epw_text(local), 8, (13, 14, 15, 6, 21), local),
        Sample("PVGIS typical year", pvgis_tmy_text(tmy_utc), 18, (3, 4, 5, 1, 7), tmy_utc),
        Sample("PVGIS hourly", pvgis_series_text(minute_10), 9, (1, 3, 2, 5, 6), minute_10),
        Sample("NSRDB", nsrdb_text(one_year), 3, (7, 6, 5, 9, 10), one_year),
        Sample("SolarAnywhere", solaranywhere_text(local), 2, (1, 2, 3, 4, 5), local),
        Sample("plain table", plain_text(local), 6, (1, 2, 3, 4, 5), local),
    ]
    return {sample.kind: sample for sample in made}


@dataclass(frozen=True)
class Writers:
    """What the tests make files with."""

    place: type[Place] = Place
    sky: Callable[..., Sky] = make_sky
    pvgis_tmy: Callable[..., str] = pvgis_tmy_text
    pvgis_series: Callable[..., str] = pvgis_series_text
    nsrdb: Callable[..., str] = nsrdb_text
    solaranywhere: Callable[..., str] = solaranywhere_text
    epw: Callable[..., str] = epw_text
    plain: Callable[..., str] = plain_text
    data: Callable[[], Path] = pvlib_data


@pytest.fixture(scope="session")
def writers() -> Writers:
    return Writers()
