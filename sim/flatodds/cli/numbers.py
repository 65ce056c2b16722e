"""Numbers typed as options: what is none is refused in our words, with what to type."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from flatodds.cli.plain import plain
from flatodds.errors import Problem, UsageError

T = TypeVar("T", int, float)


def whole(option: str, example: str) -> Callable[[str], int]:
    """Make the reader of an option that takes a whole number."""
    return lambda typed: _read(int, "a whole number", typed, option, example)


def number(option: str, example: str) -> Callable[[str], float]:
    """Make the reader of an option that takes a number."""
    return lambda typed: _read(float, "a number alone", typed, option, example)


def _read(kind: Callable[[str], T], name: str, typed: str, option: str, example: str) -> T:
    """Read what was typed; a default, which is no text, stays as it is.

    Raises
    ------
    UsageError
        If it is not of that kind.
    """
    try:
        return kind(typed)
    except ValueError:
        found = f"takes {name}, not {plain(typed)[:40]}."
        raise UsageError(Problem(option, found, f"Write: {option} {example}")) from None
