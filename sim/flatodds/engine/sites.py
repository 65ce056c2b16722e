"""Where each stay is and which weather it gets: drawn, real years, or handed in as a table."""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from flatodds.engine.kept import kept
from flatodds.engine.records import Given
from flatodds.engine.shared import Shared
from flatodds.errors import Problem, WeatherError
from flatodds.lanes import LANES
from flatodds.sun import SunTable, sun_table
from flatodds.weather.contract import SKY
from flatodds.weather.ensembles import Ensemble, RealYears, common_years
from flatodds.weather.given import (
    empty_tables,
    given_basis,
    given_clearness,
    table_scores,
    with_scores,
)
from flatodds.weather.moisture import share_by_clearness, wet_level
from flatodds.weather.normals import terrain_m
from flatodds.weather.own_years import weather_files
from flatodds.weather.resampled import ShuffledYears, like_each_other
from flatodds.weather.source import WeatherBasis, stay_weather
from flatodds.weather.synthetic import SyntheticTables
from flatodds.weather.tables import MONTH_DAYS, MONTH_OF_DAY, Floats

if TYPE_CHECKING:
    from flatodds.scenario import Scenario, Stay
    from flatodds.weather.contract import WeatherTable


@dataclass(frozen=True, slots=True)
class Site:
    """A stay's place with its sun and weather."""

    elevation_m: float
    sun: SunTable
    tables: SyntheticTables
    years: Ensemble | None
    basis: WeatherBasis


KEPT_TYPES = (Site, SunTable, SyntheticTables, WeatherBasis, RealYears, ShuffledYears)


def sites_of(
    scenario: Scenario, weather: WeatherTable | None, base_dir: Path | None, shared: Shared
) -> list[Site]:
    """Places of all stays; where several live real years as they were, all the same years."""
    places = tuple(_place(stay) for stay in scenario.stays)
    return shared.once(_sites, places, weather, base_dir, shared)


def _place(stay: Stay) -> Stay:
    """Stay without what does not bear on its place: when, how long, with how much charge."""
    return replace(
        stay,
        name="",
        place="",
        first_day=(1, 1),
        first_doy=0,
        start_day=0,
        nights=1,
        arrival_charge_frac=None,
    )


def _sites(
    places: tuple[Stay, ...], weather: WeatherTable | None, base_dir: Path | None, shared: Shared
) -> list[Site]:
    sites = _shuffled_alike([shared.once(_site, place, weather, base_dir) for place in places])
    real = [site.years for site in sites if isinstance(site.years, RealYears)]
    if not real:
        return sites
    common = common_years(real)
    if len(common) < 2:
        raise WeatherError(
            Problem(
                "weather",
                f"The files of {len(real)} stays have {len(common)} calendar years in common. "
                "Years as they were are the same years at every place.",
                'Give files of the same years, or write years = "shuffled" for these stays.',
            )
        )
    return [_only(site, common) for site in sites]


def _shuffled_alike(sites: list[Site]) -> list[Site]:
    """Sites of which those with shuffled files of the same years live the same pieces."""
    found = [site.years for site in sites if isinstance(site.years, ShuffledYears)]
    alike = iter(like_each_other(found))
    return [
        replace(site, years=next(alike)) if isinstance(site.years, ShuffledYears) else site
        for site in sites
    ]


def _only(site: Site, shared: tuple[int, ...]) -> Site:
    """Site with no other real years than the shared ones, and with words about it."""
    if not isinstance(site.years, RealYears) or site.years.years == shared:
        return site
    note = f"Lived are the {len(shared)} years that all stays have: {shared[0]} to {shared[-1]}."
    basis = replace(site.basis, cautions=(note, *site.basis.cautions))
    return replace(site, years=site.years.only(shared), basis=basis)


def record_years(sites: Sequence[Site], weather: WeatherTable | None) -> int | None:
    """Fewest distinct real years behind a stay, or weather members given; None if all drawn."""
    if weather is not None:
        return weather.members
    counts = [len(site.years.years) for site in sites if site.years is not None]
    return min(counts) if counts else None


def member_multiple(sites: Sequence[Site]) -> int:
    """Find what members must be a multiple of for every real year to count the same."""
    real = [len(site.years.years) for site in sites if isinstance(site.years, RealYears)]
    return real[0] if real else 1


def _site(stay: Stay, weather: WeatherTable | None, base_dir: Path | None) -> Site:
    if weather is not None:
        return _worked_out(stay, weather, base_dir)
    files = _file_hashes(stay, base_dir or Path())
    return kept(_worked_out, stay, None, base_dir, key=files, types=KEPT_TYPES)


def _file_hashes(stay: Stay, base_dir: Path) -> list[bytes]:
    """Hash of each weather file of a stay; one that cannot be read is complained of later."""
    if stay.weather is None:
        return []
    names = (stay.weather,) if isinstance(stay.weather, str) else stay.weather
    found = []
    for path in weather_files(stay, names, base_dir):
        try:
            with path.open("rb") as stream:
                found.append(hashlib.file_digest(stream, "sha256").digest())
        except (OSError, ValueError):
            found.append(b"unreadable")
    return found


def _worked_out(stay: Stay, weather: WeatherTable | None, base_dir: Path | None) -> Site:
    elevation = stay.elevation_m
    if elevation is None:
        elevation = terrain_m(stay.latitude, stay.longitude)
    sun = sun_table(stay.latitude, stay.longitude, elevation, stay.utc_offset_h)
    if weather is not None:
        tables = _wetted(empty_tables(), stay, given_clearness(weather, sun.h0_wh_m2))
        return Site(elevation, sun, tables, None, given_basis(weather))
    found = stay_weather(replace(stay, elevation_m=elevation), sun, base_dir or Path())
    tables = _wetted(found.tables or empty_tables(), stay, found.k_mean)
    return Site(elevation, sun, tables, found.ensemble, found.basis)


def _wetted(tables: SyntheticTables, stay: Stay, k_mean: Floats | None) -> SyntheticTables:
    """Tables with the wet days the user states, else those of a mean clearness (365,), if any."""
    if stay.monthly_wet_days is not None:
        share = np.array(stay.monthly_wet_days)[MONTH_OF_DAY] / MONTH_DAYS[MONTH_OF_DAY]
        return tables._replace(wet_level=wet_level(share))
    if k_mean is None:
        return tables
    return tables._replace(wet_level=wet_level(share_by_clearness(k_mean)))


def given_for(
    scenario: Scenario,
    weather: WeatherTable | None,
    n: int,
    starts: Sequence[int],
    shared: Shared,
    dtype: Any,
) -> Given:
    """Cut stay `n` out of the given weather, in the kernel's type; empty when it is drawn."""
    lanes = np.zeros(LANES, dtype=np.int64)
    if weather is None:
        return Given(np.zeros((0, 0, SKY + 1)), lanes, np.zeros(1, dtype=np.int64))
    first, stay = scenario.stays[0], scenario.stays[n]
    offset = np.timedelta64(first.utc_offset_h, "h")
    local = weather.start.astype("datetime64[h]") + offset
    midnight = _midnight_after(local, first.first_doy)
    skipped = int((midnight - local).astype(int)) + 24 * (starts[n] - starts[0])
    skipped += first.utc_offset_h - stay.utc_offset_h
    hours = weather.values.shape[1]
    if skipped < 0 or skipped + 24 * stay.nights > hours:
        raise WeatherError(
            Problem(
                f"weather for stay {stay.name!r}",
                f"it needs {24 * stay.nights} hours from hour {skipped} of the table, "
                f"which has {hours}.",
                "Give weather that covers every day of every stay, from midnight of the first.",
            )
        )
    values = shared.once(_cut, weather, skipped, 24 * stay.nights, dtype)
    return Given(values, lanes, np.zeros(1, dtype=np.int64))


def _cut(weather: WeatherTable, first: int, count: int, dtype: Any) -> npt.NDArray[Any]:
    """Hours of a table with their scores of clearness, in one type."""
    hours = weather.values[:, first : first + count]
    return np.ascontiguousarray(with_scores(hours, table_scores(hours)), dtype=dtype)


def _midnight_after(local: np.datetime64, first_doy: int) -> np.datetime64:
    """First midnight at or after `local` that begins the given day of the year."""
    day = dt.date(2001, 1, 1) + dt.timedelta(days=first_doy)
    year = int(str(local)[:4])
    for candidate in (year, year + 1):
        midnight = np.datetime64(f"{candidate:04d}-{day.month:02d}-{day.day:02d}T00", "h")
        if midnight >= local:
            return midnight
    raise AssertionError("a year later is always later")


def outdoor_start_c(site: Site, given: Given, doy: int) -> float:
    """Air temperature that a stay's cabin and bank start from [deg C]."""
    if site.years is not None:
        return site.years.mean_temp_c(doy)
    if given.values.shape[0] > 0:
        return float(given.values[0, given.first_hour[0], 3])
    return float(site.tables.temp_mean_c[doy])
