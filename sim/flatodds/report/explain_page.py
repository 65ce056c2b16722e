"""What each appliance costs and what overloads the inverter, for the page."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from flatodds.catalog.called import called
from flatodds.outcomes.said import of_100
from flatodds.report.explain_words import (
    MOST_MEETINGS,
    costs_notes,
    meetings_note,
    signed,
)
from flatodds.report.words import clean

Row = Mapping[str, Any]
NAME = 60  # characters
TEXT_LIMIT = 1000  # letters; own choice


@dataclass(frozen=True, slots=True)
class Explained:
    """Tables of the page, their cells as text, and what is said under each.

    `costs` rows: name, kWh a day, share of the battery, change of the odds. `overloads` rows:
    names, watts, days of 100.
    """

    costs: tuple[tuple[str, ...], ...]
    costs_notes: tuple[str, ...]
    overloads: tuple[tuple[str, ...], ...]
    overloads_note: str


def explained_of(
    costs: Sequence[Row],
    meetings: Sequence[Row],
    *,
    members: int,
    kept: Sequence[str] = (),
    taken_up: bool = False,
) -> Explained:
    """Turn what `run --explain` found into tables.

    Parameters
    ----------
    costs, meetings
        Rows of `appliance_costs` and `worst_meetings`.
    members : int
        Stays that each change of odds was counted over.
    kept : sequence of str
        Appliances that cannot be dropped because they belong to the heat.
    taken_up : bool
        Whether cooling or use of spare sun takes what others leave.
    """
    notes = costs_notes(costs, members=members, kept=kept, taken_up=taken_up)
    return Explained(
        costs=tuple(_cost(row) for row in costs),
        costs_notes=tuple(clean(text, TEXT_LIMIT) for text in notes),
        overloads=tuple(_meeting(row) for row in meetings[:MOST_MEETINGS]),
        overloads_note=meetings_note(meetings[:MOST_MEETINGS]),
    )


def overload_sentence(stay: Row) -> str:
    """Say how often something is too much for the inverter; empty if never, or not known."""
    odds = stay["odds_overload"]
    if odds is None or odds["estimate"] <= 0.0:
        return ""
    often = (
        "every simulated stay" if odds["estimate"] == 1.0 else f"{of_100(odds['estimate'])} stays"
    )
    return (
        f"Too much at once: in {often} the inverter, or the battery's protection, switches off "
        "at some moment though there is charge."
    )


def _cost(row: Row) -> tuple[str, ...]:
    change = row["odds_change"]
    ends = f"({signed(change['low'], 0)}\u00a0to\u00a0{signed(change['high'], 0)})"
    return (
        clean(called(row["name"]), NAME),
        f"{row['kwh_day']:.2f}",
        f"{row['bank_frac'] * 100:.1f} %",
        f"{signed(change['estimate'], 1)} {ends}",
    )


def _meeting(row: Row) -> tuple[str, ...]:
    starts = " as it starts" if row["starting"] else ""
    return (
        " + ".join(clean(called(name), NAME) for name in row["names"]),
        f"{row['watts']:,.0f} W{starts}",
        f"{row['days_frac'] * 100:.1f}",
    )
