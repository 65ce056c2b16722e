"""PVGIS files, JSON layout: turned into the comma layout, which one reader then judges.

The layout is that of the service's version 5 answers: `inputs`, `outputs`, `meta`, rows under
`hourly` or `tmy_hourly` (European Commission, Joint Research Centre, PVGIS 5 user manual).
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from flatodds.errors import Problem, WeatherError
from flatodds.weather import pvgis
from flatodds.weather.rows import Raw, Source, shorten

DAMAGED = "Was the file cut off or edited? Download it again."


def is_pvgis_tmy_json(source: Source) -> bool:
    """Whether this is a PVGIS typical year in JSON."""
    return _is_json(source) and any('"tmy_hourly"' in line for line in source.lines)


def is_pvgis_series_json(source: Source) -> bool:
    """Whether this is a PVGIS hourly series in JSON."""
    return _is_json(source) and any('"hourly"' in line for line in source.lines)


def read_pvgis_tmy_json(source: Source) -> Raw:
    """Rows of a PVGIS typical year."""
    return pvgis.read_pvgis_tmy(as_commas(source, "tmy_hourly", "time(UTC)"))


def read_pvgis_series_json(source: Source) -> Raw:
    """Rows of a PVGIS hourly series on the horizontal plane."""
    return pvgis.read_pvgis_series(as_commas(source, "hourly", "time"))


def _is_json(source: Source) -> bool:
    return source.lines[0].lstrip().startswith("{")


def as_commas(source: Source, rows: str, time: str) -> Source:
    """Write the same values in the comma layout; messages then count its lines.

    Parameters
    ----------
    rows : str
        Key of the rows under `outputs`.
    time : str
        Name of the column of stamps.
    """
    document = _document(source)
    inputs = _mapping(source, document, "inputs")
    location = _mapping(source, inputs, "location")
    table = _mapping(source, document, "outputs").get(rows)
    if not isinstance(table, list) or not table or not isinstance(table[0], Mapping):
        raise WeatherError(Problem(source.name, f"There are no rows under outputs, {rows}."))
    names = [time, *(name for name in table[0] if name != time)]
    lines = [*_heading(location, inputs), ",".join(names), *_rows(source, table, names)]
    return replace(source, name=f"{source.name} as a table:", lines=tuple(lines))


def _document(source: Source) -> Mapping[str, Any]:
    try:
        document = json.loads(source.text)
    except (ValueError, RecursionError) as error:
        what = f"This JSON cannot be read: {' '.join(str(error).split())[:100]}."
        raise WeatherError(Problem(source.name, what, DAMAGED)) from error
    if not isinstance(document, Mapping):
        raise WeatherError(Problem(source.name, "This JSON is no PVGIS answer.", DAMAGED))
    return document


def _mapping(source: Source, outer: Mapping[str, Any], key: str) -> Mapping[str, Any]:
    inner = outer.get(key)
    if not isinstance(inner, Mapping):
        raise WeatherError(Problem(source.name, f"There is no {key} in this JSON.", DAMAGED))
    return inner


def _heading(location: Mapping[str, Any], inputs: Mapping[str, Any]) -> list[str]:
    """Lines above the rows: place, moment of the radiation, slope of the plane."""
    entries = (
        ("Latitude (decimal degrees)", location.get("latitude")),
        ("Longitude (decimal degrees)", location.get("longitude")),
        ("Elevation (m)", location.get("elevation")),
        ("Irradiance Time Offset (h)", location.get("irradiance_time_offset")),
        ("Slope", _slope(inputs.get("mounting_system"))),
    )
    return [f"{name}: {value}".replace("\n", " ") for name, value in entries if value is not None]


def _slope(mounting: object) -> object:
    """Slope of a fixed plane; a word that is no number for planes that turn."""
    if not isinstance(mounting, Mapping):
        return None
    fixed = mounting.get("fixed")
    slope = fixed.get("slope") if isinstance(fixed, Mapping) else None
    return slope.get("value") if isinstance(slope, Mapping) else "of a plane that turns"


def _rows(source: Source, table: Sequence[Any], names: Sequence[str]) -> list[str]:
    """Rows as lines; all must have the first one's columns and plain values."""
    lines = []
    wanted = set(names)
    for at, row in enumerate(table):
        if not isinstance(row, Mapping) or set(row) != wanted:
            raise _bad_row(source, at, "has other columns than the first")
        cells = [row[name] for name in names]
        for cell in cells:
            if isinstance(cell, bool) or not isinstance(cell, int | float | str | None):
                raise _bad_row(source, at, f"holds {shorten(str(cell))}")
            if isinstance(cell, str) and ("," in cell or "\n" in cell):
                raise _bad_row(source, at, f"holds {shorten(cell)}")
        lines.append(",".join("" if cell is None else str(cell) for cell in cells))
    return lines


def _bad_row(source: Source, at: int, what: str) -> WeatherError:
    return WeatherError(Problem(source.name, f"Row {at + 1} {what}.", DAMAGED))
