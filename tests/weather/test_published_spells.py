"""Dull spells and year-to-year spread of the world grid's years against published figures.

Source of the figures: own computation from KNMI and DSSAT records (see DEVELOPERS.md). They are
shares of a place's own mean, so that they can be checked where no record is at hand: the world
grid gives the days, and its error in the mean falls out.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from flatodds.sun import DAYS, sun_table
from flatodds.weather.climate import world_quantiles
from flatodds.weather.preview import generate_days
from flatodds.weather.realism import dull_season, worst_spell, year_spread
from flatodds.weather.stations import STATIONS
from flatodds.weather.tables import (
    AirClimate,
    Floats,
    MonthlyK,
    clear_sky,
    synthetic_tables,
)

# Worst 5 and 7 days of the dull season over its mean, and year-to-year sd of calendar months
# over their mean [%]; own computation from KNMI and DSSAT records.
REAL = {
    "debilt": (0.359, 0.430, 12.2),
    "carrington": (0.532, 0.603, 9.4),
    "gainesville": (0.574, 0.620, 10.0),
    "maricopa": (0.632, 0.692, 5.7),
    "losbanos": (0.574, 0.648, 11.5),
    "kadoma": (0.746, 0.786, 6.8),
}
MEMBERS = 256


@cache
def grid_years(name: str, memory: bool = True) -> tuple[Floats, int, int]:
    """Years from the corrected world grid (member, 365), and the dull season's days."""
    lat, lon, height, offset = STATIONS[name]
    sun = sun_table(lat, lon, height, offset)
    flat = np.full(DAYS, 15.0)
    air = AirClimate(flat, flat, 0.0 * flat, 0.04 * flat, flat, flat)
    k: MonthlyK = world_quantiles(lat, lon)
    none = np.zeros(DAYS)
    dependence = None if memory else (none, none, none)
    made = synthetic_tables(lat, sun, clear_sky(lat, lon, height, sun), k, air, dependence)
    start, size = dull_season(np.asarray(made.k_mean * made.h0_wh_m2)[None])
    days, _ = generate_days(made, MEMBERS, DAYS, 3, first_doy=start)
    return days, start, size


def spell_error(name: str, memory: bool = True) -> float:
    """Mean error of the worst 5 and 7 days, as shares of the season's mean."""
    days, _, size = grid_years(name, memory)
    mean = days[:, :size].mean()
    found = [worst_spell(days[:, :size], n).mean() / mean for n in (5, 7)]
    return float(np.mean([a / b - 1.0 for a, b in zip(found, REAL[name][:2], strict=True)]))


@pytest.mark.validation
def test_worst_spells_relative_to_the_season() -> None:
    """On average within 10 %; days without memory are further off, and too sunny."""
    errors = {name: spell_error(name) for name in REAL}
    assert abs(np.mean(list(errors.values()))) < 0.10, errors
    alone = [spell_error(name, memory=False) for name in REAL]
    assert np.mean(alone) > 0.10, alone


@pytest.mark.validation
def test_months_differ_from_year_to_year() -> None:
    """At least 0.7 of the real sd of calendar months, on average of the places."""
    ratios = {}
    for name, (_, _, real) in REAL.items():
        days, start, _ = grid_years(name)
        ratios[name] = 100.0 * year_spread(np.roll(days, start, axis=1))[0] / real
    assert np.mean(list(ratios.values())) > 0.7, ratios
