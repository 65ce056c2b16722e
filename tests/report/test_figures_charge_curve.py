"""The charge curve: recognisable for every chemistry, and the engine's own hours."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from flatodds.battery.bank import exchange
from flatodds.battery.chemistry import bank_record
from flatodds.battery.curve import charge_curve
from flatodds.report.figures_charge_curve import charge_curve_figure, curve_of
from flatodds.scenario import Scenario, parse_scenario

KINDS = ("lithium", "agm", "flooded", "gel", "sodium")
STAY: dict[str, Any] = {
    "wear": {
        "full_cycles": {"mean": 12.0},
        "longest_days_since_full": {"mean": 9.0},
        "years_to_80pct": {"by_cycles": {"mean": 11.0}, "by_calendar": 6.5},
    },
    "heating_pad_kwh": {"mean": 0.0},
}


def scenario_of(kind: str, more: str = "") -> Scenario:
    return parse_scenario(
        f'bank = {{ chemistry = "{kind}", volts = 12, amp_hours = 200 }}\n'
        'array.watts = 800\nhousehold.pattern = "none"\n'
        'stay = [{ place = "45.0, -93.0", first_day = "1 Jan", nights = 1 }]\n' + more,
        "check.toml",
    )


def test_a_bank_alone_has_no_charge_to_draw() -> None:
    alone = scenario_of("lithium").with_changes({"array.watts": 0})
    assert charge_curve_figure("x", alone, {}) is None


@pytest.mark.parametrize("kind", KINDS)
def test_a_charge_looks_like_one(kind: str) -> None:
    """Constant current first, then the held voltage and a falling current; both meet once."""
    curve = curve_of(scenario_of(kind))
    bulk = curve.hours < curve.bulk_end_h
    assert curve.amps[bulk] == pytest.approx(curve.charger_a)
    assert (np.diff(curve.amps[~bulk]) < 0.0).all()
    assert (np.diff(curve.volts) > -1e-9).all()
    assert curve.volts[~bulk] == pytest.approx(curve.volts[-1])
    assert (np.diff(curve.charge_frac) > 0.0).all()
    lead = kind in ("agm", "flooded", "gel")
    assert (curve.bulk_end_frac < 0.9) is lead
    assert 14.0 <= curve.volts[-1] <= 15.7


@pytest.mark.parametrize("kind", KINDS)
def test_the_curve_is_the_engines_own_charge(kind: str) -> None:
    """Charge after every whole hour as the engine's hourly step has it, within a point."""
    choice = scenario_of(kind).bank
    bank = bank_record(choice)
    curve = charge_curve(choice, 30.0)
    charge_ah = 0.2 * bank.capacity_ah
    available_ah = charge_ah * bank.available_frac
    held = bank._replace(charge_limit_a=min(30.0, bank.charge_limit_a), self_discharge_per_h=0.0)
    for hour in range(1, int(curve.full_h) + 1):
        charge_ah, available_ah, *_ = exchange(held, charge_ah, available_ah, 1e4, 1.0, 0.0, 13.0)
        there = float(np.interp(hour, curve.hours, curve.charge_frac))
        assert charge_ah / bank.capacity_ah == pytest.approx(there, abs=0.01)


def test_the_figure_tells_its_finding() -> None:
    shown = charge_curve_figure("s1-filling", scenario_of("agm"), STAY)
    assert shown is not None
    assert "Full current carries it to 83 % in 3.6 hours" in shown.finding
    assert "wear a new battery to 80 % in 11 years; standing does in 6" in shown.note
    assert shown.rows[0] == ("0", "40.0 A", "13.14 V", "20 %")
    assert "current, A" in shown.svg
    assert charge_curve_figure("s1-filling", scenario_of("ideal"), STAY) is None
