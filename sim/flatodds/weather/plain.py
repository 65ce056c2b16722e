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
out; they are then estimated from ghi. A missing value is an empty field. Where radiation is that
of one moment of the hour, a line "# radiation_minute: 10" says which. One year, a year made of
months from different years, or several whole years in order.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

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

HEAD = ("latitude", "longitude", "elevation_m", "utc_offset_h")
TIME = re.compile(
    r" *(?P<y>\d{4})-(?P<m>\d\d)-(?P<d>\d\d)[T ](?P<h>\d\d):(?P<min>\d\d)(:00)? *", re.ASCII
)
HALVES = "Half hours were averaged to hours."
INSTANT = "Radiation belongs to minute {0:g} of each hour and stands for the whole hour."
MIDDLE_MIN = 30.0  # of an hour
KIND = "plain table"


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
    minute = _radiation_minute(source, entries)
    if minute != MIDDLE_MIN:
        notes = (*notes, INSTANT.format(minute))
    mid_h = minute / 60.0
    return Raw(source, KIND, site, table.line, start, values, step_min, mid_h, notes=notes)


def _radiation_minute(source: Source, entries: dict[str, tuple[int, str]]) -> float:
    """Minute of the hour that radiation belongs to; its middle unless the file says otherwise."""
    if "radiation_minute" not in entries:
        return MIDDLE_MIN
    line, text = entries["radiation_minute"]
    minute = number(source, line, "radiation_minute", text)
    if not 0.0 <= minute < 60.0:
        raise WeatherError(
            Problem(source.at(line), f"radiation_minute is {minute:g}; 0 to 59 is possible.")
        )
    return minute


def plain_text(
    site: Site,
    start: npt.NDArray[np.datetime64],
    values: Mapping[str, Floats],
    radiation_minute: float = MIDDLE_MIN,
    remarks: Sequence[str] = (),
) -> str:
    """Write hours in this layout.

    Parameters
    ----------
    site : Site
        Place, and the clock of `start`.
    start : ndarray of datetime64, (hour,)
        Start of each hour.
    values : mapping of str to ndarray of float64, (hour,)
        Columns by `contract.NAMES`; dni and dhi may be left out; NaN is written as nothing.
    radiation_minute : float
        Minute of the hour that radiation belongs to [min].
    remarks : sequence of str
        Comment lines, put first; none may look like "NAME: VALUE" of the heading.
    """
    heading = [f"# {remark}" for remark in remarks]
    heading += [
        f"# latitude: {site.latitude:g}",
        f"# longitude: {site.longitude:g}",
        f"# elevation_m: {site.elevation_m:g}",
        f"# utc_offset_h: {site.offset_h:g}",
    ]
    if radiation_minute != MIDDLE_MIN:
        heading.append(f"# radiation_minute: {radiation_minute:g}")
    names = [name for name in NAMES if name in values]
    when = np.datetime_as_string(start.astype("datetime64[m]")).tolist()
    cells = [_cells(values[name]) for name in names]
    rows = [",".join(row) for row in zip(when, *cells, strict=True)]
    return "\n".join([*heading, ",".join(["time", *names]), *rows]) + "\n"


def _cells(column: Floats) -> list[str]:
    """Numbers with up to two decimals, the services' own; nothing for NaN."""
    shown = [f"{value:.2f}".rstrip("0").rstrip(".") for value in column.tolist()]
    return ["" if text == "nan" else "0" if text == "-0" else text for text in shown]


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
