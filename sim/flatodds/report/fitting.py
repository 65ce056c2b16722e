"""Fits an answer to a small screen: lines carry what they are worth, the least give way first.

Safety notes, the answer and its range never give way.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

# Order in which lines give way: own judgement of what a tired reader misses least.
KEPT = 0
CHART, MONTHS, DAYS, WHISPER, GAP_ABOVE, BAR_ASIDE, SPARE, GAP = range(1, 9)


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the screen; of the lines with the highest `gives_way`, the last goes first."""

    text: str
    gives_way: int = KEPT


def ranked(texts: Iterable[str], gives_way: int = KEPT) -> list[Line]:
    """Give all these lines one rank."""
    return [Line(text, gives_way) for text in texts]


def fitted(lines: Sequence[Line], most: int) -> list[str]:
    """Leave out what is worth least until at most `most` lines are left, or only what is kept.

    Lines of the chart go together: half a chart misleads.
    """
    kept = list(lines)
    while len(kept) > most:
        rank = max(line.gives_way for line in kept)
        if rank == KEPT:
            break
        if rank in (CHART, DAYS):
            kept = [line for line in kept if line.gives_way != rank]
            continue
        last = max(at for at, line in enumerate(kept) if line.gives_way == rank)
        del kept[last]
    return [line.text for line in kept]
