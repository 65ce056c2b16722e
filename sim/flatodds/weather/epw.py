"""EPW files: eight heading lines, then 35 fields an hour; hours 1 to 24 name the hour's end.

Layout: EnergyPlus documentation, Auxiliary Programs, "EnergyPlus Weather File (EPW) Data
Dictionary", which also gives the values that stand for missing.

PVGIS writes its typical year in this layout too. Its rows are those of its own comma layout, hour
by hour (own comparison of both files of one place), so they are in UTC whatever zone the heading
names, and a comment says to which minute before the stamp radiation belongs.
"""

from __future__ import annotations

import io
import re
from dataclasses import replace

import numpy as np

from flatodds.errors import Problem, WeatherError
from flatodds.weather.contract import NAMES
from flatodds.weather.pvgis import INSTANT
from flatodds.weather.rows import Floats, Raw, Site, Source, Table, checked_site, number, stamps

HOUR = np.timedelta64(60, "m")
HEADING_LINES = 8
COMMENT_LINE = 6
COLUMNS = {"ghi": 13, "dni": 14, "dhi": 15, "temp_air": 6, "wind_speed": 21}
# What a field says when its value is missing, data dictionary.
MISSING = {"ghi": 9999.0, "dni": 9999.0, "dhi": 9999.0, "temp_air": 99.9, "wind_speed": 999.0}
PVGIS_COMMENT = "COMMENTS 2,Irradiance Time Offset (h):"
PVGIS_IN_UTC = "PVGIS writes this file in UTC, though its heading says zone {0:+g}."
TIME = re.compile(r" *(?P<y>\d{4}) +(?P<m>\d\d?) +(?P<d>\d\d?) +(?P<h>\d\d?) *", re.ASCII)


def is_epw(source: Source) -> bool:
    """Whether the first line is an EPW location."""
    return source.lines[0].startswith("LOCATION,")


def read_epw(source: Source) -> Raw:
    """Rows of an EPW file."""
    first = source.lines[0].split(",")
    if len(first) < 10:
        raise WeatherError(
            Problem(source.at(0), f"The first line has {len(first)} fields of at least 10.")
        )
    numbers = [
        number(source, 0, name, first[index])
        for name, index in (("latitude", 6), ("longitude", 7), ("elevation_m", 9), ("zone", 8))
    ]
    site = checked_site(source, 0, Site(*numbers))
    _check_period(source)
    table = Table(source, HEADING_LINES)
    values = table.numbers(COLUMNS)
    for name, column in values.items():
        column[column == MISSING[name]] = np.nan
    cells = [" ".join(parts) for parts in zip(*(table.column(i) for i in range(4)), strict=True)]
    end = stamps(source, table.line, cells, TIME, "1988,1,31,24 (year, month, day, hour 1 to 24)")
    raw = Raw(source, "EPW", site, table.line, end - HOUR, values)
    return _from_pvgis(raw) if source.lines[COMMENT_LINE].startswith(PVGIS_COMMENT) else raw


def _from_pvgis(raw: Raw) -> Raw:
    """Rows as PVGIS means them: in UTC, radiation of one minute of the hour."""
    text = raw.source.lines[COMMENT_LINE].removeprefix(PVGIS_COMMENT)
    offset_h = number(raw.source, COMMENT_LINE, "Irradiance Time Offset", text)
    if not -1.0 <= offset_h < 0.0:
        found = f"Irradiance Time Offset is {offset_h:g} h; -1 to 0 is possible."
        raise WeatherError(Problem(raw.source.at(COMMENT_LINE), found))
    mid_h = 1.0 + offset_h
    notes = (PVGIS_IN_UTC.format(raw.site.offset_h), INSTANT.format(60.0 * mid_h))
    site = replace(raw.site, offset_h=0.0)
    return replace(raw, kind="PVGIS EPW", site=site, mid_h=mid_h, typical=True, notes=notes)


def _check_period(source: Source) -> None:
    """Refuse a heading of another length and files with several values an hour."""
    index = HEADING_LINES - 1
    line = source.lines[index] if len(source.lines) > index else ""
    fields = line.split(",")
    if fields[0] != "DATA PERIODS" or len(fields) < 3:
        raise WeatherError(Problem(source.at(index), "The eighth line should be DATA PERIODS."))
    if fields[2].strip() != "1":
        raise WeatherError(
            Problem(
                source.at(index),
                f"There are {fields[2].strip()} rows an hour; flatodds reads one.",
                "Give the hourly file.",
            )
        )


def again_epw(source: Source) -> dict[str, Floats]:
    """Read the same columns with pvlib."""
    from pvlib.iotools import read_epw as pvlib_read

    data, _ = pvlib_read(io.StringIO(source.text))
    return {name: data[name].to_numpy(dtype=np.float64) for name in NAMES}
