"""flatodds' own plain table, for weather from anywhere.

::

    # latitude: 46.8
    # longitude: -100.8
    # elevation_m: 503
    # utc_offset_h: -6
    time,ghi,dni,dhi,temp_air,wind_speed
    2021-01-01T00:00,0,0,0,-12.5,4.1

`time` is the start of the hour in local standard time, without summer time. ghi, dni and dhi are
means over the hour in W/m2, temp_air is in degC, wind_speed in m/s. dni and dhi may both be left
out; they are then estimated from ghi. One year, a year made of months from different years, or
several whole years in order.
"""

from __future__ import annotations

import re

import numpy as np

from flatodds.errors import Problem, WeatherError
from flatodds.weather.contract import NAMES
from flatodds.weather.rows import Raw, Site, Source, Table, checked_site, number, places, stamps

HEAD = ("latitude", "longitude", "elevation_m", "utc_offset_h")
TIME = re.compile(
    r" *(?P<y>\d{4})-(?P<m>\d\d)-(?P<d>\d\d)[T ](?P<h>\d\d):(?P<min>\d\d)(:00)? *", re.ASCII
)
HALVES = "Half hours were averaged to hours."


def is_plain(source: Source) -> bool:
    """Whether the file begins with a comment line or with our column names."""
    return source.lines[0].lstrip().startswith("#") or source.lines[0].startswith("time,ghi")


def read_plain(source: Source) -> Raw:
    """Rows of a plain table."""
    head = 0
    entries: dict[str, tuple[int, str]] = {}
    while head < len(source.lines) and source.lines[head].lstrip().startswith("#"):
        key, _, value = source.lines[head].lstrip(" #").partition(":")
        entries[key.strip().lower()] = (head, value.strip().rstrip(","))
        head += 1
    site = _site(source, entries)
    if head >= len(source.lines):
        raise WeatherError(Problem(source.name, "There are no column names and no data rows."))
    names = [cell.strip() for cell in source.lines[head].split(",")]
    parted = "dni" in names or "dhi" in names
    wanted = [name for name in NAMES if parted or name not in ("dni", "dhi")]
    columns = places(source, head, {name: (name,) for name in ("time", *wanted)})
    table = Table(source, head + 1)
    cells = table.column(columns.pop("time"))
    start = stamps(source, table.line, cells, TIME, "2021-01-31T14:00")
    values = table.numbers(columns)
    step_min = 30 if np.unique(start - start.astype("datetime64[h]")).size == 2 else 60
    notes = (HALVES,) if step_min == 30 else ()
    return Raw(source, "plain table", site, table.line, start, values, step_min, notes=notes)


def _site(source: Source, entries: dict[str, tuple[int, str]]) -> Site:
    """Place and clock from the comment lines."""
    missing = [name for name in HEAD if name not in entries]
    if missing:
        raise WeatherError(
            Problem(
                source.at(0),
                f"The heading lacks {', '.join(missing)}.",
                f'Begin the file with lines such as "# {missing[0]}: 0".',
            )
        )
    numbers = [number(source, entries[name][0], name, entries[name][1]) for name in HEAD]
    return checked_site(source, entries[HEAD[0]][0], Site(*numbers))
