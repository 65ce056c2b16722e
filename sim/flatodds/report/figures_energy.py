"""Figures of energy: sun and use by month, and where it went."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from flatodds.outcomes import Facts
from flatodds.outcomes.amounts import mixture_mean, mixture_quantiles
from flatodds.report.detail import REST_V_PER_12, energy
from flatodds.report.figures import (
    AMBER,
    BROWN,
    GREY,
    INK,
    Shown,
    add_axes,
    drawing,
    legend_on_top,
    month_ends,
    new_figure,
    percent_text,
    svg_of,
)
from flatodds.report.figures_odds import MONTHS
from flatodds.report.words import number

if TYPE_CHECKING:
    import xarray as xr
    from matplotlib.axes import Axes

OTHERS = ("generator_wh", "drive_wh", "hookup_wh")
WHISKERS: Mapping[str, float] = {"low": 0.10, "high": 0.90}  # 8 stays of 10; own choice
# why sun was spilled: key, words of the key, words in a sentence, hatch
CAUSES: tuple[tuple[str, str, str, str], ...] = (
    ("spilled_full_wh", "spare: battery full", "the battery was full", "////"),
    ("spilled_rate_wh", "spare: battery slow to fill", "the battery takes no more current", ".."),
    ("spilled_clip_wh", "spare: controller's limit", "the controller is at its limit", "++"),
    ("cold_locked_wh", "spare: battery too cold", "the battery is too cold to charge", "oo"),
    ("", "spare sun", "nobody asked for it", "////"),  # what no other cause explains
)
ALMOST, HALF = 0.98, 0.5  # shares that words name. Own choice
LEAST_SPARE_KWH = 0.005  # a day, from which spare sun is written as more than nothing
UNEXPLAINED = 1e-3  # share of spilled sun that is rounding, not a cause. Own choice
LEAST_CAUSE = 0.005  # share of all energy from which a cause is drawn. Own choice


@dataclass(frozen=True, slots=True)
class MonthEnergy:
    """Energy of one month of a stay, means over all guesses and years [kWh a day].

    `array_ends`, `demand_ends` leave a tenth of the simulated months outside at each end;
    `causes` split what was spilled as `CAUSES` says.
    """

    month: int
    nights: int
    array: float
    other: float
    spilled: float
    causes: tuple[float, ...]
    demand: float
    served: float
    bank_loss: float
    not_served: float
    array_ends: tuple[float, float]
    demand_ends: tuple[float, float]


def months_of(dataset: xr.Dataset, stay: int) -> list[MonthEnergy]:
    """Collect the energy of every month of a stay."""
    weights = dataset["case_weight"].to_numpy()
    told = "spilled_full_wh" in dataset  # results saved before causes were kept do not tell
    known = [key for key, *_ in CAUSES if key]
    found = []
    for at in np.flatnonzero(dataset["period_stay"].to_numpy() == stay):
        nights = int(dataset["period_nights"][at])

        def a_day(key: str, at: int = int(at), nights: int = nights) -> Any:
            return dataset[key].to_numpy()[:, :, at] / (1000.0 * nights)

        def mean(key: str, a_day: Any = a_day) -> float:
            if key not in dataset:
                return 0.0
            return mixture_mean(a_day(key), weights)

        def ends(key: str, a_day: Any = a_day) -> tuple[float, float]:
            level = mixture_quantiles(a_day(key), weights, WHISKERS)
            return level["low"], level["high"]

        found.append(
            MonthEnergy(
                month=int(dataset["period_month"][at]),
                nights=nights,
                array=mean("array_wh"),
                other=sum(mean(key) for key in OTHERS),
                spilled=mean("spilled_wh"),
                causes=_causes([mean(key) * told for key in known], mean("spilled_wh")),
                demand=mean("demand_wh"),
                served=mean("served_wh"),
                bank_loss=mean("bank_loss_wh"),
                not_served=mean("energy_not_served_wh"),
                array_ends=ends("array_wh"),
                demand_ends=ends("demand_wh"),
            )
        )
    return found


def _causes(known: list[float], spilled: float) -> tuple[float, ...]:
    """Split what was spilled by cause, the last being what no known cause explains."""
    rest = spilled - sum(known)
    return (*known, rest if rest > UNEXPLAINED * spilled else 0.0)


def sun_figure(name: str, months: Sequence[MonthEnergy], facts: Facts) -> Shown:
    """Draw sun taken in, spare sun and use by month."""
    tight = min(months, key=lambda m: (m.array + m.spilled) / max(m.demand, 1e-9))
    amounts = (
        f"the sun offers {energy(tight.array + tight.spilled, facts)}, you need "
        f"{energy(tight.demand, facts)}."
    )
    finding = f"{MONTHS[tight.month - 1]} is the tightest: on an average day {amounts}"
    if len(months) == 1:
        finding = f"On an average day {amounts}"
    with drawing():
        figure = new_figure(300.0)
        axes = add_axes(figure, 52.0, 30.0, 54.0, 76.0)
        draw_sun(axes, months, facts)
        legend_on_top(figure, axes, columns=1)
        svg = svg_of(figure, name, "Sun and use on an average day of each month", finding)
    rows = tuple(
        (
            MONTHS[m.month - 1],
            *(energy(value, facts) for value in (m.array, m.spilled, m.demand)),
            f"{number(m.array_ends[0])} to {number(m.array_ends[1])} kWh",
        )
        for m in months
    )
    head = ("a day in", "sun taken in", "spare sun", "needed", "8 of 10 months take in")
    note = (
        "Bars and squares: averages. Thin lines: 8 of 10 simulated months. Good averages do not "
        "keep the power on: weeks of cloud empty a battery, and averages hide them."
    )
    return Shown(name, "Sun and use", finding, svg, head, rows, note)


def draw_sun(axes: Axes, months: Sequence[MonthEnergy], facts: Facts) -> None:
    """Draw stacked bars of sun with whiskers, and a square with whiskers for use."""
    at = np.arange(len(months), dtype=float)
    array = np.array([m.array for m in months])
    spare = np.array([m.spilled for m in months])
    demand = np.array([m.demand for m in months])
    wide = 0.36
    look: dict[str, Any] = {"color": "#ffffff", "edgecolor": BROWN, "hatch": "////"}
    words = "spare sun not used" if float(spare.max()) > LEAST_SPARE_KWH else None
    axes.bar(at - 0.2, spare, wide, bottom=array, label=words, **look)
    axes.bar(at - 0.2, array, wide, color=AMBER, edgecolor=BROWN, label="sun taken in")
    axes.plot(at + 0.2, demand, "s", color=GREY, markersize=9.0, label="needed")
    for k, month in enumerate(months):
        axes.plot([at[k] - 0.2] * 2, month.array_ends, color=INK, linewidth=1.4)
        axes.plot([at[k] + 0.2] * 2, month.demand_ends, color=GREY, linewidth=1.8)
    top = max(float((array + spare).max()), *(m.demand_ends[1] for m in months), 0.1)
    axes.set_ylim(0.0, 1.06 * top)
    axes.set_xlim(*month_ends(len(months)))
    axes.set_xticks(at, [MONTHS[m.month - 1] for m in months])
    axes.set_ylabel("kWh a day")
    axes.grid(axis="y")
    right = axes.twinx()
    right.set_ylim(0.0, 1.06 * top * 1000.0 / (facts.bank_v / 12.0 * REST_V_PER_12))
    right.set_ylabel(f"Ah a day at {facts.bank_v:.0f} V")


def went_figure(name: str, months: Sequence[MonthEnergy]) -> Shown:
    """Draw where the energy went, by month."""

    def total(key: str) -> float:
        return float(sum(getattr(m, key) * m.nights for m in months))

    offered = total("array") + total("spilled") + total("other")
    offered_by = "that sun and other charging offered" if total("other") else "the sun offered"
    causes = [sum(m.causes[k] * m.nights for m in months) for k in range(len(CAUSES))]
    finding = "Nothing was charged: all came out of what the battery held on arrival."
    if offered > 0.0:
        spare, lost = total("spilled") / offered, total("bank_loss") / offered
        finding = (
            f"Of the {number(offered)} kWh {offered_by}, {share_text(spare)} went unused"
            f"{why_spilled(causes, spare)} and {share_text(lost)} was lost inside the battery."
        )
    shown = [k for k, cause in enumerate(causes) if cause > LEAST_CAUSE * max(offered, 1e-9)]
    with drawing():
        above = 14.0 + 20.0 * (2 + len(shown)) if shown else 30.0
        figure = new_figure(48.0 + above + 34.0 * len(months))
        axes = add_axes(figure, 44.0, 40.0, 16.0, above)
        draw_went(axes, months, shown)
        legend_on_top(figure, axes, columns=1 if shown else 2)
        svg = svg_of(figure, name, "Where the energy went, by month", finding)
    rows = tuple(
        (
            MONTHS[m.month - 1],
            *(f"{value:.2f}" for value in (m.served, m.bank_loss, *m.causes, m.not_served)),
        )
        for m in months
    )
    head = (
        *("kWh a day in", "used", "lost in the battery"),
        *(words for _, words, *_ in CAUSES),
        "wanted, not had",
    )
    note = "Averages over all simulated years and guesses. What you used includes what was stored."
    return Shown(name, "Where the energy went", finding, svg, head, rows, note)


def share_text(share: float) -> str:
    """Write a share as a whole percentage, or say that it is hardly anything."""
    return percent_text(share) if share >= LEAST_CAUSE else "hardly any"


def why_spilled(causes: Sequence[float], share: float) -> str:
    """Name the main cause of spilling; empty when hardly anything was."""
    if share < LEAST_CAUSE or sum(causes) <= 0.0:
        return ""
    most = max(range(len(causes)), key=lambda k: causes[k])
    part = causes[most] / sum(causes)
    how = "all" if part > ALMOST else "mostly" if part > HALF else "most often"
    return f" ({how} because {CAUSES[most][2]})"


def draw_went(axes: Axes, months: Sequence[MonthEnergy], causes: Sequence[int]) -> None:
    """Draw one bar per month: used, lost, and spilled by these causes."""
    at = -np.arange(len(months), dtype=float)
    left = np.zeros(len(months))
    lost: dict[str, Any] = {"color": "#ffffff", "edgecolor": INK, "hatch": "xxxx"}
    parts: list[tuple[list[float], str, dict[str, Any]]] = [
        ([m.served for m in months], "used", {"color": GREY, "edgecolor": INK}),
        ([m.bank_loss for m in months], "lost in battery", lost),
    ]
    for k in causes:
        look: dict[str, Any] = {"color": "#ffffff", "edgecolor": BROWN, "hatch": CAUSES[k][3]}
        parts.append(([m.causes[k] for m in months], CAUSES[k][1], look))
    for amounts, words, look in parts:
        values = np.array(amounts)
        axes.barh(at, values, 0.6, left=left, label=words, **look)
        left = left + values
    axes.set_yticks(at, [MONTHS[m.month - 1] for m in months])
    axes.set_ylim(-len(months) + 0.5, 0.5)
    axes.set_xlim(0.0, 1.03 * max(float(left.max()), 0.1))
    axes.set_xlabel("kWh a day")
    axes.grid(axis="x")
