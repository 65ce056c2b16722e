"""What the generator learns from several years: memory of dull days, temperature, wind."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pytest
from scipy.special import ndtr
from scipy.stats import multivariate_normal

from flatodds.sun import DAYS
from flatodds.weather.fitted import (
    LAGS,
    air_of_years,
    both_below,
    dull_correlation,
    fitted_dependence,
    season_scores,
    two_speeds,
)
from flatodds.weather.tables import AirClimate, monthly_mean

Floats = npt.NDArray[np.float64]


def two_speed_scores(years: int, fast: float, slow: float, weight: float, seed: int = 5) -> Floats:
    rng = np.random.default_rng(seed)
    x, y = rng.normal(size=2)
    out = np.empty(years * DAYS)
    for i, (e, f) in enumerate(rng.normal(size=(out.size, 2))):
        x = fast * x + math.sqrt(1.0 - fast**2) * e
        y = slow * y + math.sqrt(1.0 - slow**2) * f
        out[i] = math.sqrt(1.0 - weight) * x + math.sqrt(weight) * y
    return out.reshape(years, DAYS)


@pytest.mark.parametrize("rho", [-0.4, 0.0, 0.3, 0.8])
def test_chance_of_two_dull_days_is_the_bivariate_normal_law(rho: float) -> None:
    z = -0.8416212335729143  # 20 % quantile of the normal law
    exact = multivariate_normal([0.0, 0.0], [[1.0, rho], [rho, 1.0]]).cdf([z, z])
    assert float(both_below(0.2, np.array(rho))) == pytest.approx(float(exact), abs=2e-5)


def test_scores_of_a_season_are_standard_normal_whatever_the_season() -> None:
    z = two_speed_scores(12, 0.3, 0.9, 0.1)
    season = 0.15 + 0.07 * np.sin(2.0 * np.pi * np.arange(DAYS) / DAYS)
    found = season_scores(season + 0.5 * ndtr(z))
    assert abs(found.mean()) < 0.01
    assert found.std() == pytest.approx(1.0, abs=0.02)
    assert np.corrcoef(found.ravel(), z.ravel())[0, 1] > 0.9


def test_dull_correlation_of_known_scores() -> None:
    """To three standard errors, about 0.01 each with so many years."""
    z = two_speed_scores(400, 0.4, 0.93, 0.15)
    found = dull_correlation(z, np.ones(DAYS, dtype=np.bool_))
    want = 0.85 * 0.4**LAGS + 0.15 * 0.93**LAGS
    assert np.abs(found - want).max() < 0.03


def test_what_lasts_a_year_is_not_fitted_twice() -> None:
    """Scores with a part for the whole year: taken off, the rest has the memory it was made with.

    Left in, it comes back as a slow part.
    """
    rng = np.random.default_rng(4)
    days = rng.standard_normal((400, DAYS))
    z = np.sqrt(0.94) * days + np.sqrt(0.06) * rng.standard_normal((400, 1))
    ghi = np.tile(np.cos(np.arange(DAYS) * 2.0 * np.pi / DAYS) + 2.0, (400, 1))
    left_in = fitted_dependence(ndtr(z), ghi, 0.0)[2].mean()
    taken_off = fitted_dependence(ndtr(z), ghi, 0.06)[2].mean()
    assert left_in > 0.05
    assert taken_off < 0.025


def test_two_speeds_come_back_exactly() -> None:
    slow = math.exp(-1.0 / 9.0)
    fast, found, weight = two_speeds(0.8 * 0.35**LAGS + 0.2 * slow**LAGS)
    assert fast == pytest.approx(0.35)
    assert weight == pytest.approx(0.2)
    assert found == pytest.approx(slow)


def test_dull_and_bright_half_years_are_fitted_apart() -> None:
    calm, nervous = two_speed_scores(60, 0.7, 0.9, 0.0, 1), two_speed_scores(60, 0.1, 0.9, 0.0, 2)
    summer = np.zeros(DAYS, dtype=np.bool_)
    summer[90:273] = True
    z = np.where(summer, nervous, calm)
    ghi = np.where(summer, 5000.0, 1000.0) * np.ones((60, 1))
    fast, slow, weight = fitted_dependence(ndtr(z), ghi, 0.0)
    lag1 = (1.0 - weight) * fast + weight * slow
    assert lag1[10] == pytest.approx(0.7, abs=0.05)
    assert lag1[180] == pytest.approx(0.1, abs=0.05)


@dataclass(frozen=True)
class Hours:
    years: tuple[int, ...]
    ghi: Floats
    dni: Floats
    dhi: Floats
    temp_air: Floats
    wind_speed: Floats


def invented_air(years: int) -> tuple[Hours, Floats]:
    z = two_speed_scores(years, 0.3, 0.9, 0.1)
    t = two_speed_scores(years, 0.75, 0.9, 0.0, 8)
    course = 10.0 - 12.0 * np.cos(2.0 * np.pi * np.arange(DAYS) / DAYS)
    daily = course + 4.0 * (0.5 * z + math.sqrt(0.75) * t)
    temp = daily[..., None] - 5.0 * np.cos(2.0 * np.pi * np.arange(24) / 24.0)
    none = np.zeros_like(temp)
    return Hours(tuple(range(years)), none, none, none, temp, none + 3.5), ndtr(z)


def season() -> AirClimate:
    flat = np.ones(DAYS)
    return AirClimate(0.0 * flat, 2.0 * flat, -0.3 * flat, 0.7 * flat, flat, flat)


def test_air_of_many_years_is_their_own() -> None:
    hours, k = invented_air(30)
    air = air_of_years(hours, k, season())
    course = 10.0 - 12.0 * np.cos(2.0 * np.pi * np.arange(DAYS) / DAYS)
    assert np.abs(air.mean_c - course).max() < 0.8
    assert air.sd_c.mean() == pytest.approx(4.0, rel=0.05)
    assert air.corr.mean() == pytest.approx(0.5, abs=0.05)
    lag1 = 0.25 * (0.9 * 0.3 + 0.1 * 0.9) + 0.75 * 0.75
    assert air.lag1.mean() == pytest.approx(lag1, abs=0.04)
    np.testing.assert_allclose(air.range_c, 10.0)
    np.testing.assert_allclose(monthly_mean(air.wind), 3.5)


def test_few_years_keep_the_climates_correlation_and_memory() -> None:
    hours, k = invented_air(3)
    air = air_of_years(hours, k, season())
    assert (air.corr == -0.3).all()
    assert (air.lag1 == 0.7).all()
    assert air.sd_c.mean() == pytest.approx(4.0, rel=0.15)
