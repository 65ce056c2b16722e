"""Figure of one full charge of the bank: amperes, volts and charge against hours."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from flatodds.battery.curve import FULL_TAIL, ChargeCurve, charge_curve
from flatodds.report.figures import (
    BLUE,
    GREY,
    INK,
    SMALL,
    Part,
    Rows,
    Shown,
    add_axes,
    drawing,
    new_figure,
    percent_text,
    svg_of,
)
from flatodds.report.figures_odds import percent_axis
from flatodds.report.measures import hours_text
from flatodds.report.words import number
from flatodds.scenario.limits_bank import panels_a
from flatodds.units import degrees_text

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from flatodds.scenario import Scenario

START_FRAC = 0.2  # charge that the curve begins with; own choice
LEAST_BULK_FRAC = 0.01  # a shorter part at full current is not worth a word; own choice
MOST_ROWS = 14  # own choice


def curve_of(scenario: Scenario) -> ChargeCurve:
    """Charge the scenario's bank from 20 % with what its panels can push in full sun."""
    push_a = panels_a(scenario.bank, scenario.arrays, scenario.controllers)
    return charge_curve(scenario.bank, push_a, START_FRAC)


def charge_curve_figure(name: str, scenario: Scenario, stay: Part) -> Shown | None:
    """Draw one full charge, and tell the wear of a stay (a part of ``Outcomes.summary``).

    None for a store that is only for checks, and where there are no panels.
    """
    if scenario.bank.chemistry == "ideal" or not any(array.watts for array in scenario.arrays):
        return None
    curve = curve_of(scenario)
    finding = curve_finding(curve)
    with drawing():
        figure = new_figure(430.0)
        upper = add_axes(figure, 48.0, 240.0, 52.0, 62.0)
        lower = add_axes(figure, 48.0, 44.0, 52.0, 236.0)
        draw_current(upper, curve)
        volts = draw_volts(upper, curve)
        draw_charge(lower, curve)
        handles, labels = upper.get_legend_handles_labels()
        more, names = volts.get_legend_handles_labels()
        volts.legend([], [], frameon=False)
        figure.legend(
            [*handles, *more],
            [*labels, *names],
            loc="upper left",
            bbox_to_anchor=(0.01, 0.995),
            ncols=2,
        )
        svg = svg_of(figure, name, "One full charge of the battery, hour by hour", finding)
    head = ("hours", "current", "volts", "charge")
    warm = degrees_text(25.0, us=scenario.printed_units == "us", degree="°")
    note = (
        f"From {percent_text(START_FRAC)} at {warm} with a steady {curve.charger_a:.0f} A, what "
        "these panels push in full sun or the battery takes if that is less. Real sun is "
        "unsteady and days are short, so a charge may take days. Full: the current has fallen to "
        f"{100 * FULL_TAIL:.0f} % of the ampere-hours. Minute by minute by the rules that the "
        f"simulation follows hour by hour; volts near full are sketched. {wear_text(stay)}"
    )
    heading = "How the battery fills"
    return Shown(name, heading, finding, svg, head, curve_rows(curve), note)


def curve_finding(curve: ChargeCurve) -> str:
    """Tell how far full current carries, and how long the rest takes."""
    hours, last_h = curve.full_h, curve.full_h - curve.bulk_end_h
    if curve.bulk_end_frac - START_FRAC < LEAST_BULK_FRAC:
        return f"The current falls from the start: {hours_text(hours)} to full."
    return (
        f"Full current carries it to {percent_text(curve.bulk_end_frac)} in "
        f"{hours_text(curve.bulk_end_h)}; the rest takes {hours_text(last_h)} more."
    )


def wear_text(stay: Part) -> str:
    """Tell what a stay does to the battery, and what its heating pad took."""
    wear = stay["wear"]
    years, waits = wear["years_to_80pct"], wear["longest_days_since_full"]["mean"]
    text = (
        f"The stay itself takes {number(wear['full_cycles']['mean'])} full cycles, and the longest "
        f"time without being full is {waits:.0f} days in the mean."
    )
    if years["by_cycles"] is not None and years["by_calendar"] is not None:
        text += (
            f" Days like these all year would wear a new battery to 80 % in "
            f"{years['by_cycles']['mean']:.0f} years; standing does in {years['by_calendar']:.0f}."
        )
    pad = stay["heating_pad_kwh"]
    if pad is not None and pad["mean"] > 0.0:
        text += f" Its heating pad takes {number(pad['mean'])} kWh."
    return text


def draw_current(axes: Axes, curve: ChargeCurve) -> None:
    """Draw the current."""
    axes.plot(curve.hours, curve.amps, color=BLUE, linewidth=2.5, label="current, A")
    axes.set_ylim(0.0, 1.15 * curve.charger_a)
    axes.set_xlim(0.0, curve.full_h)
    axes.yaxis.grid(visible=True)
    axes.tick_params(axis="x", labelbottom=False)
    axes.set_title("amperes", loc="left", fontsize=SMALL)


def draw_volts(axes: Axes, curve: ChargeCurve) -> Axes:
    """Draw the terminal voltage on an axis of its own at the right."""
    right: Axes = axes.twinx()
    right.plot(
        curve.hours, curve.volts, color=INK, linewidth=1.8, linestyle="--", label="voltage, V"
    )
    low, high = float(curve.volts.min()), float(curve.volts.max())
    room = 0.12 * max(high - low, 0.02 * high)
    right.set_ylim(low - room, high + room)
    right.spines["right"].set_visible(True)
    right.set_title("volts", loc="right", fontsize=SMALL)
    return right


def draw_charge(axes: Axes, curve: ChargeCurve) -> None:
    """Draw the charge, and where full current ends."""
    axes.plot(curve.hours, 100.0 * curve.charge_frac, color=BLUE, linewidth=2.5)
    if curve.bulk_end_h < curve.full_h:
        axes.axvline(curve.bulk_end_h, color=GREY, linewidth=1.4, linestyle=":")
        late = curve.bulk_end_h > 0.55 * curve.full_h
        axes.annotate(
            "current begins to fall",
            (curve.bulk_end_h, 8.0),
            xytext=(-5 if late else 5, 0),
            textcoords="offset points",
            fontsize=SMALL,
            color=GREY,
            ha="right" if late else "left",
        )
    percent_axis(axes, "y")
    axes.set_xlim(0.0, curve.full_h)
    axes.set_title("charge, %", loc="left", fontsize=SMALL)
    axes.set_xlabel("hours of steady charging")


def curve_rows(curve: ChargeCurve) -> Rows:
    """Put the curve into a table at even times, the end included."""
    step = next(s for s in (0.25, 0.5, 1.0, 2.0, 4.0, 8.0) if curve.full_h / s <= MOST_ROWS - 2)
    times = [*np.arange(0.0, curve.full_h, step).tolist(), curve.full_h]
    return tuple(
        (
            f"{hour:.2f}".rstrip("0").rstrip("."),
            f"{np.interp(hour, curve.hours, curve.amps):.1f} A",
            f"{np.interp(hour, curve.hours, curve.volts):.2f} V",
            percent_text(float(np.interp(hour, curve.hours, curve.charge_frac))),
        )
        for hour in times
    )
