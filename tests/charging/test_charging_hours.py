"""Hours in which something can charge, on the simulation's clock."""

from __future__ import annotations

import numpy as np
import pytest

from flatodds.charging.hours import share_of_hours

FLAT = np.zeros(3)


def test_a_window_by_day() -> None:
    share = share_of_hours([1], [(9.5, 12.0)], FLAT)
    assert share[1, 9:12].tolist() == [0.5, 1.0, 1.0]
    assert share.sum() == 2.5


def test_a_night_reaches_into_the_next_day_and_ends_with_the_stay() -> None:
    share = share_of_hours([0, 2], [(18.0, 32.0)], FLAT)
    assert share[0, 18:].sum() == 6.0
    assert share[1, :8].sum() == 8.0
    assert share[2, 18:].sum() == 6.0
    assert share.sum() == 20.0


def test_the_night_before_arrival_reaches_in() -> None:
    assert share_of_hours([-1], [(22.0, 30.0)], FLAT)[0].sum() == 6.0


@pytest.mark.parametrize("ahead_h", [1.0, 0.5])
def test_the_households_clock_is_ahead(ahead_h: float) -> None:
    share = share_of_hours([1], [(8.0, 10.0)], np.full(3, ahead_h))
    assert share.sum() == 2.0
    assert share[1, 7] == min(ahead_h, 1.0)
    assert share[1, 9] == 1.0 - ahead_h
