"""A calendar of daily sun: one row a year, one column a day, the worst weeks framed.

Rows begin half a year away from the dullest quarter, so that a winter is never cut in two.
"""

from __future__ import annotations

import io
import textwrap
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from flatodds.report.figures import GREY, INK, drawing
from flatodds.report.weather_words import MONTHS, WEEK, finding, quarter_text
from flatodds.report.words import clean
from flatodds.sun import DAYS
from flatodds.weather.hours import MONTH_START
from flatodds.weather.spells import DailyWeather, Dullness, Spell, worst_spells

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

WIDTH = 560.0  # points; own choice, legible on a phone and on a printed page
ROW, BOTTOM, LEFT, RIGHT = 17.0, 48.0, 66.0, 64.0  # points; own choice
HEADING, LINE, LETTERS = 32.0, 17.0, 76  # heights; letters in a line; own choice
KEY_LINE = 17.0  # points; own choice
MOST_ROWS = 30  # longer records show their last years
GENERATED_ROWS = 16  # own choice
MARKED = 5  # own choice
POINTS_PER_INCH = 72.0  # definition
PNG_DPI = 160  # own choice
COLOURS = "cividis"  # even in lightness and for colour-blind eyes (Nunez and others 2018)
GAMMA = 0.6  # more colours for dull days, which matter here, than for bright ones; own choice
HEADING_LETTERS = 52  # in a line; own choice
BRIGHT_QUANTILE = 0.99  # the colour scale ends here, not at single days; own choice


def weather_picture(daily: DailyWeather, dull: Dullness, kind: str) -> bytes:
    """Draw the calendar.

    Parameters
    ----------
    daily : DailyWeather
    dull : Dullness
        Of the same days.
    kind : {"svg", "png"}

    Returns
    -------
    bytes
        The picture's file.
    """
    begin = int(MONTH_START[(dull.first_month + 7) % 12])
    first_row, rows = calendar_rows(daily, begin)
    spells = _shown_spells(daily, dull, begin, first_row, len(rows))
    buffer = io.BytesIO()
    with drawing():
        lines = _lines(daily, dull, len(rows))
        top = HEADING + LINE * len(lines) + 12.0
        figure = _figure(len(rows), len(spells), top)
        axes = _calendar(figure, rows, begin, top)
        _years(axes, daily, begin, first_row, len(rows))
        _marks(figure, axes, daily, spells, begin, first_row)
        _words(figure, daily, lines)
        quiet = {"Date": None} if kind == "svg" else None
        figure.savefig(buffer, format=kind, dpi=PNG_DPI, metadata=quiet, facecolor="white")
    return buffer.getvalue()


def calendar_rows(daily: DailyWeather, begin: int) -> tuple[int, npt.NDArray[np.float64]]:
    """Rows of the calendar, (row, 365), NaN where there is no day, and the first one's number.

    Row r of a real record begins `begin` days into its year r - 1, so row 0 begins before the
    record. Of generated years each pair gives one whole row.

    Parameters
    ----------
    begin : int
        Day of the year, from 0, that rows begin with.
    """
    sun = daily.sun_kwh_m2
    if daily.first_year is None:
        return 0, sun[:GENERATED_ROWS, begin : begin + DAYS]
    padded = np.pad(sun[0], (DAYS - begin, begin), constant_values=np.nan)
    rows = padded.reshape(-1, DAYS)
    if begin == 0:
        rows = rows[1:]
    first = max(len(rows) - MOST_ROWS, 0)
    return first + (begin == 0), rows[first:]


def _place_of(spell: Spell, daily: DailyWeather, begin: int, first_row: int) -> tuple[int, int]:
    """Row and column of a spell's first day among the rows shown."""
    if daily.first_year is None:
        return spell.series, spell.first_day - begin
    row, column = divmod(spell.first_day + DAYS - begin, DAYS)
    return row - first_row, column


def _shown_spells(
    daily: DailyWeather, dull: Dullness, begin: int, first_row: int, count: int
) -> list[Spell]:
    """Worst weeks that lie in the rows shown."""
    everyone = worst_spells(daily, dull.first_month, WEEK, daily.sun_kwh_m2.size)
    shown = []
    for spell in everyone:
        row, column = _place_of(spell, daily, begin, first_row)
        if 0 <= row < count and 0 <= column <= DAYS - WEEK:
            shown.append(spell)
        if len(shown) == MARKED:
            break
    return shown


def _figure(rows: int, spells: int, top: float) -> Figure:
    from matplotlib.figure import Figure

    height = top + ROW * rows + BOTTOM + KEY_LINE * spells + 4.0
    return Figure(figsize=(WIDTH / POINTS_PER_INCH, height / POINTS_PER_INCH))


def _calendar(figure: Figure, rows: npt.NDArray[np.float64], begin: int, above: float) -> Axes:
    """Days as coloured cells, months as ticks, and the scale beside them."""
    import matplotlib as mpl
    from matplotlib.colors import PowerNorm

    height = figure.get_figheight() * POINTS_PER_INCH
    box = (LEFT / WIDTH, 1 - (above + ROW * len(rows)) / height)
    size = (1 - (LEFT + RIGHT) / WIDTH, ROW * len(rows) / height)
    axes: Axes = figure.add_axes((*box, *size))
    colours = mpl.colormaps[COLOURS].with_extremes(bad="white")
    top = float(np.nanquantile(rows, BRIGHT_QUANTILE))
    image = axes.imshow(
        rows,
        cmap=colours,
        norm=PowerNorm(GAMMA, vmin=0.0, vmax=max(top, 0.1)),
        aspect="auto",
        extent=(0, DAYS, len(rows), 0),
        interpolation="none",
    )
    starts = np.sort((MONTH_START - begin) % DAYS)
    names = [MONTHS[(int(np.searchsorted(MONTH_START, begin)) + i) % 12] for i in range(12)]
    middles = (starts + np.append(starts[1:], DAYS)) / 2.0
    axes.set_xticks(middles, names)
    for start in starts[1:]:
        axes.axvline(start, color="white", linewidth=0.6, alpha=0.6)
    for side in axes.spines.values():
        side.set_visible(False)
    scale = figure.add_axes((1 - (RIGHT - 16) / WIDTH, box[1], 10 / WIDTH, size[1]))
    bar = figure.colorbar(image, cax=scale, extend="max")
    bar.outline.set_visible(False)
    return axes


def _years(axes: Axes, daily: DailyWeather, begin: int, first_row: int, count: int) -> None:
    """Name the rows."""
    if daily.first_year is None:
        names = [str(row + 1) for row in range(count)]
        axes.set_ylabel("generated year")
    else:
        begun = [daily.first_year + first_row + row - 1 for row in range(count)]
        names = [f"{year}/{(year + 1) % 100:02d}" if begin else str(year) for year in begun]
    axes.set_yticks(np.arange(count) + 0.5, names)


def _marks(
    figure: Figure,
    axes: Axes,
    daily: DailyWeather,
    spells: list[Spell],
    begin: int,
    first_row: int,
) -> None:
    """Frame the worst weeks, number them, and list them below."""
    from matplotlib.patches import Rectangle

    height = figure.get_figheight() * POINTS_PER_INCH
    down = BOTTOM - 36.0 + KEY_LINE * len(spells)
    figure.text(LEFT / WIDTH, down / height, "Worst weeks shown", weight="bold", va="bottom")
    for number, spell in enumerate(spells, start=1):
        row, column = _place_of(spell, daily, begin, first_row)
        for colour, width in ((INK, 3.4), ("white", 1.6)):
            frame = Rectangle((column, row), WEEK, 1, fill=False, edgecolor=colour, lw=width)
            frame.set_clip_on(False)
            axes.add_patch(frame)
        right = column + WEEK + 2.0
        axes.text(right, row + 0.5, str(number), color="white", weight="bold", va="center")
        words = f"{number}   {_when(spell, daily)}: {spell.sun_kwh_m2:.2f} kWh/m2 a day"
        y = (down - KEY_LINE * number) / height
        figure.text(LEFT / WIDTH, y, words, va="bottom")


def _when(spell: Spell, daily: DailyWeather) -> str:
    """Dates of a spell as people write them."""
    days = []
    for day in (spell.first_day, spell.first_day + spell.days - 1):
        doy = day % DAYS
        month = int(np.searchsorted(MONTH_START, doy, side="right")) - 1
        days.append(f"{doy - int(MONTH_START[month]) + 1} {MONTHS[month]}")
    if daily.first_year is None:
        return f"{days[0]} to {days[1]} of generated year {spell.series + 1}"
    return f"{days[0]} to {days[1]} {daily.first_year + (spell.first_day + spell.days - 1) // DAYS}"


def _lines(daily: DailyWeather, dull: Dullness, rows: int) -> list[tuple[str, str]]:
    """Give finding and what the colours mean, with the colour of each line."""
    texts = [
        (finding(dull), INK),
        (f"kWh/m2 a day on level ground; dullest months {quarter_text(dull)}", GREY),
    ]
    if daily.first_year is None:
        texts.append((f"{rows} of {daily.years:,} generated years", GREY))
    return [(line, colour) for text, colour in texts for line in textwrap.wrap(text, LETTERS)]


def _words(figure: Figure, daily: DailyWeather, lines: Sequence[tuple[str, str]]) -> None:
    """Write the heading and the lines under it."""
    height = figure.get_figheight() * POINTS_PER_INCH
    left, heading = 12.0 / WIDTH, clean(f"Daily sun: {daily.place}", HEADING_LETTERS)
    figure.text(left, 1 - 10 / height, heading, va="top", weight="bold", size=15, color=INK)
    for k, (line, colour) in enumerate(lines):
        y = 1 - (HEADING + LINE * k) / height
        figure.text(left, y, line, va="top", size=12, color=colour)
