"""Second kernel: a block of members lives a few days, all designs abreast.

The household's uses are drawn for all the days; then, in `day`, one design after the other steps
through their hours, so all see the same weather and the same household. The loops over lanes
use selects, never branches, so that they stay vectorised.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from flatodds.engine import rows as r
from flatodds.engine.climate import cool_inputs
from flatodds.engine.day import Days, Scratch, live_designs
from flatodds.engine.hour_sun import lit_hours
from flatodds.engine.notes import SHARES, add_wanted
from flatodds.engine.records import (
    DETAILED,
    FIRST_DAY,
    WEEKDAY,
    Calendar,
    Key,
    Out,
    Rigs,
    World,
)
from flatodds.lanes import LANES, kernel, outlined
from flatodds.loads.appliances import BUFFER_H, CHANNELS, NOTED, Uses, draw_uses
from flatodds.loads.cabin import CABIN_FIELDS, fridge_days
from flatodds.loads.coincidence import pass_runs, peak_hours, small_and_shrinking
from flatodds.loads.cooling import cool_phases, pick_cooling
from flatodds.loads.reach import RUNS_IN, find_reach
from flatodds.weather.moisture import WET

Array = npt.NDArray[np.floating]
Ints = npt.NDArray[np.int64]


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
    days = Days(at, world.watts, lit, inputs, asked)
    scratch = Scratch(lean, shares)
    live_designs(calendar, days, cabin_row, uses, rigs, scratch, energy, state, out)


@outlined
def _hour_inputs(channel: Ints, energy: Array, sky: Array, inputs: Array) -> None:
    """Sum appliances into their channels, and add outdoor air and sunshine.

    `channel` (appliance,), `energy` (appliance, ENERGY_ROWS, LANES) [Wh] and `sky` (5, 24, LANES)
    are read, `inputs` (24, INPUTS * LANES) is filled: channels [Wh], air [deg C], sun [W/m2].
    """
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
    """Keep the hours of today, and move what runs on past midnight to those of the next day.

    `energy` (appliance, ENERGY_ROWS, LANES) and `asked` (appliance, 24, LANES) [Wh].
    """
    for a in range(energy.shape[0]):
        for h in range(BUFFER_H - 24):
            for i in range(LANES):
                asked[a, h, i] = energy[a, h, i]
                energy[a, h, i] = energy[a, h + 24, i]
                energy[a, h + 24, i] = 0
