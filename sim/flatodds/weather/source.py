"""Which weather a stay gets, and the sentence that says what it rests on."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Literal, Protocol

import numpy as np
import numpy.typing as npt

from flatodds.errors import Problem, WeatherError
from flatodds.sun import SunTable
from flatodds.weather.synthetic import SyntheticTables

if TYPE_CHECKING:
    from flatodds.weather.ensembles import Ensemble

Kind = Literal[
    "real years",
    "resampled",
    "fitted years",
    "local monthly",
    "one typical year",
    "world grid",
    "given",
]

# Typical error of the dullest season's sun. World grid: rms of its corrected dull quarters at
# 22 places, own measurement. Monthly values: the equivalent-sun error of the grid's days scaled
# to a station's own months, rms .05 over 15 places for banks of 4 to 15 days' use
# (DEVELOPERS.md), with .05 for the values themselves (as for hours from satellites), and
# rounded up; worst 5-day spells at seven of the places alone had given .08.
WORLD_GRID_ERROR_FRAC = 0.12
BORROWED_ERROR_FRAC = 0.25  # where the grid is empty and cells far away stand in; judgement
BORROWED_SENTENCE = (
    "Sun data: the worldwide estimate has none here; that of the nearest land, {km:,.0f} km away, "
    "stands in. It may be off by a quarter or more: give monthly values or weather files."
)
LOCAL_MONTHLY_ERROR_FRAC = 0.08

LOCAL_CAUTION = (
    "How days differ within a month is the worldwide estimate's: for a battery of less than "
    "about four days' use the odds are rough, since its need of sun may be off by a third."
)

SAMPLES = {"sample:greensboro": "723170TYA.CSV", "sample:sand-point": "703165TY.csv"}

WORLD_SOURCES = (
    "MERRA-2 2011-2015 (NASA GMAO; Gelaro et al. 2017) by way of gsee-climate-data "
    "(Pfenninger and Staffell 2016)",
    "CHELSA v2.1 normals 1981-2010 by way of world-temperature-data (CC BY 4.0)",
)
WORLD_SENTENCE = (
    "Sun data: global reanalysis estimate, corrected. Typical error of the dullest season: "
    "±12 %. Give monthly values or weather files for this site if you can."
)
LOCAL_SENTENCE = (
    "Sun data: invented years matching your monthly averages; how days differ within a month "
    "is the worldwide estimate's. Typical error of the dullest season: ±{error:.0%}."
)


class Place(Protocol):
    """Where a stay is; elevation None means: look it up."""

    @property
    def latitude(self) -> float: ...  # noqa: D102
    @property
    def longitude(self) -> float: ...  # noqa: D102
    @property
    def elevation_m(self) -> float | None: ...  # noqa: D102


class StayPlace(Place, Protocol):
    """A place and what the user says of its weather, as `scenario.Stay` holds it."""

    @property
    def weather(self) -> str | tuple[str, ...] | None: ...  # noqa: D102
    @property
    def years(self) -> str | None: ...  # noqa: D102
    @property
    def monthly_sun_kwh_m2(self) -> tuple[float, ...] | None: ...  # noqa: D102
    @property
    def monthly_temp_c(self) -> tuple[float, ...] | None: ...  # noqa: D102


@dataclass(frozen=True, slots=True)
class WeatherBasis:
    """What the weather of a stay rests on.

    Attributes
    ----------
    kind : str
        One of the kinds in order of trust.
    sentence : str
        What to tell the user.
    sources : tuple of str
        Data used, with its origin.
    sha256 : str
        Hash of the file, or of the tables that were made.
    typical_error_frac : float
        Typical relative error of the dullest season's sun.
    cautions : tuple of str
        What to warn of beside the sentence.
    """

    kind: Kind
    sentence: str
    sources: tuple[str, ...]
    sha256: str
    typical_error_frac: float
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class StayWeather:
    """Weather of one stay: a generator's tables, or years to live.

    Attributes
    ----------
    tables : SyntheticTables or None
        What the generator reads; None when years are lived.
    ensemble : Ensemble or None
        Real years, as they were or shuffled; None when weather is generated.
    basis : WeatherBasis
        What it rests on.
    k_mean : ndarray, (365,), or None
        Mean daily clearness through the year, where years are lived; tables have their own.
    """

    tables: SyntheticTables | None
    ensemble: Ensemble | None
    basis: WeatherBasis
    k_mean: npt.NDArray[np.float64] | None = None


def stay_weather(stay: StayPlace, sun: SunTable, base_dir: Path | str = ".") -> StayWeather:
    """Weather of a stay, by what the user wrote of it.

    In order of trust: real years as they were, real years shuffled, generated years fitted to
    real ones, monthly values, one typical year, the world grid.

    Raises
    ------
    WeatherError
        Files that cannot be used, or not in the way that was asked for.
    """
    from flatodds.weather.own_years import file_weather

    if stay.weather is None:
        tables, basis = _without_file(stay, sun)
        return StayWeather(tables, None, basis)
    names = (stay.weather,) if isinstance(stay.weather, str) else stay.weather
    return file_weather(stay, sun, names, stay.years, Path(base_dir))


def _without_file(stay: StayPlace, sun: SunTable) -> tuple[SyntheticTables, WeatherBasis]:
    """Use the world grid, with whatever monthly values the user gave."""
    return _from_world_grid(stay, sun, stay.monthly_sun_kwh_m2, stay.monthly_temp_c)


def build_synthetic(
    place: Place, sun: SunTable, weather: str | None, base_dir: Path | str = "."
) -> tuple[SyntheticTables, WeatherBasis]:
    """Tables for the weather generator at a place, and what they rest on.

    Parameters
    ----------
    place : Place
        Latitude, longitude and elevation of the stay.
    sun : SunTable
        Of the same place.
    weather : str or None
        None for the world grid, "sample:NAME", or the path of a one-year weather file.
    base_dir : path
        Folder that a relative path starts from.
    """
    if weather is None:
        return _from_world_grid(place, sun)
    from flatodds.weather.own_years import from_year, read_files

    year = read_files((weather_path(weather, Path(base_dir)),), sun.utc_offset_h)
    return from_year(place, sun, year, weather)


def elevation_of(place: Place) -> float:
    """Take the stay's elevation, from the height map if the user gave none [m]."""
    from flatodds.weather.normals import terrain_m

    if place.elevation_m is not None:
        return place.elevation_m
    return terrain_m(place.latitude, place.longitude)


def _tables_hash(tables: SyntheticTables) -> str:
    """Hash of everything the generator reads, to six decimals: more differs by machine."""
    digest = hashlib.sha256()
    for name, array in zip(tables._fields, tables, strict=True):
        digest.update(name.encode() + (np.round(array, 6) + 0.0).tobytes())
    return digest.hexdigest()


def _from_world_grid(
    place: Place,
    sun: SunTable,
    sun_kwh_m2: Sequence[float] | None = None,
    temp_c: Sequence[float] | None = None,
) -> tuple[SyntheticTables, WeatherBasis]:
    """Use the corrected world grid, with the user's months in place of its own where given."""
    from flatodds.weather import climate, local, regions, seasons
    from flatodds.weather.tables import clear_sky, synthetic_tables

    lat, lon, height = place.latitude, place.longitude, elevation_of(place)
    air = seasons.world_air(lat, lon, height, climate.grid_quantiles(lat, lon), temp_c)
    sources = list(WORLD_SOURCES)
    cautions = [None if temp_c else seasons.temperature_caution(lat, lon)]
    if sun_kwh_m2 is None:
        cautions.append(regions.region_caution(lat, lon, height))
        k = climate.world_quantiles(lat, lon)
        kind: Kind = "world grid"
        sentence, error = WORLD_SENTENCE, WORLD_GRID_ERROR_FRAC
        far_km = climate.borrowed_km(lat, lon)
        if far_km > 0.0:
            sentence, error = BORROWED_SENTENCE.format(km=far_km), BORROWED_ERROR_FRAC
    else:
        k = local.local_quantiles(lat, lon, sun_kwh_m2, f"{lat:g}, {lon:g}")
        kind, error = "local monthly", LOCAL_MONTHLY_ERROR_FRAC
        sentence = LOCAL_SENTENCE.format(error=error)
        sources.append("monthly sun as the user gave it")
        cautions += [LOCAL_CAUTION, local.unlike_grid(lat, lon, k)]
    if temp_c is not None:
        sources.append("monthly temperatures as the user gave them")
    tables = synthetic_tables(lat, sun, clear_sky(lat, lon, height, sun), k, air)
    basis = WeatherBasis(
        kind=kind,
        sentence=sentence,
        sources=tuple(sources),
        sha256=_tables_hash(tables),
        typical_error_frac=error,
        cautions=tuple(caution for caution in cautions if caution),
    )
    return tables, basis


def weather_path(weather: str, base_dir: Path) -> Path:
    """File that a scenario's weather entry means; samples lie inside pvlib."""
    if not weather.startswith("sample:"):
        return base_dir / weather
    if weather not in SAMPLES:
        raise WeatherError(
            Problem(
                "weather", f"There is no {weather!r}.", f"Samples: {', '.join(sorted(SAMPLES))}."
            )
        )
    from importlib.util import find_spec

    pvlib = find_spec("pvlib")  # found, not imported: that takes a second
    if pvlib is None or pvlib.origin is None:
        raise ModuleNotFoundError("pvlib", name="pvlib")
    return Path(pvlib.origin).parent / "data" / SAMPLES[weather]
