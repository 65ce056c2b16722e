"""One hour of a battery bank: charge in ampere-hours, energy and amperes that agree.

The state is the charge q [Ah] of the whole bank. Its stored energy is the integral of the
open-circuit voltage over charge, E(q), so power P at the terminals and mean current I obey
P = (V -/+ I R) I with V = dE/dq averaged over the hour, and every loss is computed from its
cause (resistance, coulombic inefficiency, self-discharge), never as a remainder.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from flatodds.lanes import exp_neg, inlined

Array = npt.NDArray[np.floating]


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
def reachable_floor_ah(bank: Bank, temp_c: float) -> float:
    """Charge below which nothing can be drawn: cut-off, or what cold makes unreachable [Ah].

    Cold never shrinks the charge itself (that would create and destroy energy); it raises
    the floor.
    """
    f = type(temp_c)
    warm = min(f(1.0), bank.warm_frac + bank.warm_slope * temp_c)
    cool = min(bank.cool_frac + bank.cool_slope * temp_c, bank.cold_frac + bank.cold_slope * temp_c)
    share = max(f(0.0), min(warm, cool))
    return bank.capacity_ah * max(bank.cutoff_frac, f(1.0) - share)


@inlined
def cold_gate(bank: Bank, temp_c: float, locked: float) -> tuple[float, float]:
    """Share of the charge current allowed [0 to 1], and the lock's new state (0 or 1).

    No charge at or below the cut; once locked, none until the release temperature; from
    the cut to the ramp's end the allowance rises linearly from its start to all.
    """
    f = type(temp_c)
    shut = f(1.0) if temp_c <= bank.cold_cut_c else f(0.0)
    hold = locked if temp_c < bank.cold_release_c else f(0.0)
    now_locked = max(shut, hold)
    width = max(bank.cold_ramp_c - bank.cold_cut_c, f(1e-3))
    rise = (temp_c - bank.cold_cut_c) * (f(1.0) / width)
    least = bank.cold_start_frac
    allowance = min(max(least + (f(1.0) - least) * rise, f(0.0)), f(1.0))
    return allowance * (f(1.0) - now_locked), now_locked


@inlined
def accepted_a(bank: Bank, charge_ah: float, offered_a: float) -> float:
    """Mean current the bank accepts in an hour in which `offered_a` is on offer [A].

    The ampere-hour rule (Woodbridge 1935): current never exceeds the missing charge over
    tau. Constant current until it meets that line, exponential after, both integrated
    exactly over the hour.
    """
    f = type(charge_ah)
    eta = bank.charge_efficiency
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
    of the most that it does.
    """
    f = type(volts)
    least_w = -volts * volts * (f(1.0) / max(f(4.0) * resistance_ohm, f(1e-9)))
    able_w = max(net_w, least_w)
    root = math.sqrt(max(volts * volts + f(4.0) * resistance_ohm * able_w, f(0.0)))
    return f(2.0) * able_w / (volts + f(root))


@inlined
def expected_v(bank: Bank, charge_ah: float, net_w: float, floor_ah: float) -> float:
    """First estimate of the hour's mean open-circuit voltage [V]."""
    per_ah = type(charge_ah)(1.0) / bank.capacity_ah
    volts = open_circuit_v(bank, charge_ah * per_ah)
    amps = signed_a(volts, bank.resistance_ohm, net_w)
    amps = min(max(amps, -bank.discharge_limit_a), bank.charge_limit_a)
    ends = min(max(charge_ah + amps, min(charge_ah, floor_ah)), bank.capacity_ah)
    return mean_v(bank, charge_ah, ends)


@inlined
def exchange(
    bank: Bank, charge_ah: float, net_w: float, gate: float, floor_ah: float, volts: float
) -> tuple[float, float, float, float, float, float]:
    """Charge or discharge the bank for one hour.

    Parameters
    ----------
    bank : Bank
        Scalars of one bank.
    charge_ah : float
        Charge at the start of the hour [Ah].
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
    charge_ah, charge_a, discharge_a, accepted_w, delivered_w, loss_w : float
        New charge, mean currents, powers at the terminals and power lost inside. Powers are
        those that the currents make at the hour's true mean voltage, so the energy balance
        is exact; against the wanted power they are off by the second step of a fast fixed
        point, below 1e-4.
    """
    f = type(charge_ah)
    zero = f(0.0)
    amps = signed_a(volts, bank.resistance_ohm, net_w)
    into = accepted_a(bank, charge_ah, min(max(amps, zero), bank.charge_limit_a * gate))
    most_out = min(bank.discharge_limit_a, max(charge_ah - floor_ah, zero))
    out = min(max(-amps, zero), most_out)
    new = charge_ah + bank.charge_efficiency * into - out
    volts = mean_v(bank, charge_ah, new)
    accepted = into * (volts + into * bank.resistance_ohm)
    delivered = out * (volts - out * bank.resistance_ohm)
    loss = (into * into + out * out) * bank.resistance_ohm + (
        f(1.0) - bank.charge_efficiency
    ) * into * volts
    leak = new * bank.self_discharge_per_h
    middle = (new - f(0.5) * leak) * (f(1.0) / bank.capacity_ah)
    loss += leak * open_circuit_v(bank, middle)
    return new - leak, into, out, accepted, delivered, loss


def stored_wh(bank: Bank, charge_ah: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Energy E(q) of a charge above empty, any shape [Wh]; bank fields broadcast to it."""
    s = charge_ah / bank.capacity_ah
    return np.asarray(
        bank.capacity_ah
        * s
        * (bank.v0 + s * (bank.v1 / 2.0 + s * (bank.v2 / 3.0 + s * bank.v3 / 4.0))),
        dtype=np.float64,
    )
