"""Small cases of cycle counting and of lives, by hand."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from flatodds.battery.wear import days_trace, life_used, rainflow, turning_points, years_by_cycles
from flatodds.catalog import chemistries

KIND = replace(chemistries()["agm"], cycle_life=600.0, cycle_depth_frac=0.5, cycle_exponent=2.0)


def test_a_day_is_low_then_high() -> None:
    assert days_trace(np.array([0.1, 0.2]), np.array([0.8, 0.9])) == [0.1, 0.8, 0.2, 0.9]
    with pytest.raises(ValueError, match="shorter"):
        days_trace(np.array([0.1, 0.2]), np.array([0.8]))


def test_equal_ranges_close_a_cycle() -> None:
    assert list(rainflow([0.0, 4.0, 1.0, 4.0, 0.0])) == [(3.0, 1.0), (4.0, 0.5), (4.0, 0.5)]
    assert list(rainflow([0.0, 1.0, 0.0])) == [(1.0, 0.5), (1.0, 0.5)]
    assert list(rainflow([3.0])) == []
    assert turning_points([]) == []
    assert turning_points([1.0, 0.5, 0.2, 0.4]) == [1.0, 0.2, 0.4]


def test_worth_of_a_cycle() -> None:
    """Half cycles of .25 at an exponent of 2: a quarter each, of 600."""
    assert life_used(KIND, [0.25, 0.5]) == pytest.approx(0.5 * 0.25 / 600.0)
    assert life_used(KIND, [0.0, 1.0, 0.0]) == pytest.approx(4.0 / 600.0)


def test_noise_wears_nothing() -> None:
    assert life_used(KIND, [0.5, 0.5049]) == 0.0
    assert life_used(KIND, [0.5, 0.505]) == pytest.approx(0.5 * 0.01**2 / 600.0, rel=1e-6)


@pytest.mark.parametrize("missing", ["cycle_life", "cycle_depth_frac", "cycle_exponent"])
def test_a_kind_without_a_cycle_life_does_not_wear(missing: str) -> None:
    without: Any = {missing: None}
    assert life_used(replace(KIND, **without), [0.0, 1.0, 0.0]) == 0.0


def test_years() -> None:
    """A year of 365 daily cycles of half the charge uses 365 / 600 of a life."""
    lows, highs = np.full((3, 365), 0.25), np.full((3, 365), 0.75)
    lows[1], highs[2] = 0.75, 0.25
    found = years_by_cycles(KIND, lows, highs)
    assert found.shape == (3,)
    assert found[0] == pytest.approx(600.0 / 364.5)  # the last day never comes down again
    assert found[1] == found[2] == 99.0
