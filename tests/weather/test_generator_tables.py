"""Tables of the generator: interpolation, renormalised months, and what a file teaches."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from flatodds.sun import SunTable, sun_table
from flatodds.weather import seasons, tables
from flatodds.weather.tables import MONTH_OF_DAY, PROBABILITY, Z_GRID, monthly_mean

Floats = npt.NDArray[np.float64]


@cache
def sun() -> SunTable:
    return sun_table(47.0, 8.0, 400.0, 1)


@cache
def clear() -> Floats:
    return tables.clear_sky(47.0, 8.0, 400.0, sun())


def test_days_lie_between_their_two_mid_months() -> None:
    weights = tables.mid_month_weights()
    np.testing.assert_allclose(weights.sum(axis=1), 1.0)
    assert (np.count_nonzero(weights, axis=1) <= 2).all()
    assert weights.min() >= 0.0
    middle = weights @ np.arange(12.0)
    assert middle[15] == pytest.approx(0.0, abs=1e-12)  # 16 January is mid-month
    assert middle[45] == pytest.approx(1.0, abs=0.02)  # so is 15 February
    assert weights[0, 11] > 0.4  # New Year lies between December and January
    assert weights[364, 0] > 0.4


def test_score_weights_are_the_mean_under_the_normal_law() -> None:
    weights = tables.score_weights()
    assert weights.sum() == pytest.approx(1.0, abs=1e-12)
    table = np.abs(Z_GRID) ** 1.5 + Z_GRID
    z = np.linspace(-9.0, 9.0, 18 * 32 * 40 + 1)  # many steps between nodes, nodes included
    exact = np.trapezoid(np.interp(z, Z_GRID, table) * stats.norm.pdf(z), z)
    assert table @ weights == pytest.approx(exact, abs=1e-6)


@settings(max_examples=10, deadline=None)
@given(
    low=st.lists(st.floats(0.05, 0.25), min_size=12, max_size=12),
    high=st.lists(st.floats(0.45, 0.7), min_size=12, max_size=12),
)
@pytest.mark.law
def test_every_months_mean_is_met(low: list[float], high: list[float]) -> None:
    """Whatever the months' quantiles, their interpolation keeps each month's irradiation."""
    q = np.array(low)[:, None] + (np.array(high) - low)[:, None] * PROBABILITY**1.3
    h0 = sun().h0_wh_m2
    target = np.trapezoid(q, PROBABILITY, axis=1) * monthly_mean(h0)
    table = tables.clearness_table(tables.MonthlyK(q, target), h0, np.full(365, 1e9))
    made = monthly_mean(table @ tables.score_weights() * h0)
    np.testing.assert_allclose(made, target, rtol=1e-6)
    assert (np.diff(table, axis=1) >= 0.0).all()


def test_no_score_lies_above_the_ceiling() -> None:
    q = np.tile(0.1 + 0.9 * PROBABILITY, (12, 1))
    k = tables.MonthlyK(q, np.trapezoid(q, PROBABILITY, axis=1) * monthly_mean(sun().h0_wh_m2))
    day_sum = clear().sum(axis=1)
    table = tables.clearness_table(k, sun().h0_wh_m2, day_sum)
    assert (table * sun().h0_wh_m2[:, None] <= 1.15 * day_sum[:, None] * (1 + 1e-12)).all()
    assert table.max() > 0.7


def test_quantiles_of_a_record_are_those_of_its_window() -> None:
    k = np.tile(MONTH_OF_DAY / 12.0, (2, 1))
    k[1] += 1.0
    q = tables.windowed_quantiles(k, half_width=5)
    np.testing.assert_allclose(q[:, 0], np.arange(12) / 12.0)
    np.testing.assert_allclose(q[:, -1], np.arange(12) / 12.0 + 1.0)
    wide = tables.windowed_quantiles(k[:1])
    assert wide[0, 0] == 0.0
    assert wide[1, 0] == 0.0  # mid-February less 15 days is still January
    assert wide[1, -1] == pytest.approx(2 / 12)  # and plus 15 is already March


def test_dependence_by_latitude() -> None:
    for latitude, fast in ((0, 0.20), (-7, 0.25), (-20, 0.42), (37.5, 0.335), (52, 0.25)):
        a, b, w = tables.default_dependence(latitude)
        assert a[100] == pytest.approx(fast)
        assert b[100] == pytest.approx(np.exp(-1 / 12))
        assert w[100] == 0.04


def test_wind_table_is_a_gamma_law() -> None:
    weights = tables.score_weights()
    table = tables.wind_table()
    mean = table @ weights
    assert mean == pytest.approx(1.0, abs=2e-4)
    assert np.sqrt(table**2 @ weights - mean**2) == pytest.approx(0.39, abs=2e-3)


@pytest.mark.validation
@pytest.mark.filterwarnings("ignore:DatetimeIndex.dayofyear is deprecated")
def test_clear_sky_is_pvlibs() -> None:
    """The Ineichen model through pvlib's Location, at mid-month noon."""
    import pandas as pd
    from pvlib.clearsky import lookup_linke_turbidity
    from pvlib.location import Location

    time = pd.DatetimeIndex(["2001-01-16T11:30", "2001-07-16T11:30"], tz="UTC")
    turbidity = lookup_linke_turbidity(time, 47.0, 8.0, interp_turbidity=False)
    theirs = Location(47.0, 8.0, altitude=400).get_clearsky(time, linke_turbidity=turbidity)
    mine = clear()[[15, 196], 12]
    np.testing.assert_allclose(mine, theirs["ghi"].to_numpy(), rtol=3e-3)


def test_latent_memory_gives_the_temperatures_memory() -> None:
    """Lag-1 of r*z + sqrt(1-r2)*t is the class table's, whatever z remembers."""
    air = seasons.season_air(47.0, np.linspace(0, 20, 12), np.full(12, 9.0), np.full(12, 3.0))
    q = np.tile(0.1 + 0.5 * PROBABILITY, (12, 1))
    k = tables.MonthlyK(q, np.trapezoid(q, PROBABILITY, axis=1) * monthly_mean(sun().h0_wh_m2))
    made = tables.synthetic_tables(47.0, sun(), clear(), k, air)
    r2 = made.temp_corr**2
    days = (1 - made.slow_weight) * made.fast + made.slow_weight * made.slow
    z1 = (1 - made.year_weight) * days + made.year_weight
    np.testing.assert_allclose(r2 * z1 + (1 - r2) * made.temp_lag, air.lag1, atol=1e-12)
    assert all(np.isfinite(array).all() for array in made)


@dataclass(frozen=True)
class Year:
    ghi: Floats
    temp_air: Floats
    wind_speed: Floats


def test_a_file_teaches_its_own_warmth_and_wind() -> None:
    rng = np.random.default_rng(3)
    day = np.arange(365)[:, None]
    course = 10.0 - 9.0 * np.cos(2 * np.pi * day / 365)
    spell = np.convolve(rng.standard_normal(365 + 29), np.ones(30) / np.sqrt(30), "valid")
    wave = np.cos(2 * np.pi * (np.arange(24) - 15) / 24)
    temp = course + (4.0 + 2.0 * (day > 180)) * wave + 5.0 * spell[:, None]
    year = Year(np.ones((365, 24)), temp, np.full((365, 24), 4.5))
    normals = monthly_mean(temp.mean(axis=1))
    season = seasons.season_air(47.0, normals, np.zeros(12), np.zeros(12))
    air = tables.air_of_year(year, season)
    assert air.mean_c.mean() == pytest.approx(temp.mean(), abs=1e-9)
    assert air.range_c[90] == pytest.approx(8.0)
    assert air.range_c[270] == pytest.approx(12.0)
    np.testing.assert_allclose(air.wind, 4.5)
    left = temp.mean(axis=1) - air.mean_c
    assert np.mean(left**2) == pytest.approx(np.mean(air.sd_c**2))
    assert np.ptp(air.sd_c / season.sd_c) == pytest.approx(0.0, abs=1e-9)
    np.testing.assert_array_equal(air.corr, season.corr)
