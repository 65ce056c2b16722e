"""SolarAnywhere files: one heading line like TMY3 with added entries, then named columns.

The heading's "Averaging Method" says which part of the interval a stamp names.
"""

from __future__ import annotations

import re

import numpy as np

from flatodds.errors import Problem, WeatherError
from flatodds.weather.contract import NAMES
from flatodds.weather.rows import (
    Floats,
    Raw,
    Site,
    Source,
    Table,
    checked_site,
    number,
    places,
    stamps,
)

MISSING = -999.0  # file format description as pvlib cites it
TIME_NAME = "ObservationTime(LST)"
HEADINGS = {
    "time": (TIME_NAME,),
    "ghi": ("Global Horizontal Irradiance (GHI) W/m2",),
    "dni": ("Direct Normal Irradiance (DNI) W/m2",),
    "dhi": ("Diffuse Horizontal Irradiance (DIF) W/m2",),
    "temp_air": ("AmbientTemperature (deg C)",),
    "wind_speed": ("WindSpeed (m/s)", "Wind Speed (m/s)"),
}
TIME = re.compile(r"(?P<m>\d\d?)/(?P<d>\d\d?)/(?P<y>\d{4}) (?P<h>\d\d?):(?P<min>\d\d)", re.ASCII)
SHIFT_MIN = {"end of period": 60, "beginning of period": 0, "start of period": 0, "centered": 30}
# Of these only "end of period" was seen in a published file; the others are from memory.


def is_solaranywhere(source: Source) -> bool:
    """Whether the second line is a SolarAnywhere heading."""
    return len(source.lines) > 1 and source.lines[1].startswith(TIME_NAME)


def read_solaranywhere(source: Source) -> Raw:
    """Rows of an hourly SolarAnywhere file."""
    first = source.lines[0].split(",", 7)
    if len(first) < 8:
        raise WeatherError(
            Problem(source.at(0), f"The first line has {len(first)} fields of at least 8.")
        )
    numbers = [
        number(source, 0, name, first[index])
        for name, index in (("latitude", 4), ("longitude", 5), ("elevation_m", 6), ("zone", 3))
    ]
    site = checked_site(source, 0, Site(*numbers))
    shift = _shift_min(source, first[7])
    columns = places(source, 1, HEADINGS)
    table = Table(source, 2)
    cells = table.column(columns.pop("time"))
    stamp = stamps(source, table.line, cells, TIME, "01/31/2021 14:00")
    values = table.numbers(columns)
    for column in values.values():
        column[column == MISSING] = np.nan
    start = stamp - np.timedelta64(shift, "m")
    return Raw(source, "SolarAnywhere", site, table.line, start, values)


def _shift_min(source: Source, entries: str) -> int:
    """Minutes from the start of an interval to its stamp, by the heading's entries."""
    pairs = {}
    for entry in entries.strip('", ').split("/"):
        key, _, value = entry.partition(":")
        pairs[key.strip().lower()] = value.strip().lower()
    step = pairs.get("time resolution", "")
    if step != "60 minutes":
        raise WeatherError(
            Problem(source.at(0), f"Time Resolution is {step!r}; flatodds reads 60 minutes.")
        )
    method = pairs.get("averaging method", "")
    if method not in SHIFT_MIN:
        raise WeatherError(
            Problem(
                source.at(0),
                f"Averaging Method is {method!r}; the hour a stamp means is not known.",
                f"Known are: {', '.join(SHIFT_MIN)}.",
            )
        )
    return SHIFT_MIN[method]


def again_solaranywhere(source: Source) -> dict[str, Floats]:
    """Read the same columns with pvlib."""
    from pvlib.iotools import read_solaranywhere as pvlib_read

    data, _ = pvlib_read(str(source.path))
    data = data.rename(columns={"Wind Speed (m/s)": "wind_speed"})
    return {name: data[name].to_numpy(dtype=np.float64) for name in NAMES}
