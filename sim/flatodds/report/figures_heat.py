"""Figure of heat: hot hours a day by month, with and without cooling, and how long it ran."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from flatodds.outcomes import Facts
from flatodds.outcomes.amounts import mixture_mean
from flatodds.report.figures import (
    AMBER,
    BLUE,
    BROWN,
    INK,
    SMALL,
    Shown,
    add_axes,
    drawing,
    legend_on_top,
    month_ends,
    new_figure,
    svg_of,
)
from flatodds.report.figures_odds import MONTHS
from flatodds.report.heat_words import held_text
from flatodds.report.measures import clock_scale, hours_text, temperature_text
from flatodds.report.words import number

if TYPE_CHECKING:
    import xarray as xr
    from matplotlib.axes import Axes

LEAST_HOURS = 0.05  # a day, below which there is nothing to draw. Own choice
CAREFUL = (
    "Heat kills children, pets, old and ill people first. Never let one of them depend on an air "
    "conditioner that runs from a battery."
)


@dataclass(frozen=True, slots=True)
class MonthHeat:
    """Heat in one month of a stay: means over all guesses and years, a day.

    `bare`, `ran`, `kwh` and the days are None without an air conditioner: hot hours without
    it, hours it ran, what it took; days in the month that would have been hot, and were held.
    """

    month: int
    hot: float
    bare: float | None
    ran: float | None
    kwh: float | None
    hot_days: float | None
    held_days: float | None


def heat_of(dataset: xr.Dataset, stay: int) -> list[MonthHeat]:
    """Collect the heat of every month of a stay; none where it is never hot nor cooled."""
    if "hot_hours" not in dataset:
        return []
    weights = dataset["case_weight"].to_numpy()
    found = []
    for at in np.flatnonzero(dataset["period_stay"].to_numpy() == stay):
        nights = int(dataset["period_nights"][at])

        def mean(key: str, scale: float, at: int = int(at)) -> float | None:
            if key not in dataset:
                return None
            return mixture_mean(dataset[key].to_numpy()[:, :, at] * scale, weights)

        found.append(
            MonthHeat(
                month=int(dataset["period_month"][at]),
                hot=mean("hot_hours", 1.0 / nights) or 0.0,
                bare=mean("hot_hours_uncooled", 1.0 / nights),
                ran=mean("cooling_hours", 1.0 / nights),
                kwh=mean("cooling_served_wh", 1e-3 / nights),
                hot_days=mean("hot_days_uncooled", 1.0),
                held_days=mean("days_held", 1.0),
            )
        )
    shown = any(max(m.hot, m.bare or 0.0, m.ran or 0.0) >= LEAST_HOURS for m in found)
    return found if shown else []


def heat_figure(name: str, months: Sequence[MonthHeat], facts: Facts) -> Shown | None:
    """Draw hot hours by month; None where it is never hot."""
    if not months:
        return None
    finding = heat_finding(months, facts)
    with drawing():
        above = 78.0 if months[0].bare is not None else 38.0
        figure = new_figure(212.0 + above)
        axes = add_axes(figure, 48.0, 30.0, 12.0, above)
        draw_heat(axes, months)
        legend_on_top(figure, axes, columns=1)
        svg = svg_of(figure, name, "Hot hours on an average day of each month", finding)
    head: tuple[str, ...] = ("a day in", "hot")
    rows: tuple[tuple[str, ...], ...] = tuple(
        (MONTHS[m.month - 1], f"{number(m.hot)} h") for m in months
    )
    if months[0].bare is not None:
        head = (*head, "hot without cooling", "cooling ran", "cooling took", "hot days held")
        rows = tuple((*row, *_cooled_cells(m)) for row, m in zip(rows, months, strict=True))
    return Shown(name, "Heat inside", finding, svg, head, rows, CAREFUL)


def _cooled_cells(month: MonthHeat) -> tuple[str, ...]:
    held = "none was hot"
    if month.hot_days:
        held = held_text((month.held_days or 0.0) / month.hot_days)
    return (
        f"{number(month.bare or 0.0)} h",
        f"{number(month.ran or 0.0)} h",
        f"{number(month.kwh or 0.0)} kWh",
        held,
    )


def heat_finding(months: Sequence[MonthHeat], facts: Facts) -> str:
    """Say which month is hottest, and what cooling makes of it."""
    worst = max(months, key=lambda m: m.hot if m.bare is None else m.bare)
    limit = temperature_text(facts.comfort_high_c, facts, "°")
    name = MONTHS[worst.month - 1]
    if worst.bare is None:
        return f"In {name} it is hotter than {limit} inside for {hours_text(worst.hot)} a day."
    text = (
        f"In {name} it would be hotter than {limit} inside for {hours_text(worst.bare)} a day; "
        f"with cooling it is for {hours_text(worst.hot)}"
    )
    if not worst.hot_days:
        return f"{text}."
    share = held_text((worst.held_days or 0.0) / worst.hot_days)
    return f"{text}. Held below it all day: {share}."


def draw_heat(axes: Axes, months: Sequence[MonthHeat]) -> None:
    """Draw hot hours without and with cooling as bars, hours it ran as squares."""
    at = np.arange(len(months), dtype=float)
    cooled = months[0].bare is not None
    scale, unit = clock_scale(max(max(m.hot, m.bare or 0.0, m.ran or 0.0) for m in months))
    left = at - 0.2 if cooled else at
    if cooled:
        bare = [scale * (m.bare or 0.0) for m in months]
        axes.bar(
            *(left, bare, 0.36),
            color="#ffffff",
            edgecolor=BROWN,
            hatch="////",
            label="hot without cooling",
        )
    hot = [scale * m.hot for m in months]
    words = "hot with it" if cooled else "hot"
    axes.bar(at + 0.2 if cooled else at, hot, 0.36, color=AMBER, edgecolor=BROWN, label=words)
    if cooled:
        ran = [scale * (m.ran or 0.0) for m in months]
        axes.plot(at + 0.2, ran, "s", color=BLUE, markersize=8.0, label="time it ran")
    for k, month in enumerate(months):
        for x, value in ((left[k], month.bare), (at[k] + 0.2 * cooled, month.hot)):
            if value is not None:
                axes.annotate(
                    *(number(scale * value), (x, scale * value), (0, 3)),
                    textcoords="offset points",
                    ha="center",
                    color=INK,
                    fontsize=SMALL,
                )
    top = max(*(scale * max(m.hot, m.bare or 0.0, m.ran or 0.0) for m in months), 1.0)
    axes.set_ylim(0.0, 1.18 * top)
    axes.set_xlim(*month_ends(len(months)))
    axes.set_xticks(at, [MONTHS[m.month - 1] for m in months], fontsize=SMALL)
    axes.set_ylabel(f"{unit} a day")
    axes.grid(axis="y")
