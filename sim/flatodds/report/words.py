"""How chances are said: rounding, verdicts, the sentence that answers.

A chance is said as so many of 100, or of 1,000 when it is small, without decimals. It is never
called 0 or 100 %, and nothing is ever called safe.
"""

from __future__ import annotations

import math
import re
import textwrap
import unicodedata
from collections.abc import Mapping
from typing import Any, Literal

from flatodds.outcomes.cautions import URGENT
from flatodds.outcomes.days import MONTHS

Rounding = Literal["nearest", "down", "up"]

# Verdict limits: own judgement of what these words mean to people, no source.
VERY_UNLIKELY_HIGH = 0.02  # the whole range lies below this
UNSURE_LOW, UNSURE_HIGH = 0.02, 0.50  # a range this wide answers nothing
UNLIKELY, REAL_CHANCE, SOME_TROUBLE = 0.05, 0.20, 0.60  # upper limits of the estimate

SPELLED = str.maketrans(
    {"±": "+-", "°": " deg ", "×": "x", "–": "-", "—": "-", "‘": "'", "’": "'", "“": '"', "”": '"'}
)
MOSTLY = 0.5  # a range from here to nearly all is "so many or more": own judgement
CANNOT_TELL = "we cannot tell yet"
TOO_ROUGH = "sun and use are too uncertain"


def of_100(chance: float, rounding: Rounding = "nearest") -> str:
    """Say a chance as a whole number of 100, of 1,000 when small, never none and never all.

    Parameters
    ----------
    chance : float
        0 to 1.
    rounding : {"nearest", "down", "up"}
        Ends of a range are rounded outwards, so that rounding never narrows it.
    """
    thousand = rounded(chance * 1000.0, rounding)
    if thousand < 1:
        return "fewer than 1 of 1,000"
    if thousand < 10:
        return f"{thousand} of 1,000"
    hundred = rounded(chance * 100.0, rounding)
    if hundred > 99:
        return "more than 99 of 100"
    return f"{max(hundred, 1)} of 100"


def about_of_100(chance: float) -> str:
    """Say a chance within a sentence: ``"about 5 of 100"``, ``"more than 99 of 100"``."""
    said = of_100(chance)
    return f"about {said}" if said[0].isdigit() else said


def rounded(value: float, rounding: Rounding) -> int:
    """Round to a whole number, forgiving the last digits of floating point."""
    if rounding == "down":
        return math.floor(value + 1e-9)
    if rounding == "up":
        return math.ceil(value - 1e-9)
    return math.floor(value + 0.5)


def short_of_100(chance: float) -> str:
    """Say a chance for the end of a bar: ``"17"``, ``"<1"``, ``">99"``, ``"none"``, ``"all"``."""
    if chance in (0.0, 1.0):
        return "all" if chance else "none"
    if chance < 0.01:
        return "<1"
    if chance > 0.99:
        return ">99"
    return str(rounded(chance * 100.0, "nearest"))


def counted(members: int, record_years: int | None, many: str = "simulated stays") -> str:
    """Say what a chance was counted in: simulated stays, or the real years behind them."""
    if record_years is None:
        return f"{members:,} {many}"
    return f"{record_years:,} real year" + ("s" if record_years != 1 else "")


def seen(chance: float, units: str) -> str:
    """Say a chance, or that it was never or always seen in so many `units`.

    Nothing seen in 40 stays is not "fewer than 1 of 1,000".
    """
    if chance in (0.0, 1.0):
        return f"{'all' if chance else 'none'} of {units}"
    return of_100(chance)


def range_words(band: Mapping[str, float]) -> str:
    """Say both ends of a range, rounded outwards."""
    low, high = of_100(band["low"], "down"), of_100(band["high"], "up")
    if low == high:
        return low
    if rounded(band["low"] * 1000.0, "down") < 1:
        return f"anything up to {high}" if high.startswith("more than") else f"up to {high}"
    if high.startswith("more than") and band["low"] >= MOSTLY:
        return f"{low} or more"
    if low.endswith(" of 100") and high.endswith(" of 100") and high[0].isdigit():
        low = low.removesuffix(" of 100")
    return f"{low} to {high}"


def range_short(band: Mapping[str, float]) -> str:
    """Say both ends of a range in a cell: ``"(4 to 19)"``, ``"(to 3)"``, ``"(from 88)"``."""
    low, high = (
        rounded(100.0 * band["low"], "down"),
        rounded(100.0 * band["high"], "up"),
    )
    if high > 99:
        return f"(from {low})" if low else "(<1 to >99)"
    return f"({low} to {high})" if low else f"(to {high})"


def verdict(chance: Mapping[str, float], band: Mapping[str, float]) -> str:
    """Choose the words for a chance of running flat and its range."""
    if band["high"] <= VERY_UNLIKELY_HIGH:
        return "very unlikely"
    if band["low"] <= UNSURE_LOW and band["high"] >= UNSURE_HIGH:
        return CANNOT_TELL
    if chance["estimate"] < UNLIKELY:
        return "unlikely"
    if chance["estimate"] < REAL_CHANCE:
        return "a real chance"
    return "expect some trouble" if chance["estimate"] < SOME_TROUBLE else "expect to run flat"


def answer_sentence(
    chance: Mapping[str, float], *, members: int, record_years: int | None, many: str = "stays"
) -> str:
    """Answer in one sentence how often the battery runs flat.

    Parameters
    ----------
    chance : mapping
        ``estimate``, ``low`` and ``high`` [1].
    members : int
        Simulated stays.
    record_years : int or None
        Distinct real years behind them, when the interval counts those.
    many : str
        What is counted: ``"stays"`` or ``"trips"``.
    """
    units = counted(members, record_years, f"simulated {many}")
    if chance["estimate"] <= 0.0:
        limit = of_100(chance["high"], "up")
        return f"The battery ran flat in none of {units}; we cannot rule out {limit}."
    if chance["estimate"] >= 1.0:
        spared = of_100(1.0 - chance["low"], "up")
        return f"The battery ran flat in all of {units}; we cannot rule out that {spared} do not."
    return f"The battery runs flat in {about_of_100(chance['estimate'])} such {many}."


def range_sentence(band: Mapping[str, float], theta_points: int) -> str:
    """Say the range, and whether it counts what is not known about sun and use."""
    if theta_points > 1:
        return f"Sun and use are not known exactly; with that, {range_words(band)}."
    return f"Were sun and use known exactly, {range_words(band)}."


def basis_sentence(sentence: str) -> str:
    """Say what the weather rests on, as one finished sentence."""
    text = plain_ascii(sentence)
    return text if not text or text[-1] in ".!?" else f"{text}."


def weather_lines(summary: Mapping[str, Any]) -> list[str]:
    """Say what a study's weather rests on, its error, and what is known to go wrong there."""
    found = [basis_sentence(one["basis"]) for one in summary["weather"]]
    urgent = [said for one in summary["weather"] for said in one["cautions"]]
    found += [said.split(". ")[0] + "." for said in urgent if said.startswith(URGENT)]
    return [line for text in dict.fromkeys(found) for line in wrapped(text)]


def case_words(sun_factor: float, use_factor: float) -> str:
    """Name one guess at sun and use for people: ``"sun 12 % weaker"``."""
    sun, use = round((sun_factor - 1.0) * 100.0), round((use_factor - 1.0) * 100.0)
    parts = []
    if sun:
        parts.append(f"sun {abs(sun)} % {'stronger' if sun > 0 else 'weaker'}")
    if use:
        parts.append(f"you use {abs(use)} % {'more' if use > 0 else 'less'}")
    return ", ".join(parts) or "as you wrote it"


def nights_text(nights: int) -> str:
    """Count nights."""
    return f"{nights} night" if nights == 1 else f"{nights} nights"


def number(value: float) -> str:
    """Write an amount with two figures when small, whole when large: 0.41, 5.3, 62."""
    if abs(value) >= 9.95:
        return f"{value:,.0f}"
    return f"{value:.2f}" if abs(value) < 0.995 else f"{value:.1f}"


def plain_ascii(text: str, limit: int | None = None) -> str:
    """Keep what any terminal can print: no control characters, no accents, one line.

    A letter without a plain form becomes ``?``. Longer than `limit`, the end is cut to ``...``.
    """
    spelled = unicodedata.normalize("NFKD", text.translate(SPELLED))
    bare = "".join(c for c in spelled if not unicodedata.combining(c))
    kept = "".join(c if " " <= c <= "~" else (" " if c.isspace() else "?") for c in bare)
    line = " ".join(kept.split())
    if limit is not None and len(line) > limit:
        return line[: max(limit - 3, 0)].rstrip() + "..."
    return line


def clean(text: str, limit: int = 200) -> str:
    """Keep what a page may show of a text someone wrote: one line, no control characters.

    Marks that turn the direction of writing count as control characters. Longer than `limit`,
    the end is cut.
    """
    line = " ".join("".join(c if c.isprintable() else " " for c in text).split())
    return line if len(line) <= limit else line[: limit - 1].rstrip() + "…"


_UNITS = ("%", "kWh", "Wh", "Ah", "W", "V", "°C", "°F", *(name for name, _ in MONTHS))
_UNIT = re.compile(rf"(?<=\d) (?=(?:{'|'.join(_UNITS)})(?!\w))")


def tied(text: str) -> str:
    """Keep numbers and their units, days and their months, on one line of a page or picture."""
    return _UNIT.sub("\u00a0", text)


_TIED = re.compile(
    r"(?<=\d) (?=(?:of \d|%|C\b|F\b|V\b|A\b|W\b|kWh|Wh|Ah|gal\b|hour|night|litre|day))"
    r"|(?<=\d of) (?=\d)|(?<=flatodds) (?=[a-z])"
)
_HELD = "\x1f"  # stands for a space at which no line may break; never in plain text


def wrapped(text: str, width: int = 80, indent: str = "") -> list[str]:
    """Break a sentence into lines of at most `width` columns; units stay with their numbers."""
    held = _TIED.sub(_HELD, plain_ascii(text))
    lines = textwrap.wrap(
        held, width, initial_indent=indent, subsequent_indent=indent, break_on_hyphens=False
    )
    return [line.replace(_HELD, " ") for line in lines]


def urgent_notes(summary: Mapping[str, Any]) -> list[str]:
    """Pick the cautions that are never left off the screen: safety, and a run gone wrong."""
    return [text for text in summary["cautions"] if text.startswith(URGENT)]
