"""Figures of the battery's charge: at dawn through a stay, and hour by hour in a bad week."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from flatodds.report.figures import (
    AMBER,
    BLUE,
    BROWN,
    FAINT,
    GREY,
    INK,
    PALE_BLUE,
    SMALL,
    Rows,
    Shown,
    add_axes,
    drawing,
    legend_on_top,
    new_figure,
    percent_text,
    svg_of,
)
from flatodds.report.figures_odds import MONTHS, percent_axis
from flatodds.units import degrees_text

if TYPE_CHECKING:
    import pandas as pd
    import xarray as xr
    from matplotlib.axes import Axes

Floats = npt.NDArray[np.float64]
DATE_TICKS = 5  # own choice
MOST_ROWS = 31  # longer stays show every seventh day in the table
MANY_DAYS = 7  # from one row of a table to the next in long stays; own choice
COLD_GAP = 0.03  # this far above the cut-off, power going out needs a word. Own choice
COLD_C = 15.0  # and this cold, cold explains it. Own choice


@dataclass(frozen=True, slots=True)
class Lines:
    """Where the reserve and the cut-off lie, as shares of the battery; None: not known.

    `cold` says that a cold battery gives less, so that it is empty above the cut-off; `us`
    that its reader thinks in Fahrenheit.
    """

    reserve: float
    cutoff: float | None
    cold: bool = False
    us: bool = False


@dataclass(frozen=True, slots=True)
class Dawns:
    """Charge at dawn on each day of a stay, as estimated, (day,) [1].

    `low`, `middle` and `high` leave 10, 50 and 90 % of the simulated stays below; `worst` is
    the stay with most flat hours.
    """

    dates: tuple[str, ...]
    low: Floats
    middle: Floats
    high: Floats
    worst: Floats


def dawns_of(found: xr.Dataset, worst_days: pd.DataFrame, stay: int) -> Dawns:
    """Collect the charge at dawn over the days of a stay.

    `found` is ``Outcomes.dataset``, `worst_days` its table of that name.
    """
    here = np.flatnonzero(found["day_stay"].to_numpy() == stay)
    dawn = found["daily_dawn_charge_frac"].to_numpy()[:, here].astype(np.float64)
    low, middle, high = np.quantile(dawn, (0.1, 0.5, 0.9), axis=0, method="inverted_cdf")
    days = worst_days.iloc[here]
    worst = days["dawn_charge_frac"].to_numpy().astype(np.float64)
    return Dawns(tuple(days["date"]), low, middle, high, worst)


def dawn_figure(name: str, dawns: Dawns, lines: Lines) -> Shown:
    """Draw the charge at dawn through the stay."""
    at = int(np.argmin(dawns.low))
    finding = (
        f"The leanest mornings come around {dawns.dates[at]}: usually "
        f"{percent_text(dawns.middle[at])} is left at dawn, in 1 stay of 10 it is "
        f"{percent_text(dawns.low[at])} or less."
    )
    with drawing():
        figure = new_figure(392.0)
        axes = add_axes(figure, 44.0, 30.0, 12.0, 150.0)
        draw_dawns(axes, dawns)
        draw_levels(axes, lines)
        legend_on_top(figure, axes, columns=1)
        title = "Charge of the battery at dawn, day by day"
        svg = svg_of(figure, name, title, finding)
    note = "Percent of the battery left at dawn, for sun and use as estimated."
    step = 1 if len(dawns.dates) <= MOST_ROWS else MANY_DAYS
    if step > 1:
        note += " The table has every seventh day."
    parts = (dawns.middle, dawns.low, dawns.high, dawns.worst)
    rows: Rows = tuple(
        (dawns.dates[day], *(percent_text(float(part[day])) for part in parts))
        for day in range(0, len(dawns.dates), step)
    )
    head = ("dawn of", "usual", "1 stay in 10 has less", "1 stay in 10 has more", "worst stay")
    return Shown(name, "What is left at dawn", finding, svg, head, rows, note)


def draw_dawns(axes: Axes, dawns: Dawns) -> None:
    """Draw band, usual line and worst stay."""
    day = np.arange(len(dawns.dates))
    dot = "o" if len(day) < 3 else ""
    axes.fill_between(
        *(day, 100 * dawns.low, 100 * dawns.high),
        facecolor=PALE_BLUE,
        edgecolor="none",
        label="8 stays of 10 lie in this band",
    )
    axes.plot(
        *(day, 100 * dawns.low),
        color=BLUE,
        linewidth=1.4,
        linestyle="-.",
        marker=dot,
        label="1 stay of 10 has less",
    )
    axes.plot(day, 100 * dawns.middle, color=BLUE, linewidth=2.5, marker=dot, label="usual")
    axes.plot(
        *(day, 100 * dawns.worst),
        color=INK,
        linewidth=1.6,
        linestyle=":",
        marker=dot,
        label="worst stay of all simulated",
    )
    at = np.unique(np.linspace(0, len(day) - 1, min(DATE_TICKS, len(day))).round().astype(int))
    axes.set_xticks(at, [dawns.dates[k] for k in at], fontsize=SMALL)
    labels = axes.get_xticklabels()
    labels[0].set_horizontalalignment("left")
    labels[-1].set_horizontalalignment("right" if len(labels) > 1 else "left")
    axes.tick_params(axis="x", pad=6)
    axes.set_xlim(-0.5 if len(day) < 3 else 0.0, max(len(day) - 1, 1))
    percent_axis(axes, "y")
    axes.set_title("left at dawn, % of the battery", loc="left", fontsize=SMALL)


def draw_levels(axes: Axes, lines: Lines) -> None:
    """Draw the household's reserve (dashed) and the cut-off (solid), named in the key."""
    words = f"your reserve {percent_text(lines.reserve)}"
    dash: Any = (0, (6, 4))
    axes.axhline(100 * lines.reserve, color=GREY, linewidth=1.6, linestyle=dash, label=words)
    if lines.cutoff is not None:
        words = f"cut-off {percent_text(lines.cutoff)}" + (", higher in cold" if lines.cold else "")
        axes.axhline(100 * lines.cutoff, color=INK, linewidth=1.6, label=words)


def week_figure(name: str, week: xr.Dataset, lines: Lines) -> Shown:
    """Draw one bad week by hour: charge above, sun and use below, flat hours marked."""
    with drawing():
        figure = new_figure(440.0)
        upper = add_axes(figure, 44.0, 206.0, 12.0, 70.0)
        lower = add_axes(figure, 44.0, 30.0, 12.0, 288.0)
        draw_week_charge(upper, week)
        draw_levels(upper, lines)
        draw_week_power(lower, week)
        finding = week_finding(week)
        legend_on_top(figure, upper, columns=2)
        title = "One bad week, hour by hour: charge, sun and use"
        svg = svg_of(figure, name, title, finding)
    head: tuple[str, ...] = ("day", "sun taken in", "used", "hours without power", "lowest charge")
    rows = week_rows(week)
    for words, (watts, _) in other_power(week).items():
        by_day = watts.reshape(-1, 24).sum(axis=1) / 1000.0
        head = (*head, words)
        rows = tuple((*row, f"{kwh:.2f} kWh") for row, kwh in zip(rows, by_day, strict=True))
    note = (
        f"Simulated year {week.attrs['member']}, for sun and use as estimated, on the clock of the "
        "place. Every hour of it is in tables/bad_week_hours.csv."
    )
    note += cold_note(week, lines)
    heading = "What trouble looks like" if week["flat"].any() else "The leanest week"
    return Shown(name, heading, finding, svg, head, rows, note)


def week_finding(week: xr.Dataset) -> str:
    """Say when power went out in the week shown, or how low the charge came."""
    flat = np.flatnonzero(week["flat"].to_numpy())
    if flat.size == 0:
        low = int(np.argmin(week["charge_frac"].to_numpy()))
        left = percent_text(float(week["charge_frac"][low]))
        return (
            f"In the leanest of the simulated stays the battery came down to {left}, "
            f"on {hour_text(week, low)}, and did not run flat."
        )
    hours = "1 hour" if flat.size == 1 else f"{flat.size} hours"
    return (
        f"In this stay, as bad as the middle one of those that run flat, power went out on "
        f"{hour_text(week, int(flat[0]))} and was missing for {hours} of the week shown."
    )


def cold_note(week: xr.Dataset, lines: Lines) -> str:
    """Say that cold emptied the battery early, when power went out well above the cut-off."""
    flat = np.flatnonzero(week["flat"].to_numpy())
    if flat.size == 0 or lines.cutoff is None:
        return ""
    first = int(flat[0])
    left, bank_c = float(week["charge_frac"][first]), float(week["bank_temp_c"][first])
    if left < lines.cutoff + COLD_GAP or bank_c > COLD_C:
        return ""
    cold = degrees_text(bank_c, us=lines.us, degree="°")
    return (
        f" A cold battery gives less than its label: at {cold} this one had nothing to give "
        f"with {percent_text(left)} still in it."
    )


def hour_text(week: xr.Dataset, at: int) -> str:
    """Name an hour on the clock of the place: ``"12 Jan at 05:00"``."""
    stamp = str(week["time"].to_numpy()[at])[:16]
    return f"{int(stamp[8:10])} {MONTHS[int(stamp[5:7]) - 1]} at {stamp[11:16]}"


def draw_week_charge(axes: Axes, week: xr.Dataset) -> None:
    """Draw the charge and mark the hours without power."""
    charge = 100 * week["charge_frac"].to_numpy()
    axes.plot(np.arange(1, charge.size + 1), charge, color=BLUE, linewidth=2.2, label="charge")
    spans = flat_spans(week["flat"].to_numpy())
    for number, (start, end) in enumerate(spans):
        axes.axvspan(
            *(start, end),
            facecolor="#ffffff",
            edgecolor=INK,
            hatch="xxxx",
            linewidth=0.8,
            label="power out" if number == 0 else None,
        )
    percent_axis(axes, "y")
    day_axis(axes, week, named=False)
    axes.set_title("charge of the battery, %", loc="left", fontsize=SMALL)


def flat_spans(flat: npt.NDArray[np.bool_]) -> list[tuple[int, int]]:
    """Find runs of flat hours as (first hour, hour after the last)."""
    edges = np.diff(np.concatenate([[0], flat.astype(np.int64), [0]]))
    starts, ends = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1)
    return [(int(a), int(b)) for a, b in zip(starts, ends, strict=True)]


def draw_week_power(axes: Axes, week: xr.Dataset) -> None:
    """Draw sun taken in, sun on offer and use, in watts."""
    hours = np.arange(week.sizes["time"] + 1)
    taken, offered = week["array_w"].to_numpy(), week["array_offered_w"].to_numpy()
    demand = week["demand_w"].to_numpy()
    axes.stairs(taken, hours, fill=True, facecolor=AMBER, edgecolor=BROWN, label="sun taken")
    axes.stairs(offered, hours, color=BROWN, linewidth=1.3, linestyle=":", label="on offer")
    axes.stairs(demand, hours, color=GREY, linewidth=1.8, label="use")
    other = other_power(week)
    for words, (watts, hatch) in other.items():
        axes.stairs(
            watts,
            hours,
            fill=True,
            facecolor="#ffffff",
            edgecolor=INK,
            hatch=hatch,
            linewidth=0.9,
            label=words,
            zorder=0.9,
        )
    most = max(float(watts.max()) for watts in (offered, demand, *(w for w, _ in other.values())))
    axes.set_ylim(0.0, 1.12 * max(most, 1.0))
    axes.locator_params(axis="y", nbins=4)
    axes.grid(axis="y")
    day_axis(axes, week, named=True)
    axes.tick_params(axis="x", labelsize=11.5)
    axes.set_title("sun and use, watts", loc="left", fontsize=SMALL, pad=27.0)
    axes.legend(
        loc="lower left", bbox_to_anchor=(0.0, 1.02), ncols=3 + len(other), handlelength=1.2
    )


def other_power(week: xr.Dataset) -> dict[str, tuple[Floats, str]]:
    """Collect charging other than sun in the week shown: words -> (watts by hour, hatch)."""
    found: dict[str, tuple[Floats, str]] = {}
    for key, words, hatch in (
        ("generator_w", "generator", "///"),
        ("drive_w", "driving", "...."),
        ("hookup_w", "hookup", "++++"),
    ):
        watts = week[key].to_numpy().astype(np.float64) if key in week else np.zeros(1)
        if watts.max() > 0.0:
            found[words] = (watts, hatch)
    return found


def day_axis(axes: Axes, week: xr.Dataset, *, named: bool) -> None:
    """Part the hours into days and name each under its noon."""
    days = week.sizes["time"] // 24
    axes.set_xlim(0.0, 24.0 * days)
    names = day_names(week) if named else [""] * days
    axes.set_xticks([24 * day + 12 for day in range(days)], names)
    midnights = [24 * day for day in range(1, days)]
    look: dict[str, Any] = {"color": FAINT, "linewidth": 0.8, "zorder": 0.5}
    axes.vlines(midnights, 0.0, 1.0, transform=axes.get_xaxis_transform(), **look)


def day_names(week: xr.Dataset) -> list[str]:
    """Dates of the days of the week shown."""
    times = week["time"].to_numpy()
    return [hour_text(week, at).split(" at ")[0] for at in range(12, times.size, 24)]


def week_rows(week: xr.Dataset) -> Rows:
    """One row per day of the week shown."""

    def by_day(key: str) -> Floats:
        values: Floats = week[key].to_numpy().astype(np.float64).reshape(-1, 24)
        return values

    sun, used = by_day("array_w").sum(axis=1) / 1000, by_day("served_w").sum(axis=1) / 1000
    out, low = by_day("flat").sum(axis=1), by_day("charge_frac").min(axis=1)
    names: Sequence[str] = day_names(week)
    return tuple(
        (
            name,
            f"{sun[k]:.2f} kWh",
            f"{used[k]:.2f} kWh",
            f"{out[k]:.0f}",
            percent_text(float(low[k])),
        )
        for k, name in enumerate(names)
    )
