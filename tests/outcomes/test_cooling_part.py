"""Cooling in the summary, and heat without it, by hand."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from flatodds.outcomes.cooling import cooling_part, heat_cautions
from flatodds.outcomes.record import Record, record_of

Fabricate = Callable[..., Any]
SUMS = {
    "cooling_hours": 30.0,
    "cooling_wanted_wh": 5000.0,
    "cooling_served_wh": 4000.0,
    "hot_hours_uncooled": 60.0,
    "hot_days_uncooled": 10.0,
    "days_held": 4.0,
    "hot_hours": 20.0,
}


def record(fabricate: Fabricate, *names: str, **values: float) -> Record:
    """Two stays of two months; the second stay has half of everything."""
    made = fabricate(members=4, stays=2)
    shares = np.array([0.25, 0.75, 0.125, 0.375])
    added = {n: np.ones((1, 4, 4)) * shares * {**SUMS, **values}[n] for n in names or SUMS}
    return record_of(replace(made, sums={**made.sums, **added}))


def test_cooling_by_stay(fabricate: Fabricate) -> None:
    both = record(fabricate)
    first, second = cooling_part(both, 0), cooling_part(both, 1)
    assert first is not None
    assert second is not None
    assert first["comfort_high_c"] == 29.0
    assert first["held_frac"] == pytest.approx(0.4)
    means = {key: first[key]["mean"] for key in first if isinstance(first[key], dict)}
    assert means == pytest.approx(
        {
            "hot_hours_without": 60.0,
            "hot_days_without": 10.0,
            "days_held": 4.0,
            "cooling_hours": 30.0,
            "wanted_kwh": 5.0,
            "served_kwh": 4.0,
        }
    )
    assert second["served_kwh"]["mean"] == pytest.approx(2.0)


def test_no_hot_day_is_none_to_hold(fabricate: Fabricate) -> None:
    found = cooling_part(record(fabricate, hot_days_uncooled=0.0, days_held=0.0), 0)
    assert found is not None
    assert found["held_frac"] is None


def test_no_cooling_without_air_conditioner(fabricate: Fabricate) -> None:
    assert cooling_part(record(fabricate, "hot_hours"), 0) is None


def test_heat_is_warned_of_once_and_only_without_air_conditioner(fabricate: Fabricate) -> None:
    found = record(fabricate, "hot_hours")
    (told,) = heat_cautions(found)
    assert told.startswith("Safety: it gets hotter than 29 C (84 F) inside.")
    assert "never leave any of them alone" in told
    there = replace(found, facts=replace(found.facts, units="us"))
    assert heat_cautions(there)[0].startswith("Safety: it gets hotter than 84 F (29 C) inside.")
    assert heat_cautions(record(fabricate)) == []
    assert heat_cautions(record(fabricate, "days_held")) == []
    assert heat_cautions(record(fabricate, "hot_hours", hot_hours=0.99)) == []
    assert len(heat_cautions(record(fabricate, "hot_hours", hot_hours=1.0))) == 1
