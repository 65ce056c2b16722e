"""Figures of chances: a hundred stays, what if the guesses are wrong, month by month."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from flatodds.outcomes import Facts
from flatodds.outcomes.days import MONTHS as CALENDAR
from flatodds.outcomes.said import about_of_100, counted, of_100, range_words, rounded, seen
from flatodds.report.figures import (
    BLUE,
    FAINT,
    GREY,
    INK,
    SMALL,
    Part,
    Shown,
    add_axes,
    drawing,
    legend_on_top,
    new_figure,
    svg_of,
)
from flatodds.report.words import matters, short_of_100, words_of

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.path import Path

MONTHS = tuple(name for name, _ in CALENDAR)
ORDER = ("use_low", "sun_high", "as_estimated", "gate_late", "sun_low", "use_high", "both_bad")
ACROSS = 20  # squares in a row
SQUARE = 0.82  # side of a square, the distance between two being 1; own choice
HUNDRED = 100
TOPS = (5, 10, 25, 50, HUNDRED)  # ends of the axis of chances by month
NAMES, LETTER = 138.0, 7.1  # room left of the dots, and what a letter of a name takes; own choice
BELOW = 0.06  # of that axis below none, so that dots hide no month's name; own choice


@dataclass(frozen=True, slots=True)
class Guess:
    """The chance of running flat if one guess at sun, use or the cold lock were right."""

    words: str
    chance: float
    low: float
    high: float


def square_counts(chance: float, high: float) -> tuple[int, int]:
    """How many of 100 squares are filled, and how many more striped.

    A chance short of certain leaves one square unfilled, and a chance above none stripes one
    at least: pictures, like words, never say 0 or 100 %.
    """
    filled = min(rounded(chance * HUNDRED, "nearest"), HUNDRED - 1)
    striped = max(rounded(high * HUNDRED, "up"), filled + 1) - filled
    return filled, min(striped, HUNDRED - filled)


def squares_figure(name: str, part: Part, facts: Facts, members: int, many: str) -> Shown:
    """Draw one square for each of a hundred stays (or trips)."""
    chance, band = part["odds_flat"]["estimate"], part["odds_flat_range"]
    filled, striped = square_counts(chance, band["high"])
    units = counted(members, facts.record_years, f"simulated {many}")
    if chance in (0.0, 1.0):
        finding = f"The battery ran flat in {seen(chance, units)}."
    elif chance * HUNDRED < 1.0:
        finding = f"The battery runs flat in {about_of_100(chance)} such {many}."
    else:
        said = about_of_100(chance)
        finding = f"Think of a hundred such {many}: in {said} the battery runs flat."
    with drawing():
        figure = new_figure(148.0)
        axes = add_axes(figure, 8.0, 6.0, 8.0, 32.0)
        draw_squares(axes, filled, striped)
        legend_on_top(figure, axes, columns=3)
        svg = svg_of(figure, name, f"One hundred {many}", finding)
    rows = (
        (f"run flat, of 100 {many}", short_of_100(chance)),
        ("range of that, with what is not known exactly", range_words(band)),
        ("squares filled", str(filled)),
        ("squares striped", str(striped)),
        ("squares empty", str(HUNDRED - filled - striped)),
    )
    return Shown(name, f"A hundred {many}", finding, svg, ("what", "value"), rows)


def draw_squares(axes: Axes, filled: int, striped: int) -> None:
    """Fill, stripe and leave empty a hundred squares, in rows of twenty."""
    from matplotlib.patches import PathPatch

    looks = (
        (filled, {"facecolor": INK, "edgecolor": INK}, "runs flat"),
        (striped, {"facecolor": "white", "edgecolor": GREY, "hatch": "/////"}, "may or may not"),
        (HUNDRED - filled - striped, {"facecolor": "white", "edgecolor": GREY}, "fine"),
    )
    at = 0
    for count, look, label in looks:
        if count:
            patch = PathPatch(squares_path(at, count), linewidth=1.0, label=label, **look)
            axes.add_patch(patch)
        at += count
    axes.set_xlim(-0.1, ACROSS)
    axes.set_ylim(-(HUNDRED // ACROSS) + 0.9, 1.0)
    axes.set_aspect("equal", anchor="W")
    axes.axis("off")


def squares_path(first: int, count: int) -> Path:
    """Outline of squares `first` to `first + count - 1`, counted along the rows, as one path."""
    from matplotlib.path import Path

    square = np.arange(first, first + count)
    corner = np.stack([square % ACROSS, -(square // ACROSS)], axis=1).astype(float)
    around = SQUARE * np.array([[0, 0], [1, 0], [1, 1], [0, 1], [0, 0]], dtype=float)
    vertices = (corner[:, np.newaxis, :] + around).reshape(-1, 2)
    codes = np.tile([Path.MOVETO, Path.LINETO, Path.LINETO, Path.LINETO, Path.CLOSEPOLY], count)
    return Path(vertices, codes)


def guesses_of(stay: Part, facts: Facts) -> list[Guess]:
    """Chances of the named cases that were run, from the least to the greatest."""
    known = {case.name: case for case in facts.cases}
    found = []
    for name in ORDER:
        chance = stay["odds_flat_if"][name]
        if chance is not None and name in known and matters(name, stay):
            words = words_of(known[name])
            ends = (chance["estimate"], chance["low"], chance["high"])
            found.append(Guess("both" if name == "both_bad" else words, *ends))
    return sorted(found, key=lambda guess: guess.chance)


def wrong_figure(name: str, stay: Part, facts: Facts, members: int) -> Shown | None:
    """Draw the chance under each guess as a dot with its whisker; None with one guess only."""
    guesses = guesses_of(stay, facts)
    if len(guesses) < 2:
        return None
    worst, base = guesses[-1], stay["odds_flat_if"]["as_estimated"]["estimate"]
    units = counted(members, facts.record_years)
    finding = (
        f"Stays that run flat, as you wrote it: {seen(base, units)}; if the worst of these guesses "
        f"is right: {seen(worst.chance, units)}."
    )
    with drawing():
        figure = new_figure(58.0 + 33.0 * len(guesses))
        longest = max(len(guess.words) for guess in guesses)
        axes = add_axes(figure, max(NAMES, LETTER * longest), 42.0, 52.0, 6.0)
        draw_dots(axes, guesses)
        title = "Chance of running flat if the estimates are off"
        svg = svg_of(figure, name, title, finding)
    rows = tuple(
        (
            guess.words,
            short_of_100(guess.chance),
            range_words({"low": guess.low, "high": guess.high}),
        )
        for guess in guesses
    )
    head = ("if", "stays of 100 that run flat", "counting error, 95 %")
    note = "Dot: chance. Line: what counting a limited number of stays leaves open."
    return Shown(name, "If we are wrong", finding, svg, head, rows, note)


def draw_dots(axes: Axes, guesses: Sequence[Guess]) -> None:
    """Draw one dot with a whisker per guess, named on the left, with its number on the right."""
    for row, guess in enumerate(guesses):
        at = -row
        here = guess.words == "as you wrote it"
        axes.plot([100 * guess.low, 100 * guess.high], [at, at], color=BLUE, linewidth=3.0)
        marker = "D" if here else "o"
        axes.plot([100 * guess.chance], [at], marker, color=BLUE, markersize=9.0)
        weight = "bold" if here else "normal"
        axes.text(107.0, at, short_of_100(guess.chance), va="center", fontweight=weight)
    axes.set_yticks([-row for row in range(len(guesses))], [guess.words for guess in guesses])
    axes.set_ylim(-len(guesses) + 0.4, 0.6)
    percent_axis(axes, "x")
    axes.set_xlabel("stays of 100 that run flat")


def percent_axis(axes: Axes, which: str) -> None:
    """Scale an axis from 0 to 100 with a quiet grid."""
    ticks = [0, 25, 50, 75, 100]
    if which == "x":
        axes.set_xlim(-2.0, 102.0)
        axes.set_xticks(ticks)
        axes.spines["left"].set_visible(False)
    else:
        axes.set_ylim(0.0, 103.0)
        axes.set_yticks(ticks)
    axes.grid(axis="x" if which == "x" else "y", color=FAINT)


def month_odds_figure(name: str, odds: Sequence[Part]) -> Shown | None:
    """Draw the chance of running flat in each month of a stay; None for a single month.

    `odds` are the rows of ``Outcomes.odds(by="month")`` that belong to the stay.
    """
    if len(odds) < 2:
        return None
    worst = max(odds, key=lambda row: (row["estimate"], row["range_high"]))
    month = MONTHS[worst["month"] - 1]
    if worst["estimate"] > 0.0:
        finding = f"{month} is the likeliest month to run flat: {of_100(worst['estimate'])} stays."
    else:
        finding = "The battery ran flat in none of these months in any simulated stay."
    with drawing():
        figure = new_figure(240.0)
        axes = add_axes(figure, 44.0, 30.0, 12.0, 60.0)
        draw_month_odds(axes, odds)
        legend_on_top(figure, axes, columns=1)
        svg = svg_of(figure, name, "Chance of running flat by month", finding)
    rows = tuple(
        (
            MONTHS[row["month"] - 1],
            short_of_100(row["estimate"]),
            range_words({"low": row["range_low"], "high": row["range_high"]}),
        )
        for row in odds
    )
    head = ("month", "stays of 100 that run flat in it", "range")
    return Shown(name, "Month by month", finding, svg, head, rows)


def draw_month_odds(axes: Axes, odds: Sequence[Part]) -> None:
    """Draw a dot per month with the range, sampling and not-knowing together."""
    for at, row in enumerate(odds):
        low, high = 100 * row["range_low"], 100 * row["range_high"]
        first = at == 0
        axes.plot(
            *([at, at], [low, high]),
            color=GREY,
            linewidth=2.0,
            label="range: with what is not known exactly" if first else None,
        )
        axes.plot(
            *([at], [100 * row["estimate"]], "o"),
            color=BLUE,
            markersize=9.0,
            clip_on=False,
            label="stays of 100 that run flat in the month" if first else None,
        )
        beside = short_of_100(row["estimate"])
        where, lift = (at, 100 * row["estimate"]), 4 if row["estimate"] < 0.01 else 0
        axes.annotate(beside, where, (8, lift), textcoords="offset points", va="center")
    axes.set_xticks(range(len(odds)), [MONTHS[row["month"] - 1] for row in odds], fontsize=SMALL)
    axes.set_xlim(-0.6, len(odds) - 0.3)
    percent_axis(axes, "y")
    highest = 100 * max(row["range_high"] for row in odds)
    top = next(top for top in TOPS if top >= highest or top == HUNDRED)
    axes.set_yticks([0, *(top * k // 5 for k in range(1, 6))])
    axes.set_ylim(-BELOW * top, 1.03 * top)
