"""Intervals of the odds when weather years, not simulated members, are what is counted."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from flatodds import simulate
from flatodds.outcomes import wilson

if TYPE_CHECKING:
    from tests.validation import square_sun as sq
else:
    import square_sun as sq

pytestmark = pytest.mark.validation

# Newcombe, "Two-sided confidence intervals for the single proportion", Statistics in Medicine
# 17 (1998), table I: Wilson score method, 95 %; to all four digits given.
CASES = [
    (0, 20, 0.0, 0.1611),
    (1, 29, 0.0061, 0.1718),
    (3, 30, 0.0346, 0.2562),
    (0, 30, 0.0, 0.1135),
    (15, 148, 0.0624, 0.1605),
    (81, 263, 0.2553, 0.3662),
]


def stay_with(flat: int, years: int, members: int | None = None) -> dict[str, Any]:
    """Summary of two nights, full on arrival: so many of the years are too dark for them."""
    light = np.zeros((years, 48), dtype=np.float32)
    light[flat:, 6:18] = 500.0
    rig = sq.Rig(
        amp_hours=60.0, arrival_charge_frac=1.0, watts=200.0, nights=2, more=sq.steady(24.0)
    )
    table = sq.weather({"ghi": light, "dhi": light}, 48, years)
    outcomes = simulate(rig.scenario(), table, members=members or "auto")
    return dict(outcomes.summary()["stays"][0])


@pytest.mark.parametrize(("flat", "years", "low", "high"), CASES)
def test_interval_of_weather_years(flat: int, years: int, low: float, high: float) -> None:
    """Wilson interval through the job, each given year lived once; tolerance 1e-4."""
    stay = stay_with(flat, years)
    assert stay["interval_basis"] == "record"
    assert stay["odds_flat"]["estimate"] == pytest.approx(flat / years, abs=1e-12)
    assert stay["odds_flat"]["low"] == pytest.approx(low, abs=1e-4)
    assert stay["odds_flat"]["high"] == pytest.approx(high, abs=1e-4)
    assert stay["odds_flat_range"] == pytest.approx({"low": low, "high": high}, abs=1e-4)


@pytest.mark.parametrize(("flat", "years", "low", "high"), CASES)
def test_wilson(flat: int, years: int, low: float, high: float) -> None:
    """The same table, the formula alone; tolerance 1e-4."""
    assert wilson(flat / years, years) == pytest.approx({"low": low, "high": high}, abs=1e-4)


def test_living_a_year_ten_times_proves_nothing() -> None:
    """Three of thirty years lived ten times each: still thirty years, the same interval."""
    assert stay_with(3, 30, members=300)["odds_flat"] == pytest.approx(
        stay_with(3, 30)["odds_flat"], abs=1e-12
    )
