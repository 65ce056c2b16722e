"""The bounds of every word of a scenario are its format: changed on purpose, or not at all.

`bounds.json` says them once more. Who means to change one writes it there too, where a reader
of the change sees that files written for an older version may be refused, or pass.
"""

from __future__ import annotations

import dataclasses
import importlib
import json
import pkgutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

import flatodds.outcomes
import flatodds.scenario
from flatodds.scenario import json_schema

FILE = Path(__file__).with_name("bounds.json")
ENDS = ("minimum", "exclusiveMinimum", "maximum", "exclusiveMaximum")
SIZES = ("minLength", "maxLength", "minItems", "maxItems")


def bounds(node: Any, where: str = "") -> Iterator[tuple[str, dict[str, Any]]]:
    """Every place of a schema that bounds something, and its bounds."""
    if isinstance(node, dict):
        here = {key: node[key] for key in (*ENDS, *SIZES, "additionalProperties") if key in node}
        if here:
            yield where, here
        for key, inner in node.items():
            if key in ("anyOf", "properties"):
                yield from bounds(inner, where)
            elif isinstance(inner, (dict, list)):
                yield from bounds(inner, f"{where}.{key}" if where else key)
    elif isinstance(node, list):
        for inner in node:
            yield from bounds(inner, where)


def found() -> dict[str, list[dict[str, Any]]]:
    schema = json_schema()
    told: dict[str, list[dict[str, Any]]] = {}
    for name, part in {**schema["$defs"], "": schema}.items():
        inner = {key: value for key, value in part.items() if key != "$defs"}
        for where, here in bounds(inner, name):
            told.setdefault(where, []).append(here)
    return told


def test_bounds_are_those_of_the_format() -> None:
    kept = json.loads(FILE.read_text(encoding="utf-8"))
    now = found()
    assert len(now) > 150
    changed = {key for key in kept.keys() | now.keys() if kept.get(key) != now.get(key)}
    assert not changed, {key: (kept.get(key), now.get(key)) for key in sorted(changed)}


def records(room: Any) -> list[type]:
    """Every dataclass of a room's modules."""
    names = [one.name for one in pkgutil.iter_modules(room.__path__)]
    modules = [importlib.import_module(f"{room.__name__}.{name}") for name in names]
    held = [value for module in modules for value in vars(module).values()]
    classes = {one for one in held if isinstance(one, type) and dataclasses.is_dataclass(one)}
    return sorted(classes, key=lambda one: one.__qualname__)


@pytest.mark.parametrize(
    "room", [flatodds.scenario, flatodds.outcomes], ids=["scenario", "outcomes"]
)
def test_no_record_can_be_changed_or_added_to(room: Any) -> None:
    """What was read or found stays so, whoever holds it; a misspelt name is an error."""
    classes = records(room)
    assert len(classes) > 5
    for one in classes:
        assert one.__dataclass_params__.frozen, one  # type: ignore[attr-defined]
        assert not any("__dict__" in vars(base) for base in one.__mro__[:-1]), one
