"""How a sweep is told: the smallest rigs that are enough, and a grid of chances."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from flatodds.outcomes.said import counted, of_100
from flatodds.report.compare_words import amount_cell, chance_cell, masses_lines
from flatodds.report.words import number, plain_ascii, short_of_100, weather_lines, wrapped

COLUMNS = 80  # of a plain terminal: common practice
MOST_LISTED = 3  # rigs named in a sentence: own choice
CENTRE = (
    "Chances are for sun and use as estimated; what is not known of them is left out "
    "(--with-uncertainty counts it, and takes some thirty times as long)."
)


# Keys that people vary most, as a thing and its unit; others stay as the file spells them.
THINGS: Mapping[str, tuple[str, str]] = {
    "array.watts": ("panels", "W"),
    "bank.amp_hours": ("battery", "Ah"),
    "inverter.watts": ("inverter", "W"),
    "generator.watts": ("generator", "W"),
    "array.tilt_deg": ("tilt", "degrees"),
}


def axis_words(key: str) -> str:
    """Name what is varied: ``"panels, W"``."""
    return ", ".join(THINGS[key]) if key in THINGS else key


def design_words(summary: Mapping[str, Any], at: int) -> str:
    """Name one design by its values: ``"panels 800 W, battery 300 Ah"``."""
    values = summary["designs"][at]["values"]
    said = []
    for axis, value in zip(summary["axes"], values, strict=True):
        thing, unit = THINGS.get(axis["key"], (axis["key"], ""))
        said.append(f"{thing} {value} {unit}".strip())
    return ", ".join(said)


def sweep_sentences(summary: Mapping[str, Any]) -> list[str]:
    """Answer which designs are enough, and which are best."""
    limit = summary["wanted_odds"]
    chances = [row["odds_flat"]["estimate"] for row in summary["designs"]]
    rows, wanted, count = summary["designs"], of_100(limit), len(chances)
    good = sum(chance <= limit for chance in chances)
    if not good:
        best = of_100(min(chances))
        return [f"None of the {count} rigs stays at or below {wanted}; the best has {best}."]
    sentences = [f"{good} of {count} rigs run flat in at most {wanted} such stays."]
    if summary["smallest"]:
        sentences.append(f"The smallest of them: {_along(summary, summary['smallest'])}.")
    money = summary["currency"] or "cost"
    for key, field, word, unit in (
        ("least_cost", "extra_cost", "cheapest", money),
        ("least_mass", "extra_mass_kg", "lightest", "kg more"),
    ):
        if summary[key]:
            amount = amount_cell(rows[summary[key][-1]][field])
            words = _listed(summary, summary[key])
            sentences.append(f"The {word} (up to {amount} {unit}), as far as can be told: {words}.")
    best = summary["best"]
    if len(best) > 1:
        sentences.append(f"{len(best)} rigs cannot be told from the very best by this many years.")
    return sentences


def _listed(summary: Mapping[str, Any], which: Sequence[int]) -> str:
    names = [design_words(summary, k) for k in which[:MOST_LISTED]]
    rest = len(which) - len(names)
    return "; ".join(names) + (f"; and {rest} more" if rest > 0 else "")


def _along(summary: Mapping[str, Any], which: Sequence[int]) -> str:
    """Name the ends of a line of rigs, its middle, and how many lie between."""
    if len(which) <= MOST_LISTED:
        return _listed(summary, which)
    ends = [which[0], which[len(which) // 2], which[-1]]
    names = "; ".join(design_words(summary, k) for k in ends)
    return f"{names}; and {len(which) - len(ends)} between"


def sweep_text(summary: Mapping[str, Any], heading: str) -> str:
    """Write the answer for a terminal, at most 80 columns."""
    lines = [plain_ascii(heading, COLUMNS), ""]
    for sentence in sweep_sentences(summary):
        lines += wrapped(sentence)
    lines += ["", *grid_lines(summary), ""]
    if summary["theta_points"] == 1:
        lines += wrapped(CENTRE)
    lines += masses_lines(summary, summary["designs"])
    lines += weather_lines(summary)
    units = counted(summary["members"], summary["record_years"], "simulated years")
    lines += wrapped(f"{units}, seed {summary['seed']}; all rigs lived the same weather.")
    return "\n".join(lines)


def grid_lines(summary: Mapping[str, Any]) -> list[str]:
    """Lay out the stays of 100 that run flat; a grid too wide for a terminal is thinned."""
    rows, axes = summary["designs"], summary["axes"]
    if len(axes) == 1:
        lines = [f"  {axis_words(axes[0]['key'])}: stays of 100 that run flat"]
        return lines + [
            f"  {row['values'][0]!s:>12}  {chance_cell(row['odds_flat']):<16}"
            f"  without {number(row['did_without_kwh'])} kWh"
            for row in rows[:40]
        ]
    first, second = (axis["values"] for axis in axes)
    widest = max(5, *(len(str(value)) + 1 for value in second))
    step = -(-len(second) // max((COLUMNS - 14) // widest, 1))
    shown = range(0, len(second), step)
    lines = [
        f"  of 100 run flat; down: {axis_words(axes[0]['key'])}; "
        f"across: {axis_words(axes[1]['key'])}"
    ]
    lines.append(" " * 12 + "".join(f"{second[k]!s:>{widest}}" for k in shown))
    down = -(-len(first) // 40)
    for at in range(0, len(first), down):
        row = rows[at * len(second) : (at + 1) * len(second)]
        cells = [short_of_100(row[k]["odds_flat"]["estimate"]) for k in shown]
        lines.append(f"  {first[at]!s:>10}" + "".join(f"{cell:>{widest}}" for cell in cells))
    if step > 1 or down > 1:
        lines.append("  (thinned; all in tables/designs.csv)")
    return lines
