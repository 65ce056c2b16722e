"""PVGIS files, comma layout: typical years and hourly series on the horizontal plane, in UTC.

PVGIS 5 user manual (European Commission, Joint Research Centre): satellite values belong to the
minute of the scan over the place, which hourly stamps carry and typical years give as
"Irradiance Time Offset".
"""

from __future__ import annotations

import io
import re
from collections.abc import Mapping

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

HEAD_LIMIT = 60  # lines in which the column heading must appear; judgement
TIME = re.compile(r"(?P<y>\d{4})(?P<m>\d\d)(?P<d>\d\d):(?P<h>\d\d)(?P<min>\d\d)", re.ASCII)
LIKE = "20050101:0010"
TMY_HEADINGS = {
    "time": ("time(UTC)",),
    "ghi": ("G(h)",),
    "dni": ("Gb(n)",),
    "dhi": ("Gd(h)",),
    "temp_air": ("T2m",),
    "wind_speed": ("WS10m",),
}
SERIES_HEADINGS = {"time": ("time",), "temp_air": ("T2m",), "wind_speed": ("WS10m",)}
PARTS = {"beam": ("Gb(i)",), "dhi": ("Gd(i)",), "reflected": ("Gr(i)",), "height_deg": ("H_sun",)}
TOTAL = {"ghi": ("G(i)",)}
UNKNOWN_OFFSET_H = 0.25  # a scan soon after the full hour, as the files with stamps; judgement
LOWEST_SUN_DEG = 3.0  # below it beam over sine of height is noise; judgement
IN_UTC = "The file is in UTC; hours are put on the place's own clock."
INSTANT = "Radiation belongs to minute {0:.0f} of each hour and stands for the whole hour."


def is_pvgis_tmy(source: Source) -> bool:
    """Whether this is a PVGIS typical year."""
    return _is_pvgis(source) and _heading(source, "time(UTC),") is not None


def is_pvgis_series(source: Source) -> bool:
    """Whether this is a PVGIS hourly series."""
    return _is_pvgis(source) and _heading(source, "time,") is not None


def _is_pvgis(source: Source) -> bool:
    return source.lines[0].startswith("Latitude (decimal degrees)")


def _heading(source: Source, begin: str) -> int | None:
    """Index of the line that begins so, near the top."""
    for index, line in enumerate(source.lines[:HEAD_LIMIT]):
        if line.startswith(begin):
            return index
    return None


def _field(source: Source, last: int, begin: str) -> tuple[int, str] | None:
    """Line and text after the colon of a heading entry above line `last`."""
    for index, line in enumerate(source.lines[:last]):
        if line.startswith(begin):
            return index, line.partition(":")[2].strip()
    return None


def _site(source: Source, last: int) -> Site:
    """Place of a PVGIS heading, on UTC."""
    numbers = []
    for name, begin in (
        ("latitude", "Latitude"),
        ("longitude", "Longitude"),
        ("elevation_m", "Elevation"),
    ):
        entry = _field(source, last, begin)
        if entry is None:
            raise WeatherError(Problem(source.name, f"The heading has no {begin}."))
        numbers.append(number(source, entry[0], name, entry[1]))
    return checked_site(source, 0, Site(numbers[0], numbers[1], numbers[2], 0.0))


def _body(source: Source, head: int) -> Table:
    """Cut the data rows: from below the heading to the first line that begins with no digit."""
    rest = source.lines[head + 1 :]
    count = next((at for at, line in enumerate(rest) if not line[:1].isdigit()), len(rest))
    last = head + 1 + count
    late = [at for at in range(last, len(source.lines)) if TIME.match(source.lines[at])]
    if late:
        raise WeatherError(
            Problem(source.at(last), f"Data rows break off here and go on in line {late[0] + 1}.")
        )
    return Table(source, head + 1, last)


def read_pvgis_tmy(source: Source) -> Raw:
    """Rows of a PVGIS typical year."""
    head = _heading(source, "time(UTC),")
    if head is None:
        raise WeatherError(Problem(source.name, "There is no line beginning time(UTC)."))
    site = _site(source, head)
    columns = places(source, head, TMY_HEADINGS)
    table = _body(source, head)
    stamp = stamps(source, table.line, table.column(columns.pop("time")), TIME, LIKE)
    values = table.numbers(columns)
    entry = _field(source, head, "Irradiance Time Offset")
    if entry is None:
        mid_h, note = UNKNOWN_OFFSET_H, "The file does not say to which minute radiation belongs."
    else:
        mid_h = number(source, entry[0], "Irradiance Time Offset", entry[1])
        note = INSTANT.format(60.0 * mid_h)
    if not -1.0 < mid_h < 1.0:
        raise WeatherError(
            Problem(source.name, f"Irradiance Time Offset is {mid_h:g} h; -1 to 1 is possible.")
        )
    start, early_h = stamp, int(np.floor(mid_h))
    line = table.line
    if early_h < 0:  # the moment lies in the hour before: the first row becomes the last
        start = np.roll(stamp - np.timedelta64(60, "m"), -1)
        values = {name: np.roll(column, -1) for name, column in values.items()}
        line = np.roll(line, -1)
    kind = "PVGIS typical year"
    notes = (IN_UTC, note)
    return Raw(source, kind, site, line, start, values, 60, mid_h - early_h, True, False, notes)


def read_pvgis_series(source: Source) -> Raw:
    """Rows of a PVGIS hourly series on the horizontal plane."""
    head = _heading(source, "time,")
    if head is None:
        raise WeatherError(Problem(source.name, "There is no line beginning time."))
    site = _site(source, head)
    _check_level(source, head)
    parted = "Gb(i)" in source.lines[head]
    columns = places(source, head, SERIES_HEADINGS | (PARTS if parted else TOTAL))
    table = _body(source, head)
    stamp = stamps(source, table.line, table.column(columns.pop("time")), TIME, LIKE)
    values = table.numbers(columns)
    if parted:
        values = horizontal(values)
    hour = stamp.astype("datetime64[h]")
    minutes = np.unique((stamp - hour).astype(np.int64))
    if minutes.size != 1:
        raise WeatherError(
            Problem(
                source.name,
                f"Stamps carry {minutes.size} different minutes past the hour; hourly files have "
                "one.",
            )
        )
    notes = (IN_UTC, INSTANT.format(minutes[0]))
    start = hour.astype("datetime64[m]")
    kind = "PVGIS hourly"
    mid_h = float(minutes[0]) / 60.0
    return Raw(source, kind, site, table.line, start, values, 60, mid_h, False, False, notes)


def _check_level(source: Source, head: int) -> None:
    """Refuse irradiance on a tilted plane."""
    entry = _field(source, head, "Slope")
    if entry is None:
        return
    match = re.match(r"-?\d+(\.\d+)?", entry[1])
    if match is None or float(match.group()) != 0.0:
        raise WeatherError(
            Problem(
                source.at(entry[0]),
                f"Radiation is for a plane at slope {entry[1][:20]}.",
                "Download it with slope 0 and radiation components.",
            )
        )


def horizontal(values: Mapping[str, Floats]) -> dict[str, Floats]:
    """Global, direct normal and diffuse from the parts on the level plane.

    Parameters
    ----------
    values : mapping of str to ndarray of float64, (hour,)
        beam, dhi, reflected [W/m2], height_deg of the sun [degree], temp_air, wind_speed.
    """
    height = np.radians(values["height_deg"])
    high = values["height_deg"] >= LOWEST_SUN_DEG
    lowest = np.sin(np.radians(LOWEST_SUN_DEG))
    dni = np.where(high, values["beam"] / np.maximum(np.sin(height), lowest), 0.0)
    return {
        "ghi": values["beam"] + values["dhi"] + values["reflected"],
        "dni": dni,
        "dhi": values["dhi"],
        "temp_air": values["temp_air"],
        "wind_speed": values["wind_speed"],
    }


def again_pvgis_tmy(source: Source) -> dict[str, Floats]:
    """Read the same columns with pvlib."""
    from pvlib.iotools import read_pvgis_tmy as pvlib_read

    data, meta = pvlib_read(io.BytesIO(source.text.encode()), pvgis_format="csv")
    early = meta["inputs"].get("irradiance time offset", 0.0) < 0.0
    columns = {name: data[name].to_numpy(dtype=np.float64) for name in NAMES}
    return {name: np.roll(values, -1 if early else 0) for name, values in columns.items()}


def again_pvgis_series(source: Source) -> dict[str, Floats]:
    """Read the same columns with pvlib."""
    from pvlib.iotools import read_pvgis_hourly as pvlib_read

    data, _ = pvlib_read(io.StringIO(source.text), pvgis_format="csv")
    found = {name: data[name].to_numpy(dtype=np.float64) for name in ("temp_air", "wind_speed")}
    if "poa_direct" in data:
        parts = ("poa_direct", "poa_sky_diffuse", "poa_ground_diffuse")
        found["ghi"] = sum((data[name].to_numpy(dtype=np.float64) for name in parts), np.zeros(1))
        found["dhi"] = data["poa_sky_diffuse"].to_numpy(dtype=np.float64)
    else:
        found["ghi"] = data["poa_global"].to_numpy(dtype=np.float64)
    return found
