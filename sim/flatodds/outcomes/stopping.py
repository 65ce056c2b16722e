"""How many members are enough: until chance in the drawing matters little beside other doubt.

Looking again and again at a growing sample makes intervals too narrow only when the first look
comes early; from a thousand members on, with doubling, the effect is small (the tests measure
how often the interval holds the truth, stopping included).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from flatodds.outcomes.odds import (
    Bools,
    Floats,
    Sample,
    case_shares,
    mixture_proportion,
    outer_share,
    wilson,
)
from flatodds.outcomes.summary import flat_flags

if TYPE_CHECKING:
    from flatodds.outcomes.record import Record

FIRST_MEMBERS = 1024  # where looking first is harmless: own simulation, see the tests
MOST_AUTO_MEMBERS = 16_384  # sampling error then at most 0.8 of 100 (Wilson, 95 %)
SHARE_OF_BAND = 1.0 / 3.0  # judgement: a third adds in quadrature to 5 % of the whole
FINE_ENOUGH = 0.01  # one case in 100 changes no decision: judgement


def next_members(record: Record) -> int:
    """Members to have lived before looking again; the same number once there are enough."""
    members = record.members
    if members >= MOST_AUTO_MEMBERS:
        return members
    stays = [flat_flags(record, stay) for stay in range(len(record.facts.stays))]
    years = record.record_years
    done = all(enough(flags, record.weights, years) for flags in [flat_flags(record), *stays])
    return members if done else min(2 * members, MOST_AUTO_MEMBERS)


def enough(flags: Bools, weights: Floats, years: int | None = None) -> bool:
    """Whether the sampling error of a chance is small beside its other doubt, or in itself.

    Parameters
    ----------
    flags : Bools
        Whether it happened, (case, member).
    weights : Floats
        Share of each case in the mixture, (case,), summing to 1 [1].
    years : int, optional
        Distinct real years behind the members; their own interval then counts as doubt that
        no number of members can mend.
    """
    sample = Sample("monte_carlo", flags.shape[1])
    found = mixture_proportion(flags, weights, sample)
    drawn = (found["high"] - found["low"]) / 2.0
    shares = case_shares(flags)
    band = (1.0 - outer_share(1.0 - shares, weights)) - outer_share(shares, weights)
    if years is not None:
        record = wilson(found["estimate"], years)
        band = max(band, record["high"] - record["low"])
    return drawn <= max(SHARE_OF_BAND * band / 2.0, FINE_ENOUGH)
