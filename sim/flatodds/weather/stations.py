"""Stations with long daily records that generated weather is held against, and how it is made.

The records themselves are not part of the program: the Dutch weather service's open daily
files, and a public collection of crop-model weather. Each is a table PLACE.csv or PLACE.csv.gz
with the columns date and ghi_MJ_m2_day.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType
from typing import NamedTuple

import numpy as np

from flatodds.sun import DAYS, SunTable, sun_table
from flatodds.weather import climate
from flatodds.weather.ensembles import Floats
from flatodds.weather.fitted import fitted_dependence
from flatodds.weather.homogeneity import sound_years, without_steps
from flatodds.weather.local import local_quantiles
from flatodds.weather.preview import generate_days
from flatodds.weather.realism import (
    Days,
    dull_season,
    lived_days,
    most_typical_year,
    read_days,
    seasons_of,
    shuffled_days,
)
from flatodds.weather.tables import (
    AirClimate,
    MonthlyK,
    clear_sky,
    clearness_from_days,
    daily_clearness,
    monthly_mean,
    synthetic_tables,
    year_share,
)

MEMBERS = 1024  # own choice
SEED = 7  # any would do


class Station(NamedTuple):
    """Where a record was taken: degrees, height [m], whole hours ahead of UTC."""

    latitude: float
    longitude: float
    elevation_m: float
    utc_offset_h: int


STATIONS: Mapping[str, Station] = MappingProxyType(
    {
        "debilt": Station(52.10, 5.18, 2.0, 1),
        "hoogeveen": Station(52.75, 6.57, 16.0, 1),
        "terschelling": Station(53.39, 5.35, 1.0, 1),
        "cabauw": Station(51.97, 4.93, -1.0, 1),
        "rothamsted": Station(51.81, -0.36, 128.0, 0),
        "carrington": Station(47.51, -99.13, 476.0, -6),
        "iowa": Station(42.02, -93.77, 335.0, -6),
        "gainesville": Station(29.63, -82.37, 10.0, -5),
        "everglades": Station(26.65, -80.63, 3.0, -5),
        "maricopa": Station(33.07, -111.97, 361.0, -7),
        "losbanos": Station(14.17, 121.25, 21.0, 8),
        "gazipur": Station(23.99, 90.41, 8.0, 6),
        "kadoma": Station(-18.32, 29.88, 1156.0, 2),
        "palmira": Station(3.48, -76.35, 965.0, -5),
        "anguededou": Station(5.37, -4.13, 60.0, 0),
    }
)

METHODS = (
    "default",
    "fitted",
    "blocks",
    "monthly",
    "grid",
    "raw grid",
    "no memory",
    "typical year in blocks",
)


def record_of(folder: Path, name: str) -> Days | None:
    """Record of a station, None when the folder does not hold it."""
    paths = sorted(folder.glob(f"{name}.csv*"))
    return read_days(paths[0]) if paths else None


def mended(record: Days) -> Days:
    """Record without what is a copy or the instrument's doing, as far as tests find it."""
    keep = sound_years(record.ghi_wh_m2)
    years = tuple(record.years[row] for row in keep)
    return Days(years, without_steps(record.ghi_wh_m2[keep]))


class Held:
    """One station's record, and years made of what is known about it in different ways.

    Every way gives the days of `MEMBERS` years that begin with the dull season. Copied years,
    years that are no years of the record, and steps in its mean are taken out first.
    """

    def __init__(self, name: str, record: Days, *, mend: bool = True) -> None:
        record = mended(record) if mend else record
        self.station, self.record = STATIONS[name], record
        self.sun: SunTable = sun_table(*self.station)
        lat, lon, height, _ = self.station
        self.clear = clear_sky(lat, lon, height, self.sun)
        self.start, self.size = dull_season(record.ghi_wh_m2)
        self.real = seasons_of(record, self.start, self.size)

    def made(self, method: str) -> Floats:
        """Years made by one of `METHODS`, (member, day) [Wh/m2]."""
        lat, lon, _, _ = self.station
        ghi, h0 = self.record.ghi_wh_m2, self.sun.h0_wh_m2
        own = clearness_from_days(ghi, h0)
        none = np.zeros(DAYS)
        if method == "default":
            return self._drawn(own)
        if method == "fitted":
            k, whole = daily_clearness(ghi, h0), year_share(lat)
            return self._drawn(own, fitted_dependence(k, ghi, whole))
        if method == "no memory":
            return self._drawn(own, (none, none, none))
        if method == "blocks":
            return self._shuffled(self.record)
        if method == "typical year in blocks":
            return self._shuffled(most_typical_year(self.record))
        if method == "monthly":
            typed = monthly_mean(ghi.mean(axis=0)) / 1000.0
            return self._drawn(local_quantiles(lat, lon, list(typed), "station"))
        return self._drawn(climate.world_quantiles(lat, lon, correct=method == "grid"))

    def by_calendar(self, made: Floats) -> Floats:
        """Days put back in the order of the calendar year."""
        return np.roll(made, self.start, axis=1)

    def _drawn(
        self, k: MonthlyK, dependence: tuple[Floats, Floats, Floats] | None = None
    ) -> Floats:
        flat = np.full(DAYS, 15.0)  # temperatures play no part here
        air = AirClimate(flat, flat, 0.0 * flat, 0.04 * flat, flat, flat)
        tables = synthetic_tables(self.station.latitude, self.sun, self.clear, k, air, dependence)
        return generate_days(tables, MEMBERS, DAYS, SEED, first_doy=self.start)[0]

    def _shuffled(self, record: Days) -> Floats:
        ensemble = shuffled_days(record, self.sun, self.clear)
        return lived_days(ensemble, self.start, DAYS, MEMBERS, SEED)
