"""How much: mean and percentiles of a quantity over the mixture of cases and members.

Each member of each weighted case is one possible stay. Percentiles are of stays, never of hours:
the hours of one stay hang together and say nothing on their own about the next.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TypedDict

import numpy as np
import numpy.typing as npt

from flatodds.outcomes.odds import WEIGHT_SLACK

AMOUNT_LEVELS: Mapping[str, float] = {"p50": 0.50, "p90": 0.90, "p99": 0.99}  # own choice

Floats = npt.NDArray[np.float64]


class Amount(TypedDict):
    """Mean and percentiles of a quantity over possible stays."""

    mean: float
    p50: float
    p90: float
    p99: float


def mixture_quantiles(
    values: Floats, weights: Floats, levels: Mapping[str, float]
) -> dict[str, float]:
    """Percentiles over the weighted mixture of cases and members.

    Parameters
    ----------
    values : Floats
        The quantity, (case, member), any unit; may be infinite.
    weights : Floats
        Share of each case in the mixture, (case,), summing to 1 [1].
    levels : mapping of str to float
        Name and level, 0 to 1, of each percentile.

    Returns
    -------
    dict of str to float
        Inverse of the distribution function: the smallest value that at least the level's
        share of stays does not exceed. No value is ever made up between two stays.
    """
    used = weights > 0.0
    flat = values[used].ravel()
    order = np.argsort(flat, kind="stable")
    each = np.repeat(weights[used] / values.shape[1], values.shape[1])[order]
    cumulated = np.cumsum(each)
    at = np.searchsorted(cumulated, np.array(list(levels.values())) * cumulated[-1] - WEIGHT_SLACK)
    found = flat[order[np.minimum(at, len(order) - 1)]]
    return dict(zip(levels, (float(value) for value in found), strict=True))


def mixture_mean(values: Floats, weights: Floats) -> float:
    """Mean over the weighted mixture: (case, member) to one number, unit of the values."""
    return float(np.dot(weights, values.mean(axis=1)))


def mixture_amount(values: Floats, weights: Floats) -> Amount:
    """Mean and 50, 90 and 99 % points of a quantity (case, member), unit of the values."""
    found = mixture_quantiles(values, weights, AMOUNT_LEVELS)
    return {
        "mean": mixture_mean(values, weights),
        "p50": found["p50"],
        "p90": found["p90"],
        "p99": found["p99"],
    }


def member_amount(values: Floats) -> Amount:
    """Mean and percentiles of a quantity known for one case only, (member,)."""
    return mixture_amount(values[np.newaxis, :], np.ones(1))
