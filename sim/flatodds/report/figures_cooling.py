"""Figure of cooling: by month, hot days held and odds of running flat, each way to cool."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np

from flatodds.report.cooling_words import CAREFUL, MONTHS, cooling_sentence, held_cell
from flatodds.report.figures import (
    AMBER,
    BLUE,
    BROWN,
    FAINT,
    INK,
    PALE_BLUE,
    SMALL,
    Shown,
    add_axes,
    caption_on_top,
    drawing,
    new_figure,
    svg_of,
)
from flatodds.report.words import number, plain_ascii, short_of_100

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

# Ways differ by hatch as well as by colour. Own choice.
LOOKS = (
    {"color": PALE_BLUE, "edgecolor": INK},
    {"color": BLUE, "edgecolor": INK},
    {"color": "#ffffff", "edgecolor": BROWN, "hatch": "////"},
    {"color": AMBER, "edgecolor": BROWN},
)
NAME, HEADING = "cooling", "Cooling held, and what it risks"
PANEL, TOP, FOOT, GAP = 112.0, 8.0, 28.0, 46.0  # heights; own choice
MOST_MONTHS = 6  # beyond that bars bear no numbers


def cooling_figure(summary: Mapping[str, Any], *, us: bool) -> tuple[Figure, Shown]:
    """Draw three rows of bars by month: hours it ran, hot days held, stays that run flat."""
    ways = summary["ways"][1:]
    finding = cooling_sentence(summary, us=us)
    panels = (
        ("hours a day it runs", "cooling_hours_day", 1.0, 24.0),
        ("of 100 hot days held", "held_frac", 100.0, 100.0),
        ("of 100 months run flat", "odds_flat", 100.0, 100.0),
    )
    key = 20.0 * len(ways)
    height = key + TOP + len(panels) * PANEL + (len(panels) - 1) * GAP + 24.0 + FOOT
    with drawing():
        figure = new_figure(height)
        for at, (label, name, scale, most) in enumerate(panels):
            above = key + TOP + at * (PANEL + GAP) + 24.0
            axes = add_axes(figure, 40.0, height - above - PANEL, 10.0, above)
            _bars(axes, ways, name, scale, most)
            axes.set_title(label, fontsize=13.0, loc="left", pad=5.0)
            axes.grid(axis="y", color=FAINT)
            if at == 0:
                handles, labels = axes.get_legend_handles_labels()
                figure.legend(handles, labels, loc="upper left", bbox_to_anchor=(0.01, 0.998))
        caption_on_top(figure, finding)
        svg = svg_of(figure, NAME, HEADING, finding)
    head = ("way", "month", "runs, h a day", "hot days held", "of 100 flat", "generator, h a day")
    rows = tuple(
        (
            way["name"],
            MONTHS[month["month"] - 1],
            number(month["cooling_hours_day"]),
            held_cell(month["held_frac"]),
            short_of_100(month["odds_flat"]["estimate"]),
            number(month["generator_hours_day"]),
        )
        for way in ways
        for month in way["months"]
    )
    return figure, Shown(NAME, HEADING, finding, svg, head, rows, CAREFUL)


def _bars(axes: Axes, ways: list[Mapping[str, Any]], name: str, scale: float, most: float) -> None:
    months = ways[0]["months"]
    wide = 0.8 / len(ways)
    for k, way in enumerate(ways):
        values = [_value(month[name]) for month in way["months"]]
        x = np.arange(len(months)) + (k - (len(ways) - 1) / 2.0) * wide
        heights = [scale * value if value is not None else 0.0 for value in values]
        look: Any = LOOKS[k % len(LOOKS)]
        axes.bar(x, heights, 0.9 * wide, label=plain_ascii(way["name"], 48), **look)
        for at, value in enumerate(values):
            if len(months) <= MOST_MONTHS // 3:
                words = "none hot" if value is None else _label(value, scale)
                axes.annotate(
                    words,
                    (x[at], heights[at]),
                    (0, 2),
                    textcoords="offset points",
                    ha="center",
                    fontsize=SMALL,
                )
    axes.set_ylim(0.0, 1.18 * most if most == 100.0 else _top(ways, name))
    if most == 100.0:
        axes.set_yticks([0, 50, 100])
    axes.set_xlim(-0.6, max(len(months), 1) - 0.4)
    axes.set_xticks(range(len(months)), [MONTHS[month["month"] - 1] for month in months])


def _label(value: float, scale: float) -> str:
    return number(value) if scale == 1.0 else short_of_100(value)


def _value(found: Any) -> float | None:
    if isinstance(found, Mapping):
        return float(found["estimate"])
    return None if found is None else float(found)


def _top(ways: list[Mapping[str, Any]], name: str) -> float:
    highest = max(_value(month[name]) or 0.0 for way in ways for month in way["months"])
    return next((1.05 * end for end in (2.0, 4.0, 8.0, 12.0, 16.0) if 1.15 * highest <= end), 25.0)
