"""What runs at the same minute: peaks of mains use within the hour, exact.

Mains appliances that draw more than `PEAK_FROM_W` as they start are followed by their own
start and end. What they draw together changes only when one starts or ends, so the most of
an hour is found at the hour's beginning or at a start in it. An appliance never runs twice
at once.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from flatodds.lanes import LANES, outlined
from flatodds.loads.appliances import (
    APPLIANCE,
    NEEDS,
    PEAK_W,
    SHRINK,
    SURGE_W,
    Uses,
    reach,
)

Array = npt.NDArray[np.floating]

LEVELS = 3  # must-have use alone; with can-wait use; with spare-sun use too
OWN = LEVELS  # row of the appliance being added up


@outlined
def peak_hours(uses: Uses, shift_h: float, runs: Array, at_row: int, inputs: Array) -> None:
    """Most that followed appliances draw together in every hour of today.

    Parameters
    ----------
    uses : Uses
        Slots of the household.
    shift_h : float
        Hours the household's clock is ahead of the simulation clock.
    runs : Array
        As `draw_uses` leaves it, (4, slot, LANES) [h].
    at_row : int
        Where in `inputs` the results go: LEVELS rows as they run, LEVELS as one starts [W].
    inputs : Array
        Inputs of the hours, (24, rows * LANES).
    """
    f = type(runs[0, 0, 0])
    zero = f(0.0)
    when = np.empty(LANES, runs.dtype)
    loads = np.empty((LEVELS + 1, LANES), runs.dtype)
    for h in range(24):
        for k in range(2 * LEVELS * LANES):
            inputs[h, at_row + k] = zero
    for s in range(uses.slots.shape[0]):
        slot = uses.slots[s]
        if slot[PEAK_W] <= zero:
            continue
        need = min(uses.channel[uses.owner[s, APPLIANCE]] // 2, NEEDS - 1)
        low, high = reach(slot, shift_h)
        for ago in range(2):
            first = max(low - 24 * ago, 0)
            last = min(high - 24 * ago, 24)
            if first >= last:
                continue
            for i in range(LANES):
                when[i] = runs[2 * ago, s, i]
            _together(uses, shift_h, runs, when, first, last, loads)
            for h in range(first, last):
                _raise_peaks(f(h), need, slot[SURGE_W], when, loads, at_row, inputs[h])
    for h in range(24):
        for i in range(LANES):
            when[i] = f(h)
        _together(uses, shift_h, runs, when, h, h + 1, loads)
        _raise_peaks(f(h), LEVELS, zero, when, loads, at_row, inputs[h])


@outlined
def _together(
    uses: Uses, shift_h: float, runs: Array, when: Array, first: int, last: int, loads: Array
) -> None:
    """Add up what runs at each lane's time, which lies in the hours [first, last)."""
    f = type(runs[0, 0, 0])
    zero = f(0.0)
    for k in range(LEVELS + 1):
        for i in range(LANES):
            loads[k, i] = zero
    for s in range(uses.slots.shape[0]):
        slot = uses.slots[s]
        watts = slot[PEAK_W]
        if watts <= zero:
            continue
        appliance = uses.owner[s, APPLIANCE]
        low, high = reach(slot, shift_h)
        for ago in range(2):
            if low - 24 * ago >= last or high - 24 * ago <= first:
                continue
            begins = runs[2 * ago, s]
            ends_at = runs[2 * ago + 1, s]
            own = loads[OWN]
            for i in range(LANES):
                t = when[i]
                begun = watts if begins[i] <= t else zero
                now = begun if t < ends_at[i] else zero
                own[i] = max(own[i], now)
        ends = s + 1 == uses.slots.shape[0]
        if ends or uses.owner[s + 1, APPLIANCE] != appliance:
            need = min(uses.channel[appliance] // 2, NEEDS - 1)
            for k in range(need, LEVELS):
                for i in range(LANES):
                    loads[k, i] += loads[OWN, i]
            for i in range(LANES):
                loads[OWN, i] = zero


@outlined
def _raise_peaks(
    hour: float, need: int, surge_w: float, when: Array, loads: Array, at_row: int, inputs: Array
) -> None:
    """Raise the peaks of an hour to what runs, or starts, in it."""
    f = type(hour)
    zero = f(0.0)
    for k in range(LEVELS):
        row = at_row + k * LANES
        start_row = at_row + (LEVELS + k) * LANES
        more = surge_w if k >= need else zero
        load = loads[k]
        for i in range(LANES):
            t = when[i]
            found = load[i]
            starting = found + more
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
def pass_runs(runs: Array) -> None:
    """Let today's runs become yesterday's."""
    f = type(runs[0, 0, 0])
    for k in range(2):
        for s in range(runs.shape[1]):
            for i in range(LANES):
                runs[k + 2, s, i] = runs[k, s, i] - f(24.0)
