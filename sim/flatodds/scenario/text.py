"""Limits and small faults of the text of a scenario, before and after TOML is read."""

from __future__ import annotations

import re
import tomllib
from collections import deque
from collections.abc import Mapping
from typing import Any

from flatodds.errors import Problem, ScenarioError
from flatodds.scenario.lines import Path
from flatodds.scenario.problems import Where, shown, value_text

MOST_BYTES = 1024 * 1024  # this and the next five: far above any real scenario; own choice
MOST_NESTING = 32
MOST_KEYS = 1000
MOST_DIGITS = 100
MOST_LINES = 20_000
MOST_MARKS = 5000  # opening brackets and commas
MOST_WHOLE = 10**15  # larger whole numbers are no quantity of anything here

# One pass over strings, comments, brackets, equals signs and very long numbers. Strings
# that never end are taken to the end of their line or text, so the pass stays linear.
_TOKEN = re.compile(
    r'"""(?:[^\\]|\\.)*?(?:"""|\Z)|\'\'\'.*?(?:\'\'\'|\Z)'
    r'|"(?:[^"\\\n]|\\[^\n])*"?|\'[^\'\n]*\'?|#[^\n]*'
    rf"|[\[\]{{}}=,.\n]|\d[\d_]{{{MOST_DIGITS},}}",
    re.DOTALL,
)
# Controls, marks that reorder or are not seen (Unicode Standard, Annex 9 and chapter 23), and
# halves of surrogate pairs.
_HIDDEN = re.compile(
    r"[\x00-\x1f\x7f-\x9f\u061c\u200b\u200e\u200f\u2028-\u202e\u2060-\u2069\ufeff\ud800-\udfff"
    r"\U000e0000-\U000e007f]"
)
_CURLY = re.compile("[“”„‟‘’‚‛«»]")
_POSITION = re.compile(r"\(at line (\d+), column (\d+)\)")


def decoded(raw: bytes, name: str) -> str:
    """Text of a file's bytes, without a byte-order mark and with plain line ends.

    Raises
    ------
    ScenarioError
        If it is too large or not UTF-8.
    """
    if len(raw) > MOST_BYTES:
        raise ScenarioError(Problem(name, "is larger than 1 MiB; a scenario is a short text."))
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise ScenarioError(
            Problem(name, "is saved as UTF-16.", "Save it again with the encoding UTF-8.")
        )
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        raise ScenarioError(
            Problem(
                f"{name} line {line}",
                "The file is not UTF-8 text.",
                "Save it again with the encoding UTF-8.",
            )
        ) from None
    return text.replace("\r\n", "\n")


def text_problems(text: str, name: str) -> list[Problem]:
    """Problems to be found before parsing: length, depth, number of keys, endless numbers."""
    if text.count("\n") > MOST_LINES:
        return [Problem(name, f"holds too much for a scenario: over {MOST_LINES:,} lines.")]
    depth, keys, marks, dots, line = 0, 0, 0, 0, 1
    found: list[Problem] = []
    for match in _TOKEN.finditer(text):
        piece = match[0]
        marks += piece in "[{,"
        if marks > MOST_MARKS:
            return [*found, Problem(f"{name} line {line}", "Holds too much for a scenario.")]
        dots = dots + 1 if piece == "." else dots * (piece not in "=,[{\n")
        if dots > MOST_NESTING:
            words = f"A key goes too deep: it has more than {MOST_NESTING} parts."
            return [*found, Problem(f"{name} line {line}", words)]
        if piece in ("[", "{"):
            depth += 1
            if depth > MOST_NESTING:
                words = f"Brackets are nested more than {MOST_NESTING} deep."
                return [*found, Problem(f"{name} line {line}", words)]
        elif piece in ("]", "}"):
            depth -= 1
        elif piece == "=":
            keys += 1
            if keys > MOST_KEYS:
                return [*found, Problem(f"{name} line {line}", f"More than {MOST_KEYS} keys.")]
        elif piece[0].isdigit():
            words = f"A number has more than {MOST_DIGITS} digits."
            found.append(Problem(f"{name} line {line}", words))
        line += piece.count("\n")
    return found


def parsed(text: str, name: str) -> dict[str, Any]:
    """Read a TOML text.

    Raises
    ------
    ScenarioError
        If the text is not TOML, in words that tell where and what to try.
    """
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        curly = _curly_problems(text, name)
        raise ScenarioError(curly or _syntax_problem(str(error), text, name)) from None
    except (ValueError, RecursionError, OverflowError):
        raise ScenarioError(Problem(name, "holds a value that cannot be read.")) from None


def _curly_problems(text: str, name: str) -> list[Problem]:
    """Every line with curly quotes, outside comments: the likely reason of a failure."""
    found = []
    for number, line in enumerate(text.split("\n"), start=1):
        if _CURLY.search(line.partition("#")[0]):
            found.append(
                Problem(
                    f"{name} line {number}",
                    "Curly quotes are not understood; a word processor makes them.",
                    'Type straight quotes: "..."',
                )
            )
    return found[:20]


def _syntax_problem(message: str, text: str, name: str) -> Problem:
    """Problem of a text that is not TOML; tomllib tells the place at the message's end."""
    match = _POSITION.search(message)
    number = int(match[1]) if match else text.count("\n") + 1
    reason = shown(_POSITION.sub("", message).strip())
    lines = text.split("\n")
    line = lines[number - 1].strip() if number <= len(lines) else ""
    hint = 'Lines look like: bank.amp_hours = 400   or   title = "My rig"'
    if "overwrite" in message or "twice" in message:
        hint = "The same key or table is written twice; keep one."
    elif "=" in line:
        key, _, value = (part.strip() for part in line.partition("="))
        if value and value[0] not in "\"'[{#" and re.search(r"[A-Za-z]|\d\s*[-/.]\s*\d", value):
            bare = value.partition("#")[0].strip()
            hint = f'Text needs quotes: {shown(key)} = "{shown(bare)}"'
    return Problem(f"{name} line {number}", f"This is not TOML: {reason}.", hint)


def value_problems(document: Mapping[str, Any], where: Where) -> list[Problem]:
    """Values no scenario may hold anywhere: huge numbers, control characters, dates."""
    found: list[Problem] = []
    queue: deque[tuple[Path, Any]] = deque([((), document)])
    count = 0
    while queue:
        path, value = queue.popleft()
        count += 1
        if len(path) > MOST_NESTING or count > 10 * MOST_KEYS:
            return [*found, Problem(where.line(path[:1]), "holds too much, or too deep.")]
        if isinstance(value, Mapping):
            queue.extend(((*path, key), item) for key, item in value.items())
        elif isinstance(value, list):
            queue.extend(((*path, index), item) for index, item in enumerate(value))
        elif words := _unusable(value):
            found.append(Problem(where.line(path), f"{where.key(path)} {words[0]}", words[1]))
        if path and isinstance(path[-1], str) and hidden(path[-1]):
            words = ("holds characters that cannot be seen.", "Type the key again.")
            found.append(
                Problem(where.line(path), f"The key {where.key(path)} {words[0]}", words[1])
            )
    return found


def hidden(text: str) -> bool:
    """Whether a text holds control characters or marks that reorder what is shown."""
    return _HIDDEN.search(text) is not None


def _unusable(value: object) -> tuple[str, str] | None:
    """Tell what is wrong with a single value wherever it stands, and a hint."""
    if isinstance(value, str):
        if hidden(value):
            return "holds characters that cannot be seen.", "Type the text again, on one line."
        return None
    if isinstance(value, int) and abs(value) > MOST_WHOLE:
        return f"is {value_text(value)}.", "Check its digits."
    if value is None or isinstance(value, int | float):
        return None
    if hasattr(value, "isoformat"):
        return f"is a bare date or time, {shown(value.isoformat())}.", 'Write it as in "20 Sep".'
    return f"is of a kind a scenario cannot hold ({shown(type(value).__name__)}).", ""
