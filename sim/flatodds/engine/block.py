"""The fused kernel: a block of members lives through one stay, all designs abreast.

Day by day: draw the weather, draw the household's uses, turn sun into watts per watt of
panel, then step every design through the day's 24 hours. Only the last part knows the rig,
so all designs see the same weather and the same household.

The loops over lanes use selects, never branches, and touch one flat state array through
constant rows, so that they stay vectorised.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from flatodds.battery.bank import Bank, pick_bank
from flatodds.engine import rows as r
from flatodds.engine.hour import offer, pick_design, serve, tally, trade, want
from flatodds.engine.notes import (
    add_appliances,
    add_sums,
    note_dawn,
    note_day,
    note_hour,
    note_shares,
)
from flatodds.lanes import LANES, kernel, outlined
from flatodds.loads.appliances import BUFFER_H, CHANNELS, Uses, draw_uses
from flatodds.loads.cabin import pick_cabin
from flatodds.solar.array import draw_yield
from flatodds.solar.geometry import Planes
from flatodds.weather.synthetic import (
    SyntheticTables,
    advance_weather,
    begin_weather,
    draw_day,
)

Array = npt.NDArray[np.floating]
Ints = npt.NDArray[np.int64]


class Rigs(NamedTuple):
    """All designs of a run.

    Attributes
    ----------
    bank, design : Array
        Fields of `Bank` and of `Design` in their order, (field, design).
    label_w : Array
        Panel label watts of each group times all its constant factors (soiling, wiring,
        controller), (design, group) [W].
    """

    bank: Array
    design: Array
    label_w: Array


DOY, PERIOD, DAWN_H, CLOCK = range(4)  # columns of Calendar.days
FIRST_DAY, SPIN_DAYS, DAILY_AT, TRACE_AT, WEEKDAY, PLACE, FOLLOWS, FOLLOWED = range(8)
SWITCHED_ON, SET_C = range(2)  # columns of Calendar.clock


class Calendar(NamedTuple):
    """The days of one stay.

    Attributes
    ----------
    days : Ints
        Day of the simulated year (0 to 364), result period, first hour with sun, and which
        clock the household keeps, (day, 4).
    shift_h : Array
        Hours the household's clock is ahead of the simulation clock, (day,).
    clock : Array
        Part of each hour the inverter is left on, and the thermostat's setting [deg C], by
        hour of the simulation clock, for each clock kept, (clock, 24, 2).
    stay : Ints
        Absolute counter of the first day; days of weather to draw unseen before it; where
        the stay begins in the daily results and in the trace; what is added to day and
        member for the day of the week; weather stream of the place; 1 if the stay before
        ends as this one begins; 1 if another stay begins as this one ends, (8,).
    """

    days: Ints
    shift_h: Array
    clock: Array
    stay: Ints


class Given(NamedTuple):
    """Weather handed in as a table instead of drawn; empty if it is drawn.

    Attributes
    ----------
    values : Array
        (member, hour, 5): global, beam normal, diffuse [W/m2], air [deg C], wind [m/s].
    row : Ints
        Table member that each lane lives, (LANES,).
    first_hour : Ints
        Hour of the table at the stay's first midnight, (1,).
    """

    values: Array
    row: Ints
    first_hour: Ints


class Key(NamedTuple):
    """Who is drawn: first member of the block and the two words of the seed."""

    first_member: int
    k0: int
    k1: int


class Out(NamedTuple):
    """Where a block's results go.

    Attributes
    ----------
    sums : npt.NDArray[np.float64]
        (design, LANES, period, sum).
    daily : Array
        Of the first design, (LANES, day, 4).
    wanted, served : npt.NDArray[np.float64]
        Plug energy of each appliance over the stay, first design, (appliance, LANES) [Wh].
    trace : Array
        Of the first design, (hour, TRACE, LANES), or no hours.
    """

    sums: npt.NDArray[np.float64]
    daily: Array
    wanted: npt.NDArray[np.float64]
    served: npt.NDArray[np.float64]
    trace: Array


NIGHTS_FLAT = r.SUMS.index("nights_flat")


@kernel
def live_stay(
    calendar: Calendar,
    key: Key,
    tables: SyntheticTables,
    given: Given,
    planes: Planes,
    uses: Uses,
    cabin_row: Array,
    rigs: Rigs,
    fresh: bool,
    latent: npt.NDArray[np.float64],
    energy: Array,
    state: Array,
    out: Out,
) -> None:
    """Let one block of members live through one stay.

    Parameters
    ----------
    fresh : bool
        Whether this is the first stay (the weather's latent state and the cabin begin anew).
    latent : ndarray
        Latent weather state carried from stay to stay, (rows, LANES).
    energy : Array
        Appliance energies by hour, carried past midnight, (appliance, BUFFER_H, LANES) [Wh].
    state : Array
        Lane state of every design, (design, ROWS * LANES).
    """
    designs = state.shape[0]
    drawn = given.values.shape[0] == 0
    first = calendar.stay[FIRST_DAY]
    place = calendar.stay[PLACE]
    days = calendar.days.shape[0]
    if drawn:
        _spin_up(calendar.days[0, DOY], calendar.stay, key, tables, fresh, latent)
    sky = np.empty((5, 24, LANES), state.dtype)
    watts = np.empty((rigs.label_w.shape[1], 24, LANES), state.dtype)
    inputs = np.zeros((24, r.INPUTS * LANES), state.dtype)
    shares = np.empty((24, 2, LANES), state.dtype)
    wanted = np.zeros((energy.shape[0], LANES), state.dtype)
    cabin = pick_cabin(cabin_row)
    for n in range(days):
        doy = calendar.days[n, DOY]
        clock = calendar.clock[calendar.days[n, CLOCK]]
        day = first + n
        if drawn:
            draw_day(tables, doy, day, key.first_member, place, key.k0, key.k1, latent, sky)
        else:
            _read_day(given, n, sky)
        draw_uses(
            uses,
            day,
            calendar.stay[WEEKDAY],
            calendar.shift_h[n],
            key.first_member,
            key.k0,
            key.k1,
            energy,
            wanted,
        )
        draw_yield(planes, doy, sky, watts)
        _hour_inputs(uses.channel, energy, sky, inputs)
        for d in range(designs):
            bank = pick_bank(rigs.bank, d)
            design = pick_design(rigs.design, d)
            s = state[d]
            _begin_day(bank, s)
            for h in range(24):
                _sun_on_offer(rigs.label_w[d], watts, h, s)
                want(design, cabin, clock[h, SWITCHED_ON], clock[h, SET_C], inputs[h], s)
                offer(design, bank, inputs[h], s)
                trade(bank, s)
                serve(design, bank, s)
                tally(design, bank, s)
                if h == 11 and n > 0:
                    _count_night(calendar.days[n - 1, PERIOD], s, out.sums[d])
                if h == 11 and n == 0 and calendar.stay[FOLLOWS] == 1:
                    _count_night(calendar.days[0, PERIOD] - 1, s, out.sums[d])
                if d == 0:
                    if h == calendar.days[n, DAWN_H]:
                        note_dawn(s)
                    note_shares(h, shares, s)
                    if out.trace.shape[0] > 0:
                        note_hour(calendar.stay[TRACE_AT] + 24 * n + h, h, sky, s, out.trace)
            if n == days - 1 and calendar.stay[FOLLOWED] == 0:
                _count_night(calendar.days[n, PERIOD], s, out.sums[d])
            _end_day(n, s)
            if d == 0:
                note_day(calendar.stay[DAILY_AT] + n, s, out.daily)
            add_sums(calendar.days[n, PERIOD], s, out.sums[d])
        add_appliances(uses.channel, energy, wanted, shares, out.wanted, out.served)
        _pass_midnight(energy)


@outlined
def _spin_up(
    first_doy: int,
    stay: Ints,
    key: Key,
    tables: SyntheticTables,
    fresh: bool,
    latent: npt.NDArray[np.float64],
) -> None:
    """Draw the weather's daily state up to the stay's eve."""
    spin = stay[SPIN_DAYS]
    place = stay[PLACE]
    for n in range(spin):
        day = stay[FIRST_DAY] - spin + n
        doy = (first_doy - spin + n) % 365
        if n == 0 and fresh:
            begin_weather(tables, doy, day, key.first_member, place, key.k0, key.k1, latent)
        else:
            advance_weather(tables, doy, day, key.first_member, place, key.k0, key.k1, latent)


@outlined
def _read_day(given: Given, n: int, sky: Array) -> None:
    """Copy one day of a weather table into `sky`."""
    for h in range(24):
        at = given.first_hour[0] + 24 * n + h
        for i in range(LANES):
            for k in range(5):
                sky[k, h, i] = given.values[given.row[i], at, k]


@outlined
def _hour_inputs(channel: Ints, energy: Array, sky: Array, inputs: Array) -> None:
    """Sum appliances into the six channels, and add outdoor air and sunshine."""
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
def _begin_day(bank: Bank, s: Array) -> None:
    f = type(s[0])
    for i in range(LANES):
        s[r.BEFORE_FRAC + i] = s[r.CHARGE_AH + i] / bank.capacity_ah
        s[r.FULL_TODAY + i] = f(0.0)
        s[r.DAY_WH + i] = f(0.0)
        s[r.DAY_NEED_WH + i] = f(0.0)
        s[r.DAY_LOW + i] = f(1.0)


@outlined
def _sun_on_offer(label_w: Array, watts: Array, h: int, s: Array) -> None:
    """Sun of all groups after the controller's efficiency, before its ampere clip [W]."""
    f = type(s[0])
    for i in range(LANES):
        s[r.SUN_W + i] = f(0.0)
    for g in range(label_w.shape[0]):
        label = label_w[g]
        for i in range(LANES):
            s[r.SUN_W + i] += label * watts[g, h, i]


@outlined
def _count_night(period: int, s: Array, sums: npt.NDArray[np.float64]) -> None:
    """Count the night that ends now, if it had a flat hour, for the period of its evening.

    Nights run from noon to noon. Hours before the first noon of an itinerary belong to its
    first night, hours after the last noon to its last.
    """
    for i in range(LANES):
        sums[i, period, NIGHTS_FLAT] += s[r.NIGHT + i]
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


@outlined
def _pass_midnight(energy: Array) -> None:
    """Move what runs on past midnight to the next day's hours."""
    for a in range(energy.shape[0]):
        for h in range(BUFFER_H - 24):
            for i in range(LANES):
                energy[a, h, i] = energy[a, h + 24, i]
                energy[a, h + 24, i] = 0
