"""Cycle counting against the standard's worked example and an independent package."""

from __future__ import annotations

from collections import defaultdict

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from flatodds.battery.wear import life_used, rainflow, turning_points, years_by_cycles
from flatodds.catalog import chemistries

EXAMPLE = (-2.0, 1.0, -3.0, 5.0, -1.0, 3.0, -4.0, 4.0, -2.0)


def counted(values: tuple[float, ...] | list[float]) -> dict[float, float]:
    """Cycles by their height, which is rounded like the arithmetic of its values."""
    table: defaultdict[float, float] = defaultdict(float)
    for height, count in rainflow(values):
        table[round(height, 9)] += count
    return dict(table)


@pytest.mark.validation
def test_worked_example_of_the_standard() -> None:
    """ASTM E1049-85, figure 6 (seen in a public library's tests)."""
    wanted = {3.0: 0.5, 4.0: 1.5, 6.0: 0.5, 8.0: 1.0, 9.0: 0.5}
    assert counted(EXAMPLE) == wanted
    as_charge = [0.5 + 0.0625 * value for value in EXAMPLE]  # exact in binary, as ties must be
    assert counted(as_charge) == {h / 16.0: count for h, count in wanted.items()}


@settings(max_examples=60, deadline=None, derandomize=True, database=None)
@given(st.lists(st.integers(0, 40), min_size=2, max_size=60))
def test_an_independent_package_counts_the_same(values: list[int]) -> None:
    package = pytest.importorskip("rainflow")
    trace = [float(value) for value in values]
    assume(len(turning_points(trace)) >= 3)  # the package counts nothing in fewer
    wanted = {height: count for height, count in package.count_cycles(trace) if height > 0.0}
    assert {h: c for h, c in counted(trace).items() if h > 0.0} == pytest.approx(wanted)


def test_turning_points() -> None:
    assert turning_points([1.0, 2.0, 2.0, 3.0, 1.0, 1.0, 0.5, 4.0]) == [1.0, 3.0, 0.5, 4.0]
    assert turning_points([2.0, 2.0]) == [2.0]


def test_a_daily_half_cycle_uses_lead_up_as_its_cycle_life_says() -> None:
    """600 cycles of half the charge, one a day, are 600 days."""
    kind = chemistries()["agm"]
    lows, highs = np.full((2, 400), 0.4), np.full((2, 400), 0.9)
    wanted = kind.cycle_life or 0.0
    assert years_by_cycles(kind, lows, highs) == pytest.approx(wanted / 365.0, rel=0.005)
    shallow = years_by_cycles(kind, lows + 0.25, highs)
    assert shallow == pytest.approx(2.0**1.3 * wanted / 365.0, rel=0.005)


def test_what_does_not_cycle_does_not_wear() -> None:
    still = np.full((1, 30), 0.7)
    assert years_by_cycles(chemistries()["lithium"], still, still)[0] == 99.0
    assert life_used(chemistries()["ideal"], [0.0, 1.0] * 50) == 0.0
