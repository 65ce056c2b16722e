"""One hour of one design, all lanes abreast; the order of the stages is the specification.

Each stage is a loop over lanes of its own. One long loop would be a single chain of some
nine hundred instructions, too long for a processor to overlap its turns (measured: twice
as slow). Stages pass values through scratch rows that stay in the nearest cache.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from flatodds.battery.bank import (
    FULL_FRAC,
    Bank,
    accepted_a,
    expected_v,
    level_ah,
    offered_a,
    settled,
    signed_a,
)
from flatodds.battery.cold import cold_gate, reachable_floor_ah, unheated_c
from flatodds.engine import rows as r
from flatodds.engine.hour_pad import ask_for_heat, count_heat, heat
from flatodds.engine.hour_sun import spare, tally_sun
from flatodds.lanes import LANES, inlined, outlined
from flatodds.loads.cabin import Cabin, fridge_w
from flatodds.loads.inverter import inverter_dc_w, lasting_w

Array = npt.NDArray[np.floating]

FLAT_WH = 1.0  # an hour is flat when more than this and FLAT_FRAC of must-have
FLAT_FRAC = 0.001  # demand is refused (definition of this program)
# Less put-off use than this is what rounding left, not a use; it would hold an inverter on:
# judgement.
LEAST_WAITING_WH = 1e-3
TIE_FRAC = 1e-5  # of capacity: charge so near a line is on it; own choice, for float32


class Design(NamedTuple):
    """Scalars of one design beside its bank; arrays of any one shape outside the kernel.

    Attributes
    ----------
    inverter_w, idle_w : float
        Continuous rating and idle draw of the inverter [W].
    sun_factor, use_factor : float
        What the model point multiplies sun and use by [1].
    reserve_frac, caution_frac, spare_frac : float
        Charge below which the household's reserve is touched, below which can-wait use
        waits, and above which spare-sun loads may take sun that would charge [1].
    wait_cap_dc_w, wait_cap_ac_w : float
        Most put-off use caught up at once [W].
    start_frac : float
        Charge on arrival [1]; not a number where the last stay's charge continues.
    surge_w : float
        What the inverter gives for seconds [W].
    economy : float
        1 if comfort use shrinks while the charge is below caution_frac, else 0.
    line_a, line_b, line_c : float
        Charges above which spare-sun use with a line of its own runs; above 1: none [1].
    ac_slope, ac_bend : float
        Battery watts for each watt of mains, and what is added to them at the rating [1].
    heat_loss : float
        Share of the rating lost with each kelvin of the cabin above 25 deg C [1/K].
    """

    inverter_w: float
    idle_w: float
    sun_factor: float
    use_factor: float
    reserve_frac: float
    caution_frac: float
    spare_frac: float
    wait_cap_dc_w: float
    wait_cap_ac_w: float
    start_frac: float
    surge_w: float
    economy: float
    line_a: float
    line_b: float
    line_c: float
    ac_slope: float
    ac_bend: float
    heat_loss: float


START_FRAC = 9  # row of start_frac in a table of designs
GENERATOR_ROW = len(Design._fields)  # the generator's fields follow in the same table


@inlined
def pick_design(table: Array, design: int) -> Design:
    """Scalars of one design out of a table (field, design) in the order of `Design`."""
    return Design(
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
    )


@outlined
def want(design: Design, cabin: Cabin, switched_on: float, x: Array, s: Array) -> None:
    """Stage 1: what follows the cabin's temperature, and what the household asks for."""
    f = type(s[0])
    zero = f(0.0)
    one = f(1.0)
    use = design.use_factor
    rated = design.inverter_w
    curve = (design.idle_w, design.ac_slope, design.ac_bend)
    for i in range(LANES):
        cabin_c = s[r.CABIN_C + i]
        today = use * x[r.FRIDGE_DAY + i]
        fridge_dc = today * fridge_w(cabin_c, cabin.dc_15_w, cabin.dc_per_k, cabin.dc_least_w)
        fridge_ac = today * fridge_w(cabin_c, cabin.ac_15_w, cabin.ac_per_k, cabin.ac_least_w)
        asked_ac = use * x[r.MUST_AC + i] + fridge_ac + s[r.COOL_AC_W + i]
        able = lasting_w(rated, design.heat_loss, cabin_c)
        must_ac = min(asked_ac, able)
        s[r.OVER_W + i] = asked_ac - must_ac
        must_dc = use * x[r.MUST_DC + i] + fridge_dc + s[r.BLOWER_W + i]
        must_dc += s[r.COOL_DC_W + i] + s[r.FAN_W + i]
        s[r.ASKED_AC_W + i] = asked_ac
        s[r.MUST_DC_W + i] = must_dc
        side_w = inverter_dc_w(must_ac, rated, curve, switched_on)
        new_dc = s[r.NEW_DC + i] + use * x[r.WAIT_DC + i]
        new_ac = s[r.NEW_AC + i] + use * x[r.WAIT_AC + i]
        ready = one - s[r.OFF + i] if s[r.BEFORE_FRAC + i] > design.caution_frac else zero
        grant_dc = ready * min(s[r.OLD_DC + i] + new_dc, design.wait_cap_dc_w * use)
        most_ac = min(design.wait_cap_ac_w * use, max(able - must_ac, zero))
        grant_ac = ready * min(s[r.OLD_AC + i] + new_ac, most_ac)
        all_ac = must_ac + grant_ac
        all_side_w = inverter_dc_w(all_ac, rated, curve, switched_on)
        spare_ac = min(use * x[r.SPARE_AC + i], max(able - all_ac, zero))
        spare_side_w = inverter_dc_w(all_ac + spare_ac, rated, curve, switched_on)
        s[r.NEW_DC + i] = new_dc
        s[r.NEW_AC + i] = new_ac
        s[r.FRIDGE_W + i] = fridge_dc + fridge_ac
        s[r.MUST_W + i] = must_dc + side_w
        s[r.WAIT_DC_W + i] = grant_dc
        s[r.WAIT_AC_W + i] = grant_ac
        s[r.WAIT_W + i] = grant_dc + (all_side_w - side_w)
        s[r.SPARE_WANTED_W + i] = use * x[r.SPARE_DC + i] + (spare_side_w - all_side_w)
        s[r.WAIT_WANTED + i] += use * (x[r.WAIT_DC + i] + x[r.WAIT_AC + i])


@outlined
def offer(design: Design, bank: Bank, x: Array, s: Array) -> None:
    """Stage 2: sun on offer, the loads it feeds, the bank's limits."""
    f = type(s[0])
    zero = f(0.0)
    one = f(1.0)
    if bank.pad_w > zero:
        ask_for_heat(bank, x, s)
    for i in range(LANES):
        on = one - s[r.OFF + i]
        frac = s[r.BEFORE_FRAC + i]
        offered_w = s[r.SUN_W + i]
        load_w = on * s[r.MUST_W + i] + s[r.WAIT_W + i]
        direct_w = min(offered_w, load_w)
        surplus_w = offered_w - direct_w
        full = frac >= design.spare_frac
        wanted_w = s[r.SPARE_WANTED_W + i]
        lined_w = s[r.FIRST_SPARE_W + i]
        first_w = wanted_w if full else lined_w
        early_w = on * min(first_w, surplus_w)
        s[r.DIRECT_W + i] = direct_w
        s[r.SURPLUS_W + i] = surplus_w
        s[r.SPARE_W + i] = early_w
        s[r.NET_W + i] = surplus_w - early_w - (load_w - direct_w)
    for i in range(LANES):
        bank_c = unheated_c(bank, s[r.BANK_C + i], s[r.CABIN_C + i], x[r.OUTDOOR_C + i])
        s[r.WAS_LOCKED + i] = s[r.LOCKED + i]
        gate, locked = cold_gate(bank, bank_c, s[r.LOCKED + i])
        s[r.BANK_C + i] = bank_c
        s[r.LOCKED + i] = locked
        s[r.GATE + i] = gate
        s[r.FLOOR_AH + i] = reachable_floor_ah(bank, bank_c)


@outlined
def trade(bank: Bank, lit: bool, s: Array) -> None:
    """Stage 3: the bank takes what is offered or gives what is missing.

    Where nothing is `lit` it can only give: the charge current is 0, at any efficiency.
    """
    f = type(s[0])
    zero = f(0.0)
    one = f(1.0)
    heated = bank.pad_w > zero
    if heated:
        heat(bank, s)
    for i in range(LANES):
        s[r.VOLTS + i] = expected_v(bank, s[r.CHARGE_AH + i], s[r.NET_W + i], s[r.FLOOR_AH + i])
    if lit:
        _take(bank, s)
    else:
        for i in range(LANES):
            s[r.AMPS + i] = signed_a(s[r.VOLTS + i], bank.resistance_ohm, s[r.NET_W + i])
            s[r.ETA + i] = one
            s[r.INTO_A + i] = zero
    for i in range(LANES):
        new, available, into_a, out_a, accepted_w, delivered_w, loss_w = settled(
            bank,
            s[r.CHARGE_AH + i],
            s[r.AVAILABLE_AH + i],
            s[r.NET_W + i],
            s[r.FLOOR_AH + i],
            s[r.AMPS + i],
            s[r.ETA + i],
            s[r.INTO_A + i],
        )
        s[r.CHARGE_AH + i] = new
        s[r.AVAILABLE_AH + i] = available
        s[r.LEVEL_AH + i] = level_ah(bank, new, available)
        s[r.INTO_A + i] = into_a
        s[r.OUT_A + i] = out_a
        s[r.ACCEPTED_W + i] = accepted_w
        s[r.DELIVERED_W + i] = delivered_w
        s[r.LOSS_W + i] = loss_w
    if heated:
        count_heat(bank, s)


@outlined
def _take(bank: Bank, s: Array) -> None:
    """Find what current is on offer to the bank, and how much of it the bank takes.

    In two loops of their own, since all of it is one chain of dependent operations.
    """
    zero = type(s[0])(0.0)
    for i in range(LANES):
        amps, eta = offered_a(
            bank, s[r.CHARGE_AH + i], s[r.NET_W + i], s[r.GATE + i], s[r.VOLTS + i]
        )
        s[r.AMPS + i] = amps
        s[r.ETA + i] = eta
    for i in range(LANES):
        offered = max(s[r.AMPS + i], zero)
        s[r.INTO_A + i] = accepted_a(bank, s[r.CHARGE_AH + i], offered, s[r.ETA + i])


@outlined
def serve(design: Design, bank: Bank, lit: bool, s: Array) -> None:
    """Stage 4: who got what; protection opens when the charge has run out, and closes again."""
    f = type(s[0])
    zero = f(0.0)
    one = f(1.0)
    least_wh = f(LEAST_WAITING_WH)
    slack = bank.capacity_ah * f(TIE_FRAC)
    reconnect_ah = max(bank.reconnect_frac - bank.cutoff_frac, zero) * bank.capacity_ah
    for i in range(LANES):
        on = one - s[r.OFF + i]
        must_w = s[r.MUST_W + i]
        wait_w = s[r.WAIT_W + i]
        available_w = s[r.DIRECT_W + i] + s[r.DELIVERED_W + i]
        must_served_w = min(on * must_w, available_w)
        refused_w = must_w - must_served_w
        flat = one if refused_w > max(f(FLAT_WH), f(FLAT_FRAC) * must_w) else zero
        got = (available_w - must_served_w) / max(wait_w, f(1e-6))
        got = one if got > f(1.0 - FLAT_FRAC) else got  # the bank's powers are that exact
        got_dc = s[r.WAIT_DC_W + i] * got
        got_ac = s[r.WAIT_AC_W + i] * got
        from_old_dc = min(s[r.OLD_DC + i], got_dc)
        from_old_ac = min(s[r.OLD_AC + i], got_ac)
        old_dc = s[r.OLD_DC + i] - from_old_dc
        old_ac = s[r.OLD_AC + i] - from_old_ac
        new_dc = s[r.NEW_DC + i] - (got_dc - from_old_dc)
        new_ac = s[r.NEW_AC + i] - (got_ac - from_old_ac)
        s[r.OLD_DC + i] = old_dc if old_dc > least_wh else zero
        s[r.OLD_AC + i] = old_ac if old_ac > least_wh else zero
        s[r.NEW_DC + i] = new_dc if new_dc > least_wh else zero
        s[r.NEW_AC + i] = new_ac if new_ac > least_wh else zero
        s[r.WAIT_W + i] = available_w - must_served_w
        s[r.WAIT_SERVED + i] += got_dc + got_ac
        s[r.REFUSED_W + i] = refused_w
        s[r.FLAT + i] = flat
        s[r.HOURS_FLAT + i] += flat
        s[r.NOT_SERVED + i] += refused_w + s[r.OVER_W + i]
        s[r.NIGHT + i] = max(s[r.NIGHT + i], flat)
    if lit:
        spare(design, bank, s)
    for i in range(LANES):
        level = s[r.LEVEL_AH + i]
        floor_ah = s[r.FLOOR_AH + i]
        empty = s[r.FLAT + i] if level <= floor_ah + slack else zero
        off = max(s[r.OFF + i], empty)
        s[r.OFF + i] = off if level + slack < floor_ah + reconnect_ah else zero


@outlined
def tally(design: Design, bank: Bank, lit: bool, s: Array) -> None:
    """Stage 5: the day's sums and extremes."""
    f = type(s[0])
    zero = f(0.0)
    one = f(1.0)
    per_ah = one / bank.capacity_ah
    for i in range(LANES):
        frac = s[r.CHARGE_AH + i] * per_ah
        s[r.BEFORE_FRAC + i] = frac
        full = one if frac >= f(FULL_FRAC) else zero
        s[r.FULL_TODAY + i] = max(s[r.FULL_TODAY + i], full)
        s[r.DAY_LOW + i] = min(s[r.DAY_LOW + i], frac)
        s[r.DAY_HIGH + i] = max(s[r.DAY_HIGH + i], frac)
        s[r.LOWEST + i] = min(s[r.LOWEST + i], frac)
        s[r.HOURS_RESERVE + i] += one if frac < design.reserve_frac else zero
    if lit:
        tally_sun(s)
    for i in range(LANES):
        wanted_w = s[r.MUST_W + i] + s[r.WAIT_W + i] + s[r.OVER_W + i]
        s[r.DAY_NEED_WH + i] += wanted_w
        s[r.DEMAND + i] += wanted_w
        s[r.SERVED + i] += s[r.DIRECT_W + i] + s[r.DELIVERED_W + i] + s[r.SPARE_W + i]
        s[r.SPARE_SERVED + i] += s[r.SPARE_W + i]
        s[r.BANK_LOSS + i] += s[r.LOSS_W + i]
        s[r.DISCHARGE_AH + i] += s[r.OUT_A + i]


@outlined
def tally_plugs(s: Array) -> None:
    """Stage 5b: what fridges, the heater's blower and the vent fan wanted and got."""
    f = type(s[0])
    for i in range(LANES):
        asked_w = s[r.MUST_W + i] + s[r.OVER_W + i]
        share = (s[r.MUST_W + i] - s[r.REFUSED_W + i]) / max(asked_w, f(1e-6))
        s[r.FRIDGE_WANTED + i] += s[r.FRIDGE_W + i]
        s[r.FRIDGE_SERVED + i] += s[r.FRIDGE_W + i] * share
        s[r.BLOWER_WANTED + i] += s[r.BLOWER_W + i]
        s[r.BLOWER_SERVED + i] += s[r.BLOWER_W + i] * share
        s[r.VENT_WANTED + i] += s[r.FAN_W + i]
        s[r.VENT_SERVED + i] += s[r.FAN_W + i] * share
