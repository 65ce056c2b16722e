"""A full charge drawn minute by minute: its ends, its bulk and its volts."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from flatodds.battery.curve import ChargeCurve, charge_curve
from flatodds.catalog import chemistries
from flatodds.scenario import Bank, parse_scenario

RIG = """
bank = {{ chemistry = "{chemistry}", volts = 24, amp_hours = 100 }}
array.watts = 100
household.pattern = "none"
stay = [{{ place = "45.0, -93.0", first_day = "1 Jan", nights = 1 }}]
"""


def bank(chemistry: str, **changes: Any) -> Bank:
    return replace(parse_scenario(RIG.format(chemistry=chemistry)).bank, **changes)


def simple(**changes: Any) -> Bank:
    """Full current up to half full, then missing charge over 2 hours; lossless."""
    words = {
        "charge_efficiency_frac": 1.0,
        "taper_from_frac": 0.5,
        "charge_c_rate": 0.25,
        "resistance_ohm": 0.0,
    }
    return bank("lithium", **{**words, **changes})


def test_bulk_and_taper_in_closed_form() -> None:
    """20 to 50 Ah at 25 A: 1.2 h; then e^(-t / 2 h), down to 1 A: 2 h ln 25 (by the minute)."""
    curve = charge_curve(simple(), 40.0)
    assert curve.charger_a == 25.0
    assert curve.bulk_end_h == pytest.approx(1.2, abs=1.5 / 60.0)
    assert curve.bulk_end_frac == pytest.approx(0.5, abs=0.01)
    assert curve.full_h == pytest.approx(1.2 + 2.0 * math.log(25.0), abs=0.1)
    assert curve.amps[0] == 25.0
    assert curve.amps[-1] == pytest.approx(1.0, rel=0.02)
    assert np.diff(curve.hours) == pytest.approx(1.0 / 60.0)
    stored = np.diff(curve.charge_frac) * 100.0
    assert stored == pytest.approx(curve.amps[:-1] / 60.0, rel=1e-9)
    assert curve.charge_frac[0] == 0.2
    assert curve.charge_frac[-1] == pytest.approx(1.0 - 2.0 * curve.amps[-1] / 100.0)


def test_a_weak_charger_ends_at_half_its_current() -> None:
    """1.5 A is less than twice the usual tail of 1 A, so charging ends at .75 A."""
    curve = charge_curve(simple(), 1.5, start_frac=0.9)
    assert curve.charger_a == 1.5
    assert curve.bulk_end_frac == pytest.approx(0.97, abs=0.001)
    assert curve.amps[-1] == pytest.approx(0.75, rel=0.02)


def test_a_charge_that_does_not_end_in_three_days() -> None:
    curve = charge_curve(simple(), 0.5, start_frac=0.0)
    assert curve.full_h == pytest.approx(72.0, abs=1.5 / 60.0)
    assert curve.bulk_end_h == curve.full_h
    assert curve.charge_frac[-1] == pytest.approx(0.36, abs=0.001)


def test_a_bank_without_taper_is_full_at_once() -> None:
    curve = charge_curve(simple(taper_from_frac=1.0), 10.0, start_frac=0.5)
    assert curve.full_h == pytest.approx(5.0, abs=2.0 / 60.0)
    assert curve.charge_frac[-1] <= 1.0
    assert curve.charge_frac[-1] == pytest.approx(1.0, abs=2e-3)


def test_what_is_stored_is_the_efficiency_of_what_flows() -> None:
    curve = charge_curve(simple(charge_efficiency_frac=0.8), 10.0)
    stored = np.diff(curve.charge_frac) * 100.0
    assert stored == pytest.approx(0.8 * curve.amps[:-1] / 60.0, rel=1e-9)


@pytest.mark.parametrize("chemistry", ["lithium", "agm", "flooded", "gel", "sodium"])
def test_volts_end_at_what_the_charger_holds(chemistry: str) -> None:
    """For 24 V twice what the catalogue says for 12 V, and never above on the way."""
    curve: ChargeCurve = charge_curve(bank(chemistry), 15.0)
    held_v = 2.0 * chemistries()[chemistry].full_v
    assert curve.volts[-1] == pytest.approx(held_v, rel=1e-9)
    assert (curve.volts <= held_v + 1e-9).all()
    assert (np.diff(curve.charge_frac) >= 0.0).all()
    assert (np.diff(curve.amps) <= 1e-9).all()


def test_volts_on_the_way() -> None:
    """Rest voltage, overvoltage and I R, then a square of current over what would be taken."""
    one = simple(rest_points=((0.0, 25.0), (1.0, 25.0)), charge_over_v=0.4, resistance_ohm=0.02)
    curve = charge_curve(one, 10.0, start_frac=0.5)
    low_v = 25.0 + 0.4 + 10.0 * 0.02
    held_v = 2.0 * chemistries()["lithium"].full_v
    assert curve.volts[0] == pytest.approx(low_v + (held_v - low_v) * (10.0 / 25.0) ** 2)
