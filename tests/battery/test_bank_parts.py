"""Each part of a bank's hour alone, against closed forms and against small steps of time."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from numpy.polynomial import Polynomial

from flatodds.battery.bank import (
    Bank,
    accepted_a,
    after_an_hour_ah,
    charge_efficiency,
    drawable_a,
    exchange,
    expected_v,
    level_ah,
    mean_v,
    open_circuit_v,
    pick_bank,
    signed_a,
    stored_wh,
    terminal_v,
)
from flatodds.battery.cold import cold_gate, pad_wanted_w, reachable_floor_ah, unheated_c
from flatodds.engine.hour_habits import drawn_a

PLAIN: dict[str, float] = {
    "capacity_ah": 100.0, "v0": 10.0, "v1": 2.0, "v2": 3.0, "v3": 4.0, "resistance_ohm": 0.02,
    "charge_efficiency": 0.9, "charge_limit_a": 30.0, "discharge_limit_a": 50.0,
    "acceptance_h": 0.8, "cutoff_frac": 0.1, "reconnect_frac": 0.2,
    "self_discharge_per_h": 0.001, "cold_cut_c": 0.0, "cold_release_c": 2.0, "cold_ramp_c": 10.0,
    "warm_frac": 0.95, "warm_slope": 0.002, "cool_frac": 0.9, "cool_slope": 0.01,
    "cold_frac": 0.94, "cold_slope": 0.02, "lag_decay": 0.75, "inside_frac": 0.25,
    "cold_start_frac": 0.2, "charge_over_v": 0.8, "knee_frac": 0.6, "knee_slope": 0.5,
    "available_frac": 0.4, "well_decay": 0.7, "well_drain": 0.9, "pad_w": 60.0,
    "pad_set_c": 5.0, "pad_lift_k_per_w": 0.1, "pad_always": 0.0,
}  # fmt: skip


def bank(**changes: float) -> Bank:
    return Bank(**{**PLAIN, **changes})


def test_every_field_is_picked_from_its_row() -> None:
    table = np.arange(3.0 * len(Bank._fields)).reshape(-1, 3)
    assert pick_bank(table, 1) == Bank(*(3.0 * row + 1.0 for row in range(len(Bank._fields))))


def test_voltage_and_energy_are_one_cubic_and_its_integral() -> None:
    rest = Polynomial([10.0, 2.0, 3.0, 4.0])
    energy = 100.0 * rest.integ()
    for share in (0.0, 0.3, 0.5, 1.0):
        assert open_circuit_v(bank(), share) == pytest.approx(rest(share), rel=1e-14)
        assert stored_wh(bank(), np.array(100.0 * share)) == pytest.approx(energy(share))
    for low, high in ((0.0, 1.0), (0.2, 0.7), (0.9, 0.3)):
        wanted = (energy(high) - energy(low)) / (100.0 * (high - low))
        assert mean_v(bank(), 100.0 * low, 100.0 * high) == pytest.approx(wanted, rel=1e-14)


@pytest.mark.parametrize(
    ("temp_c", "floor_ah"),
    [
        (40.0, 10.0),  # warm: .95 + .08 > 1, and the cut-off is higher than nothing
        (20.0, 10.0),  # .99 left: still below the cut-off of 10 %
        (5.0, 10.0),  # .95 + .05 and .95 + .01: least is .95
        (0.0, 10.0),  # exactly the cut-off
        (-1.0, 11.0),  # .9 - .01 of the middle line
        (-4.0, 14.0),  # both lower lines meet here: .86
        (-10.0, 26.0),  # .94 - .20 of the coldest line
        (-60.0, 100.0),  # nothing can be drawn, and no more than nothing
    ],
)
def test_cold_raises_the_floor(temp_c: float, floor_ah: float) -> None:
    assert reachable_floor_ah(bank(), temp_c) == pytest.approx(floor_ah, abs=1e-9)


def test_the_warm_line_can_be_the_least() -> None:
    cut = bank(warm_frac=0.5, warm_slope=0.01, cutoff_frac=0.0)
    assert reachable_floor_ah(cut, 20.0) == pytest.approx(30.0)
    assert reachable_floor_ah(cut, 80.0) == 0.0


@pytest.mark.parametrize(
    ("temp_c", "locked", "allowed", "then"),
    [
        (-1.0, 0.0, 0.0, 1.0),
        (0.0, 0.0, 0.0, 1.0),  # at the cut: shut
        (1.0, 0.0, 0.28, 0.0),  # from .2 at 0 C to 1 at 10 C
        (1.0, 1.0, 0.0, 1.0),  # once locked, locked until 2 C
        (2.0, 1.0, 0.36, 0.0),
        (5.0, 0.0, 0.6, 0.0),
        (10.0, 1.0, 1.0, 0.0),
        (30.0, 0.0, 1.0, 0.0),
    ],
)
def test_the_cold_gate(temp_c: float, locked: float, allowed: float, then: float) -> None:
    assert cold_gate(bank(), temp_c, locked) == pytest.approx((allowed, then))


def test_a_gate_without_a_ramp_is_open_or_shut() -> None:
    sharp = bank(cold_ramp_c=0.0, cold_release_c=0.0, cold_start_frac=0.0)
    assert cold_gate(sharp, 0.0, 1.0) == (0.0, 1.0)
    assert cold_gate(sharp, 0.0005, 1.0) == pytest.approx((0.5, 0.0))  # within a thousandth
    assert cold_gate(sharp, 0.002, 1.0) == (1.0, 0.0)
    none = bank(cold_cut_c=-300.0, cold_release_c=-300.0, cold_ramp_c=-300.0, cold_start_frac=1.0)
    assert cold_gate(none, -40.0, 0.0) == (1.0, 0.0)


@pytest.mark.parametrize("charge_ah", [10.0, 55.0, 65.0, 80.0, 95.0, 99.0])
@pytest.mark.parametrize("amps", [0.0, 2.0, 10.0])
def test_efficiency_in_the_middle_of_the_hour(charge_ah: float, amps: float) -> None:
    """The middle of the hour lies at q + eta h, with h half of what flows: a linear equation."""
    half_ah = 0.5 * min(amps, (100.0 - charge_ah) / 0.8)
    per_ah, knee, slope = 0.01, 0.6, 0.5
    wanted = (0.9 - slope * (charge_ah * per_ah - knee)) / (1.0 + slope * half_ah * per_ah)
    if charge_ah + wanted * half_ah <= 60.0:
        wanted = 0.9
    # Two steps of a fixed point with a factor of slope h / C, at most 0.025.
    assert charge_efficiency(bank(), charge_ah, amps) == pytest.approx(wanted, abs=0.025**3)


def test_efficiency_beyond_full_is_that_of_full() -> None:
    assert charge_efficiency(bank(), 100.0, 5.0) == pytest.approx(0.9 - 0.5 * 0.4)
    assert charge_efficiency(bank(), 130.0, 5.0) == pytest.approx(0.9 - 0.5 * 0.4)


@pytest.mark.parametrize("charge_ah", [20.0, 75.0, 84.0, 95.0, 99.9])
@pytest.mark.parametrize("offered_a", [1.0, 20.0, 60.0])
@pytest.mark.parametrize("eta", [1.0, 0.8])
def test_acceptance_against_small_steps(charge_ah: float, offered_a: float, eta: float) -> None:
    """Current is the least of the offer and the missing charge over tau, in steps of a second."""
    charge, into, step_h = charge_ah, 0.0, 1.0 / 20_000
    for _ in range(20_000):
        amps = min(offered_a, (100.0 - charge) / 0.8)
        charge += eta * amps * step_h
        into += amps * step_h
    assert accepted_a(bank(), charge_ah, offered_a, eta) == pytest.approx(into, rel=2e-4)


def test_nothing_is_accepted_without_offer_or_room() -> None:
    assert accepted_a(bank(), 50.0, 0.0, 0.9) == 0.0
    assert accepted_a(bank(), 50.0, -1.0, 0.9) == 0.0
    assert accepted_a(bank(), 100.0, 20.0, 0.9) == 0.0
    assert accepted_a(bank(), 120.0, 20.0, 0.9) == 0.0
    at_once = bank(acceptance_h=1e-6)
    assert accepted_a(at_once, 90.0, 30.0, 0.8) == pytest.approx(12.5, rel=1e-5)


@pytest.mark.parametrize("net_w", [-1400.0, -300.0, -1.0, 0.0, 1.0, 500.0])
def test_the_current_carries_the_power(net_w: float) -> None:
    amps = signed_a(12.0, 0.02, net_w)
    assert (12.0 + amps * 0.02) * amps == pytest.approx(net_w, abs=1e-9)
    assert signed_a(12.0, 0.0, net_w) == pytest.approx(net_w / 12.0, rel=1e-12)


def test_no_more_power_than_the_resistance_lets_through() -> None:
    """V^2 / 4 R at V / 2 R: 1,800 W at 300 A."""
    assert signed_a(12.0, 0.02, -1800.0) == pytest.approx(-300.0, rel=1e-6)


def test_beyond_that_rounding_does_not_show() -> None:
    """The root is that of 0; of what rounding leaves beside 0 it would be 1e-8 of the volts."""
    rng = np.random.default_rng(3)
    for volts, ohm in rng.uniform((10.0, 1e-3), (60.0, 0.1), (500, 2)):
        most_a = volts / 2.0 / ohm
        assert signed_a(volts, ohm, -2e6) == pytest.approx(-most_a, rel=1e-14)
        assert drawn_a(2e6, volts, ohm) == pytest.approx(most_a, rel=1e-14)


def wells_after(charge_ah: float, available_ah: float, amps: float) -> tuple[float, float]:
    """Two wells (share .4, levels that part at a rate of ln(1 / .7) an hour) in small steps."""
    rate, steps = -math.log(0.7), 100_000
    first, second = available_ah, charge_ah - available_ah
    for _ in range(steps):
        flow = rate * (0.4 * second - 0.6 * first)
        first += (flow - amps) / steps
        second -= flow / steps
    return first + second, first


def wells_bank(**changes: float) -> Bank:
    rate = -math.log(0.7)
    spread = 0.3 / rate
    return bank(well_drain=spread + 0.4 * (1.0 - spread), **changes)


@pytest.mark.parametrize(("charge_ah", "available_ah", "floor_ah"), [(80, 30, 10), (60, 10, 0)])
def test_drawing_ends_at_the_first_wells_floor(
    charge_ah: float, available_ah: float, floor_ah: float
) -> None:
    amps = drawable_a(wells_bank(), charge_ah, available_ah, floor_ah)
    assert 0.0 < amps < charge_ah - floor_ah
    charge, first = wells_after(charge_ah, available_ah, amps)
    assert first == pytest.approx(0.4 * floor_ah, abs=1e-3)
    after = after_an_hour_ah(wells_bank(), charge_ah, available_ah, -amps)
    assert after == pytest.approx(first, abs=1e-3)
    assert charge == pytest.approx(charge_ah - amps)


def test_what_can_be_drawn_without_wells_or_charge() -> None:
    one = bank(available_frac=1.0, well_decay=1.0, well_drain=1.0)
    assert drawable_a(one, 80.0, 80.0, 10.0) == 70.0
    assert drawable_a(one, 5.0, 5.0, 10.0) == 0.0
    assert drawable_a(wells_bank(), 12.0, 12.0, 10.0) == pytest.approx(2.0)  # the whole limits
    assert drawable_a(wells_bank(), 50.0, 0.0, 40.0) == 0.0


def test_the_first_well_holds_no_less_than_nothing_and_no_more_than_its_share() -> None:
    assert after_an_hour_ah(wells_bank(), 90.0, 35.0, 80.0) == pytest.approx(40.0)
    assert after_an_hour_ah(wells_bank(), 30.0, 5.0, -60.0) == 0.0
    _, first = wells_after(50.0, 10.0, -5.0)
    assert after_an_hour_ah(wells_bank(), 50.0, 10.0, 5.0) == pytest.approx(first, abs=1e-3)


def test_the_level_that_a_load_sees() -> None:
    assert level_ah(bank(), 80.0, 20.0) == pytest.approx(50.0)
    assert level_ah(bank(), 80.0, 36.0) == 80.0
    assert level_ah(bank(available_frac=1.0), 80.0, 20.0) == 80.0


def test_the_bank_follows_what_is_around() -> None:
    """A quarter of the cabin's 16 C, three of -4 C: 1 C; three quarters of 8 K are left."""
    assert unheated_c(bank(), 9.0, 16.0, -4.0) == pytest.approx(7.0)
    assert unheated_c(bank(inside_frac=1.0), 16.0, 16.0, -4.0) == pytest.approx(16.0)
    assert unheated_c(bank(inside_frac=0.0), -4.0, 16.0, -4.0) == pytest.approx(-4.0)


@pytest.mark.parametrize(
    ("unheated", "watts"), [(9.0, 0.0), (5.0, 0.0), (3.0, 20.0), (-1.0, 60.0), (-30.0, 60.0)]
)
def test_the_pad_takes_what_it_needs(unheated: float, watts: float) -> None:
    assert pad_wanted_w(bank(), unheated) == pytest.approx(watts)


def test_a_bank_of_endless_mass_is_heated_in_vain() -> None:
    assert pad_wanted_w(bank(pad_lift_k_per_w=0.0), 4.0) == 60.0


@pytest.mark.parametrize(
    ("charge_ah", "net_w", "end_ah"),
    [
        (50.0, 0.0, 50.0),
        (50.0, 5000.0, 80.0),  # the charge limit
        (90.0, 5000.0, 100.0),  # the top
        (80.0, -9e9, 30.0),  # the discharge limit
        (40.0, -9e9, 12.0),  # the floor
        (8.0, -300.0, 8.0),  # below the floor nothing moves
    ],
)
def test_the_voltage_expected(charge_ah: float, net_w: float, end_ah: float) -> None:
    """Averaged from the charge now to where the power would bring it."""
    wanted = mean_v(bank(), charge_ah, end_ah) if end_ah != charge_ah else None
    if wanted is None:
        wanted = open_circuit_v(bank(), charge_ah / 100.0)
    assert expected_v(bank(), charge_ah, net_w, 12.0) == pytest.approx(wanted, rel=1e-12)


def test_the_overvoltage_enters_the_voltage_expected_only_on_charge() -> None:
    volts = open_circuit_v(bank(), 0.5)
    into = signed_a(volts + 0.8, 0.02, 200.0)
    assert expected_v(bank(), 50.0, 200.0, 0.0) == pytest.approx(mean_v(bank(), 50.0, 50.0 + into))
    out = signed_a(volts, 0.02, -200.0)
    assert expected_v(bank(), 50.0, -200.0, 0.0) == pytest.approx(mean_v(bank(), 50.0, 50.0 + out))


GENTLE = {"v0": 12.0, "v1": 0.6, "v2": 0.3, "v3": 0.2}  # as steep as real banks


def hour(changes: dict[str, float], charge_ah: float, net_w: float, gate: float = 1.0) -> Any:
    one = bank(available_frac=1.0, well_decay=1.0, well_drain=1.0, **GENTLE, **changes)
    volts = expected_v(one, charge_ah, net_w, 10.0)
    return exchange(one, charge_ah, charge_ah, net_w, gate, 10.0, volts)


def test_an_hour_of_charging() -> None:
    """Below the knee, no leak: each figure from its own cause."""
    new, available, into, out, accepted, delivered, loss = hour(
        {"self_discharge_per_h": 0.0}, 30.0, 250.0
    )
    volts = mean_v(bank(**GENTLE), 30.0, new)
    assert new == available == pytest.approx(30.0 + 0.9 * into)
    assert (out, delivered) == (0.0, 0.0)
    assert accepted == pytest.approx(into * (volts + 0.8 + into * 0.02), rel=1e-12)
    assert accepted == pytest.approx(250.0, rel=1e-3)
    assert loss == pytest.approx(into * into * 0.02 + 0.1 * into * volts + 0.8 * into, rel=1e-12)


def test_an_hour_of_discharging() -> None:
    new, _, into, out, accepted, delivered, loss = hour({"self_discharge_per_h": 0.0}, 70.0, -250.0)
    volts = mean_v(bank(**GENTLE), 70.0, new)
    assert new == pytest.approx(70.0 - out)
    assert (into, accepted) == (0.0, 0.0)
    assert delivered == pytest.approx(out * (volts - out * 0.02), rel=1e-12)
    assert delivered == pytest.approx(250.0, rel=1e-3)
    assert loss == pytest.approx(out * out * 0.02, rel=1e-12)


def test_an_idle_hour_only_leaks() -> None:
    new, available, into, out, accepted, delivered, loss = hour({}, 70.0, 0.0)
    assert new == available == pytest.approx(70.0 * 0.999)
    assert (into, out, accepted, delivered) == (0.0, 0.0, 0.0, 0.0)
    gone = stored_wh(bank(**GENTLE), np.array([70.0, new]))
    assert loss == pytest.approx(gone[0] - gone[1], rel=1e-7)


def test_limits_of_an_hour() -> None:
    assert hour({}, 20.0, 9000.0)[2] == pytest.approx(30.0)
    assert hour({}, 20.0, 9000.0, gate=0.5)[2] == pytest.approx(15.0)
    assert hour({}, 20.0, 9000.0, gate=0.0)[2] == 0.0
    assert hour({}, 90.0, -9000.0)[3] == pytest.approx(50.0)
    assert hour({}, 30.0, -9000.0)[3] == pytest.approx(20.0)
    low = hour({}, 5.0, -100.0)
    assert low[3] == 0.0
    assert low[0] == pytest.approx(5.0 * 0.999)


def test_the_warm_line_gives_no_more_than_all() -> None:
    """With the colder lines out of the way only the cap of 1 is left."""
    warm = bank(warm_frac=1.5, cool_frac=1.4, cold_frac=1.4, cutoff_frac=0.0)
    assert reachable_floor_ah(warm, 0.0) == 0.0
    assert charge_efficiency(bank(), 130.0, 0.0) == pytest.approx(0.7)
    assert cold_gate(bank(cold_cut_c=-5.0), 2.5, 0.0)[0] == pytest.approx(0.2 + 0.8 * 0.5)
    assert expected_v(bank(), 50.0, 0.5, 0.0) != expected_v(bank(charge_over_v=0.0), 50.0, 0.5, 0.0)


@pytest.mark.parametrize(
    ("net_w", "amps", "over"),
    [
        (0.0, 0.0, 0.0),
        (150.0, 10.0, 1.0),
        (7.5, 0.5, 0.5),  # half of the hundredth at which the overvoltage is all there
        (6000.0, 30.0, 1.0),  # the bank's own limit
        (-150.0, -10.0, 0.0),
        (-6000.0, -50.0, 0.0),
    ],
)
def test_volts_at_the_terminals(net_w: float, amps: float, over: float) -> None:
    """Of a bank with 15 V at rest, 100 Ah, 0.8 V over on charge and 0.02 ohm."""
    plain = bank(v0=15.0, v1=0.0, v2=0.0, v3=0.0)
    found = terminal_v(plain, 0.5, net_w)
    assert found == pytest.approx(15.0 + over * 0.8 + amps * 0.02, abs=1e-12)


def test_a_nearly_full_bank_takes_what_it_accepts() -> None:
    """Of 100 Ah 2 are missing; over 0.8 hours that are 2.5 A at most."""
    plain = bank(v0=15.0, v1=0.0, v2=0.0, v3=0.0)
    assert terminal_v(plain, 0.98, 600.0) == pytest.approx(15.0 + 0.8 + 2.5 * 0.02)
    assert terminal_v(plain, 1.0, 600.0) == 15.0
    assert terminal_v(plain, 1.1, 600.0) == 15.0
