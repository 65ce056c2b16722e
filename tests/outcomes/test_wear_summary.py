"""What a stay does to the bank, told from invented results."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, cast

import numpy as np
import pytest

from flatodds.catalog import chemistries
from flatodds.engine.results import Results
from flatodds.outcomes import Outcomes

Fabricate = Callable[..., Results]


def daily_cycles(results: Results, low: float, high: float) -> dict[str, Any]:
    """Summary of the stay when every day swings between two charges."""
    shape = results.daily["min_charge_frac"].shape
    cast("dict[str, Any]", results.daily)["min_charge_frac"] = np.full(shape, low, np.float32)
    cast("dict[str, Any]", results.daily)["max_charge_frac"] = np.full(shape, high, np.float32)
    found: dict[str, Any] = Outcomes.from_results(results).summary()["stays"][0]["wear"]
    return found


def test_years_by_cycles_and_by_calendar(fabricate: Fabricate) -> None:
    kind = chemistries()["lithium"]
    assert kind.cycle_life is not None
    wear = daily_cycles(fabricate(), 0.2, 1.0)["years_to_80pct"]
    assert wear["by_cycles"]["mean"] == pytest.approx(kind.cycle_life / 365.0, rel=0.01)
    assert wear["by_calendar"] == kind.calendar_years
    shallow = daily_cycles(fabricate(), 0.6, 1.0)["years_to_80pct"]
    assert shallow["by_cycles"]["mean"] > wear["by_cycles"]["mean"]


def test_lead_that_is_rarely_full_is_warned_of(fabricate: Fabricate) -> None:
    results = fabricate(scenario={"bank": lead_bank(fabricate)})
    results.extremes["longest_days_since_full"][:] = 30.0
    cautions = Outcomes.from_results(results).summary()["cautions"]
    assert any("30 days without being full" in text for text in cautions)
    results.extremes["longest_days_since_full"][:] = 5.0
    cautions = Outcomes.from_results(results).summary()["cautions"]
    assert not any("without being full" in text for text in cautions)


def test_lithium_need_not_be_full(fabricate: Fabricate) -> None:
    results = fabricate()
    results.extremes["longest_days_since_full"][:] = 30.0
    cautions = Outcomes.from_results(results).summary()["cautions"]
    assert not any("without being full" in text for text in cautions)


def lead_bank(fabricate: Fabricate) -> Any:
    """Stand-in bank of the invented results, made of lead."""
    from types import SimpleNamespace

    bank = fabricate().scenario.bank
    return SimpleNamespace(**{**vars(bank), "chemistry": "flooded"})
