"""One door for all weather files: recognise the kind by content, read, judge, put on our clock."""

from __future__ import annotations

import warnings
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import floor
from pathlib import Path
from typing import NamedTuple

import numpy as np

from flatodds.errors import Problem, WeatherError
from flatodds.weather import epw, nsrdb, plain, pvgis, pvgis_json, solaranywhere, tmy
from flatodds.weather.checks import judge
from flatodds.weather.clock import SunHours
from flatodds.weather.contract import NAMES
from flatodds.weather.hours import Grid, arrange, fill
from flatodds.weather.rows import Floats, Raw, Source, open_source, shorten

KNOWN = "TMY3, TMY2, EPW, PVGIS, NSRDB, SolarAnywhere, or the plain table of the manual"
LOW_SUN_COS = 0.065  # cosine of 86.3 degrees: below it no beam is derived; weather-model judgement
FAR_FROM_GREENWICH_DEG = 22.5  # an hour and a half: no land that far keeps zone 0; judgement
SAME_W_M2 = 0.01  # how closely two readings of one file must agree; own choice


class Family(NamedTuple):
    """One file layout: whether it is this, its rows, and a second, independent reading."""

    recognise: Callable[[Source], bool]
    read: Callable[[Source], Raw]
    again: Callable[[Source], dict[str, Floats]] | None


FAMILIES = (
    Family(plain.is_plain, plain.read_plain, None),
    Family(epw.is_epw, epw.read_epw, epw.again_epw),
    Family(pvgis.is_pvgis_tmy, pvgis.read_pvgis_tmy, pvgis.again_pvgis_tmy),
    Family(pvgis.is_pvgis_series, pvgis.read_pvgis_series, pvgis.again_pvgis_series),
    Family(pvgis_json.is_pvgis_tmy_json, pvgis_json.read_pvgis_tmy_json, None),
    Family(pvgis_json.is_pvgis_series_json, pvgis_json.read_pvgis_series_json, None),
    Family(nsrdb.is_nsrdb, nsrdb.read_nsrdb, nsrdb.again_nsrdb),
    Family(
        solaranywhere.is_solaranywhere,
        solaranywhere.read_solaranywhere,
        solaranywhere.again_solaranywhere,
    ),
    Family(tmy.is_tmy3, tmy.read_tmy3, tmy.again_tmy3),
    Family(tmy.is_tmy2, tmy.read_tmy2, None),
)


@dataclass(frozen=True, slots=True)
class WeatherYear:
    """One year of hourly weather on a whole-hour clock; hour h covers [h, h + 1).

    Attributes
    ----------
    latitude, longitude : float
        Degrees north and east [degree].
    elevation_m : float
        Height above the sea [m].
    utc_offset_h : int
        Hours the arrays' clock is ahead of UTC.
    ghi, dni, dhi : ndarray of float64, (365, 24)
        Global horizontal, direct normal and diffuse horizontal irradiance [W/m2].
    temp_air : ndarray of float64, (365, 24)
        Air temperature [degC].
    wind_speed : ndarray of float64, (365, 24)
        Wind at the height the file gives it for [m/s].
    kind : str
        The file's format.
    typical : bool
        Whether its months come from different years.
    sha256 : str
        Of the file.
    notes : tuple of str
        What was done to the file's values.
    """

    latitude: float
    longitude: float
    elevation_m: float
    utc_offset_h: int
    ghi: Floats
    dni: Floats
    dhi: Floats
    temp_air: Floats
    wind_speed: Floats
    kind: str
    typical: bool
    sha256: str
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class WeatherYears:
    """Several real years; as `WeatherYear`, but arrays are (year, 365, 24).

    Attributes
    ----------
    years : tuple of int
        Calendar year of each entry.
    sha256 : tuple of str
        Of each file.
    """

    latitude: float
    longitude: float
    elevation_m: float
    utc_offset_h: int
    years: tuple[int, ...]
    ghi: Floats
    dni: Floats
    dhi: Floats
    temp_air: Floats
    wind_speed: Floats
    kind: str
    sha256: tuple[str, ...]
    notes: tuple[str, ...]


def read_weather(path: str | Path, utc_offset_h: int | None = None) -> WeatherYear:
    """Read one typical or single year from a file of any known kind.

    Parameters
    ----------
    path : str or Path
        The file; its content decides its kind.
    utc_offset_h : int, optional
        Clock to put the hours on. The default is the file's own zone, and for files in UTC the
        whole hour nearest to the longitude.

    Raises
    ------
    WeatherError
        With every problem found.
    """
    grid = _read(Path(path))
    if len(grid.years) != 1:
        raise WeatherError(
            Problem(
                grid.raw.source.name,
                f"The file holds {len(grid.years)} years, {grid.years[0]} to {grid.years[-1]}.",
                "One year is wanted here; several real years go in as a series.",
            )
        )
    return one_year(grid, utc_offset_h)


def read_either(
    paths: Sequence[str | Path], utc_offset_h: int | None = None
) -> WeatherYear | WeatherYears:
    """Read what the files hold: one typical or single year, or several real years.

    Parameters and errors as for `read_years`.
    """
    grids = [_read(Path(path)) for path in paths]
    if len(grids) == 1 and len(grids[0].years) == 1:
        return one_year(grids[0], utc_offset_h)
    return _several_years(grids, utc_offset_h)


def one_year(grid: Grid, utc_offset_h: int | None) -> WeatherYear:
    """Year of a grid that holds one, on the wanted clock."""
    offset = _clock(grid, utc_offset_h)
    arrays = {name: values[0] for name, values in _on_clock(grid, offset).items()}
    site = grid.raw.site
    return WeatherYear(
        latitude=site.latitude,
        longitude=site.longitude,
        elevation_m=site.elevation_m,
        utc_offset_h=offset,
        kind=grid.raw.kind,
        typical=grid.typical,
        sha256=grid.raw.source.sha256,
        notes=tuple(grid.notes),
        **arrays,
    )


def read_years(
    paths: str | Path | Sequence[str | Path], utc_offset_h: int | None = None
) -> WeatherYears:
    """Read real years from one file, or from several files of one place that follow each other.

    Parameters
    ----------
    paths : str, Path or sequence of them
        Each file holds one or more whole calendar years.
    utc_offset_h : int, optional
        As for `read_weather`.

    Raises
    ------
    WeatherError
        With every problem found; also for typical years, which have no spread between years.
    """
    given = [paths] if isinstance(paths, str | Path) else list(paths)
    if not given:
        raise WeatherError(Problem("", "No weather file was given."))
    return _several_years([_read(Path(path)) for path in given], utc_offset_h)


def _several_years(grids: Sequence[Grid], utc_offset_h: int | None) -> WeatherYears:
    grids = sorted(grids, key=lambda grid: grid.years[0])
    _check_series(grids)
    offset = _clock(grids[0], utc_offset_h)
    parts = [_on_clock(grid, offset) for grid in grids]
    site = grids[0].raw.site
    notes = [f"{grid.raw.source.name}: {note}" for grid in grids for note in grid.notes]
    return WeatherYears(
        latitude=site.latitude,
        longitude=site.longitude,
        elevation_m=site.elevation_m,
        utc_offset_h=offset,
        years=tuple(year for grid in grids for year in grid.years),
        kind=grids[0].raw.kind,
        sha256=tuple(grid.raw.source.sha256 for grid in grids),
        notes=tuple(notes),
        **{name: np.concatenate([part[name] for part in parts]) for name in NAMES},
    )


def recognise(source: Source) -> Family:
    """Find the layout of a file by what is in it."""
    for family in FAMILIES:
        if family.recognise(source):
            return family
    raise WeatherError(
        Problem(
            source.at(0),
            f"This is no weather file flatodds knows; it begins {shorten(source.lines[0])}.",
            f"Known are {KNOWN}.",
        )
    )


def _read(path: Path) -> Grid:
    """Whole, judged years of one file on its own clock, gaps filled."""
    source = open_source(path)
    family = recognise(source)
    raw = family.read(source)
    return judged(raw, None if family.again is None else lambda: compare(raw, family))


def judged(raw: Raw, compared: Callable[[], None] | None = None) -> Grid:
    """Whole, judged years of a file's rows; `compared` is called once they are sound."""
    grid = arrange(raw)
    sun = judge(grid)
    if compared is not None:
        compared()
    top = sun.cos_mid * sun.dni_extra
    fill(grid, {"ghi": top, "dhi": top, "dni": np.where(top > 0.0, sun.dni_extra, 0.0)})
    _separate(grid, sun)
    for name in ("ghi", "dni", "dhi"):  # sensor offsets at night
        grid.values[name] = np.maximum(grid.values[name], 0.0)
    return grid


def compare(raw: Raw, family: Family) -> None:
    """Refuse a file that pvlib's reader cannot read, or reads differently.

    Its readers fail in many ways on damaged files (parser, key, index, type, value, overflow
    and decoding errors), so every exception of theirs counts as unreadable.
    """
    name = raw.source.name
    if family.again is None:
        return
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            other = family.again(raw.source)
    except Exception as error:
        found = f"The {raw.kind} reader gives up: {type(error).__name__}: {error}"
        raise WeatherError(Problem(name, " ".join(found.split())[:300])) from error
    for column, values in other.items():
        mine = raw.values[column]
        same = values.shape == mine.shape
        if same:
            known = ~np.isnan(mine)
            same = bool((np.abs(values[known] - mine[known]) <= SAME_W_M2).all())
        if not same:
            raise WeatherError(
                Problem(name, f"Two readings of the column {column} differ; the file is damaged.")
            )


def _separate(grid: Grid, sun: SunHours) -> None:
    """Estimate direct and diffuse radiation where a file gives only the global."""
    if "dni" in grid.values:
        return
    from flatodds.weather.separation import erbs_driesse

    ghi = grid.values["ghi"]
    top = np.broadcast_to(sun.cos_mid * sun.dni_extra, ghi.shape)
    clearness = np.clip(np.divide(ghi, top, out=np.zeros_like(ghi), where=top > 0.0), 0.0, 1.0)
    fraction = np.array([erbs_driesse(float(k)) for k in clearness.ravel()]).reshape(ghi.shape)
    cosine = np.broadcast_to(sun.cos_mid, ghi.shape)
    high = cosine > LOW_SUN_COS
    beam = np.where(high, ghi * (1.0 - fraction), 0.0)
    dni = np.minimum(beam / np.where(high, cosine, 1.0), sun.dni_extra)
    grid.values["dni"] = dni
    grid.values["dhi"] = ghi - dni * cosine
    grid.notes.append("dni and dhi were estimated from ghi (Erbs-Driesse).")


def _clock(grid: Grid, wanted: int | None) -> int:
    """Whole hours ahead of UTC that the arrays will keep."""
    if wanted is not None:
        return wanted
    site = grid.raw.site
    in_utc = grid.raw.kind.startswith("PVGIS") or abs(site.longitude) > FAR_FROM_GREENWICH_DEG
    if site.offset_h == 0.0 and in_utc:
        return floor(site.longitude / 15.0 + 0.5)
    return floor(site.offset_h + 0.5)


def _on_clock(grid: Grid, utc_offset_h: int) -> dict[str, Floats]:
    """Arrays moved by whole hours from the file's clock; the ends wrap around."""
    exact = utc_offset_h - grid.raw.site.offset_h
    shift = floor(exact) if exact % 1.0 == 0.5 else floor(exact + 0.5)
    if exact != shift:
        minutes = 60.0 * (exact - shift)
        grid.notes.append(
            f"The file's zone is not on whole hours: hours are {minutes:+.0f} minutes off."
        )
    if shift:
        grid.notes.append(
            f"Hours were moved by {shift:+d} to UTC{utc_offset_h:+d}; the ends wrap around."
        )
    return {
        name: np.ascontiguousarray(np.roll(values.ravel(), shift).reshape(values.shape))
        for name, values in grid.values.items()
    }


def _check_series(grids: Sequence[Grid]) -> None:
    """Refuse typical years, other places, and years that do not follow each other."""
    problems = []
    first = grids[0].raw
    expected = grids[0].years[0]
    for grid in grids:
        name = grid.raw.source.name
        if grid.typical:
            hint = "Use it as a single typical year."
            problems.append(Problem(name, "This is a typical year, not a real one.", hint))
        elif grid.raw.site != first.site or grid.raw.kind != first.kind:
            what = f"It is from another place or of another kind than {first.source.name}."
            problems.append(Problem(name, what))
        elif grid.years[0] != expected:
            found = f"It begins with {grid.years[0]}; {expected} should be next."
            problems.append(Problem(name, found))
        expected = grid.years[-1] + 1
    if problems:
        raise WeatherError(problems)
