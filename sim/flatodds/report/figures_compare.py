"""Figure of a comparison: every variant's chance of running flat, with interval and range."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from flatodds.report.compare_words import chance_words
from flatodds.report.figures import (
    BLUE,
    FAINT,
    GREY,
    INK,
    PALE_BLUE,
    Shown,
    add_axes,
    caption_on_top,
    drawing,
    legend_on_top,
    new_figure,
    svg_of,
)

if TYPE_CHECKING:
    from matplotlib.figure import Figure

ROW = 46.0  # height of a variant in units of the drawing; own choice
MOST_ROWS = 24  # own choice
NAME = "variants"
HEADING = "How likely each is to run flat"


def variants_figure(summary: Mapping[str, Any], finding: str) -> tuple[Figure, Shown]:
    """Draw chance (dot), counting error (line) and range (pale bar) of each variant."""
    rows = summary["variants"][:MOST_ROWS]
    with drawing():
        figure = new_figure(ROW * len(rows) + 112.0)
        axes = add_axes(figure, 16.0, 42.0, 16.0, 66.0)
        for at, row in enumerate(rows):
            _row(axes, at, row)
        axes.set_ylim(len(rows) - 0.45, -0.75)
        axes.set_xlim(0.0, _top(rows))
        axes.set_yticks([])
        axes.spines["left"].set_visible(False)
        axes.grid(axis="x", color=FAINT)
        axes.set_xlabel("stays of 100 that run flat")
        legend_on_top(figure, axes, columns=1)
        table = tuple((row["name"], chance_words(row, summary)) for row in rows)
        words = "; ".join(f"{name}: {chance}" for name, chance in table)
        caption_on_top(figure, finding)
        svg = svg_of(figure, NAME, HEADING, f"{finding} {words}.")
    return figure, Shown(NAME, HEADING, finding, svg, ("variant", "chance"), table)


def _row(axes: Any, at: int, row: Mapping[str, Any]) -> None:
    chance, band = row["odds_flat"], row["odds_flat_range"]
    labels = ("with what is not known exactly", "counting error", "chance")
    labels = labels if at == 0 else ("", "", "")
    axes.barh(
        at,
        100.0 * (band["high"] - band["low"]),
        0.34,
        100.0 * band["low"],
        color=PALE_BLUE,
        edgecolor=GREY,
        linewidth=0.6,
        label=labels[0],
    )
    ends = [100.0 * chance["low"], 100.0 * chance["high"]]
    axes.plot(ends, [at, at], color=INK, linewidth=2.4, label=labels[1])
    axes.plot(
        100.0 * chance["estimate"],
        at,
        marker="o",
        color=BLUE,
        markersize=7,
        linestyle="none",
        clip_on=False,
        zorder=3.0,
        label=labels[2],
    )
    look: Any = {"facecolor": "white", "edgecolor": "none", "pad": 1.5}
    axes.text(0.0, at - 0.30, f" {row['name'][:60]}", va="bottom", ha="left", color=INK, bbox=look)


def _top(rows: list[Mapping[str, Any]]) -> float:
    """Choose where the axis of chances ends."""
    highest = 100.0 * max(row["odds_flat_range"]["high"] for row in rows)
    return next((end for end in (5.0, 10.0, 25.0, 50.0) if highest <= end), 100.0)
