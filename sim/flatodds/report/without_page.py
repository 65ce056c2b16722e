"""What people go without by appliance, for the page: one sentence and a table."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from flatodds.catalog.called import called
from flatodds.report.without_words import LEAST_KWH, NOTE, without_rows
from flatodds.report.words import clean, number

Row = tuple[str, float, float, float, float | None]
NAME = 60  # characters
SAVING = "Saving while the charge is low"


@dataclass(frozen=True, slots=True)
class Without:
    """Table of the page, its cells as text, what it shows and how it is read.

    `rows`: name, kWh wanted, got later, gone without, and gone without if they save.
    """

    finding: str
    rows: tuple[tuple[str, ...], ...]
    note: str = NOTE


def without_of(stays: Sequence[Mapping[str, Any]]) -> Without | None:
    """Collect who goes without what in all stays of a summary; None if nobody does."""
    rows = without_rows(stays)
    if not rows:
        return None
    return Without(
        finding=without_finding(rows),
        rows=tuple(
            (
                clean(called(row[0]), NAME),
                *(f"{amount:.2f}" for amount in row[1:4]),
                "-" if row[4] is None else f"{row[4]:.2f}",
            )
            for row in rows
        ),
    )


def without_finding(rows: Sequence[Row]) -> str:
    """Say how much is gone without as planned and if they save, and what most of it is."""
    gone = [(row[3], row[0], row[1]) for row in rows]
    saved = [(row[4], row[0], row[1]) for row in rows if row[4] is not None]
    if max(gone)[0] < LEAST_KWH:
        text = "As you wrote it, hardly anything is gone without."
    else:
        text = f"As you wrote it, {_amounts(gone)}."
    if not saved:
        return text
    if max(saved)[0] < LEAST_KWH:
        return f"{text} {SAVING} gives up nothing."
    return f"{text} {SAVING}, {_amounts(saved)}."


def _amounts(parts: Sequence[tuple[float, str, float]]) -> str:
    """Say the sum of amounts gone without, and the largest beside what was wanted of it."""
    most, name, wanted = max(parts)
    total = sum(amount for amount, _, _ in parts)
    words = f"{number(total)} kWh are gone without"
    return f"{words}, most of {clean(called(name), NAME)} ({number(most)} of {number(wanted)} kWh)"
