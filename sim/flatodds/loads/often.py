"""How often an appliance runs: slots whose chances give the mean and the spread asked for.

A slot is one use that happens on a day with some chance. n equal slots of chance m/n have the
variance m (1 - m/n); certain slots and one of chance m - floor(m) have the least that whole
numbers of mean m can have. A mixture of the two has any variance between. More than that, or more
slots than there may be, needs days on which all chances are greater or smaller together.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from flatodds.loads.appliances import UseSpec

MOST_SLOTS = 24  # uses a day beyond which slots stand for several uses each
TILT_SLOT = 1 << 20  # in a slot's place among random numbers: those of the appliance's day
TINY = 1e-9  # keeps a division finite


@dataclass(frozen=True, slots=True)
class Often:
    """Chances of the slots of one appliance.

    Attributes
    ----------
    weekday, weekend, wet_weekday, wet_weekend : list of float
        Of each slot, on dry days and on days with rain or snow [1].
    tilt : float
        Every day, with even odds, all chances are this much greater or smaller [1].
    stacked : float
        Uses that each slot stands for.
    """

    weekday: list[float]
    weekend: list[float]
    wet_weekday: list[float]
    wet_weekend: list[float]
    tilt: float
    stacked: float


ALWAYS = Often([1.0], [1.0], [1.0], [1.0], 0.0, 1.0)


def how_often(spec: UseSpec) -> Often:
    """Chances of an appliance used so many times a day with such a spread."""
    dry = (spec.times_a_day, spec.times_a_day_weekend)
    means = (*dry, *(times * spec.wet_day_factor for times in dry))
    most = max(means)
    stacked = max(1.0, math.ceil(most / MOST_SLOTS))
    usual = (spec.times_a_day if spec.times_a_day > 0.0 else most) / stacked
    variance = (spec.times_sd / stacked) ** 2
    ratio = most / stacked / max(usual, TINY)  # of the fuller days to the usual ones
    count, tilt = _count(usual, variance, ratio)
    chances = []
    for mean in (times / stacked for times in means):
        own = variance * mean / max(usual, TINY)
        chances.append([mean / count] * count if tilt > 0.0 else _mixed(mean, own, count))
    return Often(chances[0], chances[1], chances[2], chances[3], tilt, stacked)


def _count(mean: float, variance: float, ratio: float) -> tuple[int, float]:
    """Find the fewest slots that can have the variance, and their tilt."""
    least = max(1, math.ceil(mean * ratio - TINY))
    for count in range(least, MOST_SLOTS + 1):
        if mean * (1.0 - mean / count) >= variance - TINY:
            return count, 0.0
    for count in range(max(least, 2), MOST_SLOTS + 1):
        tilt = _tilt(mean, variance, count)
        if tilt <= min(1.0, count / (mean * ratio) - 1.0):
            return count, tilt
    return MOST_SLOTS, min(1.0, MOST_SLOTS / (mean * ratio) - 1.0)


def _tilt(mean: float, variance: float, count: int) -> float:
    """Solve variance = mean - mean^2 (1 + tilt^2) / count + (mean tilt)^2 for the tilt."""
    over = variance - mean + mean**2 / count
    return math.sqrt(max(over, 0.0) / (mean**2 * (1.0 - 1.0 / count)))


def _mixed(mean: float, variance: float, count: int) -> list[float]:
    """Chances between equal ones and as few uncertain ones as can be, of the variance.

    With p = m/n + w (e - m/n), e the uncertain ones, sum p (1 - p) = m - m^2/n
    - w^2 (sum e^2 - m^2/n), which gives w.
    """
    even = mean / count
    sure = [min(max(mean - k, 0.0), 1.0) for k in range(count)]
    room = sum(chance**2 for chance in sure) - mean * even
    lacking = mean - mean * even - variance
    weight = math.sqrt(min(max(lacking / max(room, TINY), 0.0), 1.0))
    return [even + weight * (chance - even) for chance in sure]
