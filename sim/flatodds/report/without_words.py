"""What people did without by appliance, as planned and if they save, as a table or sentences."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from flatodds.catalog.called import called
from flatodds.report.explain_words import NAME
from flatodds.report.words import plain_ascii, wrapped

Row = Mapping[str, Any]
LEAST_KWH = 0.005  # in all stays together, below which nothing is told; own choice
NOTE = (
    "At the plugs, on average over the household as you wrote it, in all stays together. Later: "
    "got, but not when it was wanted. If you save: comfort use shrinks while the charge is low."
)


def without_text(stays: Sequence[Row], *, plain: bool = False) -> str:
    """Write who goes without what, lines of at most 80 characters; empty if nobody does.

    Parameters
    ----------
    stays
        Of the summary.
    plain : bool
        Sentences only, for screen readers.
    """
    rows = without_rows(stays)
    if not rows:
        return ""
    if plain:
        lines = [line for row in rows for line in wrapped(_sentence(*row))]
    else:
        title = f"{'Gone without, kWh in all':<{NAME + 2}}"
        lines = [f"{title}{'wanted':>10}{'later':>9}{'without':>10}{'if you save':>13}"]
        lines += [_line(*row) for row in rows]
    return "\n".join(["", "", *lines, *wrapped(NOTE, indent="" if plain else "  ")])


def without_rows(stays: Sequence[Row]) -> list[tuple[str, float, float, float, float | None]]:
    """Name, wanted, got later, gone without, and that if they save [kWh]; the worst first."""
    found: dict[str, list[float]] = {}
    saving = False
    for stay in stays:
        for use in stay["appliances"]:
            row = found.setdefault(use["name"], [0.0] * 4)
            frugal = use["if_economised"]
            saving = saving or frugal is not None
            for k, amount in enumerate(
                (
                    use["wanted_kwh"],
                    use["served_later_kwh"],
                    use["gone_without_kwh"],
                    frugal["gone_without_kwh"] if frugal else {"mean": 0.0},
                )
            ):
                row[k] += amount["mean"]
    rows = [
        (name, row[0], row[1], row[2], row[3] if saving else None)
        for name, row in found.items()
        if max(row[1:]) >= LEAST_KWH
    ]
    return sorted(rows, key=lambda row: (-max(row[3], row[4] or 0.0), row[0]))


def _line(name: str, wanted: float, later: float, gone: float, frugal: float | None) -> str:
    saved = "-" if frugal is None else f"{frugal:.2f}"
    return (
        f"  {plain_ascii(called(name), NAME):<{NAME}}{wanted:>10.2f}{later:>9.2f}{gone:>10.2f}"
        f"{saved:>13}"
    )


def _sentence(name: str, wanted: float, later: float, gone: float, frugal: float | None) -> str:
    saved = "" if frugal is None else f", {frugal:.2f} if you save"
    return (
        f"{plain_ascii(called(name), NAME)} wants {wanted:.2f} kWh in all, gets {later:.2f} later "
        f"and goes without {gone:.2f}{saved}."
    )
