"""What each appliance costs and what overloads the inverter, as tables or sentences."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from flatodds.catalog.called import called
from flatodds.catalog.coolers import coolers
from flatodds.report.words import plain_ascii, wrapped

Row = Mapping[str, Any]
MOST_MEETINGS = 8  # listed; own choice
NAME = 30  # columns
PAIR = 40  # columns; own choice
STAY_ON = "Safety: alarms and medical devices stay on, whatever they cost."
OTHER_HOUR = "A + is no slip: with less use a generator, say, may start at another hour."
TAKEN_UP = (
    "kWh: what the battery is spared. What one thing leaves, the air conditioner or use that takes "
    "spare sun may take up; then its row is small."
)
ALL_ALIKE = "Dropping any one of them changes nothing that so few stays can show."

ALONE_OR_TWO = "Alone or two at a time; three and more at once are left aside."
AIR = "Beside an air conditioner: days on which it cools in an hour in which the other runs."


def odds_text(members: int) -> str:
    """Say what a change of odds is, and over how many stays it was counted."""
    return (
        "Odds: how many more (+) or fewer (-) of 100 stays run flat if only that appliance "
        f"is dropped, and the counting error in brackets. Counted over {members:,} stays of the "
        "household as you wrote it, with the same draws with and without."
    )


def explain_text(
    costs: Sequence[Row],
    meetings: Sequence[Row],
    *,
    members: int,
    kept: Sequence[str] = (),
    taken_up: bool = False,
    plain: bool = False,
) -> str:
    """Write both, lines of at most 80 characters.

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
    plain : bool
        Sentences only, for screen readers.
    """
    lines = ["", *_costs(costs, plain)]
    lines += [
        line
        for text in costs_notes(costs, members=members, kept=kept, taken_up=taken_up)
        for line in wrapped(text, indent="" if plain or not costs else "  ")
    ]
    return "\n".join([*lines, *_meetings(meetings[:MOST_MEETINGS], plain)])


def costs_notes(
    costs: Sequence[Row], *, members: int, kept: Sequence[str], taken_up: bool
) -> list[str]:
    """Say how the table of costs is read; as for `explain_text`."""
    notes = [odds_text(members), STAY_ON] if costs else ["No appliance can be dropped."]
    changes = [row["odds_change"]["estimate"] for row in costs]
    if len(costs) > 1 and not any(changes):
        notes.insert(0, ALL_ALIKE)
    if any(change > 0.0 for change in changes):
        notes.append(OTHER_HOUR)
    if costs and taken_up:
        notes.append(TAKEN_UP)
    if kept:
        names = ", ".join(map(called, kept))
        notes.append(f"Not listed, as it belongs to the heat: {names}.")
    return notes


def _costs(costs: Sequence[Row], plain: bool) -> list[str]:
    if plain:
        return [line for row in costs for line in wrapped(_cost_sentence(row))]
    if not costs:
        return []
    title = f"{'What each appliance costs':<{NAME + 2}}"
    return [
        f"{title}{'kWh a day':>10}{'of the battery':>16}{'odds without it':>17}",
        *(_cost_line(row) for row in costs),
    ]


def _meetings(meetings: Sequence[Row], plain: bool) -> list[str]:
    if not meetings:
        return []
    if plain:
        lines = [line for row in meetings for line in wrapped(_meeting_sentence(row))]
    else:
        title = f"{'Too much for the inverter at once':<{PAIR + 2}}"
        lines = [f"{title}{'watts':>8}{'days in 100':>24}"]
        lines += [_meeting_line(row) for row in meetings]
    return ["", *lines, *wrapped(meetings_note(meetings), indent="" if plain else "  ")]


def meetings_note(meetings: Sequence[Row]) -> str:
    """Say what the list of meetings leaves aside."""
    cooled = any(name in coolers() for row in meetings for name in row["names"])
    return f"{ALONE_OR_TWO} {AIR}" if cooled else ALONE_OR_TWO


def signed(value: float, digits: int) -> str:
    """Write a difference of chances in hundredths, with its sign unless it is nothing."""
    rounded = round(value * 100.0, digits)
    return f"{rounded:+.{digits}f}" if rounded else f"{0.0:.{digits}f}"


def _cost_line(row: Row) -> str:
    change = row["odds_change"]
    ends = f"({signed(change['low'], 0)} to {signed(change['high'], 0)})"
    return (
        f"  {plain_ascii(called(row['name']), NAME):<{NAME}}{row['kwh_day']:>10.2f}"
        f"{row['bank_frac'] * 100:>14.1f} %{signed(change['estimate'], 1):>7} {ends}"
    )


def _cost_sentence(row: Row) -> str:
    change = row["odds_change"]
    low, high = (signed(change[end], 0) for end in ("low", "high"))
    return (
        f"{plain_ascii(called(row['name']), NAME)} takes {row['kwh_day']:.2f} kWh a day, "
        f"{row['bank_frac'] * 100:.1f} % of the battery; without it the odds of running flat "
        f"change by {signed(change['estimate'], 1)} of 100 ({low} to {high})."
    )


def _meeting_line(row: Row) -> str:
    names = plain_ascii(" + ".join(map(called, row["names"])), PAIR)
    when = " as it starts" if row["starting"] else ""
    return f"  {names:<{PAIR}}{row['watts']:>8,.0f}{when:<14}{row['days_frac'] * 100:>10.1f}"


def _meeting_sentence(row: Row) -> str:
    names = plain_ascii(" and ".join(map(called, row["names"])), 2 * NAME)
    when = "starting, " if row["starting"] else ""
    return (
        f"Too much for the inverter: {names}, {when}{row['watts']:,.0f} W, "
        f"on {row['days_frac'] * 100:.1f} of 100 days."
    )
