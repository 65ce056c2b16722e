"""How sure a mean amount is: an interval that holds up when few members make up all of it.

Most amounts that differ between rigs are nothing for most members and much for a few. The usual
interval, mean and twice the standard error, then holds the truth far too seldom (40 to 90 times
in 100, measured), and shrinks to nothing when nobody was struck.

References
----------
.. [1] M. P. Fay and E. J. Feuer, "Confidence intervals for directly standardized rates: a
   method based on the gamma distribution", Statistics in Medicine 16(7), 791-801, 1997.
.. [2] G. Y. Zou and A. Donner, "Construction of confidence limits about effect measures: a
   general approach", Statistics in Medicine 27(10), 1693-1702, 2008.
"""

from __future__ import annotations

from typing import TypedDict

import numpy as np
import numpy.typing as npt

from flatodds.outcomes.odds import CONFIDENCE, normal_quantile

Floats = npt.NDArray[np.float64]


class Mean(TypedDict):
    """A mean with its sampling interval."""

    mean: float
    low: float
    high: float


def mean_of(values: Floats, units: int, one_more: float = 0.0) -> Mean:
    """Mean of values with its interval.

    What is above and what is below zero are amounts by themselves, each with a gamma interval
    [1]_; the two are put together as for a difference of quantities that hang together [2]_.

    Parameters
    ----------
    values : Floats
        One for each member, (member,), any unit, any sign.
    units : int
        Independent units they rest on: members, or real years, which count like so many
        members of the same spread. A year's mean varies less than its members do, so the
        interval is then on the wide side.
    one_more : float
        What one more unit might bring, unit of the values; the largest value seen if
        that is more. It decides the interval where hardly a member has anything.

    References
    ----------
    See the module.
    """
    units = max(units, 2)  # one alone tells no spread
    up, down = np.maximum(values, 0.0), np.maximum(-values, 0.0)
    largest = max(float(np.abs(values).max()), one_more)
    gain, gain_low, gain_high = _ends(up, units, largest)
    loss, loss_low, loss_high = _ends(down, units, largest)
    spread = float(up.std() * down.std())
    together = max(-gain * loss / spread, -1.0) if spread > 0.0 else 0.0  # never both at once
    mean = float(values.mean())
    below = _apart(gain - gain_low, loss_high - loss, together)
    above = _apart(gain_high - gain, loss - loss_low, together)
    return {"mean": mean, "low": mean - below, "high": mean + above}


def _apart(one: float, other: float, together: float) -> float:
    """Distance of an end of a difference from it, from the distances of both parts' ends."""
    return float(max(one * one + other * other - 2.0 * together * one * other, 0.0) ** 0.5)


def _ends(values: Floats, units: int, largest: float) -> tuple[float, float, float]:
    """Mean of amounts that are never negative (member,), and both ends of its interval.

    The sum over units is taken as gamma distributed; for the upper end, with one more unit of
    the `largest` amount. Few units know their own spread badly, which Student's quantile in
    place of the normal one makes good, as for a plain mean.
    """
    from scipy.special import gammaincinv, stdtrit

    tail = (1.0 - CONFIDENCE) / 2.0
    wider = float(stdtrit(units - 1, 1.0 - tail)) / normal_quantile(CONFIDENCE)
    total = float(values.mean()) * units
    variance = float(values.var()) * units * units / (units - 1) * wider * wider
    low = total
    if total > 0.0 and variance > 0.0:
        low = variance / total * float(gammaincinv(total * total / variance, tail))
    more, varied = total + largest, variance + largest * largest
    high = total
    if more > 0.0:
        high = varied / more * float(gammaincinv(more * more / varied, 1.0 - tail))
    return total / units, low / units, high / units
