"""How it is said when one can come, and one picture for all places."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from flatodds.outcomes.said import counted, of_100
from flatodds.report.compare_words import chance_cell, in_columns, range_cell
from flatodds.report.figures import (
    BLUE,
    BROWN,
    FAINT,
    GREY,
    INK,
    Shown,
    add_axes,
    caption_on_top,
    drawing,
    legend_on_top,
    new_figure,
    svg_of,
)
from flatodds.report.words import (
    nights_text,
    number,
    plain_ascii,
    short_of_100,
    weather_lines,
    wrapped,
)

if TYPE_CHECKING:
    from matplotlib.figure import Figure

COLUMNS = 80  # of a plain terminal: common practice
LOOKS = ((BLUE, "-", "o"), (INK, "--", "s"), (BROWN, ":", "^"), (GREY, "-.", "D"))
MONTH_STARTS = (0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334)
MONTHS = ("Jan", "", "Mar", "", "May", "", "Jul", "", "Sep", "", "Nov", "")  # with room beside
YEAR_DAYS = 365
BAR = 38  # columns of a certain chance; what is beside it fits into 80


def place_sentence(place: Mapping[str, Any], summary: Mapping[str, Any]) -> str:
    """Say which weeks of arrival are good enough at a place."""
    wanted = of_100(summary["wanted_odds"])
    chances = [week["odds_flat"]["estimate"] for week in place["weeks"]]
    worst = place["weeks"][chances.index(max(chances))]["first_day"]
    high = of_100(max(chances))
    if not place["good"]:
        best = place["weeks"][chances.index(min(chances))]["first_day"]
        low = of_100(min(chances))
        return f"{place['name']}: no week has at most {wanted}; the best is {best} with {low}."
    if all(chance <= summary["wanted_odds"] for chance in chances):
        return f"{place['name']}: at most {wanted} in any week; the worst is {worst} with {high}."
    spells = " and ".join(
        f"from {first} to {last} (leaving by {end})"
        for (first, last), end in zip(place["good"], place["leave_by"], strict=True)
    )
    return (
        f"{place['name']}: arriving {spells}, at most {wanted} such stays run flat; "
        f"the worst week is {worst} with {high}."
    )


def arrivals_text(summary: Mapping[str, Any], heading: str, *, by_season: bool) -> str:
    """Write the answer for a terminal, at most 80 columns."""
    charge = round(100 * summary["charge_frac"])
    lines = wrapped(f"{heading}: {nights_text(summary['nights'])}, arriving with {charge} %")
    lines.append("")
    for place in summary["places"]:
        lines += wrapped(place_sentence(place, summary))
        best = place["best"]
        if 1 < len(best) < len(place["weeks"]):
            lines += wrapped(f"{len(best)} weeks cannot be told from the best.", COLUMNS, "  ")
        lines += [] if by_season else ["", *week_lines(place), ""]
    if by_season:
        lines += ["", *season_table(summary), ""]
    lines += weather_lines(summary)
    units = counted(summary["members"], summary["record_years"], "simulated years")
    lines += wrapped(f"{units}, seed {summary['seed']}; every week lives the same years.")
    return "\n".join(lines)


def week_lines(place: Mapping[str, Any]) -> list[str]:
    """Every other week of a place: chance with interval, range, and a bar."""
    lines = [f"  {'arriving':<9} {'of 100 flat':<14} range"]
    for week in place["weeks"][::2]:
        chance, band = week["odds_flat"], week["odds_flat_range"]
        bar = "#" * round(BAR * chance["estimate"])
        cells = f"{chance_cell(chance):<14} {range_cell(band):<11}"
        lines.append(f"  {week['first_day']:<9} {cells} |{bar}".rstrip())
    return lines


def season_table(summary: Mapping[str, Any]) -> list[str]:
    """Rows of places, columns of seasons: stays of 100 that run flat, worst week in brackets.

    Where a generator runs, a second table has its mean hours a day.
    """
    places = summary["places"]
    names = [place["name"] for place in places]
    lines = ["  Of 100 stays, mean of the season's weeks (worst week):"]
    lines += in_columns(names, _seasons(places, lambda row: _chance_cells(row)))
    hours = [row["generator_hours_mean"] for place in places for row in place["seasons"]]
    if any(hours):
        nights = summary["nights"]
        lines += ["", "  Generator, mean hours a day:"]
        cells = _seasons(places, lambda row: number(row["generator_hours_mean"] / nights))
        lines += in_columns(names, cells)
    return lines


def _seasons(
    places: Sequence[Mapping[str, Any]], cell: Callable[[Mapping[str, Any]], str]
) -> list[tuple[str, list[str]]]:
    """Give a column for each season."""
    titles = [row["season"] for row in places[0]["seasons"]]
    return [
        (title, [cell(place["seasons"][at]) for place in places]) for at, title in enumerate(titles)
    ]


def _chance_cells(row: Mapping[str, Any]) -> str:
    mean, worst = (_cell(row[key]) for key in ("odds_flat_mean", "odds_flat_worst"))
    return f"{mean} ({worst})"


def _cell(chance: float) -> str:
    """Say a mean of chances, which is never none or all of anything."""
    return {0.0: "<1", 1.0: ">99"}.get(chance) or short_of_100(chance)


def arrivals_figure(summary: Mapping[str, Any]) -> tuple[Figure, Shown]:
    """Draw chance against week of arrival for up to four places, ranges as pale bands."""
    places = summary["places"][: len(LOOKS)]
    with drawing():
        figure = new_figure(320.0 + 20.0 * len(places))
        axes = add_axes(figure, 52.0, 46.0, 14.0, 12.0 + 20.0 * (len(places) + 1))
        top = 0.0
        for place, (colour, dash, marker) in zip(places, LOOKS, strict=False):
            weeks = place["weeks"]
            days = [week["first_doy"] for week in weeks]
            low, high = (
                [100.0 * week["odds_flat_range"][key] for week in weeks] for key in ("low", "high")
            )
            axes.fill_between(days, low, high, color=colour, alpha=0.13, linewidth=0.0)
            axes.plot(
                days,
                [100.0 * week["odds_flat"]["estimate"] for week in weeks],
                color=colour,
                linestyle=dash,
                marker=marker,
                markevery=4,
                clip_on=False,
                label=plain_ascii(place["name"], 40),
            )
            top = max(top, *high)
        wanted = f"wanted: at most {of_100(summary['wanted_odds'])}"
        axes.axhline(100.0 * summary["wanted_odds"], color=INK, linewidth=0.9, label=wanted)
        axes.set_ylim(-0.012 * max(top, 2.0), max(min(top * 1.05, 101.0), 2.0))
        axes.set_xlim(0, YEAR_DAYS)
        axes.set_xticks(MONTH_STARTS, list(MONTHS))
        axes.grid(color=FAINT)
        axes.set_xlabel("week of arrival; pale: the range")
        axes.set_ylabel("of 100 stays run flat")
        legend_on_top(figure, axes, columns=1)
        finding = " ".join(place_sentence(place, summary) for place in summary["places"])
        heading = f"Stays of {nights_text(summary['nights'])} by week of arrival"
        caption_on_top(figure, finding)
        svg = svg_of(figure, "arrivals", heading, finding)
    table = tuple(
        (place["name"], week["first_day"], of_100(week["odds_flat"]["estimate"]))
        for place in summary["places"]
        for week in place["weeks"]
    )
    head = ("place", "arriving", "chance")
    return figure, Shown("arrivals", heading, finding, svg, head, table)
