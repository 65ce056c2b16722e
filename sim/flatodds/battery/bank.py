"""One hour of a battery bank: charge in ampere-hours, energy and amperes that agree.

The state is the charge q [Ah] of the whole bank. Its stored energy is the integral of the
open-circuit voltage over charge, E(q), so power P at the terminals and mean current I obey
P = (V -/+ I R) I with V = dE/dq averaged over the hour (and, charging, a constant
overvoltage above it), and every loss is computed from its cause (resistance, overvoltage,
coulombic inefficiency, self-discharge), never as a remainder.

Part of the charge of lead is *available*, the rest *bound*: fast discharge empties the
available well before the bound one can follow (`flatodds.battery.kinetic` has the fit).
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from flatodds.lanes import exp_neg, inlined

Array = npt.NDArray[np.floating]

FULL_FRAC = 0.98  # a bank this full counts as full: common practice, no source
OVER_FROM_C_RATE = 0.01  # current at which the overvoltage is all there: judgement


class Bank(NamedTuple):
    """What one hour needs to know of one bank; all values are of the whole bank as wired.

    Scalars inside the kernel, arrays of any one shape outside it. The open-circuit voltage
    is v0 + v1 s + v2 s^2 + v3 s^3 at charge fraction s; capacity at bank temperature T is
    the least of 1 and three lines in T.
    """

    capacity_ah: float
    v0: float
    v1: float
    v2: float
    v3: float
    resistance_ohm: float
    charge_efficiency: float  # coulombic, ampere-hours stored per ampere-hour charged [1]
    charge_limit_a: float
    discharge_limit_a: float
    acceptance_h: float  # tau of "current <= missing ampere-hours / tau" [h]
    cutoff_frac: float
    reconnect_frac: (
        float  # charge at which loads come back, while cold does not raise the floor [1]
    )
    self_discharge_per_h: float
    cold_cut_c: float  # below this no charge is accepted [deg C]
    cold_release_c: float  # and not again until this [deg C]
    cold_ramp_c: float  # full charge current from this temperature on [deg C]
    warm_frac: float  # capacity line 1 at 25 deg C: intercept at 0 deg C [1]
    warm_slope: float  # [1/K]
    cool_frac: float
    cool_slope: float
    cold_frac: float
    cold_slope: float
    lag_decay: float  # share of the bank's temperature difference left after an hour [1]
    inside_frac: float  # 1 in the cabin, 0 in the outside air [1]
    cold_start_frac: float  # share of the charge current just above the cut [1]
    charge_over_v: float  # terminals above the rest voltage while charging, at any current [V]
    knee_frac: float  # charge from which the charge efficiency falls [1]
    knee_slope: float  # and by how much for each share of charge beyond [1]
    available_frac: float  # share of the charge that is at once available; 1: no rate effect
    well_decay: float  # share of the wells' difference in level left after an hour [1]
    well_drain: float  # fall of the available charge in an hour of 1 A [Ah]
    pad_w: float  # heating pad [W]
    pad_set_c: float  # temperature it keeps [deg C]
    pad_lift_k_per_w: float  # warming of the bank by an hour of 1 W [K]
    pad_always: float  # 1: a load like any other; 0: only what would charge feeds it


@inlined
def pick_bank(table: Array, design: int) -> Bank:
    """Scalars of one design out of a table (field, design) in the order of `Bank`.

    One table instead of two dozen arrays: every array handed to a compiled function costs
    compile time (measured).
    """
    return Bank(
        table[0, design],
        table[1, design],
        table[2, design],
        table[3, design],
        table[4, design],
        table[5, design],
        table[6, design],
        table[7, design],
        table[8, design],
        table[9, design],
        table[10, design],
        table[11, design],
        table[12, design],
        table[13, design],
        table[14, design],
        table[15, design],
        table[16, design],
        table[17, design],
        table[18, design],
        table[19, design],
        table[20, design],
        table[21, design],
        table[22, design],
        table[23, design],
        table[24, design],
        table[25, design],
        table[26, design],
        table[27, design],
        table[28, design],
        table[29, design],
        table[30, design],
        table[31, design],
        table[32, design],
        table[33, design],
        table[34, design],
    )


@inlined
def open_circuit_v(bank: Bank, charge_frac: float) -> float:
    """Rest voltage of the bank [V] at a charge fraction."""
    s = charge_frac
    return bank.v0 + s * (bank.v1 + s * (bank.v2 + s * bank.v3))


@inlined
def mean_v(bank: Bank, from_ah: float, to_ah: float) -> float:
    """Open-circuit voltage averaged over charge between two states [V].

    Simpson's rule, exact for the cubic, so mean_v * (to - from) is the change of E(q)
    without subtracting two large energies.
    """
    f = type(from_ah)
    per_ah = f(1.0) / bank.capacity_ah
    start = open_circuit_v(bank, from_ah * per_ah)
    middle = open_circuit_v(bank, f(0.5) * (from_ah + to_ah) * per_ah)
    end = open_circuit_v(bank, to_ah * per_ah)
    return (start + f(4.0) * middle + end) * f(1.0 / 6.0)


@inlined
def charge_efficiency(bank: Bank, charge_ah: float, amps: float) -> float:
    """Coulombic efficiency of an hour of charging, at the charge in the middle of it [1].

    The middle depends on the efficiency, and is found in two steps.

    Constant up to the knee, then falling in a straight line: near full, lead makes gas of
    an ever larger part of the current.
    """
    f = type(charge_ah)
    missing_ah = max(bank.capacity_ah - charge_ah, f(0.0))
    half_ah = f(0.5) * min(amps, missing_ah * (f(1.0) / bank.acceptance_h))
    per_ah = f(1.0) / bank.capacity_ah
    beyond = max(min(charge_ah * per_ah, f(1.0)) - bank.knee_frac, f(0.0))
    first = bank.charge_efficiency - bank.knee_slope * beyond
    middle = min((charge_ah + first * half_ah) * per_ah, f(1.0))
    second = bank.charge_efficiency - bank.knee_slope * max(middle - bank.knee_frac, f(0.0))
    middle = min((charge_ah + second * half_ah) * per_ah, f(1.0))
    return bank.charge_efficiency - bank.knee_slope * max(middle - bank.knee_frac, f(0.0))


@inlined
def accepted_a(bank: Bank, charge_ah: float, offered_a: float, eta: float) -> float:
    """Mean current the bank accepts in an hour in which `offered_a` is on offer [A].

    The ampere-hour rule (Woodbridge 1935): current never exceeds the missing charge over
    tau. Constant current until it meets that line, exponential after, both integrated
    exactly over the hour. `eta` is the hour's coulombic efficiency.
    """
    f = type(charge_ah)
    tau = bank.acceptance_h
    per_eta = f(1.0) / eta
    current = max(offered_a, f(1e-9))
    missing = max(bank.capacity_ah - charge_ah, f(0.0))
    bulk_h = min(max((missing / current - tau) * per_eta, f(0.0)), f(1.0))
    tail_ah = min(missing, current * tau)
    tail = tail_ah * (f(1.0) - exp_neg((f(1.0) - bulk_h) * (eta / tau)))
    mean = current * bulk_h + tail * per_eta
    return min(mean, missing * per_eta) if offered_a > f(0.0) else f(0.0)


@inlined
def signed_a(volts: float, resistance_ohm: float, net_w: float) -> float:
    """Find the current that carries a power at the terminals [A]; positive charges.

    Solves P = (V + I R) I. More power than the resistance lets through gives the current
    of the most that it does: the root of 0, which rounding must not make the root of 1e-14.
    """
    f = type(volts)
    least_w = -volts * volts * (f(1.0) / max(f(4.0) * resistance_ohm, f(1e-9)))
    able_w = max(net_w, least_w)
    root = math.sqrt(max(volts * volts + f(4.0) * resistance_ohm * net_w, f(0.0)))
    return f(2.0) * able_w / (volts + f(root))


@inlined
def terminal_v(bank: Bank, charge_frac: float, net_w: float) -> float:
    """Voltage at the terminals [V] with about that power going in (or, negative, coming out).

    The current is first-order, and kept within the bank's limits and its acceptance. The
    overvoltage rises with the first `OVER_FROM_C_RATE` of current, so that a controller's
    sun has no step where sun and loads balance.
    """
    f = type(charge_frac)
    zero = f(0.0)
    volts = open_circuit_v(bank, charge_frac)
    missing_ah = max(f(1.0) - charge_frac, zero) * bank.capacity_ah
    most_in_a = min(bank.charge_limit_a, missing_ah * (f(1.0) / bank.acceptance_h))
    amps = min(max(net_w * (f(1.0) / volts), -bank.discharge_limit_a), most_in_a)
    rises = max(amps, zero) * (f(1.0 / OVER_FROM_C_RATE) / bank.capacity_ah)
    return volts + min(rises, f(1.0)) * bank.charge_over_v + amps * bank.resistance_ohm


@inlined
def drawable_a(bank: Bank, charge_ah: float, available_ah: float, floor_ah: float) -> float:
    """Steady current that in an hour brings the bank just down to its floor [A].

    Two wells (Manwell and McGowan 1993, closed form): loads draw from the available one,
    the bound one flows after. What cannot be drawn lies at the bottom of both.
    """
    f = type(charge_ah)
    share = bank.available_frac
    without = available_ah * bank.well_decay + share * charge_ah * (f(1.0) - bank.well_decay)
    quick = (without - share * floor_ah) * (f(1.0) / bank.well_drain)
    slow = charge_ah - floor_ah
    return max(min(quick, slow) if share < f(1.0) else slow, f(0.0))


@inlined
def after_an_hour_ah(bank: Bank, charge_ah: float, available_ah: float, change_ah: float) -> float:
    """Available charge after an hour in which the whole charge changed steadily [Ah].

    Charging fills the available well first; what it cannot hold goes on to the bound one.
    """
    f = type(charge_ah)
    share = bank.available_frac
    mixed = available_ah * bank.well_decay + share * charge_ah * (f(1.0) - bank.well_decay)
    return min(max(mixed + change_ah * bank.well_drain, f(0.0)), share * bank.capacity_ah)


@inlined
def level_ah(bank: Bank, charge_ah: float, available_ah: float) -> float:
    """Charge the bank seems to have to whoever draws from it [Ah]: the lower of two levels."""
    share = bank.available_frac
    seems = min(charge_ah, available_ah * (type(charge_ah)(1.0) / share))
    return seems if share < type(charge_ah)(1.0) else charge_ah


@inlined
def expected_v(bank: Bank, charge_ah: float, net_w: float, floor_ah: float) -> float:
    """First estimate of the hour's mean open-circuit voltage [V]."""
    per_ah = type(charge_ah)(1.0) / bank.capacity_ah
    volts = open_circuit_v(bank, charge_ah * per_ah)
    over = bank.charge_over_v if net_w > type(charge_ah)(0.0) else type(charge_ah)(0.0)
    amps = signed_a(volts + over, bank.resistance_ohm, net_w)
    amps = min(max(amps, -bank.discharge_limit_a), bank.charge_limit_a)
    ends = min(max(charge_ah + amps, min(charge_ah, floor_ah)), bank.capacity_ah)
    return mean_v(bank, charge_ah, ends)


@inlined
def exchange(
    bank: Bank,
    charge_ah: float,
    available_ah: float,
    net_w: float,
    gate: float,
    floor_ah: float,
    volts: float,
) -> tuple[float, float, float, float, float, float, float]:
    """Charge or discharge the bank for one hour.

    Parameters
    ----------
    bank : Bank
        Scalars of one bank.
    charge_ah, available_ah : float
        Charge at the start of the hour, and the part of it that is at once available [Ah].
    net_w : float
        Power offered to (positive) or wanted from (negative) the terminals [W].
    gate : float
        Share of the charge current that the cold gate allows [1].
    floor_ah : float
        Charge below which nothing can be drawn [Ah].
    volts : float
        First estimate of the mean open-circuit voltage, from `expected_v` [V].

    Returns
    -------
    charge_ah, available_ah, charge_a, discharge_a, accepted_w, delivered_w, loss_w : float
        New charges, mean currents, powers at the terminals and power lost inside. Powers are
        those that the currents make at the hour's true mean voltage, so the energy balance
        is exact; against the wanted power they are off by the second step of a fast fixed
        point, below 1e-4.
    """
    amps, eta = offered_a(bank, charge_ah, net_w, gate, volts)
    into = accepted_a(bank, charge_ah, max(amps, type(charge_ah)(0.0)), eta)
    return settled(bank, charge_ah, available_ah, net_w, floor_ah, amps, eta, into)


@inlined
def offered_a(
    bank: Bank, charge_ah: float, net_w: float, gate: float, volts: float
) -> tuple[float, float]:
    """Find the current on offer or, negative, wanted [A], and the coulombic efficiency [1].

    `volts` is a first estimate of the hour's mean open-circuit voltage.
    """
    zero = type(charge_ah)(0.0)
    over = bank.charge_over_v if net_w > zero else zero
    amps = signed_a(volts + over, bank.resistance_ohm, net_w)
    amps = min(amps, bank.charge_limit_a * gate)
    return amps, charge_efficiency(bank, charge_ah, max(amps, zero))


@inlined
def settled(
    bank: Bank,
    charge_ah: float,
    available_ah: float,
    net_w: float,
    floor_ah: float,
    amps: float,
    eta: float,
    into: float,
) -> tuple[float, float, float, float, float, float, float]:
    """Close the hour of `exchange`, whose results these are, with a known charge current.

    `amps` and `eta` are from `offered_a`, `into` from `accepted_a`.
    """
    f = type(charge_ah)
    zero = f(0.0)
    over = bank.charge_over_v if net_w > zero else zero
    most_out = min(bank.discharge_limit_a, drawable_a(bank, charge_ah, available_ah, floor_ah))
    out = min(max(-amps, zero), most_out)
    new = charge_ah + eta * into - out
    available = after_an_hour_ah(bank, charge_ah, available_ah, eta * into - out)
    volts = mean_v(bank, charge_ah, new)
    accepted = into * (volts + over + into * bank.resistance_ohm)
    delivered = out * (volts - out * bank.resistance_ohm)
    loss = (into * into + out * out) * bank.resistance_ohm + (f(1.0) - eta) * into * volts
    loss += into * over
    leak = new * bank.self_discharge_per_h
    middle = (new - f(0.5) * leak) * (f(1.0) / bank.capacity_ah)
    loss += leak * open_circuit_v(bank, middle)
    available -= available * bank.self_discharge_per_h
    return new - leak, available, into, out, accepted, delivered, loss


def stored_wh(bank: Bank, charge_ah: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Energy E(q) of a charge above empty, any shape [Wh]; bank fields broadcast to it."""
    s = charge_ah / bank.capacity_ah
    return np.asarray(
        bank.capacity_ah
        * s
        * (bank.v0 + s * (bank.v1 / 2.0 + s * (bank.v2 / 3.0 + s * bank.v3 / 4.0))),
        dtype=np.float64,
    )
