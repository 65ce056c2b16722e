"""What all figures of the report share: one look, and SVG that fits inside a page.

Figures are drawn at the width of a phone and grow with the page, so that one drawing is legible
on both. Classes differ by shape, dash or hatch as well as by colour, and by greyness.
"""

from __future__ import annotations

import io
import re
import textwrap
import warnings
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from html import escape
from typing import TYPE_CHECKING, Any

from flatodds.outcomes.said import rounded
from flatodds.report.words import tied

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

Part = Mapping[str, Any]
Rows = tuple[tuple[str, ...], ...]

WIDTH = 400.0  # units of the drawing; own choice, legible at 360 px and at 540 px
POINTS_PER_INCH = 72.0  # definition
TEXT, SMALL = 13.0, 12.5  # points; own choice
# Of a caption's line letters and height, and the gap around it; own choice.
CAPTION_LETTERS, CAPTION_LINE, CAPTION_GAP = 48, 17.0, 14.0
FEWEST_MONTHS = 2  # room for as many in a drawing

# Own choice. Relative luminance by WCAG 2.2: lines and text have a contrast of at least 4.5 to
# white; amber is only ever a fill with a dark outline. Tested in tests/report/test_figures.py.
INK = "#1f1f1f"  # flat, the worst, cut-off
GREY = "#595959"  # use, reserve
BLUE = "#155a8a"  # charge
PALE_BLUE = "#bcd6e8"  # band around the charge, fill only
AMBER = "#f2b03d"  # sun, fill only
BROWN = "#6b4700"  # outline of the sun
FAINT = "#d9d9d9"  # grid

STYLE: Any = {
    "svg.fonttype": "none",  # text stays text: smaller, searchable, read aloud
    "svg.hashsalt": "flatodds",  # the same figure gives the same text
    "text.parse_math": False,  # a dollar sign in a name is a dollar sign
    "font.size": TEXT,
    "axes.labelsize": TEXT,
    "axes.edgecolor": GREY,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.axisbelow": True,
    "axes.formatter.useoffset": False,
    "xtick.major.size": 0.0,
    "ytick.major.size": 0.0,
    "xtick.minor.size": 0.0,
    "ytick.minor.size": 0.0,
    "xtick.labelsize": SMALL,
    "ytick.labelsize": SMALL,
    "hatch.linewidth": 1.1,
    "grid.color": FAINT,
    "grid.linewidth": 0.8,
    "legend.frameon": False,
    "legend.fontsize": SMALL,
    "legend.handlelength": 1.8,
    "legend.columnspacing": 1.2,
    "legend.borderaxespad": 0.0,
}


@dataclass(frozen=True, slots=True)
class Shown:
    """One figure as the page shows it.

    Attributes
    ----------
    name : str
        Its anchor, of a-z, 0-9 and hyphens, once on a page.
    heading, finding : str
        Heading, and the one sentence it is there to tell.
    svg : str
        The drawing, safe to put into a page as it is.
    head, rows : tuple
        The numbers it shows, as a table.
    note : str
        How to read it; may be empty.
    """

    name: str
    heading: str
    finding: str
    svg: str
    head: tuple[str, ...]
    rows: Rows
    note: str = ""


@contextmanager
def drawing() -> Iterator[None]:
    """Draw in the report's look; letters without a glyph for measuring are no reason to warn."""
    import matplotlib as mpl

    with mpl.rc_context(STYLE), warnings.catch_warnings():
        warnings.filterwarnings("ignore", message=".*missing from font.*")
        yield


def new_figure(height: float) -> Figure:
    """Start an empty figure of the report's width, with a height in the same units."""
    from matplotlib.figure import Figure

    return Figure(figsize=(WIDTH / POINTS_PER_INCH, height / POINTS_PER_INCH), dpi=POINTS_PER_INCH)


def add_axes(figure: Figure, left: float, bottom: float, right: float, top: float) -> Axes:
    """Add axes with the given margins in units of the drawing."""
    width, height = figure.get_size_inches() * POINTS_PER_INCH
    box = (left / width, bottom / height, 1 - (left + right) / width, 1 - (bottom + top) / height)
    axes: Axes = figure.add_axes(box)
    return axes


def legend_on_top(figure: Figure, axes: Axes, columns: int = 1) -> None:
    """Put the key above the drawing, where it never hides data."""
    handles, labels = axes.get_legend_handles_labels()
    figure.legend(handles, labels, loc="upper left", bbox_to_anchor=(0.01, 0.995), ncols=columns)


def caption_on_top(figure: Figure, words: str) -> None:
    """Print the finding above a finished drawing that leaves the page as a file of its own."""
    lines = textwrap.wrap(tied(words), CAPTION_LETTERS)
    width, height = figure.get_size_inches() * POINTS_PER_INCH
    more = CAPTION_LINE * len(lines) + CAPTION_GAP
    shrunk = height / (height + more)
    for axes in figure.axes:
        box = axes.get_position(original=True)
        axes.set_position((box.x0, box.y0 * shrunk, box.width, box.height * shrunk))
    for legend in figure.legends:
        corner = legend.get_bbox_to_anchor().transformed(figure.transFigure.inverted())
        legend.set_bbox_to_anchor((corner.x0, corner.y0 * shrunk), figure.transFigure)
    figure.set_size_inches(width / POINTS_PER_INCH, (height + more) / POINTS_PER_INCH)
    top = 1.0 - 0.5 * CAPTION_GAP / (height + more)
    figure.text(
        *(0.01, top, "\n".join(lines)), va="top", fontsize=TEXT, fontweight="bold", linespacing=1.25
    )


def svg_of(figure: Figure, name: str, title: str, description: str) -> str:
    """Write a figure as inline SVG with a title and a description for screen readers."""
    buffer = io.StringIO()
    quiet = dict.fromkeys(("Date", "Creator", "Format", "Type"))
    figure.savefig(buffer, format="svg", metadata=quiet)
    return inline_svg(buffer.getvalue(), name, title, description)


_NUMBERS = re.compile(r"-?\d+\.\d+")
_GEOMETRY = re.compile(r'(?<=\s)(d|x|y|x1|y1|x2|y2|width|height|transform|points)="([^"]*)"')
_FONT = re.compile(r"font: (?:(\d{3}|bold) )?([\d.]+)px [^;\"]*")


def inline_svg(text: str, name: str, title: str, description: str) -> str:
    """Trim a whole SVG document to an element of a page.

    Identifiers nothing refers to go; the others get the figure's name before them, so that
    several figures on a page stay apart. Coordinates keep one digit after the point (a tenth
    of a unit cannot be seen). Text takes the font of the page.
    """
    body = text[text.index("<svg") :]
    body = re.sub(r"<!--.*?-->|<metadata>.*?</metadata>|<style.*?</style>", "", body, flags=re.S)
    view = re.search(r'viewBox="([^"]*)"', body)
    size = view.group(1) if view else f"0 0 {WIDTH:g} {WIDTH:g}"
    body = body[body.index(">") + 1 :]
    body = body.replace("xlink:href", "href")
    body = re.sub(r"<defs>\s*</defs>", "", body)
    body = _GEOMETRY.sub(lambda m: f'{m.group(1)}="{_NUMBERS.sub(_shorter, m.group(2))}"', body)
    body = _FONT.sub(_font_size, body)
    used = set(re.findall(r'(?:url\(#|href="#)([^)"]+)', body))
    body = re.sub(
        r'(\s)id="([^"]*)"',
        lambda m: f'{m.group(1)}id="{name}-{m.group(2)}"' if m.group(2) in used else "",
        body,
    )
    body = re.sub(r'(url\(#|href="#)', rf"\g<1>{name}-", body)
    body = re.sub(r"\s*\n\s*", "\n", body)
    return (
        f'<svg viewBox="{size}" role="img" aria-labelledby="{name}-t {name}-d">'
        f'<title id="{name}-t">{escape(title)}</title><desc id="{name}-d">{escape(description)}'
        f"</desc>{body}"
    )


def _shorter(match: re.Match[str]) -> str:
    short = f"{float(match.group()):.1f}".removesuffix(".0")
    return "0" if short == "-0" else short


def _font_size(match: re.Match[str]) -> str:
    weight = f"; font-weight: {match.group(1)}" if match.group(1) else ""
    return f"font-size: {match.group(2)}px{weight}"


def month_ends(months: int) -> tuple[float, float]:
    """Give the ends of an axis of months; few stand in the middle, with room beside."""
    spare = max(FEWEST_MONTHS - months, 0) / 2.0
    return -0.6 - spare, months - 0.4 + spare


def whole_percent(share: float) -> int:
    """Round a share to whole percent."""
    return rounded(share * 100.0, "nearest")


def percent_text(share: float) -> str:
    """Write a share as a whole percentage."""
    return f"{whole_percent(share)} %"
