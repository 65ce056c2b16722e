"""Wear of a bank: cycles counted out of a trace of charge, and years until it is worn out.

Two clocks run: cycling and standing. Both end, here, when 80 % of the capacity is left. Lead
has a third enemy that neither shows: never being full (sulfation), so days since full are
told beside them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

if TYPE_CHECKING:
    from flatodds.catalog import Chemistry

Floats = npt.NDArray[np.float64]

MOST_YEARS = 99.0  # longer lives say no more than this
DAYS_A_YEAR = 365.0  # definition
LEAST_CYCLE_FRAC = 0.005  # smaller swings are rounding and noise, and wear nothing; judgement


def turning_points(values: Sequence[float]) -> list[float]:
    """Values at which a trace turns, its ends included."""
    points: list[float] = []
    for value in values:
        if points and value == points[-1]:
            continue
        if len(points) >= 2 and (points[-1] - points[-2]) * (value - points[-1]) > 0.0:
            points[-1] = value
        else:
            points.append(value)
    return points


def rainflow(values: Sequence[float]) -> Iterator[tuple[float, float]]:
    """Count cycles of a trace by the rainflow rule of ASTM E1049-85, section 5.4.4.

    Yields
    ------
    range, count : float
        Height of a cycle, and 1 for a whole one or 0.5 for a half.
    """
    kept: list[float] = []
    for point in turning_points(values):
        kept.append(point)
        while len(kept) >= 3:
            last = abs(kept[-1] - kept[-2])
            before = abs(kept[-2] - kept[-3])
            if last < before:
                break
            if len(kept) == 3:  # the range begins at the trace's start: half a cycle
                yield before, 0.5
                del kept[0]
            else:
                yield before, 1.0
                del kept[-3:-1]
    for left, right in pairwise(kept):
        yield abs(right - left), 0.5


def days_trace(lows: npt.NDArray[np.floating], highs: npt.NDArray[np.floating]) -> list[float]:
    """Put daily extremes of charge, (day,) each, in the order of a day: low at dawn, then high."""
    return [float(v) for pair in zip(lows, highs, strict=True) for v in pair]


def life_used(kind: Chemistry, values: Sequence[float]) -> float:
    """Share of the cycle life that a trace of charge [1] uses up.

    Cycles of depth d are worth (d / reference depth)^exponent of a reference cycle (Miner's
    sum, as for fatigue).
    """
    if kind.cycle_life is None or kind.cycle_depth_frac is None or kind.cycle_exponent is None:
        return 0.0
    depth, exponent = kind.cycle_depth_frac, kind.cycle_exponent
    worth = 0.0
    for height, count in rainflow(values):
        if height >= LEAST_CYCLE_FRAC:
            worth += count * float((height / depth) ** exponent)
    return worth / kind.cycle_life


def years_by_cycles(kind: Chemistry, lows: Floats, highs: Floats) -> Floats:
    """Years to 80 % at the pace of these days, for each member.

    Parameters
    ----------
    kind : Chemistry
        Its cycle life.
    lows, highs : Floats
        Least and greatest charge of each day, (member, day) [1].

    Returns
    -------
    Floats
        (member,), at most `MOST_YEARS`.
    """
    years = lows.shape[1] / DAYS_A_YEAR
    used = np.array(
        [life_used(kind, days_trace(low, high)) for low, high in zip(lows, highs, strict=True)]
    )
    found: Floats = np.minimum(years / np.maximum(used, 1e-9), MOST_YEARS)
    return found
