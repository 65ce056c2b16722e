"""Words that screen, page and pictures share: amounts, guesses, text that any terminal shows."""

from __future__ import annotations

import re
import textwrap
import unicodedata
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from flatodds.errors import WARNING
from flatodds.outcomes.cautions import URGENT
from flatodds.outcomes.days import MONTHS
from flatodds.outcomes.said import cold_bars, rounded

if TYPE_CHECKING:
    from flatodds.engine.results import Case

SPELLED = str.maketrans(
    {"±": "+-", "°": " deg ", "×": "x", "–": "-", "—": "-", "‘": "'", "’": "'", "“": '"', "”": '"'}
)


def short_of_100(chance: float) -> str:
    """Say a chance for the end of a bar: ``"17"``, ``"<1"``, ``">99"``, ``"none"``, ``"all"``."""
    if chance in (0.0, 1.0):
        return "all" if chance else "none"
    if chance < 0.01:
        return "<1"
    if chance > 0.99:
        return ">99"
    return str(rounded(chance * 100.0, "nearest"))


def range_short(band: Mapping[str, float]) -> str:
    """Say both ends of a range in a cell: ``"(4 to 19)"``, ``"(to 3)"``, ``"(from 88)"``."""
    low, high = (
        rounded(100.0 * band["low"], "down"),
        rounded(100.0 * band["high"], "up"),
    )
    if high > 99:
        return f"(from {low})" if low else "(<1 to >99)"
    return f"({low} to {high})" if low else f"(to {high})"


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


def case_words(sun_factor: float, use_factor: float, gate_later_c: float = 0.0) -> str:
    """Name one guess at sun, use and the cold lock for people: ``"sun 12 % weaker"``."""
    sun, use = round((sun_factor - 1.0) * 100.0), round((use_factor - 1.0) * 100.0)
    parts = []
    if sun:
        parts.append(f"sun {abs(sun)} % {'stronger' if sun > 0 else 'weaker'}")
    if use:
        parts.append(f"you use {abs(use)} % {'more' if use > 0 else 'less'}")
    if gate_later_c:
        parts.append(
            f"cold lock {abs(gate_later_c):.2g} C {'sooner' if gate_later_c > 0 else 'later'}"
        )
    return ", ".join(parts) or "as you wrote it"


def words_of(case: Case) -> str:
    """Name a case that was run."""
    return case_words(case.sun_factor, case.use_factor, case.gate_later_c)


def matters(name: str, stay: Mapping[str, Any]) -> bool:
    """Whether a named case is worth showing: the cold lock's only where cold barred some charge."""
    return name != "gate_late" or cold_bars(stay)


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


_DEGREES = re.compile(r"(?<=\d) (?=[CF]\b(?!/))")
_UNITS = ("%", "kWh", "Wh", "Ah", "W", "V", "°C", "°F", *(name for name, _ in MONTHS))
_OF = re.compile(r"(?<=\d) (?=of \d)|(?<=\d of) (?=\d)")
_UNIT = re.compile(rf"(?<=\d) (?=(?:{'|'.join(_UNITS)})(?!\w))")


def tied(text: str) -> str:
    """Keep numbers and their units, chances, days and their months, on one line of a page.

    Degrees, which terminals show as a bare letter, get their sign.
    """
    return _OF.sub("\u00a0", _UNIT.sub("\u00a0", _DEGREES.sub(" °", text)))


_TIED = re.compile(
    r"(?<=\d) (?=(?:of \d|%|C\b|F\b|V\b|A\b|W\b|kWh|Wh|Ah|gal\b|hour|night|litre|day))"
    r"|(?<=\d of) (?=\d)|(?<=flatodds) (?=[a-z])|(?<=\d) (?=to \d)|(?<=\d to) (?=\d)"
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


_AT = re.compile(rf"({WARNING})at (-?[\d.]+, -?[\d.]+) (.*)")  # a warning that names its place


def urgent_told(summary: Mapping[str, Any], *, short: bool = False) -> list[str]:
    """Tell the urgent cautions as people read them: what holds at several places is said once.

    `short` keeps the first sentence of each, which stands alone.
    """
    found: dict[tuple[str, str], tuple[list[str], list[str]]] = {}
    for text in urgent_notes(summary):
        first, *rest = text.rstrip(".").split(". ")
        at = _AT.fullmatch(first)
        places, more = found.setdefault((at[1], at[3]) if at else (first, ""), ([], []))
        places += [at[2]] if at else []
        more += [sentence for sentence in rest if sentence not in more]
    return [
        ". ".join([_placed(head, places, tail), *([] if short else more)]) + "."
        for (head, tail), (places, more) in found.items()
    ]


def _placed(head: str, places: list[str], tail: str) -> str:
    return f"{head}at {' and '.join(places)} {tail}" if places else head
