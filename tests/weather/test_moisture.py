"""Dew point, wet days and snow of a generated day."""

from __future__ import annotations

import numpy as np
import pytest

from flatodds.weather.moisture import dew_point_c, is_snow, is_wet, wet_chance


def test_a_small_range_has_its_dew_point_at_the_lowest_temperature() -> None:
    assert dew_point_c(20.0, 8.0) == 20.0
    assert dew_point_c(20.0, 9.4 / 1.13) == pytest.approx(20.0)


def test_a_dry_days_dew_point_lies_well_below() -> None:
    """A range of 20 degC: 1.13 * 20 - 9.4 = 13.2 below."""
    assert dew_point_c(10.0, 20.0) == pytest.approx(-3.2)
    falls = dew_point_c(np.full(50, 5.0), np.linspace(0.0, 25.0, 50))
    assert (np.diff(falls) <= 0.0).all()


@pytest.mark.parametrize("share", [0.05, 0.3, 0.6, 0.95])
def test_wet_days_come_out_as_often_as_the_month_says(share: float) -> None:
    rng = np.random.default_rng(1)
    z, u = rng.normal(size=400_000), rng.uniform(size=400_000)
    wet = is_wet(u, z, share)
    assert wet.mean() == pytest.approx(share, abs=0.003)
    if share < 0.9:
        assert z[wet].mean() < -0.3


def test_chance_falls_with_clearness() -> None:
    chance = wet_chance(np.linspace(-4.0, 4.0, 81), 0.3)
    assert (np.diff(chance) < 0.0).all()
    assert chance[0] > 0.95
    assert chance[-1] < 0.01


def test_snow_needs_cold_and_wet() -> None:
    wet = np.array([True, True, False, True])
    assert is_snow(wet, np.array([-5.0, 0.5, -5.0, 0.6])).tolist() == [True, True, False, False]
