"""NSRDB files as downloaded: two heading lines, column names, then rows in local standard time.

Stamps name the middle of what a value stands for: hourly files say minute 30; half-hourly files
say minutes 0 and 30 (NSRDB user documentation; from memory).
"""

from __future__ import annotations

import io
import re

import numpy as np
import numpy.typing as npt

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

HEADINGS = {
    "ghi": ("GHI",),
    "dni": ("DNI",),
    "dhi": ("DHI",),
    "temp_air": ("Temperature", "Air Temperature"),
    "wind_speed": ("Wind Speed",),
}
SITE = {
    "latitude": ("Latitude",),
    "longitude": ("Longitude",),
    "elevation_m": ("Elevation",),
    "zone": ("Time Zone",),
}
DATE = ("Year", "Month", "Day", "Hour", "Minute")
TIME = re.compile(
    r" *(?P<y>\d{4}) +(?P<m>\d\d?) +(?P<d>\d\d?) +(?P<h>\d\d?) +(?P<min>\d\d?) *", re.ASCII
)
HALVES = "Half hours were averaged to hours."


def is_nsrdb(source: Source) -> bool:
    """Whether the first line names the fields of an NSRDB heading."""
    return source.lines[0].startswith("Source,Location ID,")


def read_nsrdb(source: Source) -> Raw:
    """Rows of an NSRDB file with 60- or 30-minute steps."""
    if len(source.lines) < 4:
        raise WeatherError(Problem(source.name, "The file ends before its data rows."))
    at = places(source, 0, SITE)
    second = source.lines[1].split(",")
    if len(second) <= max(at.values()):
        raise WeatherError(Problem(source.at(1), "The row has fewer fields than the first line."))
    numbers = [number(source, 1, name, second[at[name]]) for name in SITE]
    site = checked_site(source, 1, Site(*numbers))
    columns = places(source, 2, HEADINGS | {name: (name,) for name in DATE})
    table = Table(source, 3)
    date = [columns.pop(name) for name in DATE]
    cells = [" ".join(parts) for parts in zip(*(table.column(i) for i in date), strict=True)]
    stamp = stamps(source, table.line, cells, TIME, "2017,1,31,23,30")
    values = table.numbers(columns)
    return _on_grid(source, site, table, stamp, values)


def _on_grid(
    source: Source,
    site: Site,
    table: Table,
    stamp: npt.NDArray[np.datetime64],
    values: dict[str, Floats],
) -> Raw:
    """Find the step from the minutes and move stamps to the start of the interval."""
    hour = stamp.astype("datetime64[h]")
    minute = (stamp - hour).astype(np.int64)
    found = tuple(int(value) for value in np.unique(minute))
    kind = "NSRDB"
    line = table.line
    if found in ((30,), (0,)):
        start = stamp - np.timedelta64(found[0], "m")
        mid_h = 0.5 if found == (30,) else 0.0
        return Raw(source, kind, site, line, start, values, 60, mid_h)
    if found in ((0, 30), (15, 45)):
        start = stamp - np.timedelta64(found[0], "m")
        centred = found == (0, 30)
        return Raw(source, kind, site, line, start, values, 30, 0.5, None, centred, (HALVES,))
    shown = ", ".join(str(value) for value in found[:6])
    raise WeatherError(
        Problem(
            source.name,
            f"Stamps carry the minutes {shown}; flatodds reads 60- and 30-minute steps.",
            "Download the file with an interval of 60 minutes.",
        )
    )


def again_nsrdb(source: Source) -> dict[str, Floats]:
    """Read the same columns with pvlib."""
    from pvlib.iotools import read_nsrdb_psm4 as pvlib_read

    data, _ = pvlib_read(io.StringIO(source.text))
    data = data.rename(columns={"Air Temperature": "temp_air"})
    return {name: data[name].to_numpy(dtype=np.float64) for name in NAMES}
