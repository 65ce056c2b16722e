"""Figure of the generator: hours a day by month, and what they burn."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from flatodds.outcomes import Facts
from flatodds.outcomes.amounts import mixture_mean, mixture_quantiles
from flatodds.report.figures import (
    GREY,
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
from flatodds.report.measures import LEAST_MINUTES, clock_scale, hours_text, volume_text
from flatodds.report.words import number

if TYPE_CHECKING:
    import xarray as xr
    from matplotlib.axes import Axes

WHISKERS: Mapping[str, float] = {"low": 0.10, "high": 0.90}  # 8 stays of 10; own choice
CAREFUL = (
    "Carbon monoxide in the exhaust kills unnoticed: outdoors only, 20 ft (6 m) or more from "
    "doors, windows and awnings, with a working alarm where you sleep."
)


@dataclass(frozen=True, slots=True)
class MonthRun:
    """The generator in one month of a stay: means over all guesses and years, a day.

    `ends` leave a tenth of the simulated months outside at each end.
    """

    month: int
    nights: int
    hours: float
    ends: tuple[float, float]
    litres: float


def runs_of(dataset: xr.Dataset, stay: int) -> list[MonthRun]:
    """Collect the generator's hours and fuel in every month of a stay; none without one."""
    if "generator_hours" not in dataset:
        return []
    weights = dataset["case_weight"].to_numpy()
    found = []
    for at in np.flatnonzero(dataset["period_stay"].to_numpy() == stay):
        nights = int(dataset["period_nights"][at])
        hours = dataset["generator_hours"].to_numpy()[:, :, at] / nights
        litres = dataset["fuel_l"].to_numpy()[:, :, at] / nights
        level = mixture_quantiles(hours, weights, WHISKERS)
        found.append(
            MonthRun(
                month=int(dataset["period_month"][at]),
                nights=nights,
                hours=mixture_mean(hours, weights),
                ends=(level["low"], level["high"]),
                litres=mixture_mean(litres, weights),
            )
        )
    return found


def generator_figure(
    name: str, runs: Sequence[MonthRun], service_hours: float | None, facts: Facts
) -> Shown | None:
    """Draw generator hours a day by month; None without a generator.

    `service_hours` are the running hours between changes of oil, if known.
    """
    if not runs:
        return None
    finding = generator_finding(runs, service_hours, facts)
    with drawing():
        figure = new_figure(260.0)
        axes = add_axes(figure, 48.0, 30.0, 12.0, 56.0)
        draw_runs(axes, runs)
        legend_on_top(figure, axes, columns=1)
        svg = svg_of(figure, name, "Generator hours on an average day of each month", finding)
    rows = tuple(
        (
            MONTHS[run.month - 1],
            f"{number(run.hours)} h",
            f"{number(run.ends[0])} to {number(run.ends[1])} h",
            f"{number(run.hours * run.nights)} h",
            volume_text(run.litres * run.nights, facts),
        )
        for run in runs
    )
    head = ("in", "generator a day", "8 of 10 months", "in all", "fuel in all")
    return Shown(name, "The generator", finding, svg, head, rows, CAREFUL)


def generator_finding(runs: Sequence[MonthRun], service_hours: float | None, facts: Facts) -> str:
    """Say which month asks most of the generator, what it burns in all, and its oil."""
    hours = sum(run.hours * run.nights for run in runs)
    if hours <= 0.0:
        return "The generator was not needed in any simulated stay."
    most = max(runs, key=lambda run: run.hours)
    litres = sum(run.litres * run.nights for run in runs)
    month = MONTHS[most.month - 1]
    who = f"{month} asks most of the generator:" if len(runs) > 1 else "The generator runs"
    text = f"{who} {hours_text(most.hours)} on an average day"
    if most.ends[1] >= LEAST_MINUTES:
        text += f", and in 1 of 10 such months more than {hours_text(most.ends[1])} a day"
    text += f". The stay takes {hours_text(hours)} and {volume_text(litres, facts)} of fuel"
    if service_hours is None:
        return f"{text}."
    changes = hours / service_hours
    oil = "no change of oil yet" if changes < 1.0 else f"{number(changes)} changes of oil"
    return f"{text}; {oil}, with one due every {service_hours:g} hours."


def draw_runs(axes: Axes, runs: Sequence[MonthRun]) -> None:
    """Draw a bar per month with a thin line for 8 of 10 months."""
    at = np.arange(len(runs), dtype=float)
    scale, unit = clock_scale(max(max(run.ends[1], run.hours) for run in runs))
    mean = scale * np.array([run.hours for run in runs])
    axes.bar(at, mean, 0.5, color="#ffffff", edgecolor=INK, hatch="---", label="average")
    for k, run in enumerate(runs):
        label = "8 of 10 simulated months" if k == 0 else None
        ends = [scale * end for end in run.ends]
        axes.plot([at[k] + 0.32] * 2, ends, color=GREY, linewidth=2.2, label=label)
        axes.annotate(
            number(mean[k]), (at[k], mean[k]), (0, 3), textcoords="offset points", ha="center"
        )
    top = max(*(scale * run.ends[1] for run in runs), float(mean.max()), 1.0)
    axes.set_ylim(0.0, 1.15 * top)
    axes.set_xlim(*month_ends(len(runs)))
    axes.set_xticks(at, [MONTHS[run.month - 1] for run in runs], fontsize=SMALL)
    axes.set_ylabel(f"{unit} a day")
    axes.grid(axis="y")
