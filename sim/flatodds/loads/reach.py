"""Which hours of a day a use can start, run or cross over into, as bits of one number.

What a slot cannot reach is left out of every loop over hours. Bit 0 is the hour after midnight;
a day's uses may run on past the next one. Times are added in the order in which starts are drawn,
so that rounding never puts one beyond the bounds found here.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from flatodds.lanes import borrowing, inlined
from flatodds.loads.appliances import (
    APPLIANCE,
    AWAY_PERIOD,
    AWAY_TO,
    BUFFER_H,
    HOURS,
    LENGTHS,
    STARTS,
    WINDOWS,
    Uses,
)

Array = npt.NDArray[np.floating]
Ints = npt.NDArray[np.int64]

STARTS_IN, RUNS_IN, CROSSES = range(3)  # rows: starts in the hour, runs in it, runs as it begins


@borrowing
def find_reach(uses: Uses, shift_h: float, reach: Ints) -> None:
    """Find which hours from today's midnight each slot can reach.

    Parameters
    ----------
    uses : Uses
        Slots of the household; those of one appliance share their windows.
    shift_h : float
        Hours the household's clock is ahead of the simulation clock.
    reach : Ints
        Bits of STARTS_IN, RUNS_IN and CROSSES, (3, slot); written to.
    """
    f = type(uses.slots[0, 0])
    zero = f(0.0)
    day_h = f(24.0)
    shift = f(shift_h)
    for s in range(uses.slots.shape[0]):
        if s > 0 and uses.owner[s - 1, APPLIANCE] == uses.owner[s, APPLIANCE]:
            for k in range(3):
                reach[k, s] = reach[k, s - 1]
            continue
        slot = uses.slots[s]
        starts = 0
        runs = 0
        for w in range(WINDOWS):
            if slot[LENGTHS + w] < zero:
                continue
            first = slot[STARTS + w] - shift
            last = slot[STARTS + w] + slot[LENGTHS + w] - shift
            if last >= zero:
                starts |= _hours(first, math.floor(last) + 1)
                runs |= _hours(first, math.ceil(last + slot[HOURS]))
            if first < zero:  # starts that wrap round midnight
                last = min(last, zero) + day_h
                starts |= _hours(first + day_h, math.floor(last) + 1)
                runs |= _hours(first + day_h, math.ceil(last + slot[HOURS]))
        if uses.owner[s, AWAY_PERIOD] > 0:  # or as people come back
            back = slot[AWAY_TO] - shift
            starts |= _hours(back, math.floor(back) + 1)
        reach[STARTS_IN, s] = starts
        reach[RUNS_IN, s] = runs
        reach[CROSSES, s] = runs & (runs << 1)


@inlined
def _hours(first: float, end: int) -> int:
    """Bits of the hours from that of a time on up to another."""
    low = int(max(math.floor(first), 0))
    high = int(min(end, BUFFER_H))
    return ((1 << high) - 1) & ~((1 << low) - 1) if high > low else 0
