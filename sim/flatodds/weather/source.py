"""Which weather a stay gets, and the sentence that says what it rests on."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal, Protocol

import numpy as np

from flatodds.errors import Problem, WeatherError
from flatodds.sun import SunTable
from flatodds.weather.synthetic import SyntheticTables

Kind = Literal[
    "real years", "resampled", "local monthly", "one typical year", "world grid", "given"
]

# Typical error of the dullest season's sun, own measurements. World grid: rms of its corrected
# dull quarters at 22 places. One typical year: worst 3-day to 7-day spells generated from it
# came out 5 to 8 % too sunny on average of nine places with long records; the larger figure.
# One real year is no better than the year it happens to be: monthly sun varies from year to
# year by 6 to 12 % at seven of those places, so it gets the world grid's figure (judgement).
WORLD_GRID_ERROR_FRAC = 0.12
TYPICAL_YEAR_ERROR_FRAC = 0.08
REAL_YEAR_ERROR_FRAC = 0.12

SAMPLES = {"sample:greensboro": "723170TYA.CSV", "sample:sand-point": "703165TY.csv"}
NEAR_DEG = 0.5  # a file further away than this (about 55 km) gets a caution; judgement

WORLD_SOURCES = (
    "MERRA-2 2011-2015 (NASA GMAO; Gelaro et al. 2017) by way of gsee-climate-data "
    "(Pfenninger and Staffell 2016)",
    "CHELSA v2.1 normals 1981-2010 by way of world-temperature-data (CC BY 4.0)",
)
WORLD_SENTENCE = (
    "Sun data: global reanalysis estimate, corrected. Typical error of the dullest season: "
    "±12 %; more than 50 % too sunny is possible on monsoon coasts and in mountains. Give "
    "monthly values or weather files for this site if you can."
)
YEAR_SENTENCE = (
    "Sun data: many possible years made from the {days} days of {name}, {what}. One year holds "
    "few bad weeks, so the worst spells are a guess: typical error ±{error:.0%}."
)


class Place(Protocol):
    """Where a stay is; elevation None means: look it up."""

    @property
    def latitude(self) -> float: ...  # noqa: D102
    @property
    def longitude(self) -> float: ...  # noqa: D102
    @property
    def elevation_m(self) -> float | None: ...  # noqa: D102


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
    return _from_year(place, sun, weather, Path(base_dir))


def _elevation_m(place: Place) -> float:
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


def _from_world_grid(place: Place, sun: SunTable) -> tuple[SyntheticTables, WeatherBasis]:
    """Use the corrected world grid, for a place nobody gave weather for."""
    from flatodds.weather import climate, seasons
    from flatodds.weather.tables import clear_sky, synthetic_tables

    lat, lon, height = place.latitude, place.longitude, _elevation_m(place)
    air = seasons.world_air(lat, lon, height, climate.grid_quantiles(lat, lon))
    clear = clear_sky(lat, lon, height, sun)
    tables = synthetic_tables(lat, sun, clear, climate.world_quantiles(lat, lon), air)
    caution = seasons.temperature_caution(lat, lon)
    basis = WeatherBasis(
        kind="world grid",
        sentence=WORLD_SENTENCE,
        sources=WORLD_SOURCES,
        sha256=_tables_hash(tables),
        typical_error_frac=WORLD_GRID_ERROR_FRAC,
        cautions=(caution,) if caution else (),
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
    import pvlib

    return Path(pvlib.__file__).parent / "data" / SAMPLES[weather]


def _from_year(
    place: Place, sun: SunTable, weather: str, base_dir: Path
) -> tuple[SyntheticTables, WeatherBasis]:
    """One year's own days, turned into many years; never simply repeated."""
    from flatodds.weather.readers import read_weather
    from flatodds.weather.seasons import season_air
    from flatodds.weather.tables import (
        air_of_year,
        clear_sky,
        clearness_from_days,
        monthly_mean,
        synthetic_tables,
    )

    path = weather_path(weather, base_dir)
    year = read_weather(path, sun.utc_offset_h)
    lat, height = place.latitude, _elevation_m(place)
    clear = clear_sky(lat, place.longitude, height, sun)
    k = clearness_from_days(year.ghi.sum(axis=1)[None, :], sun.h0_wh_m2)
    normals = monthly_mean(year.temp_air.mean(axis=1))
    season = season_air(lat, normals, np.zeros(12), np.zeros(12))
    tables = synthetic_tables(lat, sun, clear, k, air_of_year(year, season))
    name = weather if weather in SAMPLES else path.name
    what = "a typical year" if year.typical else "one real year"
    error = TYPICAL_YEAR_ERROR_FRAC if year.typical else REAL_YEAR_ERROR_FRAC
    basis = WeatherBasis(
        kind="one typical year",
        sentence=YEAR_SENTENCE.format(days=year.ghi.shape[0], name=name, what=what, error=error),
        sources=(name,),
        sha256=year.sha256,
        typical_error_frac=error,
        cautions=_year_cautions(place, year),
    )
    return tables, basis


def _year_cautions(place: Place, year: Any) -> tuple[str, ...]:
    """Collect the reader's notes, and warn of a file from somewhere else."""
    cautions = list(year.notes)
    east = (year.longitude - place.longitude + 180.0) % 360.0 - 180.0
    if max(abs(year.latitude - place.latitude), abs(east)) > NEAR_DEG:
        cautions.append(
            f"The weather file is for {year.latitude:.2f}, {year.longitude:.2f}, the stay at "
            f"{place.latitude:.2f}, {place.longitude:.2f}: its days' clearness is used as it is."
        )
    return tuple(cautions)
