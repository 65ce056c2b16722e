"""Plain-Python twin, battery bank: one hour of charging or discharging.

The bank is a charge q [Ah] with a rest voltage that depends on charge alone and a resistance.
Power P at the terminals and current I obey P = (V + I R) I, I positive when charging and V
the rest voltage averaged over the charge passed, so that amperes and watts agree; on charge
a constant overvoltage comes on top. Lead keeps its charge in two wells: loads draw from the
available one, and the bound one follows too slowly for a fast discharge.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from flatodds.battery.bank import OVER_FROM_C_RATE, Bank

MOST_TIME_CONSTANTS = 16.0  # a taper counts as finished after this many (left: 1e-7); own choice


def bank_of(table: npt.NDArray[np.floating], case: int) -> Bank:
    """Bank of one case out of a table (field, case)."""
    return Bank(*table[:, case].tolist())


@dataclass(frozen=True, slots=True)
class Exchange:
    """What passed the terminals in one hour.

    Attributes
    ----------
    charge_ah, available_ah : float
        Charge at the hour's end, and the part of it that is at once available [Ah].
    into_a, out_a : float
        Mean charge and discharge currents [A].
    accepted_w, delivered_w : float
        Power taken and given at the terminals [W].
    loss_w : float
        Power lost in resistance, coulombic inefficiency and self-discharge [W].
    """

    charge_ah: float
    available_ah: float
    into_a: float
    out_a: float
    accepted_w: float
    delivered_w: float
    loss_w: float


def rest_v(bank: Bank, charge_ah: float) -> float:
    """Rest voltage at a charge [V]."""
    s = charge_ah / bank.capacity_ah
    return bank.v0 + bank.v1 * s + bank.v2 * s**2 + bank.v3 * s**3


def terminal_v(bank: Bank, charge_ah: float, net_w: float) -> float:
    """Voltage at the terminals with about that power going in, or coming out if negative [V]."""
    volts = rest_v(bank, charge_ah)
    if net_w <= 0.0:
        return volts - min(-net_w / volts, bank.discharge_limit_a) * bank.resistance_ohm
    taken_a = (bank.capacity_ah - charge_ah) / bank.acceptance_h
    amps = min(net_w / volts, bank.charge_limit_a, max(taken_a, 0.0))
    over_v = min(amps / (OVER_FROM_C_RATE * bank.capacity_ah), 1.0) * bank.charge_over_v
    return volts + over_v + amps * bank.resistance_ohm


def mean_rest_v(bank: Bank, from_ah: float, to_ah: float) -> float:
    """Rest voltage averaged over the charge between two states [V].

    The mean of s^n between a and b is (a^n + a^(n-1) b + ... + b^n) / (n + 1).
    """
    a, b = from_ah / bank.capacity_ah, to_ah / bank.capacity_ah
    return (
        bank.v0
        + bank.v1 * (a + b) / 2.0
        + bank.v2 * (a * a + a * b + b * b) / 3.0
        + bank.v3 * (a**3 + a * a * b + a * b * b + b**3) / 4.0
    )


def energy_wh(bank: Bank, charge_ah: float) -> float:
    """Energy stored above empty: rest voltage integrated over charge [Wh]."""
    return charge_ah * mean_rest_v(bank, 0.0, charge_ah)


def floor_ah(bank: Bank, temp_c: float) -> float:
    """Charge below which nothing can be drawn [Ah]: the cut-off, or what cold locks in."""
    lines = (
        bank.warm_frac + bank.warm_slope * temp_c,
        bank.cool_frac + bank.cool_slope * temp_c,
        bank.cold_frac + bank.cold_slope * temp_c,
    )
    reachable_frac = max(0.0, min(1.0, *lines))
    return bank.capacity_ah * max(bank.cutoff_frac, 1.0 - reachable_frac)


def is_locked(bank: Bank, temp_c: float, was_locked: bool) -> bool:
    """Whether cold bars charging: from the limit down, and then until the release."""
    return temp_c <= bank.cold_cut_c or (was_locked and temp_c < bank.cold_release_c)


def cold_allowance(bank: Bank, temp_c: float, locked: bool) -> float:
    """Share of the charge current allowed at a bank temperature [1]."""
    if locked:
        return 0.0
    width_k = max(bank.cold_ramp_c - bank.cold_cut_c, 1e-3)
    above = (temp_c - bank.cold_cut_c) / width_k
    return min(max(bank.cold_start_frac + (1.0 - bank.cold_start_frac) * above, 0.0), 1.0)


def efficiency_at(bank: Bank, charge_ah: float) -> float:
    """Part of the charging ampere-hours that stays [1], at a charge; it falls near full."""
    frac = min(charge_ah / bank.capacity_ah, 1.0)
    if frac <= bank.knee_frac:
        return bank.charge_efficiency
    return bank.charge_efficiency - bank.knee_slope * (frac - bank.knee_frac)


def efficiency(bank: Bank, charge_ah: float, amps: float) -> float:
    """Part of an hour's charging ampere-hours that stays [1], by the charge half-way through."""
    taken_a = min(amps, max(bank.capacity_ah - charge_ah, 0.0) / bank.acceptance_h)
    found = efficiency_at(bank, charge_ah)
    for _ in range(2):
        found = efficiency_at(bank, charge_ah + found * taken_a / 2.0)
    return found


def accepted_a(bank: Bank, charge_ah: float, offered_a: float, eta: float) -> float:
    """Mean current accepted in an hour with `offered_a` on offer, a part `eta` staying [A].

    Full current until it meets missing charge over tau, then the missing charge falls
    exponentially.
    """
    missing_ah = bank.capacity_ah - charge_ah
    if offered_a <= 0.0 or missing_ah <= 0.0:
        return 0.0
    tau_h = bank.acceptance_h
    bulk_h = (missing_ah - offered_a * tau_h) / (eta * offered_a)
    if bulk_h >= 1.0:
        return offered_a
    bulk_h = max(bulk_h, 0.0)
    missing_ah -= eta * offered_a * bulk_h
    constants = min((1.0 - bulk_h) * eta / tau_h, MOST_TIME_CONSTANTS)
    return offered_a * bulk_h + missing_ah * -math.expm1(-constants) / eta


def current_a(bank: Bank, volts: float, net_w: float) -> float:
    """Find the current that carries a power at the terminals [A]; positive charges.

    More power than the resistance lets through gives the current of the most that it does.
    """
    under_root = volts**2 + 4.0 * bank.resistance_ohm * net_w
    if under_root < 0.0:
        return -volts / (2.0 * bank.resistance_ohm)
    return 2.0 * net_w / (volts + math.sqrt(under_root))


@dataclass(frozen=True, slots=True)
class Wells:
    """Available and bound charge [Ah], and how quickly the one follows the other [1/h]."""

    share: float
    rate_per_h: float
    available_ah: float
    whole_ah: float

    def after_an_hour(self, draws_a: float) -> float:
        """Available charge after an hour of a steady draw [Ah] (Manwell and McGowan 1993)."""
        c, k = self.share, self.rate_per_h
        gone = -math.expm1(-k)
        follows = k * c * self.whole_ah - draws_a
        return self.available_ah * math.exp(-k) + follows * gone / k - draws_a * c * (k - gone) / k

    def most_a(self, floor_ah: float) -> float:
        """Steady draw that ends the hour with the available well at its floor [A].

        The available charge falls evenly with the draw, so two draws tell it.
        """
        without, with_one = self.after_an_hour(0.0), self.after_an_hour(1.0)
        return max((without - self.share * floor_ah) / (without - with_one), 0.0)


def wells_of(bank: Bank, charge_ah: float, available_ah: float) -> Wells | None:
    """Give the two wells of a bank, or None where all charge is at once available."""
    if bank.available_frac == 1.0:
        return None
    return Wells(bank.available_frac, -math.log(bank.well_decay), available_ah, charge_ah)


def seems_ah(bank: Bank, charge_ah: float, available_ah: float) -> float:
    """Charge as it seems to who draws: full wells of the available one's level [Ah]."""
    if bank.available_frac == 1.0:
        return charge_ah
    return min(charge_ah, available_ah / bank.available_frac)


def settled_ah(bank: Bank, wells: Wells | None, moved_ah: float) -> float:
    """Available charge after the hour [Ah]; charging fills the available well first."""
    if wells is None:
        return moved_ah
    available_ah = wells.after_an_hour(wells.whole_ah - moved_ah)
    return min(max(available_ah, 0.0), bank.available_frac * bank.capacity_ah)


def exchange(
    bank: Bank, charge_ah: float, available_ah: float, net_w: float, limits: tuple[float, float]
) -> Exchange:
    """Charge with (positive) or discharge by (negative) a power for one hour.

    `limits` holds the cold's share of the charge current, and the charge that cannot be
    drawn [Ah]. The mean voltage depends on the current and the current on the mean voltage;
    two steps of that fixed point are taken. Powers follow from the currents and the true
    mean voltage, so the energy balance is exact, and what the second step misses against
    `net_w` (below 1e-4) is left over or not served.
    """
    gate, floor = limits
    over_v = bank.charge_over_v if net_w > 0.0 else 0.0
    amps = current_a(bank, rest_v(bank, charge_ah) + over_v, net_w)
    amps = min(max(amps, -bank.discharge_limit_a), bank.charge_limit_a)
    guess_ah = min(max(charge_ah + amps, min(charge_ah, floor)), bank.capacity_ah)
    amps = current_a(bank, mean_rest_v(bank, charge_ah, guess_ah) + over_v, net_w)
    wells = wells_of(bank, charge_ah, available_ah)
    into_a = out_a = 0.0
    eta = 1.0
    if amps > 0.0:
        offered_a = min(amps, gate * bank.charge_limit_a)
        eta = efficiency(bank, charge_ah, offered_a)
        into_a = accepted_a(bank, charge_ah, offered_a, eta)
    else:
        out_a = min(-amps, bank.discharge_limit_a, max(charge_ah - floor, 0.0))
        out_a = out_a if wells is None else min(out_a, wells.most_a(floor))
    moved_ah = charge_ah + eta * into_a - out_a
    volts = mean_rest_v(bank, charge_ah, moved_ah)
    leak_ah = moved_ah * bank.self_discharge_per_h
    heat_w = (into_a**2 + out_a**2) * bank.resistance_ohm
    not_stored_w = (1.0 - eta) * into_a * volts + into_a * over_v
    left = 1.0 - bank.self_discharge_per_h
    return Exchange(
        charge_ah=moved_ah - leak_ah,
        available_ah=settled_ah(bank, wells, moved_ah) * left,
        into_a=into_a,
        out_a=out_a,
        accepted_w=into_a * (volts + over_v + into_a * bank.resistance_ohm),
        delivered_w=out_a * (volts - out_a * bank.resistance_ohm),
        loss_w=heat_w + not_stored_w + leak_ah * rest_v(bank, moved_ah - 0.5 * leak_ah),
    )
