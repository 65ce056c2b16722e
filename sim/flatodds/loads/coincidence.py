"""What runs at the same minute: peaks of mains use within the hour, exact.

Mains appliances that draw more than `PEAK_FROM_W` as they start are followed by their own
start and end. What they draw together changes only when one starts or ends, so the most of
an hour is found at the hour's beginning or at a start in it. An appliance never runs twice
at once.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from flatodds.lanes import LANES, borrowing, outlined
from flatodds.loads.appliances import (
    APPLIANCE,
    NEEDS,
    PEAK_W,
    SHRINK,
    SURGE_W,
    Uses,
)
from flatodds.loads.reach import CROSSES, RUNS_IN, STARTS_IN

Array = npt.NDArray[np.floating]
Ints = npt.NDArray[np.int64]

LEVELS = 3  # must-have use alone; with can-wait use; with spare-sun use too
OWN = LEVELS  # row of the appliance being added up


@outlined
def peak_hours(
    uses: Uses, reach: Ints, runs: Array, timed: bool, at_row: int, inputs: Array
) -> None:
    """Most that followed appliances draw together in every hour of today.

    Parameters
    ----------
    uses : Uses
        Slots of the household.
    reach : Ints
        As `find_reach` leaves it, (3, slot).
    runs : Array
        As `draw_uses` leaves it, (4, slot, LANES) [h].
    timed : bool
        Whether to tell how long the peaks last.
    at_row : int
        Where in `inputs` the results go: LEVELS rows as they run, LEVELS as one starts [W]; and
        where `timed` LEVELS rows of how long the first last in that hour [h].
    inputs : Array
        Inputs of the hours, (24, rows * LANES).
    """
    f = type(runs[0, 0, 0])
    levels = np.zeros(24, np.int64)
    when = np.empty(LANES, runs.dtype)
    loads = np.empty((LEVELS + 1, LANES), runs.dtype)
    until = np.empty((LEVELS + 1, LANES), runs.dtype)
    for h in range(24):
        for k in range((3 if timed else 2) * LEVELS * LANES):
            inputs[h, at_row + k] = f(0.0)
    _count_levels(uses, reach[RUNS_IN], levels)
    _peaks_at_starts(uses, reach, runs, timed, at_row, levels, when, loads, until, inputs)
    for h in range(24):
        if levels[h] > 0:
            for i in range(LANES):
                when[i] = f(h)
            if _together(uses, reach[CROSSES], runs, when, 1 << h, timed, loads, until):
                if timed:
                    _time_peaks(f(h), 0, levels[h], when, loads, until, at_row, inputs[h])
                _raise_peaks(f(h), 0, levels[h], f(0.0), when, loads, at_row, inputs[h])
            _fill_levels(levels[h], 3 if timed else 2, at_row, inputs[h])


@borrowing
def _count_levels(uses: Uses, runs_in: Ints, levels: Ints) -> None:
    """Find how many levels differ in each hour; above them no followed use reaches it."""
    for s in range(uses.slots.shape[0]):
        if uses.slots[s, PEAK_W] <= 0.0:
            continue
        need = min(uses.channel[uses.owner[s, APPLIANCE]] // 2, NEEDS - 1)
        for h in range(24):
            if (runs_in[s] | runs_in[s] >> 24) >> h & 1:
                levels[h] = max(levels[h], need + 1)


@borrowing
def _fill_levels(count: int, parts: int, at_row: int, inputs: Array) -> None:
    """Give the levels from `count` on what the last one below has."""
    for part in range(parts):
        last = at_row + (part * LEVELS + count - 1) * LANES
        for k in range(1, LEVELS - count + 1):
            for i in range(LANES):
                inputs[last + k * LANES + i] = inputs[last + i]


@borrowing
def _peaks_at_starts(
    uses: Uses,
    reach: Ints,
    runs: Array,
    timed: bool,
    at_row: int,
    levels: Ints,
    when: Array,
    loads: Array,
    until: Array,
    inputs: Array,
) -> None:
    """Raise the hours' peaks to what runs as each use starts; the last but `inputs` are scratch."""
    f = type(runs[0, 0, 0])
    today = (1 << 24) - 1
    for s in range(uses.slots.shape[0]):
        slot = uses.slots[s]
        if slot[PEAK_W] <= f(0.0):
            continue
        need = min(uses.channel[uses.owner[s, APPLIANCE]] // 2, NEEDS - 1)
        for ago in range(2):
            hours = reach[STARTS_IN, s] >> 24 * ago & today
            if hours == 0:
                continue
            for i in range(LANES):
                when[i] = runs[2 * ago, s, i]
            _together(uses, reach[RUNS_IN], runs, when, hours, timed, loads, until)
            for h in range(24):
                if hours >> h & 1:
                    if timed:
                        _time_peaks(f(h), need, levels[h], when, loads, until, at_row, inputs[h])
                    _raise_peaks(
                        f(h), need, levels[h], slot[SURGE_W], when, loads, at_row, inputs[h]
                    )


@borrowing
def _together(
    uses: Uses,
    reach: Ints,
    runs: Array,
    when: Array,
    hours: int,
    timed: bool,
    loads: Array,
    until: Array,
) -> bool:
    """Add up what runs at each lane's time, which lies in one of the hours (bits).

    Uses that do not `reach` them (bits by slot) are left out; false if that is all. Where `timed`
    also finds `until` when the last of what runs then goes on [h].
    """
    f = type(runs[0, 0, 0])
    zero = f(0.0)
    for k in range(LEVELS + 1):
        for i in range(LANES):
            loads[k, i] = zero
            until[k, i] = zero
    own = loads[OWN]
    own_until = until[OWN]
    any_of_it = False
    any_at_all = False
    for s in range(uses.slots.shape[0]):
        watts = uses.slots[s, PEAK_W]
        if watts <= zero:
            continue
        for ago in range(2):
            if reach[s] >> 24 * ago & hours == 0:
                continue
            any_of_it = True
            begins = runs[2 * ago, s]
            ends_at = runs[2 * ago + 1, s]
            for i in range(LANES):
                t = when[i]
                begun = watts if begins[i] <= t else zero
                now = begun if t < ends_at[i] else zero
                own[i] = max(own[i], now)
            if timed:
                for i in range(LANES):
                    t = when[i]
                    ends = ends_at[i] if begins[i] <= t else zero
                    own_until[i] = max(own_until[i], ends)
        appliance = uses.owner[s, APPLIANCE]
        last = s + 1 == uses.slots.shape[0]
        if any_of_it and (last or uses.owner[s + 1, APPLIANCE] != appliance):
            need = min(uses.channel[appliance] // 2, NEEDS - 1)
            for k in range(need, LEVELS):
                for i in range(LANES):
                    loads[k, i] += own[i]
                    until[k, i] = max(until[k, i], own_until[i])
            for i in range(LANES):
                own[i] = zero
                own_until[i] = zero
            any_of_it = False
            any_at_all = True
    return any_at_all


@borrowing
def _time_peaks(
    hour: float,
    need: int,
    levels: int,
    when: Array,
    loads: Array,
    until: Array,
    at_row: int,
    inputs: Array,
) -> None:
    """Tell how long an hour's peaks last, before they are raised; equal ones one after another.

    From this moment on until the last of what runs then ends, or the hour does.
    """
    f = type(hour)
    one = f(1.0)
    for k in range(need, levels):
        row = at_row + k * LANES
        lasts_row = at_row + (2 * LEVELS + k) * LANES
        for i in range(LANES):
            t = when[i]
            found = loads[k, i] if t >= hour else f(0.0)
            found = found if t < hour + one else f(0.0)
            kept = inputs[lasts_row + i]
            length = min(until[k, i], hour + one) - t
            peak = inputs[row + i]
            lasts = kept if found < peak else min(kept + length, one)
            lasts = length if found > peak else lasts
            inputs[lasts_row + i] = lasts if found > f(0.0) else kept


@borrowing
def _raise_peaks(
    hour: float,
    need: int,
    levels: int,
    surge_w: float,
    when: Array,
    loads: Array,
    at_row: int,
    inputs: Array,
) -> None:
    """Raise the peaks of an hour to what runs, or starts, in it.

    Below its own level a start changes nothing: what runs there was on when the last of it began.
    """
    f = type(hour)
    zero = f(0.0)
    for k in range(need, levels):
        row = at_row + k * LANES
        start_row = at_row + (LEVELS + k) * LANES
        load = loads[k]
        for i in range(LANES):
            t = when[i]
            found = load[i]
            starting = found + surge_w
            found = found if t >= hour else zero
            found = found if t < hour + f(1.0) else zero
            starting = starting if t >= hour else zero
            starting = starting if t < hour + f(1.0) else zero
            inputs[row + i] = max(inputs[row + i], found)
            inputs[start_row + i] = max(inputs[start_row + i], starting)


@outlined
def small_and_shrinking(
    uses: Uses, energy: Array, rows: tuple[int, int, int], inputs: Array
) -> None:
    """Sum must-have mains use that is not followed, and what economising gives up.

    Parameters
    ----------
    uses : Uses
        Slots of the household.
    energy : Array
        Energy by hour, (appliance, ENERGY_ROWS, LANES) [Wh].
    rows : tuple of int
        Where the mains use not followed, and what is given up of DC and AC use, go.
    inputs : Array
        Inputs of the hours, (24, rows * LANES) [Wh].
    """
    f = type(energy[0, 0, 0])
    small, dc, ac = rows
    for h in range(24):
        for i in range(LANES):
            inputs[h, small + i] = f(0.0)
            inputs[h, dc + i] = f(0.0)
            inputs[h, ac + i] = f(0.0)
    for s in range(uses.slots.shape[0]):
        a = uses.owner[s, APPLIANCE]
        if s > 0 and uses.owner[s - 1, APPLIANCE] == a:
            continue
        if uses.channel[a] // 2 > 0:  # must-have use only
            continue
        mains = uses.channel[a] % 2 == 1
        shrink = uses.slots[s, SHRINK]
        row = ac if mains else dc
        if mains and uses.slots[s, PEAK_W] <= f(0.0):
            for h in range(24):
                for i in range(LANES):
                    inputs[h, small + i] += energy[a, h, i]
        if shrink > f(0.0):
            for h in range(24):
                for i in range(LANES):
                    inputs[h, row + i] += shrink * energy[a, h, i]


@outlined
def pass_runs(uses: Uses, runs: Array) -> None:
    """Let today's runs of what is followed become yesterday's."""
    f = type(runs[0, 0, 0])
    for k in range(2):
        for s in range(runs.shape[1]):
            if uses.slots[s, PEAK_W] <= f(0.0):
                continue
            for i in range(LANES):
                runs[k + 2, s, i] = runs[k, s, i] - f(24.0)
