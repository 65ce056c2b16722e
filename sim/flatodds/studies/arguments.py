"""What the studies are called with: our own words for what cannot be meant."""

from __future__ import annotations

import operator
from typing import Any

from flatodds.errors import Problem, UsageError
from flatodds.scenario import Scenario

MOST_MEMBERS = 1_000_000  # more tell no more; own choice
MOST_THREADS = 1024  # own choice


def whole(value: Any) -> int | None:
    """Give a whole number, Python's or numpy's, as an int; None for anything else.

    Truth values are refused: ``members=True`` is a slip, not one member.
    """
    if isinstance(value, bool):
        return None
    try:
        return operator.index(value)
    except TypeError:
        return None


def number_problem(name: str, value: Any, low: int, high: int, hint: str = "") -> Problem | None:
    """Problem of an argument that is no whole number from `low` to `high`."""
    number = whole(value)
    if number is None:
        kind = type(value).__name__
        return Problem(name, f"should be a whole number, but is {value!r:.40} ({kind}).", hint)
    if low <= number <= high:
        return None
    shown = f"{high:,}" if high < 2**32 else "2**64 - 1"
    return Problem(name, f"{number!s:.40} is outside {low} to {shown}.", hint)


def check_scenario(scenario: Any) -> None:
    """Refuse anything but a scenario.

    Raises
    ------
    UsageError
        With how to get one.
    """
    if not isinstance(scenario, Scenario):
        found = f"scenario should be a Scenario, but is {type(scenario).__name__}."
        raise UsageError(
            Problem("", found, "Get one from load_scenario(file) or parse_scenario(text).")
        )
