"""Second kernel: a block of members lives a few days, all designs abreast.

The household's uses are drawn for all the days; then one design after the other steps through
their hours, so all see the same weather and the same household. Several days at a time, a
design's state and sums are fetched once where many designs are more than the caches hold. The
loops over lanes use selects, never branches, and touch one flat state array through constant
rows, so that they stay vectorised.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from flatodds.battery.bank import Bank, pick_bank
from flatodds.charging.generator import pick_generator
from flatodds.engine import rows as r
from flatodds.engine.charging import charge, plug_in, share_out
from flatodds.engine.climate import (
    condition,
    cool_inputs,
    count_cooling,
    end_hot_day,
    warm,
)
from flatodds.engine.hour import (
    GENERATOR_ROW,
    offer,
    pick_design,
    serve,
    tally,
    tally_plugs,
    trade,
    want,
)
from flatodds.engine.hour_habits import adapt, before_charging, meet, overload
from flatodds.engine.hour_sun import lit_hours, no_sun, sun_on_offer
from flatodds.engine.notes import (
    SHARES,
    add_appliances,
    add_sums,
    add_wanted,
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
    FIRST_DAY,
    FOLLOWED,
    FOLLOWS,
    PERIOD,
    PLUGGED,
    SET_C,
    SWITCHED_ON,
    TRACE_AT,
    WEEKDAY,
    Calendar,
    Key,
    Out,
    Rigs,
    World,
)
from flatodds.lanes import LANES, borrowing, kernel, outlined
from flatodds.loads.appliances import BUFFER_H, CHANNELS, NOTED, Uses, draw_uses
from flatodds.loads.cabin import CABIN_FIELDS, fridge_days, pick_cabin
from flatodds.loads.coincidence import pass_runs, peak_hours, small_and_shrinking
from flatodds.loads.cooling import cool_phases, pick_cooling
from flatodds.loads.reach import RUNS_IN, find_reach
from flatodds.weather.moisture import WET

Array = npt.NDArray[np.floating]
Ints = npt.NDArray[np.int64]

NIGHTS_FLAT = r.SUMS.index("nights_flat")


@kernel
def live_days(
    calendar: Calendar,
    at: int,
    count: int,
    key: Key,
    uses: Uses,
    cabin_row: Array,
    rigs: Rigs,
    world: World,
    energy: Array,
    runs: Array,
    state: Array,
    out: Out,
) -> None:
    """Live `count` days of a stay from its day `at` on, as `world` holds them.

    Parameters
    ----------
    cabin_row : Array
        Fields of `Cabin` and then of `Cooling`.
    energy : Array
        Appliance energies by hour, carried past midnight, (appliance, ENERGY_ROWS, LANES) [Wh].
    runs : Array
        When uses followed to the minute run, today's and yesterday's, (4, slot, LANES) [h].
    state : Array
        Lane state of every design, (design, ROWS * LANES).
    """
    shares = np.empty((NOTED, 24, SHARES, LANES), state.dtype)
    lean = np.empty(r.INPUTS * LANES, state.dtype)
    inputs = np.empty((count, 24, r.INPUTS * LANES), state.dtype)
    asked = np.empty((count, energy.shape[0], 24, LANES), state.dtype)
    wanted = np.empty((energy.shape[0], LANES), state.dtype)
    lit = np.empty((count, 24), np.bool_)
    reach = np.empty((3, uses.slots.shape[0]), np.int64)
    cooling = pick_cooling(cabin_row, CABIN_FIELDS)
    for c in range(count):
        n = at + c
        wanted[:] = 0
        find_reach(uses, calendar.shift_h[n], reach)
        draw_uses(
            uses,
            calendar.stay[FIRST_DAY] + n,
            calendar.stay[WEEKDAY],
            calendar.shift_h[n],
            key.first_member,
            key.k0,
            key.k1,
            reach[RUNS_IN],
            world.moist[c, WET],
            energy,
            wanted,
            runs,
        )
        day = inputs[c]
        _hour_inputs(uses.channel, energy, world.sky[c], day)
        fridge_days(
            calendar.stay[FIRST_DAY] + n, key.first_member, key.k0, key.k1, r.FRIDGE_DAY, day
        )
        if cooling.rated_w > 0.0:
            cool_inputs(cooling, world.moist[c], day)
            cool_phases(
                calendar.stay[FIRST_DAY] + n, key.first_member, key.k0, key.k1, r.COOL_PHASE, day
            )
        small_and_shrinking(uses, energy, (r.SMALL_AC, r.SHRINK_DC, r.SHRINK_AC), day)
        if calendar.stay[DETAILED] == 1:
            peak_hours(uses, reach, runs, cooling.rated_w > 0.0, r.PEAK_MUST, day)
        lit_hours(world.watts[c], lit[c])
        add_wanted(wanted, out.wanted)
        _pass_midnight(energy, asked[c])
        pass_runs(uses, runs)
    _live_designs(
        calendar,
        at,
        cabin_row,
        uses,
        rigs,
        world.watts,
        lit,
        inputs,
        lean,
        asked,
        energy,
        shares,
        state,
        out,
    )


@borrowing
def _live_designs(
    calendar: Calendar,
    at: int,
    cabin_row: Array,
    uses: Uses,
    rigs: Rigs,
    watts: Array,
    lit: npt.NDArray[np.bool_],
    inputs: Array,
    lean: Array,
    asked: Array,
    energy: Array,
    shares: Array,
    state: Array,
    out: Out,
) -> None:
    """Step every design through the hours of some days, from the stay's day `at` on.

    Nothing is allocated here, so that no array's references are counted hour by hour. In hours
    that are not `lit` and know no other charging, what deals with sun and charge is left out.
    """
    frugal = _first_economised(rigs.design)
    cabin = pick_cabin(cabin_row)
    cooling = pick_cooling(cabin_row, CABIN_FIELDS)
    cooled = cooling.rated_w > 0.0
    charged = calendar.charging.shape[0] > 0
    detailed = calendar.stay[DETAILED] == 1
    for d in range(state.shape[0]):
        bank = pick_bank(rigs.bank, d)
        design = pick_design(rigs.design, d)
        generator = pick_generator(rigs.design, GENERATOR_ROW, d)
        s = state[d]
        adapts = design.economy > 0.0 or design.line_a <= 1.0
        noted = 1 if d == frugal else -1
        noted = 0 if d == 0 else noted
        for c in range(inputs.shape[0]):
            n = at + c
            clock = calendar.clock[calendar.days[n, CLOCK]]
            _begin_day(bank, s)
            for h in range(24):
                x = inputs[c, h]
                sunny = charged or lit[c, h]
                if charged:
                    plug_in(calendar.charging[n, h], s)
                if lit[c, h]:
                    sun_on_offer(design, bank, rigs.label_w[d], watts[c], h, x, s)
                else:
                    no_sun(s)
                if adapts:
                    adapt(design, x, lean, s)
                    x = lean
                if cooled:
                    plugged = calendar.charging[n, h, PLUGGED] if charged else type(s[0])(0.0)
                    condition(design, cabin, cooling, clock[h], plugged, x, s)
                else:
                    warm(cabin, clock[h, SET_C], x, s)
                want(design, cabin, clock[h, SWITCHED_ON], x, s)
                if adapts:
                    before_charging(lean, s)
                if noted >= 0:
                    note_asked(h, design, shares[noted], s)
                offer(design, bank, x, s)
                if charged:
                    charge(generator, bank, calendar.charging[n, h], x, s)
                trade(bank, sunny, s)
                if charged:
                    share_out(generator, s)
                serve(design, bank, sunny, s)
                if detailed and cooled:
                    meet(x, s)
                if detailed:
                    overload(design, bank, x, s)
                tally(design, bank, sunny, s)
                if detailed:
                    tally_plugs(s)
                if cooled:
                    count_cooling(s)
                if h == 11 and (n > 0 or calendar.stay[FOLLOWS] == 1):
                    evening = (
                        calendar.days[n - 1, PERIOD] if n > 0 else calendar.days[0, PERIOD] - 1
                    )
                    _count_night(evening, s, out.sums[d])
                if noted >= 0:
                    note_shares(h, shares[noted], s)
                if d == 0:
                    if h == calendar.days[n, DAWN_H]:
                        note_dawn(s)
                    if out.trace.shape[0] > 0:
                        note_hour(calendar.stay[TRACE_AT] + 24 * n + h, x, s, out.trace)
            if n == calendar.days.shape[0] - 1 and calendar.stay[FOLLOWED] == 0:
                _count_night(calendar.days[n, PERIOD], s, out.sums[d])
            _end_day(n, s)
            if cooled:
                end_hot_day(s)
            if noted >= 0:
                add_appliances(uses, asked[c], energy, noted, shares[noted], out.served)
            if d == 0:
                note_day(calendar.stay[DAILY_AT] + n, s, out.daily)
            add_sums(calendar.days[n, PERIOD], s, out.sums[d])


@outlined
def _first_economised(design: Array) -> int:
    """Find the first design of those who economise; -1 if there is none."""
    for d in range(design.shape[1]):
        if pick_design(design, d).economy > 0.0:
            return d
    return -1


@outlined
def _hour_inputs(channel: Ints, energy: Array, sky: Array, inputs: Array) -> None:
    """Sum appliances into their channels, and add outdoor air and sunshine."""
    for h in range(24):
        for c in range(CHANNELS):
            for i in range(LANES):
                inputs[h, c * LANES + i] = 0
        for i in range(LANES):
            inputs[h, r.OUTDOOR_C + i] = sky[3, h, i]
            inputs[h, r.SUNSHINE + i] = sky[0, h, i]
    for a in range(energy.shape[0]):
        c = channel[a]
        for h in range(24):
            for i in range(LANES):
                inputs[h, c * LANES + i] += energy[a, h, i]


@outlined
def _pass_midnight(energy: Array, asked: Array) -> None:
    """Keep the hours of today, and move what runs on past midnight to those of the next day."""
    for a in range(energy.shape[0]):
        for h in range(BUFFER_H - 24):
            for i in range(LANES):
                asked[a, h, i] = energy[a, h, i]
                energy[a, h, i] = energy[a, h + 24, i]
                energy[a, h + 24, i] = 0


@outlined
def _begin_day(bank: Bank, s: Array) -> None:
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
