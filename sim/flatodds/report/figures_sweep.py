"""Figure of a sweep: chance of running flat over one or two words of the scenario."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

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
    new_figure,
    svg_of,
)
from flatodds.report.sweep_words import axis_words, sweep_sentences
from flatodds.report.words import short_of_100

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

# Light to dark by even steps of greyness, so that order is seen without colour; own choice.
SHADES = ("#ffffff", "#dce9f2", "#b5d0e4", "#86b0d0", "#5189b4", "#2a6391", "#143f63", "#0a1f33")
STEPS = (0.0, 1.0, 5.0, 10.0, 20.0, 40.0, 60.0, 80.0, 100.0)  # stays of 100 between the shades
LINES = (1.0, 5.0, 20.0, 50.0)  # lines of equal odds
ROOMY = 4  # cells a side, whose corner holds a large star
MOST_NUMBERS = 10  # cells along an axis that still hold a number
NAME, HEADING = "sweep", "How likely each rig is to run flat"


def sweep_figure(summary: Mapping[str, Any]) -> tuple[Figure, Shown]:
    """Draw a heat map for two words, a line with intervals for one."""
    finding = " ".join(sweep_sentences(summary))
    with drawing():
        figure = _heat_map(summary) if len(summary["axes"]) == 2 else _line(summary)
        caption_on_top(figure, finding)
        svg = svg_of(figure, NAME, HEADING, finding)
    head = (*(axis["key"] for axis in summary["axes"]), "of 100")
    table = tuple(
        (*map(str, row["values"]), short_of_100(row["odds_flat"]["estimate"]))
        for row in summary["designs"]
    )
    return figure, Shown(NAME, HEADING, finding, svg, head, table)


def _heat_map(summary: Mapping[str, Any]) -> Figure:
    from matplotlib.colors import BoundaryNorm, ListedColormap

    down, across = (axis["values"] for axis in summary["axes"])
    odds = 100.0 * np.array([row["odds_flat"]["estimate"] for row in summary["designs"]])
    odds = odds.reshape(len(down), len(across))
    figure = new_figure(430.0)
    axes = add_axes(figure, 70.0, 46.0, 14.0, 62.0)
    colours, norm = ListedColormap(SHADES), BoundaryNorm(STEPS, len(SHADES))
    axes.pcolormesh(odds, cmap=colours, norm=norm, edgecolors=FAINT, linewidth=0.5)
    _ticks(axes, down, across)
    if min(odds.shape) >= 3 and max(odds.shape) > MOST_NUMBERS:
        _equal_odds(axes, odds, summary["wanted_odds"])
    if max(odds.shape) <= MOST_NUMBERS:
        _numbers(axes, odds)
    _own_rig(axes, summary)
    axes.set_ylabel(axis_words(summary["axes"][0]["key"]))
    axes.set_xlabel(axis_words(summary["axes"][1]["key"]))
    _key(figure, colours)
    return figure


def _ticks(axes: Axes, down: Sequence[Any], across: Sequence[Any]) -> None:
    """Name some of the values in the middles of their cells."""
    for values, set_ticks, most in ((down, axes.set_yticks, 12), (across, axes.set_xticks, 6)):
        step = -(-len(values) // most)
        at = range(0, len(values), step)
        set_ticks([k + 0.5 for k in at], [str(values[k]) for k in at])
    for spine in ("left", "bottom"):
        axes.spines[spine].set_visible(False)


def _equal_odds(axes: Axes, odds: npt.NDArray[np.float64], wanted: float) -> None:
    """Draw lines of equal odds through the middles of the cells; the wanted one is thick."""
    levels = sorted({*LINES, round(100.0 * wanted, 6)})
    levels = [level for level in levels if odds.min() < level < odds.max()]
    if not levels:
        return
    x, y = np.arange(odds.shape[1]) + 0.5, np.arange(odds.shape[0]) + 0.5
    thick = [2.6 if abs(level - 100.0 * wanted) < 1e-6 else 1.1 for level in levels]
    drawn = axes.contour(x, y, odds, levels=levels, colors="#c04b00", linewidths=thick)
    for text in axes.clabel(drawn, fmt=lambda level: f"{level:g}", fontsize=11):
        text.set_bbox({"facecolor": "white", "edgecolor": "none", "pad": 1.0})


def _numbers(axes: Axes, odds: npt.NDArray[np.float64]) -> None:
    for (j, i), value in np.ndenumerate(odds):
        axes.text(
            i + 0.5,
            j + 0.5,
            short_of_100(value / 100.0),
            ha="center",
            va="center",
            color="white" if value >= 20.0 else INK,
        )


def _own_rig(axes: Axes, summary: Mapping[str, Any]) -> None:
    """Mark the rig as written, where it lies on the grid or between its values."""
    places, sizes, size = [], [axis["values"] for axis in summary["axes"]], 17
    for axis, own in zip(summary["axes"], summary["written"], strict=True):
        values = axis["values"]
        if own in values:
            places.append(values.index(own) + 0.5)
        elif isinstance(own, int | float) and all(isinstance(v, int | float) for v in values):
            order = np.argsort(values)
            low, high = values[order[0]], values[order[-1]]
            if not low <= own <= high:
                return
            places.append(float(np.interp(own, np.array(values)[order], order + 0.5)))
        else:
            return
    if all(place % 1.0 == 0.5 for place in places) and max(map(len, sizes)) <= MOST_NUMBERS:
        places = [place + 0.36 for place in places]  # into the corner: the cell bears a number
        size = 17 if max(map(len, sizes)) <= ROOMY else 10
    axes.plot(
        places[1],
        places[0],
        marker="*",
        markersize=size,
        color="#f2b03d",
        markeredgecolor=INK,
        linestyle="none",
    )


def _key(figure: Figure, colours: Any) -> None:
    """Put the key of shades, and of the marks, above the drawing."""
    width, height = figure.get_size_inches() * 72.0
    box = (70.0 / width, 1.0 - 34.0 / height, (width - 92.0) / width, 14.0 / height)
    key = figure.add_axes(box)
    key.pcolormesh(np.arange(len(SHADES))[None, :], cmap=colours, edgecolors=GREY, linewidth=0.6)
    key.set_yticks([])
    key.set_xticks(range(len(STEPS)), [f"{step:g}" for step in STEPS])
    key.set_title("stays of 100 that run flat; star: as written", fontsize=12.5, pad=3.0)
    for spine in key.spines.values():
        spine.set_visible(False)


def _line(summary: Mapping[str, Any]) -> Figure:
    values = summary["axes"][0]["values"]
    rows = summary["designs"]
    numeric = all(isinstance(v, int | float) and not isinstance(v, bool) for v in values)
    x = np.array(values, dtype=float) if numeric else np.arange(len(values), dtype=float)
    order = np.argsort(x)
    figure = new_figure(330.0)
    axes = add_axes(figure, 52.0, 46.0, 16.0, 16.0)
    chance, low, high = (
        100.0 * np.array([row["odds_flat"][key] for row in rows])[order]
        for key in ("estimate", "low", "high")
    )
    if numeric:
        axes.fill_between(x[order], low, high, color=PALE_BLUE)
        axes.plot(x[order], chance, color=BLUE, marker="o")
    else:
        axes.errorbar(x, chance, [chance - low, high - chance], color=BLUE, fmt="o", capsize=4)
        axes.set_xticks(x, [str(value) for value in values])
    axes.axhline(100.0 * summary["wanted_odds"], color=INK, linestyle="--", linewidth=1.2)
    own = summary["written"][0]
    if numeric and isinstance(own, int | float):
        axes.axvline(own, color=GREY, linestyle=":", linewidth=1.6)
    axes.set_ylim(0.0, max(float(high.max()) * 1.05, 2.0))
    axes.grid(color=FAINT)
    axes.set_xlabel(f"{axis_words(summary['axes'][0]['key'])} (dotted: as written)")
    axes.set_ylabel("of 100 run flat (dashed: wanted)")
    return figure
