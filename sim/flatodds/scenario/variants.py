"""Other ways to build a scenario's rig: as listed in its file, or as typed."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from flatodds.errors import Problem, ScenarioError, UsageError
from flatodds.scenario.problems import shown
from flatodds.scenario.written_decide import WrittenPrices, WrittenVariant

if TYPE_CHECKING:
    from flatodds.scenario.model import Scenario

OWN_KEYS = frozenset(WrittenVariant.model_fields)


@dataclass(frozen=True, slots=True)
class Variant:
    """A name, and the values that differ from the scenario by their dotted keys.

    Attributes
    ----------
    cost, mass_kg, area_m2 : float or None
        What the change costs, weighs and takes of the roof, where the user said so.
    """

    name: str
    changes: Mapping[str, Any]
    cost: float | None = None
    mass_kg: float | None = None
    area_m2: float | None = None


def variants_in(scenario: Scenario) -> tuple[Variant, ...]:
    """Variants that the scenario lists under ``[[variant]]``."""
    listed = scenario.document.get("variant", [])
    found = []
    for entry in [listed] if isinstance(listed, dict) else listed:
        changes = _dotted({k: v for k, v in entry.items() if k not in OWN_KEYS})
        figures = {key: entry.get(key) for key in ("cost", "mass_kg", "area_m2")}
        found.append(Variant(entry["name"], changes, **figures))
    return tuple(found)


def _dotted(table: Mapping[str, Any], before: str = "") -> dict[str, Any]:
    """Flatten tables within tables to dotted keys."""
    found: dict[str, Any] = {}
    for key, value in table.items():
        if isinstance(value, Mapping):
            found.update(_dotted(value, f"{before}{key}."))
        else:
            found[before + key] = value
    return found


def prices_in(scenario: Scenario) -> WrittenPrices:
    """Prices that the scenario states under ``[prices]``."""
    return WrittenPrices.model_validate(scenario.document.get("prices", {}))


def typed_variant(text: str, name: str | None = None) -> Variant:
    """Read a variant from ``"bank.amp_hours=400, array.watts=800"``.

    Raises
    ------
    UsageError
        If the text is no list of changes.
    """
    changes: dict[str, Any] = {}
    for part in _parts(text):
        key, equals, value = (piece.strip() for piece in part.partition("="))
        if not (key and equals and value):
            raise UsageError(
                Problem(
                    f"--change {shown(text)}",
                    f"{shown(part.strip()) or 'nothing'} is no change.",
                    "Write: --change bank.amp_hours=400,array.watts=800",
                )
            )
        if key in changes:
            raise UsageError(Problem(f"--change {shown(text)}", f"{shown(key)} comes twice."))
        changes[key] = _value(value)
    return Variant(name or ", ".join(f"{k} = {v}" for k, v in changes.items()), changes)


def _parts(text: str) -> list[str]:
    """Split at commas that are outside quotes and brackets."""
    parts, depth, quoted = [""], 0, ""
    for mark in text:
        if quoted:
            quoted = "" if mark == quoted else quoted
        elif mark in "\"'":
            quoted = mark
        depth += (mark in "[{") - (mark in "]}")
        if mark == "," and not quoted and depth == 0:
            parts.append("")
        else:
            parts[-1] += mark
    return parts


def _value(text: str) -> Any:
    """Value as TOML has it; a bare word is text."""
    try:
        return tomllib.loads(f"x = {text}")["x"]
    except (ValueError, RecursionError):
        return text.strip("\"'")


def changed(scenario: Scenario, variants: Sequence[Variant]) -> list[Scenario]:
    """Give the scenario of every variant.

    Raises
    ------
    ScenarioError
        What is wrong with any of them, all at once, each with the name of its variant.
    """
    found: list[Scenario] = []
    problems: list[Problem] = []
    names: set[str] = set()
    for variant in variants:
        where = f"variant {shown(variant.name)!r}"
        if variant.name in names:
            problems.append(Problem(where, "This name comes twice.", "Give each its own."))
        names.add(variant.name)
        if not variant.changes:
            hint = "Write what differs, as in bank.amp_hours = 400."
            problems.append(Problem(where, "It changes nothing.", hint))
            continue
        try:
            found.append(scenario.with_changes({"variant": None, **variant.changes}))
        except ScenarioError as error:
            problems += [Problem(where, one.found, one.hint) for one in error.problems]
    if problems:
        raise ScenarioError(problems)
    return found
