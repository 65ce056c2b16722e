"""What each weather service is asked, and its answer as hours in our units.

The questions go out through `pvlib.iotools.get_*` (written against pvlib 0.16.1). Nothing here
tries again, judges or keeps anything; `fetch` does.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

import numpy as np
import numpy.typing as npt

from flatodds.errors import Problem, WeatherError
from flatodds.weather.contract import NAMES
from flatodds.weather.pvgis import UNKNOWN_OFFSET_H, horizontal
from flatodds.weather.rows import Floats, Site

Timeouts = tuple[float, float]  # to connect, and between bytes of the answer [s]

MISSING_BELOW = -900.0  # services write -999 for what they do not know (NASA POWER manual)
STILL_M_S = -0.5  # winds from here up to 0 are rounding, taken as calm; judgement
POWER_UNITS = frozenset({"W/m^2", "Wh/m^2"})  # for whole hours the numbers are the same
WIND_UNITS = frozenset({"m/s"})
TEMPERATURE_UNITS = frozenset({"C"})


@dataclass(frozen=True, slots=True)
class Hours:
    """Hours of one answer.

    Attributes
    ----------
    site : Site
        Place the service answered for, and the clock of `start`.
    start : ndarray of datetime64[m], (hour,)
        Start of each hour.
    values : mapping of str to ndarray of float64, (hour,)
        By `contract.NAMES`, NaN where unknown.
    radiation_minute : float
        Minute of the hour that radiation belongs to [min].
    origin : str
        Data behind the answer, in the service's words.
    """

    site: Site
    start: npt.NDArray[np.datetime64]
    values: Mapping[str, Floats]
    radiation_minute: float
    origin: str


@dataclass(frozen=True, slots=True)
class Question:
    """One request: place, years (empty for a typical year), address, patience, key and email."""

    latitude: float
    longitude: float
    years: tuple[int, ...]
    url: str
    timeouts: Timeouts
    key: str = ""
    email: str = ""


@dataclass(frozen=True, slots=True)
class Service:
    """A weather service.

    Attributes
    ----------
    label : str
        How it is called in sentences.
    url : str
        Address that pvlib's function takes.
    ask : callable
        Puts one question.
    first_year : int or None
        Earliest year offered; None for a typical year.
    yearly : bool
        Whether each year is asked for by itself.
    whole_s : float
        Longest time one answer may take in all; judgement [s].
    keyed : bool
        Whether a key of the user's is needed.
    """

    label: str
    url: str
    ask: Callable[[Question], Hours]
    first_year: int | None
    yearly: bool
    whole_s: float
    keyed: bool = False


def ask_pvgis(question: Question) -> Hours:
    """Put a question to PVGIS for hours of real years, with the terrain's shade."""
    from pvlib.iotools import get_pvgis_hourly

    data, meta = get_pvgis_hourly(
        question.latitude,
        question.longitude,
        start=question.years[0],
        end=question.years[-1],
        components=True,
        outputformat="json",
        url=question.url,
        timeout=question.timeouts,
    )
    names = {
        "beam": "poa_direct",
        "dhi": "poa_sky_diffuse",
        "reflected": "poa_ground_diffuse",
        "height_deg": "solar_elevation",
        "temp_air": "temp_air",
        "wind_speed": "wind_speed",
    }
    values = horizontal({name: _column(data, column) for name, column in names.items()})
    return _on_hours(_pvgis_site(meta), _stamps(data), values, _pvgis_origin(meta))


def ask_pvgis_tmy(question: Question) -> Hours:
    """Put a question to PVGIS for a typical year, each month with its own year."""
    from pvlib.iotools import get_pvgis_tmy

    data, meta = get_pvgis_tmy(
        question.latitude,
        question.longitude,
        outputformat="json",
        coerce_year=None,
        url=question.url,
        timeout=question.timeouts,
    )
    values = {name: _column(data, name) for name in NAMES}
    offset_h = float(meta["inputs"]["location"].get("irradiance_time_offset", UNKNOWN_OFFSET_H))
    start, early = _stamps(data), int(np.floor(offset_h))
    if early < 0:  # the moment lies in the hour before: the first row becomes the last
        start = np.roll(start - np.timedelta64(60, "m"), -1)
        values = {name: np.roll(column, -1) for name, column in values.items()}
    minute = round(60.0 * (offset_h - early), 2)
    return Hours(_pvgis_site(meta), start, values, minute, _pvgis_origin(meta))


def ask_power(question: Question) -> Hours:
    """Put a question to NASA POWER for the hours of one year; pvlib asks for UTC."""
    from pvlib.iotools import get_nasa_power

    year = question.years[0]
    data, meta = get_nasa_power(
        question.latitude,
        question.longitude,
        start=f"{year}-01-01",
        end=f"{year}-12-31",
        url=question.url,
    )
    _check_power(meta)
    values = {name: _column(data, name) for name in NAMES if name in data}
    site = _site(meta["latitude"], meta["longitude"], meta["altitude"])
    sources = meta.get("sources")
    words = ", ".join(map(str, sources)) if isinstance(sources, list) else ""
    # Hours are named by their start and hold means (pvlib's documentation of the answer).
    return Hours(site, _stamps(data), values, 30.0, f"NASA POWER {words}".strip())


def ask_nsrdb(question: Question) -> Hours:
    """Put a question to the NSRDB (GOES, aggregated) for one year, in local standard time."""
    from pvlib.iotools import get_nsrdb_psm4_aggregated

    data, meta = get_nsrdb_psm4_aggregated(
        question.latitude,
        question.longitude,
        question.key,
        question.email,
        year=question.years[0],
        time_step=60,
        parameters=list(NAMES),
        leap_day=True,
        utc=False,
        url=question.url,
        timeout=question.timeouts,
    )
    values = {name: _column(data, name) for name in NAMES if name in data}
    site = _site(meta["latitude"], meta["longitude"], meta["altitude"], meta["Time Zone"])
    return _on_hours(site, _stamps(data), values, f"NSRDB {meta.get('Version', '')}".strip())


SERVICES: Mapping[str, Service] = MappingProxyType(
    {
        # First years: SARAH-3 begins 2005 (PVGIS 5.3 notes); hourly POWER begins 2001 and the
        # NSRDB 1998 (the services' own pages; from memory).
        "pvgis": Service(
            "PVGIS", "https://re.jrc.ec.europa.eu/api/v5_3/", ask_pvgis, 2005, False, 300.0
        ),
        "pvgis-tmy": Service(
            "PVGIS", "https://re.jrc.ec.europa.eu/api/v5_3/", ask_pvgis_tmy, None, False, 120.0
        ),
        "power": Service(
            "NASA POWER",
            "https://power.larc.nasa.gov/api/temporal/hourly/point",
            ask_power,
            2001,
            True,
            120.0,
        ),
        "nsrdb": Service(
            "the NSRDB",
            "https://developer.nlr.gov/api/nsrdb/v2/solar/"
            "nsrdb-GOES-aggregated-v4-0-0-download.csv",
            ask_nsrdb,
            1998,
            True,
            120.0,
            keyed=True,
        ),
    }
)


def _column(data: Any, name: str) -> Floats:
    """One column as numbers, what the service does not know as NaN."""
    values: Floats = np.array(data[name].to_numpy(dtype=np.float64))
    values[~np.isfinite(values) | (values <= MISSING_BELOW)] = np.nan
    if name == "wind_speed":
        values[(values < 0.0) & (values >= STILL_M_S)] = 0.0
    return values


def _stamps(data: Any) -> npt.NDArray[np.datetime64]:
    """Read the times of the rows, on their own clock."""
    stamps: npt.NDArray[np.datetime64] = data.index.tz_localize(None).to_numpy()
    return stamps.astype("datetime64[m]")


def _on_hours(
    site: Site,
    stamps: npt.NDArray[np.datetime64],
    values: Mapping[str, Floats],
    origin: str,
) -> Hours:
    """Hours of stamps that name the minute radiation belongs to."""
    start = stamps.astype("datetime64[h]").astype("datetime64[m]")
    minutes = np.unique((stamps - start).astype(np.int64))
    if minutes.size != 1:
        raise WeatherError(Problem("", f"Stamps carry {minutes.size} different minutes."))
    return Hours(site, start, values, float(minutes[0]), origin)


def _site(latitude: Any, longitude: Any, elevation_m: Any, offset_h: Any = 0.0) -> Site:
    return Site(float(latitude), float(longitude), float(elevation_m), float(offset_h))


def _pvgis_site(meta: Mapping[str, Any]) -> Site:
    location = meta["inputs"]["location"]
    return _site(location["latitude"], location["longitude"], location["elevation"])


def _pvgis_origin(meta: Mapping[str, Any]) -> str:
    found = meta["inputs"]["meteo_data"]
    return f"{found['radiation_db']}, {found['meteo_db']}"


def _check_power(meta: Mapping[str, Any]) -> None:
    """Refuse an answer in another clock or other units than were asked for."""
    clock = meta.get("time_standard", "UTC")
    if clock != "UTC":
        raise WeatherError(Problem("", f"The answer is in {str(clock)[:20]}, not in UTC."))
    wanted = {
        "ALLSKY_SFC_SW_DWN": POWER_UNITS,
        "ALLSKY_SFC_SW_DNI": POWER_UNITS,
        "ALLSKY_SFC_SW_DIFF": POWER_UNITS,
        "T2M": TEMPERATURE_UNITS,
        "WS10M": WIND_UNITS,
    }
    for name, units in wanted.items():
        found = meta["parameters"].get(name, {}).get("units")
        if found is not None and found not in units:
            what = f"{name} is in {str(found)[:20]}, not in {' or '.join(sorted(units))}."
            raise WeatherError(Problem("", what))
