"""Laws of one hour of any bank: bounds of charge, exact energy, nothing for nothing."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flatodds.battery.bank import Bank, exchange, expected_v, stored_wh
from flatodds.battery.chemistry import bank_record
from flatodds.scenario import parse_scenario

pytestmark = pytest.mark.law

KINDS = ("lithium", "agm", "flooded", "gel", "sodium", "ideal")
MANY = settings(max_examples=150, deadline=None, derandomize=True, database=None)
RIG = """
bank = {{ chemistry = "{kind}", volts = 24, amp_hours = 150, age_years = 2 }}
array.watts = 100
household.pattern = "none"
stay = [{{ place = "45.0, -93.0", first_day = "1 Jan", nights = 1 }}]
"""
BANKS = {k: bank_record(parse_scenario(RIG.format(kind=k)).bank) for k in KINDS}


def hour(
    bank: Bank, charge: float, filled: float, net_w: float, gate: float, floor: float
) -> tuple[float, float, float, float, float, float, float]:
    """One hour from shares: of the bank, and of the first well between its bounds."""
    charge_ah, floor_ah = charge * bank.capacity_ah, floor * bank.capacity_ah
    share = bank.available_frac
    least = max(charge_ah - (1.0 - share) * bank.capacity_ah, 0.0)
    most = min(charge_ah, share * bank.capacity_ah)
    available_ah = least + filled * (most - least)
    volts = expected_v(bank, charge_ah, net_w, floor_ah)
    return exchange(bank, charge_ah, available_ah, net_w, gate, floor_ah, volts)


hours = {
    "kind": st.sampled_from(KINDS),
    "charge": st.floats(0.0, 1.0),
    "filled": st.floats(0.0, 1.0),
    "net_w": st.floats(-8000.0, 8000.0),
    "gate": st.floats(0.0, 1.0),
    "floor": st.floats(0.0, 0.6),
}


@MANY
@given(**hours)
def test_charge_stays_within_the_wells(
    kind: str, charge: float, filled: float, net_w: float, gate: float, floor: float
) -> None:
    bank = BANKS[kind]
    new, available, into_a, out_a, *_ = hour(bank, charge, filled, net_w, gate, floor)
    slack = 1e-6 * bank.capacity_ah  # the short exponential leaves 1e-7
    assert -slack <= new <= bank.capacity_ah + slack
    assert -slack <= available <= bank.available_frac * bank.capacity_ah + slack
    assert 0.0 <= into_a <= gate * bank.charge_limit_a + slack
    assert 0.0 <= out_a <= bank.discharge_limit_a + slack
    assert into_a * out_a == 0.0
    if out_a > 0.0:
        assert new * (1.0 + bank.self_discharge_per_h) >= floor * bank.capacity_ah - slack


@MANY
@given(**hours)
def test_energy_is_exact(
    kind: str, charge: float, filled: float, net_w: float, gate: float, floor: float
) -> None:
    """What goes in less what comes out less what is lost is what the store has gained."""
    bank = BANKS[kind]
    new, _, _, _, accepted_w, delivered_w, loss_w = hour(bank, charge, filled, net_w, gate, floor)
    before, after = stored_wh(bank, np.array([charge * bank.capacity_ah, new]))
    assert accepted_w - delivered_w - loss_w == pytest.approx(after - before, abs=1e-6)
    assert loss_w >= -1e-9
    assert accepted_w <= max(net_w, 0.0) * (1.0 + 1e-3) + 1e-6
    assert delivered_w <= max(-net_w, 0.0) * (1.0 + 1e-3) + 1e-6


@MANY
@given(
    kind=st.sampled_from(("agm", "gel", "flooded")),
    charge=st.floats(0.2, 1.0),
    slow_w=st.floats(50.0, 400.0),
    times=st.floats(1.0, 8.0),
)
def test_faster_never_gives_more(kind: str, charge: float, slow_w: float, times: float) -> None:
    """A rested bank drawn down at a higher power gives no more energy before its first pause."""
    bank = BANKS[kind]

    def given_ah(watts: float) -> float:
        charge_ah, total_ah = charge * bank.capacity_ah, 0.0
        available_ah = charge_ah * bank.available_frac
        while True:
            volts = expected_v(bank, charge_ah, -watts, 0.0)
            found = exchange(bank, charge_ah, available_ah, -watts, 1.0, 0.0, volts)
            charge_ah, available_ah, _, out_a, _, delivered_w, _ = found
            if delivered_w < 0.99 * watts:
                return total_ah
            total_ah += out_a

    step_ah = slow_w * times / 22.0  # hours are whole
    assert given_ah(slow_w * times) <= given_ah(slow_w) + step_ah
