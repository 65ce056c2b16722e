"""The bank's heating pad within the hour: what it asks for, what it gets, what warmth opens."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from flatodds.battery.bank import FULL_FRAC, Bank
from flatodds.battery.cold import cold_gate, pad_wanted_w, reachable_floor_ah, unheated_c
from flatodds.engine import rows as r
from flatodds.lanes import LANES, outlined

Array = npt.NDArray[np.floating]


@outlined
def ask_for_heat(bank: Bank, x: Array, s: Array) -> None:
    """Ask what the heating pad wants; one that may run any time is must-have demand."""
    f = type(s[0])
    zero = f(0.0)
    one = f(1.0)
    for i in range(LANES):
        bank_c = unheated_c(bank, s[r.BANK_C + i], s[r.CABIN_C + i], x[r.OUTDOOR_C + i])
        wanted_w = pad_wanted_w(bank, bank_c)
        awake = one - s[r.OFF + i] if bank.pad_always > zero else one
        empty = one if s[r.BEFORE_FRAC + i] < f(FULL_FRAC) else zero
        pad_w = wanted_w * awake * max(empty, bank.pad_always)
        s[r.PAD_W + i] = pad_w
        s[r.MUST_W + i] += bank.pad_always * pad_w


@outlined
def heat(bank: Bank, s: Array) -> None:
    """Warm the bank: charging power goes to the pad first, and the cold gate opens by it."""
    f = type(s[0])
    zero = f(0.0)
    for i in range(LANES):
        had_w = min(s[r.PAD_W + i], max(s[r.NET_W + i], zero))
        pad_w = s[r.PAD_W + i] if bank.pad_always > zero else had_w
        bank_c = s[r.BANK_C + i] + pad_w * bank.pad_lift_k_per_w
        gate, locked = cold_gate(bank, bank_c, s[r.WAS_LOCKED + i])
        s[r.BANK_C + i] = bank_c
        s[r.GATE + i] = gate
        s[r.LOCKED + i] = locked
        s[r.FLOOR_AH + i] = reachable_floor_ah(bank, bank_c)
        s[r.PAD_W + i] = pad_w
        s[r.HEATING_PAD + i] += pad_w
        s[r.NET_W + i] -= (f(1.0) - bank.pad_always) * pad_w


@outlined
def count_heat(bank: Bank, s: Array) -> None:
    """Count what a pad took of the charging power as taken by the bank, and lost there."""
    aside = type(s[0])(1.0) - bank.pad_always
    for i in range(LANES):
        s[r.ACCEPTED_W + i] += aside * s[r.PAD_W + i]
        s[r.LOSS_W + i] += aside * s[r.PAD_W + i]
