"""Applies changes given as dotted keys to a scenario's document."""

from __future__ import annotations

from collections.abc import Mapping
from copy import deepcopy
from typing import Any

from flatodds.errors import Problem, ScenarioError
from flatodds.scenario.problems import shown
from flatodds.scenario.written import LISTS

# Changing one of two spellings takes the other away.
_TWINS = {"_c": "_f", "_f": "_c", "_m": "_ft", "_ft": "_m"}
_TWINNED = ("inside_day", "inside_night", "elevation", "coldest")


def changed_document(
    document: Mapping[str, Any], changes: Mapping[str, Any], name: str
) -> dict[str, Any]:
    """Copy of a document with every change made.

    Raises
    ------
    ScenarioError
        If a key does not lead to a place that could hold a value; all such keys at once.
    """
    changed = deepcopy(dict(document))
    for key in LISTS:
        if isinstance(changed.get(key), dict):
            changed[key] = [changed[key]]
    problems = []
    for key, value in changes.items():
        try:
            _change(changed, key, value)
        except _BadKeyError as error:
            problems.append(Problem(name, f"{shown(str(key))} {error}.", error.hint))
    if problems:
        raise ScenarioError(problems)
    return changed


class _BadKeyError(Exception):
    def __init__(self, found: str, hint: str = "") -> None:
        super().__init__(found)
        self.hint = hint


def _change(document: dict[str, Any], key: str, value: object) -> None:
    parts = key.split(".") if isinstance(key, str) else []
    if not parts or not all(parts):
        raise _BadKeyError("is not a dotted key", 'Write keys as in "bank.amp_hours".')
    table: dict[str, Any] = document
    if parts[0] in LISTS and len(parts) > 1:
        table, parts = _entry(document, parts)
    elif len(parts) > 1:
        inner = table.setdefault(parts[0], {})
        if not isinstance(inner, dict):
            raise _BadKeyError("leads into a value that is not a table")
        table, parts = inner, parts[1:]
    if len(parts) != 1:
        raise _BadKeyError("has too many parts", 'Write keys as in "bank.amp_hours".')
    if value is None:
        table.pop(parts[0], None)
        return
    for own, other in _TWINS.items():
        if parts[0].endswith(own) and parts[0].removesuffix(own) in _TWINNED:
            table.pop(parts[0].removesuffix(own) + other, None)
    table[parts[0]] = deepcopy(value)


def _entry(document: dict[str, Any], parts: list[str]) -> tuple[dict[str, Any], list[str]]:
    """Table of a list that the first parts name, and the parts left."""
    if parts[0] == "controller":  # every rig has one, written or not
        document.setdefault("controller", [{}])
    entries = document.get(parts[0], [])
    count = len(entries)
    if parts[1].isascii() and parts[1].isdigit() and len(parts[1]) < 6:
        index, rest = int(parts[1]), parts[2:]
    elif count == 1:
        index, rest = 0, parts[1:]
    else:
        raise _BadKeyError(
            f"needs a number: the scenario lists {count} of {parts[0]}",
            f'Write "{parts[0]}.0.{parts[-1]}" for the first.' if count else "",
        )
    if index >= count:
        raise _BadKeyError(
            f"goes beyond the list: the scenario lists {count} of {parts[0]}",
            "The first has number 0.",
        )
    return entries[index], rest
