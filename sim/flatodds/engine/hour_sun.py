"""Sun on offer in one hour of one design, and why some of it was turned away."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from flatodds.battery.bank import Bank, open_circuit_v, terminal_v
from flatodds.engine import rows as r
from flatodds.engine.records import AT_BANK_V, LIMITS, MOST_A, MOST_W, NO_LIMIT
from flatodds.lanes import LANES, inlined, outlined

if TYPE_CHECKING:
    from flatodds.engine.hour import Design

Array = npt.NDArray[np.floating]

# Current within this share of the bank's limit counts as at the limit (definition).
AT_LIMIT_FRAC = 1e-3


@outlined
def sun_on_offer(
    design: Design, bank: Bank, label_w: Array, watts: Array, h: int, x: Array, s: Array
) -> None:
    """Sun of all controllers after their efficiency, before and after their limits [W].

    Amperes are limited at the voltage that the bank's terminals have while that sun, less
    the must-have use of appliances, charges it.

    Parameters
    ----------
    label_w : Array
        One design's controllers, (controller, LIMITS + group), see `Rigs.label_w`.
    watts : Array
        Yield per watt (or current per ampere) of label, (group, 24, LANES) [1].
    """
    f = type(s[0])
    one = f(1.0)
    use = design.use_factor
    matters = False
    for k in range(label_w.shape[0]):
        most_a = label_w[k, MOST_A]
        if f(0.0) < most_a < f(NO_LIMIT) or label_w[k, AT_BANK_V] > f(0.0):
            matters = True
    for i in range(LANES):
        s[r.TERMINAL_V + i] = open_circuit_v(bank, s[r.BEFORE_FRAC + i])
    _within_limits(design.sun_factor, label_w, watts, h, s)
    if not matters:
        return
    for i in range(LANES):
        on = one - s[r.OFF + i]
        load_w = on * use * (x[r.MUST_DC + i] + design.ac_slope * x[r.MUST_AC + i])
        s[r.TERMINAL_V + i] = terminal_v(bank, s[r.BEFORE_FRAC + i], s[r.SUN_W + i] - load_w)
    _within_limits(design.sun_factor, label_w, watts, h, s)


@outlined
def lit_hours(watts: Array, lit: npt.NDArray[np.bool_]) -> None:
    """Find the hours of a day in which any panel yields anything, for any lane."""
    for h in range(24):
        lit[h] = False
        for g in range(watts.shape[0]):
            if watts[g, h].max() > 0.0:
                lit[h] = True


@outlined
def no_sun(s: Array) -> None:
    """Offer none, in an hour that is dark for every lane."""
    for i in range(LANES):
        s[r.SUN_W + i] = 0.0
        s[r.POTENTIAL_W + i] = 0.0


@outlined
def _within_limits(sun_factor: float, label_w: Array, watts: Array, h: int, s: Array) -> None:
    """Sum the sun of all controllers at the voltage in TERMINAL_V."""
    f = type(s[0])
    one = f(1.0)
    for i in range(LANES):
        s[r.SUN_W + i] = f(0.0)
        s[r.POTENTIAL_W + i] = f(0.0)
    for k in range(label_w.shape[0]):
        most_a = label_w[k, MOST_A]
        most_w = label_w[k, MOST_W]
        at_bank_v = label_w[k, AT_BANK_V]
        if most_a <= f(0.0):
            continue
        for i in range(LANES):
            s[r.ONE_W + i] = f(0.0)
        for g in range(watts.shape[0]):
            label = label_w[k, LIMITS + g]
            if label > f(0.0):
                for i in range(LANES):
                    s[r.ONE_W + i] += label * watts[g, h, i]
        for i in range(LANES):
            volts = s[r.TERMINAL_V + i]
            power_w = s[r.ONE_W + i] * sun_factor * (one + at_bank_v * (volts - one))
            s[r.POTENTIAL_W + i] += power_w
            s[r.SUN_W + i] += min(power_w, most_a * volts, most_w)


@inlined
def barred_w(
    bank: Bank, charge_ah: float, into_a: float, gate: float, volts: float, left_w: float
) -> tuple[float, float]:
    """Sun turned away because of cold, and because of the bank's charge current limit [W].

    Cold bars no more than it held back; the limit bars the rest when all the current allowed
    was taken. Neither bars more than the bank had room for.

    Parameters
    ----------
    charge_ah, into_a, gate : float
        Charge after the hour [Ah], current taken [A], share of it that cold allows [1].
    volts : float
        Rest voltage before the hour [V].
    left_w : float
        Sun that nothing took [W].
    """
    f = type(left_w)
    room_w = max(bank.capacity_ah - charge_ah, f(0.0)) * volts
    held_w = (f(1.0) - gate) * bank.charge_limit_a * volts
    cold_w = min(left_w, held_w, room_w)
    limit_a = gate * bank.charge_limit_a * f(1.0 - AT_LIMIT_FRAC)
    rest_w = min(left_w - cold_w, room_w - cold_w)
    return cold_w, rest_w if into_a >= limit_a else f(0.0)


@outlined
def spare(design: Design, bank: Bank, s: Array) -> None:
    """Let spare-sun use have what the bank left, and find why the rest was turned away."""
    f = type(s[0])
    zero = f(0.0)
    one = f(1.0)
    for i in range(LANES):
        on = one - s[r.OFF + i]
        left_w = max(s[r.SURPLUS_W + i] - s[r.SPARE_W + i] - s[r.ACCEPTED_W + i], zero)
        late_w = on * min(s[r.SPARE_WANTED_W + i] - s[r.SPARE_W + i], left_w)
        late_w = late_w if s[r.BEFORE_FRAC + i] < design.spare_frac else zero
        s[r.SPARE_W + i] += late_w
        volts = open_circuit_v(bank, s[r.BEFORE_FRAC + i])
        cold_w, rate_w = barred_w(
            bank, s[r.CHARGE_AH + i], s[r.INTO_A + i], s[r.GATE + i], volts, left_w - late_w
        )
        s[r.COLD_LOCKED + i] += cold_w
        s[r.SPILLED_RATE + i] += rate_w


@outlined
def tally_sun(s: Array) -> None:
    """Add sun taken and sun turned away."""
    zero = type(s[0])(0.0)
    for i in range(LANES):
        taken_w = s[r.DIRECT_W + i] + s[r.ACCEPTED_W + i] + s[r.SPARE_W + i]
        s[r.DAY_WH + i] += taken_w
        s[r.PEAK_W + i] = max(s[r.PEAK_W + i], taken_w)
        s[r.ARRAY + i] += taken_w
        s[r.SPILLED + i] += max(s[r.POTENTIAL_W + i] - taken_w, zero)
        s[r.SPILLED_CLIP + i] += s[r.POTENTIAL_W + i] - s[r.SUN_W + i]
