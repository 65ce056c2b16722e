"""How likely is it, and how sure are we: proportions with intervals, single and paired.

Two kinds of doubt are kept apart. *Sampling*: only so many members were run, or only so many
real years exist. *Model*: nobody knows exactly how sunny the place is or how much will be used;
that is one unknown per household, so it is spread over cases and never over members.

References
----------
.. [1] E. B. Wilson, "Probable inference, the law of succession, and statistical inference",
   Journal of the American Statistical Association 22(158), 209-212, 1927.
.. [2] D. G. Bonett and R. M. Price, "Adjusted Wald confidence interval for a difference of
   binomial proportions based on paired data", Journal of Educational and Behavioral
   Statistics 37(4), 479-488, 2012.
.. [3] Q. McNemar, "Note on the sampling error of the difference between correlated
   proportions or percentages", Psychometrika 12(2), 153-157, 1947.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist
from typing import Literal, TypedDict

import numpy as np
import numpy.typing as npt

CONFIDENCE = 0.95  # common practice, no source
BAND_FRAC = 0.10  # weight left outside each end of the model band: 10 to 90 %, own choice
WEIGHT_SLACK = 1e-9  # rounding of cumulated weights, far below one member of one case; own choice

IntervalBasis = Literal["monte_carlo", "record"]
Bools = npt.NDArray[np.bool_]
Floats = npt.NDArray[np.float64]


class Proportion(TypedDict):
    """A chance with its sampling interval."""

    estimate: float
    low: float
    high: float


class Band(TypedDict):
    """Two ends of a range."""

    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Sample:
    """How many independent units a proportion rests on.

    Attributes
    ----------
    basis : {"monte_carlo", "record"}
        ``monte_carlo`` counts members of invented weather. ``record`` counts distinct real
        years: a thousand members drawn from ten winters are still ten winters.
    units : int
        Members or distinct years.
    confidence : float
        Level of every interval [1].
    """

    basis: IntervalBasis
    units: int
    confidence: float = CONFIDENCE


def sample_of(members: int, record_years: int | None, confidence: float = CONFIDENCE) -> Sample:
    """Say what the intervals of a run count: its members, or its distinct real years."""
    if record_years is None:
        return Sample("monte_carlo", members, confidence)
    return Sample("record", min(record_years, members), confidence)


def normal_quantile(confidence: float) -> float:
    """Two-sided standard normal quantile of a confidence level in (0, 1)."""
    if not 0.0 < confidence < 1.0:
        raise ValueError(f"confidence {confidence} is not between 0 and 1")
    return NormalDist().inv_cdf(0.5 + confidence / 2.0)


def wilson(estimate: float, units: int, confidence: float = CONFIDENCE) -> Band:
    """Score interval of a proportion [1]_.

    Parameters
    ----------
    estimate : float
        Proportion seen, 0 to 1; ``estimate * units`` need not be whole.
    units : int
        Independent units it was seen in.
    confidence : float
        Two-sided level [1].

    Notes
    -----
    An estimate that is a mean over cases varies less between members than a yes or no of the
    same mean does, so the interval is then on the wide side.
    """
    if units < 1 or not 0.0 <= estimate <= 1.0:
        raise ValueError(f"no interval for {estimate} of {units}")
    z2 = normal_quantile(confidence) ** 2
    centre = (estimate + z2 / (2.0 * units)) / (1.0 + z2 / units)
    spread = estimate * (1.0 - estimate) / units + z2 / (4.0 * units * units)
    half = z2**0.5 * spread**0.5 / (1.0 + z2 / units)
    # At 0 and 1 the ends are exact; elsewhere rounding must not cross the estimate.
    low = 0.0 if estimate == 0.0 else min(max(centre - half, 0.0), estimate)
    high = 1.0 if estimate == 1.0 else max(min(centre + half, 1.0), estimate)
    return {"low": low, "high": high}


def proportion(estimate: float, sample: Sample) -> Proportion:
    """Attach the sampling interval to a proportion."""
    ends = wilson(estimate, sample.units, sample.confidence)
    return {"estimate": estimate, "low": ends["low"], "high": ends["high"]}


def case_shares(flags: Bools) -> Floats:
    """Share of members with the flag in each case: (case, member) to (case,) [1]."""
    shares: Floats = np.count_nonzero(flags, axis=1) / flags.shape[1]
    return shares


def mixture_proportion(flags: Bools, weights: Floats, sample: Sample) -> Proportion:
    """Mean chance over the weighted cases with its sampling interval.

    Parameters
    ----------
    flags : Bools
        Whether it happened, (case, member).
    weights : Floats
        Share of each case in the mixture, (case,), summing to 1 [1].
    sample : Sample
        What the interval counts.
    """
    estimate = float(np.dot(weights, case_shares(flags)))
    return proportion(min(max(estimate, 0.0), 1.0), sample)


def mixture_range(flags: Bools, weights: Floats, sample: Sample) -> Band:
    """Range of the chance over sampling and model together.

    From the Wilson low end at the case share that leaves a tenth of the weight below it, to
    the Wilson high end at the share that leaves a tenth above it. When a few cases carry all
    the chance, the mean can lie outside these; the range then reaches out to the interval of
    the mean, so that a headline never lies outside its own range. With one case the range is
    the Wilson interval.

    Parameters
    ----------
    flags, weights, sample
        As for :func:`mixture_proportion`.
    """
    shares = case_shares(flags)
    bottom = wilson(outer_share(shares, weights), sample.units, sample.confidence)
    top = wilson(1.0 - outer_share(1.0 - shares, weights), sample.units, sample.confidence)
    mean = mixture_proportion(flags, weights, sample)
    return {"low": min(bottom["low"], mean["low"]), "high": max(top["high"], mean["high"])}


def outer_share(shares: Floats, weights: Floats) -> float:
    """Smallest case share with at least ``BAND_FRAC`` of the weight at or below it."""
    order = np.argsort(shares, kind="stable")
    cumulated = np.cumsum(weights[order])
    at = int(np.searchsorted(cumulated, BAND_FRAC * cumulated[-1] - WEIGHT_SLACK))
    return float(shares[order[at]])


def paired_difference(
    first: Bools,
    second: Bools,
    *,
    years: int | None = None,
    weights: Sequence[float] | None = None,
    confidence: float = CONFIDENCE,
) -> Proportion:
    """How much likelier the second is than the first over the same members.

    Only members where the two differ speak (McNemar's idea [3]_); the interval is Bonett and
    Price's adjusted Wald interval for paired proportions [2]_, which adds one to each of the two
    discordant counts and so never shrinks to nothing when none differ.

    Parameters
    ----------
    first, second : Bools
        Whether it happened, (member,) or (case, member), same members in the same order.
    years : int, optional
        Distinct real years behind the members. Shares of members then count as shares of so
        many years, because repeats of a year are not independent.
    weights : sequence of float, optional
        Share of each case (case,) [1]; equal when not given.
    confidence : float
        Two-sided level [1].

    Returns
    -------
    Proportion
        Difference second minus first, -1 to 1.

    Notes
    -----
    With several cases the discordant shares are means over cases. A member's mean difference
    varies less than a single case's, so the interval is on the wide side.
    """
    if first.shape != second.shape:
        raise ValueError(f"flags of different shapes: {first.shape} and {second.shape}")
    one, two = np.atleast_2d(first), np.atleast_2d(second)
    share = np.full(len(one), 1.0 / len(one)) if weights is None else np.asarray(weights)
    gained = float(np.dot(share, case_shares(two & ~one)))
    lost = float(np.dot(share, case_shares(one & ~two)))
    units = one.shape[1] if years is None else min(years, one.shape[1])
    low, high = bonett_price(gained, lost, units, confidence)
    return {"estimate": gained - lost, "low": low, "high": high}


def bonett_price(
    gained: float, lost: float, units: int, confidence: float = CONFIDENCE
) -> tuple[float, float]:
    """Compute the adjusted Wald interval for a difference of paired proportions [2]_.

    Parameters
    ----------
    gained, lost : float
        Share of pairs with only the second, and with only the first, flag set [1].
    units : int
        Number of pairs.
    confidence : float
        Two-sided level [1].
    """
    up = (gained * units + 1.0) / (units + 2.0)
    down = (lost * units + 1.0) / (units + 2.0)
    centre = up - down
    variance = (up + down - centre * centre) / (units + 2.0)
    half = normal_quantile(confidence) * variance**0.5
    return max(centre - half, -1.0), min(centre + half, 1.0)
