"""Figures of how long the charge lasts: chance night by night, and charge at dawn."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np

from flatodds.catalog.called import called
from flatodds.outcomes.said import of_100
from flatodds.report.days_left_words import lasts_sentence
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

HEIGHT = 300.0  # own choice
FAINTER = "#e3edf4"  # outer band, fill only
SAME_PERCENT = 0.5  # no dawn less lean than this by more is told from the leanest. Own choice
DASHES = ("--", ":", "-.")  # tell the appliances left out apart, with the markers
MARKERS = ("s", "^", "v")


def through_figure(summary: Mapping[str, Any]) -> tuple[Figure, Shown]:
    """Draw the chance to get through every night up to each, with its interval."""
    nights = np.arange(1, summary["nights"] + 1)
    rows = summary["through"]
    with drawing():
        figure = new_figure(HEIGHT + 22.0 * (1 + len(summary["without"])))
        axes = add_axes(figure, 52.0, 42.0, 14.0, 30.0 + 20.0 * (1 + len(summary["without"])))
        low, high = ([100.0 * row[key] for row in rows] for key in ("low", "high"))
        axes.fill_between(nights, low, high, color=PALE_BLUE, label="counting error")
        axes.plot(nights, [100.0 * r["estimate"] for r in rows], color=BLUE, label="as it is")
        for k, other in enumerate(summary["without"][:3]):
            values = [100.0 * row["estimate"] for row in other["through"]]
            axes.plot(
                nights,
                values,
                color=INK,
                linestyle=DASHES[k],
                marker=MARKERS[k],
                markevery=max(len(nights) // 6, 1),
                clip_on=False,
                label=f"without {called(other['name'])[:30]}",
            )
        _frame(axes, summary["nights"])
        axes.set_ylabel("of 100 get through")
        legend_on_top(figure, axes, columns=1)
        finding = lasts_sentence(summary["lasts_nights"], summary["nights"])
        heading = "Chance to get through the nights"
        caption_on_top(figure, finding)
        svg = svg_of(figure, "through", heading, finding)
    table = tuple((str(n), of_100(row["estimate"])) for n, row in zip(nights, rows, strict=True))
    shown = Shown("through", heading, finding, svg, ("nights", "chance"), table)
    return figure, shown


def dawn_figure(summary: Mapping[str, Any]) -> tuple[Figure, Shown]:
    """Draw the charge at dawn of each day: half the time, and 8 times of 10, as estimated."""
    fan = {key: 100.0 * np.array(values) for key, values in summary["dawn_charge_frac"].items()}
    days = np.arange(1, summary["nights"] + 1)
    with drawing():
        figure = new_figure(HEIGHT + 40.0)
        axes = add_axes(figure, 52.0, 42.0, 14.0, 70.0)
        axes.fill_between(
            days, fan["p10"], fan["p90"], facecolor=FAINTER, edgecolor=GREY, label="8 times of 10"
        )
        axes.fill_between(days, fan["p25"], fan["p75"], color=PALE_BLUE, label="half the time")
        axes.plot(days, fan["p50"], color=BLUE, label="middle")
        _frame(axes, summary["nights"])
        axes.set_ylabel("charge at dawn, %")
        axes.set_xlabel("day, from the first")
        legend_on_top(figure, axes, columns=1)
        finding = dawn_sentence(fan)
        heading = "Charge at dawn"
        caption_on_top(figure, finding)
        svg = svg_of(figure, "dawn", heading, finding)
    table = tuple(
        (str(day), *(str(round(float(values[n]))) for values in fan.values()))
        for n, day in enumerate(days)
    )
    return figure, Shown("dawn", heading, finding, svg, ("day", *fan), table)


def dawn_sentence(fan: Mapping[str, Any]) -> str:
    """Say which dawn is the leanest, and what is left then; `fan` holds percent by day."""
    middle = fan["p50"]
    at = int(np.argmax(middle <= middle.min() + SAME_PERCENT))
    low, half, high = (round(float(fan[key][at])) for key in ("p10", "p50", "p90"))
    return (
        f"The dawn of day {at + 1} is as lean as any: half the time {half} % or less is left, "
        f"8 times of 10 between {low} and {high} %, if sun and use are as estimated."
    )


def _frame(axes: Any, nights: int) -> None:
    axes.set_ylim(0.0, 100.0)
    axes.set_xlim(1.0, max(nights, 2))
    axes.grid(color=FAINT)
    axes.locator_params(axis="x", integer=True, nbins=8)
    axes.set_xlabel("nights, from the first")
