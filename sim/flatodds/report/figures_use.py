"""Figure of what each appliance asks for, and how much of it it gets."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from flatodds.catalog.called import called
from flatodds.outcomes import Facts
from flatodds.report.detail import energy
from flatodds.report.figures import (
    AMBER,
    BLUE,
    BROWN,
    GREY,
    INK,
    SMALL,
    Part,
    Shown,
    add_axes,
    drawing,
    legend_on_top,
    new_figure,
    percent_text,
    svg_of,
)
from flatodds.report.words import clean

if TYPE_CHECKING:
    from matplotlib.axes import Axes

# need class -> words, fill, edge, hatch
CLASSES: Mapping[str, tuple[str, str, str, str]] = {
    "must": ("must have", GREY, INK, ""),
    "can-wait": ("can wait", "#ffffff", INK, "////"),
    "spare-sun": ("spare sun only", AMBER, BROWN, ".."),
    "above-charge": ("while the battery is well charged", "#ffffff", INK, "\\\\\\\\"),
    "idle": ("inverter switched on, idle", "#ffffff", INK, "xxxx"),
    "mixed": ("several kinds", "#ffffff", GREY, ""),
}
WELL_SERVED = 0.97  # share from which an appliance gets what it asks for. Own choice
NAME_LENGTH = 24  # characters in a line of an appliance's name beside its bar
NAME_LINES = 2  # own choice
TWO_LINES = 11.0  # size of letters of a name in two lines; own choice
MOST_BARS = 14  # the rest is added up in one bar


@dataclass(frozen=True, slots=True)
class UseBar:
    """What one appliance asks for on an average day [kWh]; `served` is a share or None."""

    name: str
    kwh_day: float
    need: str
    served: float | None

    @property
    def had_day(self) -> float:
        """What it gets of it [kWh a day]."""
        return self.kwh_day * (1.0 if self.served is None else self.served)


def uses_of(stay: Part, needs: Mapping[str, str], idle_kwh_day: float | None) -> list[UseBar]:
    """List the appliances of a stay from the hungriest down, with the idling inverter."""
    bars = [
        UseBar(
            shown_name(use["name"]),
            use["wanted_kwh"]["mean"] / stay["nights"],
            needs.get(shown_name(use["name"]), "must"),
            use["served_frac"]["mean"] if use["served_frac"] else None,
        )
        for use in stay["appliances"]
    ]
    if idle_kwh_day:
        bars.append(UseBar("inverter, idle", idle_kwh_day, "idle", None))
    return sorted((bar for bar in bars if bar.kwh_day > 0.0), key=lambda bar: -bar.had_day)


def shown_name(name: str) -> str:
    """Write an appliance's name for people, no longer than a page can bear."""
    return clean(called(name), 60)


def uses_figure(name: str, bars: Sequence[UseBar], facts: Facts) -> Shown | None:
    """Draw what each appliance asks for; None when nothing asks for anything."""
    if not bars:
        return None
    total = sum(bar.had_day for bar in bars)
    top = bars[0]
    share = top.had_day / total if total > 0.0 else 0.0
    finding = (
        f"Most goes into {top.name}: {energy(top.had_day, facts)} a day, "
        f"{percent_text(share)} of all these."
    )
    if top.had_day < WELL_SERVED * top.kwh_day:
        finding += f" It asks for {energy(top.kwh_day, facts)}."
    drawn = folded(bars)
    classes = [need for need in CLASSES if any(bar.need == need for bar in drawn)]
    with drawing():
        keys = len(classes) + any(bar.had_day < WELL_SERVED * bar.kwh_day for bar in drawn)
        figure = new_figure(60.0 + 27.0 * len(drawn) + 21.0 * keys)
        axes = add_axes(figure, 170.0, 40.0, 44.0, 12.0 + 21.0 * keys)
        draw_uses(axes, drawn)
        legend_on_top(figure, axes)
        svg = svg_of(figure, name, "What each appliance asks for on an average day", finding)
    rows = tuple(
        (
            bar.name,
            energy(bar.had_day, facts),
            energy(bar.kwh_day, facts),
            CLASSES[bar.need][0],
            "-" if bar.served is None else percent_text(bar.served),
        )
        for bar in bars
    )
    head = ("appliance", "gets, a day", "asks for", "class", "share it gets")
    note = (
        "Numbers: what it gets at its own plug, as estimated; from an outlet the inverter's losses "
        "come on top. What is on all day, such as standby, has a bar like everything else."
    )
    return Shown(name, "What uses the power", finding, svg, head, rows, note)


def folded(bars: Sequence[UseBar]) -> list[UseBar]:
    """Add up the smallest when there are too many bars to draw."""
    if len(bars) <= MOST_BARS:
        return list(bars)
    rest = bars[MOST_BARS - 1 :]
    kwh, needs = sum(bar.kwh_day for bar in rest), {bar.need for bar in rest}
    need = needs.pop() if len(needs) == 1 else "mixed"
    had = sum(bar.had_day for bar in rest) / kwh
    return [*bars[: MOST_BARS - 1], UseBar(f"{len(rest)} smaller ones", kwh, need, had)]


def draw_uses(axes: Axes, bars: Sequence[UseBar]) -> None:
    """Draw one bar per appliance, its class told by fill and hatch."""
    named: set[str] = set()
    for row, bar in enumerate(bars):
        words, fill, edge, hatch = CLASSES[bar.need]
        label = None if bar.need in named else words
        named.add(bar.need)
        look: dict[str, Any] = {"color": fill, "edgecolor": edge, "hatch": hatch}
        axes.barh(-row, bar.had_day, 0.66, label=label, **look)
        if bar.had_day < WELL_SERVED * bar.kwh_day:
            lacking = bar.kwh_day - bar.had_day
            axes.barh(
                *(-row, lacking, 0.66),
                left=bar.had_day,
                color="#ffffff",
                edgecolor=GREY,
                linestyle=":",
                label=None if "lacking" in named else "asked for and not had",
            )
            named.add("lacking")
        axes.annotate(
            *(f"{bar.had_day:.2f}", (bar.kwh_day, -row), (5, 0)),
            textcoords="offset points",
            va="center",
            fontsize=SMALL,
            color=BLUE,
        )
    axes.set_yticks([-row for row in range(len(bars))], [short_name(bar.name) for bar in bars])
    for tick in axes.get_yticklabels():
        if "\n" in tick.get_text():
            tick.set(fontsize=TWO_LINES, linespacing=0.95)
    axes.set_ylim(-len(bars) + 0.4, 0.6)
    axes.set_xlabel("kWh a day")
    axes.locator_params(axis="x", nbins=4)
    axes.grid(axis="x")


def short_name(name: str) -> str:
    """Break a name into the lines beside its bar, and cut what is longer still."""
    lines = textwrap.wrap(name, NAME_LENGTH, max_lines=NAME_LINES, placeholder="…")
    return "\n".join(lines)
