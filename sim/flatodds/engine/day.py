"""The days of every design of a block: the order of events, hour by hour.

All designs see the same weather and the same household. The loops over lanes use selects, never
branches, and touch one flat state array through constant rows, so that they stay vectorised.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from flatodds.battery.bank import Bank, pick_bank
from flatodds.charging.generator import Generator, pick_generator
from flatodds.engine import rows as r
from flatodds.engine.charging import charge, plug_in, share_out
from flatodds.engine.climate import condition, count_cooling, end_hot_day, warm
from flatodds.engine.hour import (
    GENERATOR_ROW,
    Design,
    offer,
    pick_design,
    serve,
    tally,
    tally_plugs,
    trade,
    want,
)
from flatodds.engine.hour_habits import adapt, before_charging, meet, overload
from flatodds.engine.hour_sun import no_sun, sun_on_offer
from flatodds.engine.notes import (
    add_appliances,
    add_sums,
    note_asked,
    note_dawn,
    note_day,
    note_hour,
    note_shares,
)
from flatodds.engine.records import (
    CLOCK,
    DAILY_AT,
    DAWN_H,
    DETAILED,
    FOLLOWED,
    FOLLOWS,
    PERIOD,
    PLUGGED,
    SET_C,
    SWITCHED_ON,
    TRACE_AT,
    Calendar,
    Out,
    Rigs,
)
from flatodds.lanes import LANES, borrowing, hourly, inlined, outlined
from flatodds.loads.appliances import Uses
from flatodds.loads.cabin import CABIN_FIELDS, Cabin, pick_cabin
from flatodds.loads.cooling import Cooling, pick_cooling

Array = npt.NDArray[np.floating]
Bools = npt.NDArray[np.bool_]

NIGHTS_FLAT = r.SUMS.index("nights_flat")


class Rig(NamedTuple):
    """One design in one home, and which of the hour's stages it has to live.

    Attributes
    ----------
    adapts : bool
        Its household economises, or has spare-sun use with a charge line.
    cooled : bool
        It has an air conditioner.
    charged : bool
        Something besides the sun can charge it.
    detailed : bool
        Overload, peaks and each thermostat's use are counted.
    """

    bank: Bank
    design: Design
    generator: Generator
    cabin: Cabin
    cooling: Cooling
    adapts: bool
    cooled: bool
    charged: bool
    detailed: bool


class Days(NamedTuple):
    """What all designs meet on a few days.

    Attributes
    ----------
    at : int
        Which day of the stay the first of them is.
    watts : Array
        Yield of each array group per watt of label, (day, group, 24, LANES) [1].
    lit : Bools
        Whether any lane has sun, (day, 24).
    inputs : Array
        What each hour asks and meets, before a household adapts it, in the order of `rows`,
        (day, 24, INPUTS * LANES).
    asked : Array
        Plug energy of each appliance, (day, appliance, 24, LANES) [Wh].
    """

    at: int
    watts: Array
    lit: Bools
    inputs: Array
    asked: Array


class Scratch(NamedTuple):
    """Where a design's hours are worked out; written over by the next.

    Attributes
    ----------
    lean : Array
        An hour's inputs as a household that adapts asks, (INPUTS * LANES,).
    shares : Array
        What `notes` keeps of a day's hours for the appliances, for the first design and for the
        first that economises, (NOTED, 24, SHARES, LANES).
    """

    lean: Array
    shares: Array


@borrowing
def live_designs(
    calendar: Calendar,
    days: Days,
    cabin_row: Array,
    uses: Uses,
    rigs: Rigs,
    scratch: Scratch,
    energy: Array,
    state: Array,
    out: Out,
) -> None:
    """Step one design after the other through the hours of some days.

    Nothing is allocated here, so that no array's references are counted hour by hour. Several
    days at a time, a design's state and sums are fetched once where many designs are more than
    the caches hold.

    Parameters
    ----------
    cabin_row, energy, state
        As for `live_days`; the hours of `energy` begin after the last of these days.
    """
    frugal = _first_economised(rigs.design)
    for d in range(state.shape[0]):
        noted = 1 if d == frugal else -1
        noted = 0 if d == 0 else noted
        for c in range(days.inputs.shape[0]):
            n = days.at + c
            _live_day(calendar, days, c, cabin_row, rigs, d, noted, scratch, state[d], out)
            if noted >= 0:
                add_appliances(
                    uses, days.asked[c], energy, noted, scratch.shares[noted], out.served
                )
            if d == 0:
                note_day(calendar.stay[DAILY_AT] + n, state[d], out.daily)
            add_sums(calendar.days[n, PERIOD], state[d], out.sums[d])


@borrowing
def _live_day(
    calendar: Calendar,
    days: Days,
    c: int,
    cabin_row: Array,
    rigs: Rigs,
    d: int,
    noted: int,
    scratch: Scratch,
    s: Array,
    out: Out,
) -> None:
    """Step design `d`, with state `s` (ROWS * LANES,), through day `c` of `days`.

    `noted` says which of `scratch.shares` keeps its hours for the appliances, -1 none.
    """
    rig = _pick_rig(calendar, cabin_row, rigs, d)
    n = days.at + c
    clock = calendar.clock[calendar.days[n, CLOCK]]
    _begin_day(rig.bank, s)
    for h in range(24):
        x = days.inputs[c, h]
        if rig.charged:
            plug_in(calendar.charging[n, h], s)
        if days.lit[c, h]:
            sun_on_offer(rig.design, rig.bank, rigs.label_w[d], days.watts[c], h, x, s)
        else:
            no_sun(s)
        if rig.adapts:
            adapt(rig.design, x, scratch.lean, s)
            x = scratch.lean
        _ask(rig, calendar.charging, n, h, clock[h], x, s)
        if noted >= 0:
            note_asked(h, rig.design, scratch.shares[noted], s)
        _serve_and_count(rig, calendar.charging, n, h, days.lit[c, h], x, s)
        if h == 11 and (n > 0 or calendar.stay[FOLLOWS] == 1):
            evening = calendar.days[n - 1, PERIOD] if n > 0 else calendar.days[0, PERIOD] - 1
            _count_night(evening, s, out.sums[d])
        if noted >= 0:
            note_shares(h, scratch.shares[noted], s)
        if d == 0:
            if h == calendar.days[n, DAWN_H]:
                note_dawn(s)
            if out.trace.shape[0] > 0:
                note_hour(calendar.stay[TRACE_AT] + 24 * n + h, x, s, out.trace)
    if n == calendar.days.shape[0] - 1 and calendar.stay[FOLLOWED] == 0:
        _count_night(calendar.days[n, PERIOD], s, out.sums[d])
    _end_day(n, s)
    if rig.cooled:
        end_hot_day(s)


@inlined
def _pick_rig(calendar: Calendar, cabin_row: Array, rigs: Rigs, d: int) -> Rig:
    """Pick design `d` and its home into scalars."""
    design = pick_design(rigs.design, d)
    cooling = pick_cooling(cabin_row, CABIN_FIELDS)
    return Rig(
        pick_bank(rigs.bank, d),
        design,
        pick_generator(rigs.design, GENERATOR_ROW, d),
        pick_cabin(cabin_row),
        cooling,
        design.economy > 0.0 or design.line_a <= 1.0,
        cooling.rated_w > 0.0,
        calendar.charging.shape[0] > 0,
        calendar.stay[DETAILED] == 1,
    )


@hourly
def _ask(rig: Rig, charging: Array, n: int, h: int, clock: Array, x: Array, s: Array) -> None:
    """First half of an hour: what the home and the household ask for.

    `charging` is the calendar's, (day, 24, 7), and `clock` a row of its clock, (4,); `x` are the
    hour's inputs as the household adapts them, (INPUTS * LANES,).
    """
    if rig.cooled:
        plugged = charging[n, h, PLUGGED] if rig.charged else type(s[0])(0.0)
        condition(rig.design, rig.cabin, rig.cooling, clock, plugged, x, s)
    else:
        warm(rig.cabin, clock[SET_C], x, s)
    want(rig.design, rig.cabin, clock[SWITCHED_ON], x, s)
    if rig.adapts:
        before_charging(x, s)


@hourly
def _serve_and_count(
    rig: Rig, charging: Array, n: int, h: int, lit: bool, x: Array, s: Array
) -> None:
    """Second half of an hour: what sun, other charging and bank give, and what that adds up to.

    In an hour that is not `lit` and knows no other charging, what deals with sun and charge is
    left out.
    """
    sunny = rig.charged or lit
    offer(rig.design, rig.bank, x, s)
    if rig.charged:
        charge(rig.generator, rig.bank, charging[n, h], x, s)
    trade(rig.bank, sunny, s)
    if rig.charged:
        share_out(rig.generator, s)
    serve(rig.design, rig.bank, sunny, s)
    if rig.detailed and rig.cooled:
        meet(x, s)
    if rig.detailed:
        overload(rig.design, rig.bank, x, s)
    tally(rig.design, rig.bank, sunny, s)
    if rig.detailed:
        tally_plugs(s)
    if rig.cooled:
        count_cooling(s)


@outlined
def _first_economised(design: Array) -> int:
    """Find the first design of those who economise; -1 if there is none."""
    for d in range(design.shape[1]):
        if pick_design(design, d).economy > 0.0:
            return d
    return -1


@outlined
def _begin_day(bank: Bank, s: Array) -> None:
    """Midnight: take the charge that the day begins with, and clear what is told of a day."""
    f = type(s[0])
    for i in range(LANES):
        s[r.BEFORE_FRAC + i] = s[r.CHARGE_AH + i] / bank.capacity_ah
        s[r.FULL_TODAY + i] = f(0.0)
        s[r.DAY_WH + i] = f(0.0)
        s[r.DAY_NEED_WH + i] = f(0.0)
        s[r.DAY_LOW + i] = f(1.0)
        s[r.DAY_HIGH + i] = f(0.0)


@outlined
def _count_night(period: int, s: Array, sums: npt.NDArray[np.float64]) -> None:
    """Count the night that ends now, if it had a flat hour, for the period of its evening.

    Nights run from noon to noon. Hours before the first noon of an itinerary belong to its
    first night, hours after the last noon to its last.
    """
    for i in range(LANES):
        sums[period, NIGHTS_FLAT, i] += s[r.NIGHT + i]
        s[r.NIGHT + i] = type(s[0])(0.0)


@outlined
def _end_day(n: int, s: Array) -> None:
    """Midnight: age put-off use, count full days, keep the stay's extremes."""
    f = type(s[0])
    zero = f(0.0)
    one = f(1.0)
    for i in range(LANES):
        s[r.GONE_WITHOUT + i] += s[r.OLD_DC + i] + s[r.OLD_AC + i]
        s[r.OLD_DC + i] = s[r.NEW_DC + i]
        s[r.OLD_AC + i] = s[r.NEW_AC + i]
        s[r.NEW_DC + i] = zero
        s[r.NEW_AC + i] = zero
        full = s[r.FULL_TODAY + i]
        s[r.FULL_DAYS + i] += full
        s[r.SINCE_FULL + i] = (s[r.SINCE_FULL + i] + one) * (one - full)
        s[r.LONGEST + i] = max(s[r.LONGEST + i], s[r.SINCE_FULL + i])
        s[r.BEST_DAY + i] = max(s[r.BEST_DAY + i], s[r.DAY_WH + i])
        s[r.DAYS + i] += one
        today = f(n + 1) if s[r.HOURS_FLAT + i] > zero else f(np.inf)
        s[r.FIRST_FLAT + i] = min(s[r.FIRST_FLAT + i], today)
