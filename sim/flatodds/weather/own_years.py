"""Weather files a stay names: one year or several, and in which of three ways they are lived.

``as they were``: every real year once and again, nothing invented. ``shuffled``: blocks of real
days. ``invented``: generated years with the record's own days, dull spells and temperatures.
Left to the program: as they were from ten years on, shuffled from five, otherwise invented.
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Sequence
from functools import lru_cache
from pathlib import Path

import numpy as np

from flatodds.errors import Problem, WeatherError
from flatodds.sun import SunTable
from flatodds.weather.cache import cached_path
from flatodds.weather.ensembles import RARE_YEARS, real_years
from flatodds.weather.readers import WeatherYear, WeatherYears, read_either
from flatodds.weather.resampled import BLOCK_DAYS, LEAST_YEARS, shuffled_years
from flatodds.weather.source import (
    SAMPLES,
    Place,
    StayWeather,
    WeatherBasis,
    elevation_of,
    weather_path,
)
from flatodds.weather.synthetic import SyntheticTables

AS_THEY_WERE, SHUFFLED, INVENTED = "as they were", "shuffled", "invented"
FETCHED = "fetched"  # the stay's own place, as `flatodds weather get` left it
FETCHED_TYPICAL = "fetched typical"  # the same for a typical year
REPEATED_YEARS = 2  # fewer years as they were would be one year over and over

# Typical error of the dullest season's sun. Hours from satellites: monthly sun within about
# 5 % of ground stations (Habte, Sengupta and Lopez, NREL/TP-5D00-67722, 2017; from memory).
RECORD_ERROR_FRAC = 0.05
# Shuffled and invented years: rms over 15 station records of the equivalent-sun error (own
# comparison, DEVELOPERS.md), beside the record's own error.
SHUFFLE_ERROR_FRAC = 0.04
INVENT_ERROR_FRAC = 0.05
# Months of single years differ by 6 to 12 % (same records, judgement within): with n years
# the generator's averages are off by this over the root of n. Where years are lived as they
# were or shuffled, the interval counts them instead. One year is off by .05 and .11: .12.
YEAR_TO_YEAR_FRAC = 0.11
# One typical year: worst 3-day to 7-day spells generated from it came out 5 to 8 % too sunny
# on average of nine places with long records; the larger figure.
TYPICAL_YEAR_ERROR_FRAC = 0.08
REAL_YEAR_ERROR_FRAC = 0.12

NEAR_DEG = 0.5  # a file further away than this (about 55 km) gets a caution; judgement

YEAR_SENTENCE = (
    "Sun data: many possible years made from the {days} days of {name}, {what}. One year holds "
    "few bad weeks, so the worst spells are a guess: typical error ±{error:.0%}."
)
REAL_SENTENCE = "Sun data: {years} real years near here ({span}), as they were."
SHUFFLED_SENTENCE = (
    "Sun data: built from {years} real years near here ({span}), shuffled in "
    f"{BLOCK_DAYS}-day pieces."
)
INVENTED_SENTENCE = (
    "Sun data: invented years with the days and dull spells of {years} real years near here "
    "({span})."
)
FEW_YEARS = "{years} real years are too few to show rare bad winters."
EQUALLY_OFTEN = (
    "Every real year is lived equally often: the number of simulated stays is rounded up to a "
    "multiple of theirs."
)
NEW_YEAR = (
    "A stay over New Year goes on in the year that followed; the last year is followed by the "
    "first."
)


def file_weather(
    place: Place, sun: SunTable, names: Sequence[str], years: str | None, base_dir: Path
) -> StayWeather:
    """Weather of a stay from the files it names.

    Parameters
    ----------
    names : sequence of str
        As written in the scenario: "sample:NAME", "fetched", or paths from `base_dir`.
    years : str or None
        "as they were", "shuffled" or "invented"; None chooses by the number of years.
    """
    found = read_files(weather_files(place, names, base_dir), sun.utc_offset_h)
    if isinstance(found, WeatherYear):
        if years in (AS_THEY_WERE, SHUFFLED):
            raise WeatherError(_one_year_problem(found, names[0], years))
        tables, basis = from_year(place, sun, found, names[0])
        return StayWeather(tables, None, basis)
    mode = years or usual_mode(len(found.years))
    if mode == SHUFFLED and len(found.years) < LEAST_YEARS:
        raise WeatherError(_few_years_problem(found, names[0]))
    if mode == INVENTED:
        return StayWeather(_fitted_tables(place, sun, found), None, _fitted_basis(place, found))
    if mode == SHUFFLED:
        ensemble = shuffled_years(found, sun, _clear(place, sun))
        return StayWeather(None, ensemble, _shuffled_basis(place, found), _clearness(sun, found))
    basis = _real_basis(place, found)
    return StayWeather(None, real_years(found), basis, _clearness(sun, found))


def weather_files(place: Place, names: Sequence[str], base_dir: Path) -> list[Path]:
    """Files that a stay's weather entry means, in its order; arguments as `file_weather`."""
    if tuple(names) in ((FETCHED,), (FETCHED_TYPICAL,)):
        typical = names[0] == FETCHED_TYPICAL
        return [cached_path(place.latitude, place.longitude, typical=typical)]
    return [weather_path(name, base_dir) for name in names]


def usual_mode(years: int) -> str:
    """How so many real years are lived unless the user says otherwise."""
    if years >= RARE_YEARS:
        return AS_THEY_WERE
    return SHUFFLED if years >= LEAST_YEARS else INVENTED


def read_files(paths: Sequence[Path], utc_offset_h: int) -> WeatherYear | WeatherYears:
    """Read files, or remember them if they have not changed since they were read last."""
    stamps = []
    for path in paths:
        try:
            stat = path.stat()
        except (OSError, ValueError):
            return read_either(paths, utc_offset_h)  # which says what is wrong
        stamps.append((stat.st_mtime_ns, stat.st_size))
    return _read_once(tuple(path.absolute() for path in paths), tuple(stamps), utc_offset_h)


@lru_cache(maxsize=8)
def _read_once(
    paths: tuple[Path, ...], stamps: tuple[tuple[int, int], ...], utc_offset_h: int
) -> WeatherYear | WeatherYears:
    del stamps  # only tell one state of the files from another
    return read_either(paths, utc_offset_h)


def _one_year_problem(year: WeatherYear, name: str, years: str) -> Problem:
    what = "a typical year" if year.typical else "one year"
    done = "repeated" if years == AS_THEY_WERE else "shuffled"
    return Problem(
        name,
        f'years = "{years}" needs several real years, and this is {what}. Lived again and again, '
        f"or {done}, it has no bad weeks but its own, so the odds would come out too good.",
        'Leave years out, or write years = "invented": many possible years are then made from '
        f"its days. Better: {LEAST_YEARS} or more real years.",
    )


def _few_years_problem(found: WeatherYears, name: str) -> Problem:
    return Problem(
        name,
        f'years = "{SHUFFLED}" needs at least {LEAST_YEARS} real years; there are '
        f"{len(found.years)}. Pieces of fewer years hold too few bad weeks.",
        f'Leave years out, or write years = "{INVENTED}".',
    )


def _clearness(
    sun: SunTable, found: WeatherYears
) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    """Mean daily clearness through the year, (365,) [1]."""
    from flatodds.weather import tables as t

    k = t.daily_clearness(found.ghi.sum(axis=2), sun.h0_wh_m2).mean(axis=0)
    return t.mid_month_weights() @ t.monthly_mean(k)


def _clear(place: Place, sun: SunTable) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    """Clear-sky global irradiance of the place, (365, 24) [W/m2]."""
    from flatodds.weather.tables import clear_sky

    return clear_sky(place.latitude, place.longitude, elevation_of(place), sun)


def from_year(
    place: Place, sun: SunTable, year: WeatherYear | WeatherYears, name: str
) -> tuple[SyntheticTables, WeatherBasis]:
    """One year's own days, turned into many years; never simply repeated.

    Parameters
    ----------
    name : str
        As written in the scenario.
    """
    from flatodds.weather import tables as t
    from flatodds.weather.seasons import season_air

    shown = name if name in SAMPLES else Path(name).name
    if isinstance(year, WeatherYears):
        found = f"The file holds {len(year.years)} years."
        raise WeatherError(Problem(shown, found, "One year is wanted here."))
    k = t.clearness_from_days(year.ghi.sum(axis=1)[None, :], sun.h0_wh_m2)
    normals = t.monthly_mean(year.temp_air.mean(axis=1))
    season = season_air(place.latitude, normals, np.zeros(12), np.zeros(12))
    made = t.synthetic_tables(
        place.latitude, sun, _clear(place, sun), k, t.air_of_year(year, season)
    )
    what = "a typical year" if year.typical else "one real year"
    error = TYPICAL_YEAR_ERROR_FRAC if year.typical else REAL_YEAR_ERROR_FRAC
    basis = WeatherBasis(
        kind="one typical year",
        sentence=YEAR_SENTENCE.format(days=year.ghi.shape[0], name=shown, what=what, error=error),
        sources=(shown,),
        sha256=year.sha256,
        typical_error_frac=error,
        cautions=file_cautions(place, year),
    )
    return made, basis


def _fitted_tables(place: Place, sun: SunTable, found: WeatherYears) -> SyntheticTables:
    """Tables with the record's own days; its dull spells too, when it has years enough."""
    from flatodds.weather import tables as t
    from flatodds.weather.fitted import FIT_YEARS, air_of_years, fitted_dependence
    from flatodds.weather.seasons import season_air

    ghi = found.ghi.sum(axis=2)
    k = t.daily_clearness(ghi, sun.h0_wh_m2)
    normals = t.monthly_mean(found.temp_air.mean(axis=(0, 2)))
    season = season_air(place.latitude, normals, np.zeros(12), np.zeros(12))
    return t.synthetic_tables(
        place.latitude,
        sun,
        _clear(place, sun),
        t.clearness_from_days(ghi, sun.h0_wh_m2),
        air_of_years(found, k, season),
        fitted_dependence(k, ghi, t.year_share(place.latitude))
        if len(found.years) >= FIT_YEARS
        else None,
    )


def _real_basis(place: Place, found: WeatherYears) -> WeatherBasis:
    if len(found.years) < REPEATED_YEARS:
        raise AssertionError("a single year is never lived as it was")
    cautions = (EQUALLY_OFTEN, NEW_YEAR)
    return _basis(place, found, "real years", REAL_SENTENCE, RECORD_ERROR_FRAC, cautions)


def _shuffled_basis(place: Place, found: WeatherYears) -> WeatherBasis:
    error = math.hypot(RECORD_ERROR_FRAC, SHUFFLE_ERROR_FRAC)
    return _basis(place, found, "resampled", SHUFFLED_SENTENCE, error, ())


def _fitted_basis(place: Place, found: WeatherYears) -> WeatherBasis:
    count = len(found.years)
    cautions = [FEW_YEARS.format(years=count)] if count < RARE_YEARS else []
    sampling = YEAR_TO_YEAR_FRAC / math.sqrt(count)
    error = math.hypot(RECORD_ERROR_FRAC, INVENT_ERROR_FRAC, sampling)
    return _basis(place, found, "fitted years", INVENTED_SENTENCE, error, cautions)


def _basis(
    place: Place,
    found: WeatherYears,
    kind: str,
    sentence: str,
    error: float,
    cautions: Sequence[str],
) -> WeatherBasis:
    """Put a basis of several years together; the error is told with two decimals."""
    span = f"{found.years[0]} to {found.years[-1]}"
    error = round(error, 2)
    text = sentence.format(years=len(found.years), span=span)
    return WeatherBasis(
        kind=kind,  # type: ignore[arg-type]
        sentence=f"{text} Typical error of the dullest season: ±{error:.0%}.",
        sources=(f"{found.kind}, {span}",),
        sha256=one_hash(found.sha256),
        typical_error_frac=error,
        cautions=(*cautions, *file_cautions(place, found)),
    )


def one_hash(hashes: Sequence[str]) -> str:
    """Hash of a file, or of the hashes of several in order."""
    if len(hashes) == 1:
        return hashes[0]
    return hashlib.sha256(" ".join(hashes).encode()).hexdigest()


def file_cautions(place: Place, found: WeatherYear | WeatherYears) -> tuple[str, ...]:
    """Collect the reader's notes, and warn of a file from somewhere else."""
    cautions = list(found.notes)
    east = (found.longitude - place.longitude + 180.0) % 360.0 - 180.0
    if max(abs(found.latitude - place.latitude), abs(east)) > NEAR_DEG:
        cautions.append(
            f"The weather file is for {found.latitude:.2f}, {found.longitude:.2f}, the stay at "
            f"{place.latitude:.2f}, {place.longitude:.2f}: its days' clearness is used as it is."
        )
    return tuple(cautions)
