"""Text that any terminal, pipe and screen reader can show: ASCII, at most 80 columns."""

from __future__ import annotations

import sys
import textwrap
import unicodedata

COLUMNS = 80  # of a plain terminal: common practice

_MARKS = str.maketrans(
    {"°": "", "–": "-", "—": "-", "−": "-", "‘": "'", "’": "'", "“": '"', "”": '"', "×": "x"}
)


def plain(text: str) -> str:
    """ASCII spelling of a text: accents dropped, other marks as ``?``, no control marks."""
    spelled = unicodedata.normalize("NFKD", text.translate(_MARKS))
    kept = "".join(mark for mark in spelled if not unicodedata.combining(mark))
    safe = "".join(mark if mark == "\n" or mark >= " " else "?" for mark in kept)
    return safe.replace("\x7f", "?").encode("ascii", "replace").decode("ascii")


def wrapped(text: str, first: str = "", later: str = "") -> str:
    """Text in lines of at most 80 columns, the first and later ones indented as given.

    A word longer than a line stays whole: it is a path, and somebody will want to copy it.
    """
    return textwrap.fill(
        plain(text),
        COLUMNS,
        initial_indent=first,
        subsequent_indent=later,
        break_long_words=False,
        break_on_hyphens=False,
    )


def wrapped_lines(text: str) -> str:
    """Wrap every line of a text by itself, keeping its own indent."""
    lines = []
    for line in text.split("\n"):
        indent = line[: len(line) - len(line.lstrip(" "))]
        later = indent or "  "
        lines.append(wrapped(line.strip(), indent, later) if line.strip() else "")
    return "\n".join(lines)


def say(text: str) -> None:
    """Print a result to standard output."""
    sys.stdout.write(plain(text) + "\n")


def tell(text: str) -> None:
    """Print a message to standard error."""
    sys.stderr.write(plain(text) + "\n")
