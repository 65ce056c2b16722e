"""Typical years in the TMY3 (comma) and TMY2 (fixed column) layouts.

Both stamp the end of the hour in local standard time: Wilcox and Marion, Users Manual for TMY3
Data Sets, NREL/TP-581-43156 (2008); Marion and Urban, User's Manual for TMY2s, NREL (1995).
"""

from __future__ import annotations

import io
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
    strict_numbers,
)

HOUR = np.timedelta64(60, "m")
TMY3_MISSING = -9900.0  # what the manual writes where a value is missing
TMY3_HEADINGS = {
    "ghi": ("GHI (W/m^2)",),
    "dni": ("DNI (W/m^2)", "DNI (W/m^2))"),  # the second as some files misspell it
    "dhi": ("DHI (W/m^2)",),
    "temp_air": ("Dry-bulb (C)",),
    "wind_speed": ("Wspd (m/s)",),
}
TMY3_TIME = re.compile(r"(?P<m>\d\d)/(?P<d>\d\d)/(?P<y>\d{4}) (?P<h>\d\d):(?P<min>\d\d)", re.ASCII)

TMY2_HEAD = re.compile(
    r" ?(?P<wban>\d{5}) +(?P<city>\S.*?) +(?P<state>[A-Z]{2}) +(?P<zone>-?\d+) +"
    r"(?P<ns>[NS]) *(?P<lat>\d+) +(?P<latm>\d+) +(?P<ew>[EW]) *(?P<lon>\d+) +(?P<lonm>\d+) +"
    r"(?P<elev>-?\d+)",
    re.ASCII,
)
TMY2_WIDTH = 142  # positions of a data row, table 3-2 of the manual
# 0-based columns, scale and value for missing of the fields used, table 3-2
TMY2_FIELDS = {
    "ghi": (17, 21, 1.0, 9999.0),
    "dni": (23, 27, 1.0, 9999.0),
    "dhi": (29, 33, 1.0, 9999.0),
    "temp_air": (67, 71, 0.1, 9999.0),
    "wind_speed": (95, 98, 0.1, 999.0),
}
TMY2_TIME = re.compile(r"(?P<y>\d{4})(?P<m>\d\d)(?P<d>\d\d)(?P<h>\d\d)", re.ASCII)


def is_tmy3(source: Source) -> bool:
    """Whether the second line is the TMY3 heading."""
    return len(source.lines) > 1 and source.lines[1].startswith("Date (MM/DD/YYYY),Time (HH:MM)")


def read_tmy3(source: Source) -> Raw:
    """Rows of a TMY3 file."""
    first = source.lines[0].split(",")
    if len(first) < 7:
        raise WeatherError(
            Problem(source.at(0), f"The first line has {len(first)} fields of at least 7.")
        )
    numbers = [
        number(source, 0, name, first[index])
        for name, index in (("latitude", 4), ("longitude", 5), ("elevation_m", 6), ("zone", 3))
    ]
    site = checked_site(source, 0, Site(*numbers))
    columns = places(source, 1, TMY3_HEADINGS)
    table = Table(source, 2)
    values = table.numbers(columns)
    for column in values.values():
        column[column == TMY3_MISSING] = np.nan
    cells = [f"{date} {time}" for date, time in zip(table.column(0), table.column(1), strict=True)]
    end = stamps(source, table.line, cells, TMY3_TIME, "01/31/1988,24:00")
    return Raw(source, "TMY3", site, table.line, end - HOUR, values)


def again_tmy3(source: Source) -> dict[str, Floats]:
    """Read the same columns with pvlib."""
    from pvlib.iotools import read_tmy3 as pvlib_read

    data, _ = pvlib_read(io.StringIO(source.text))
    data = data.rename(columns={"DNI (W/m^2))": "dni"})
    return {name: data[name].to_numpy(dtype=np.float64) for name in NAMES}


def is_tmy2(source: Source) -> bool:
    """Whether the first line is a TMY2 heading."""
    return TMY2_HEAD.match(source.lines[0]) is not None


def read_tmy2(source: Source) -> Raw:
    """Rows of a TMY2 file.

    Cut here and not by pvlib: its reader takes a second for a year and fails on places whose
    name has several words.
    """
    site = _tmy2_site(source)
    lines = source.lines[1:]
    line = np.arange(1, 1 + len(lines), dtype=np.int64)
    if not lines:
        raise WeatherError(Problem(source.name, "The file has a heading but no data rows."))
    short = [at for at, text in enumerate(lines) if len(text.rstrip()) != TMY2_WIDTH]
    if short:
        raise WeatherError(
            Problem(
                source.at(short[0] + 1),
                f"The row has {len(lines[short[0]].rstrip())} characters of {TMY2_WIDTH}. "
                f"{len(short)} such rows in all.",
            )
        )
    problems: list[Problem] = []
    values = {}
    for name, (begin, end, scale, missing) in TMY2_FIELDS.items():
        cells = [text[begin:end] for text in lines]
        column = strict_numbers(source, line, name, cells, problems)
        column[column == missing] = np.nan
        values[name] = column * scale
    if problems:
        raise WeatherError(problems)
    cells = [f"19{text[1:9]}".replace(" ", "0") for text in lines]
    stamp = stamps(source, line, cells, TMY2_TIME, "62010101: year, month, day, hour")
    return Raw(source, "TMY2", site, line, stamp - HOUR, values, typical=True)


def _tmy2_site(source: Source) -> Site:
    """Place and clock of a TMY2 heading."""
    match = TMY2_HEAD.match(source.lines[0])
    if match is None:
        raise WeatherError(Problem(source.at(0), "This is not a TMY2 heading."))
    part = match.groupdict()
    latitude = float(part["lat"]) + float(part["latm"]) / 60.0
    longitude = float(part["lon"]) + float(part["lonm"]) / 60.0
    return checked_site(
        source,
        0,
        Site(
            latitude if part["ns"] == "N" else -latitude,
            longitude if part["ew"] == "E" else -longitude,
            float(part["elev"]),
            float(part["zone"]),
        ),
    )
