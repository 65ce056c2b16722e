"""Days to look at: of real years as they were, of anything else from generated years."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from flatodds.sun import DAYS, SunTable, sun_table
from flatodds.weather.own_years import RECORD_ERROR_FRAC, one_hash
from flatodds.weather.readers import WeatherYears, read_either
from flatodds.weather.source import (
    Place,
    StayPlace,
    WeatherBasis,
    build_synthetic,
    elevation_of,
    stay_weather,
)
from flatodds.weather.spells import DailyWeather
from flatodds.weather.synthetic import SyntheticTables

PAIRS = 1000  # generated pairs of years, so that a season may lie over new year; judgement
SEED = 1  # any would do
FEWEST_YEARS = 2  # fewer real years hold no whole season over new year
WH_PER_KWH = 1000.0  # definition
REAL = (
    "These are {years} real years, {first} to {last}, as they were. "
    "Typical error of the dullest season: ±{percent:.0f} %."
)
GENERATED = "These are {years:,} generated years, not measured ones."


@dataclass(frozen=True, slots=True)
class Spot:
    """A place nothing is known about but where it is: degrees, height [m] or None."""

    latitude: float
    longitude: float
    elevation_m: float | None = None
    weather: None = None
    years: None = None
    monthly_sun_kwh_m2: None = None
    monthly_temp_c: None = None


def days_of_files(paths: Sequence[Path], name: str) -> DailyWeather:
    """Days of weather files: several real years as they are, one year made into many."""
    found = read_either(paths)
    if isinstance(found, WeatherYears) and len(found.years) >= FEWEST_YEARS:
        first, last = found.years[0], found.years[-1]
        return DailyWeather(
            sun_kwh_m2=found.ghi.sum(axis=2).reshape(1, -1) / WH_PER_KWH,
            temp_c=found.temp_air.mean(axis=2).reshape(1, -1),
            first_year=first,
            place=name,
            basis=REAL.format(
                years=len(found.years), first=first, last=last, percent=100.0 * RECORD_ERROR_FRAC
            ),
            sha256=one_hash(found.sha256),
        )
    spot = Spot(found.latitude, found.longitude, found.elevation_m)
    sun = _sun(spot, found.utc_offset_h)
    return _generated(*build_synthetic(spot, sun, str(paths[0].resolve())), name)


def days_of_place(place: StayPlace, utc_offset_h: int, name: str) -> DailyWeather:
    """Days generated for a place without weather files, from the months the user gave if any."""
    found = stay_weather(place, _sun(place, utc_offset_h))
    if found.tables is None:
        raise ValueError("this place has weather files")
    return _generated(found.tables, found.basis, name)


def _sun(place: Place, utc_offset_h: int) -> SunTable:
    height = elevation_of(place)
    return sun_table(place.latitude, place.longitude, height, utc_offset_h)


def _generated(tables: SyntheticTables, basis: WeatherBasis, name: str) -> DailyWeather:
    """Days of many generated years, each pair drawn alone."""
    from flatodds.weather.preview import generate_days

    ghi_wh_m2, temp_c = generate_days(tables, PAIRS, 2 * DAYS, SEED)
    return DailyWeather(
        sun_kwh_m2=ghi_wh_m2 / WH_PER_KWH,
        temp_c=temp_c,
        first_year=None,
        place=name,
        basis=" ".join([GENERATED.format(years=2 * PAIRS), basis.sentence, *basis.cautions]),
        sha256=basis.sha256,
    )
