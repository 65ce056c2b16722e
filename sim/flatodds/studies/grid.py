"""The designs of a sweep: values of one or two words of a scenario, every pair of them."""

from __future__ import annotations

import itertools
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from typing import TYPE_CHECKING, Any

from flatodds.errors import Problem, ScenarioError, UsageError
from flatodds.scenario.problems import NO_WORD, shown
from flatodds.scenario.variants import Variant

if TYPE_CHECKING:
    from flatodds.scenario import Scenario

MOST_VALUES = 200  # of an axis; own choice
MOST_DESIGNS = 10_000  # hours of work; own choice
HINT = "Write: --vary array.watts=400:2400:200, or --vary bank.chemistry=agm,lithium"


@dataclass(frozen=True, slots=True)
class Axis:
    """A dotted key of a scenario and the values it takes."""

    key: str
    values: tuple[Any, ...]

    @property
    def numeric(self) -> bool:
        """Whether all values are numbers."""
        return all(isinstance(v, int | float) and not isinstance(v, bool) for v in self.values)


def typed_axis(text: str) -> Axis:
    """Read an axis from ``"array.watts=400:2400:200"`` or ``"bank.chemistry=agm,lithium"``.

    Raises
    ------
    UsageError
        If the text is no axis; tells what is.
    """
    key, equals, values = (part.strip() for part in text.partition("="))
    if not (key and equals and values):
        raise _bad(text, "is no axis.")
    found = _stepped(text, values) if ":" in values else tuple(map(_value, values.split(",")))
    if len(set(found)) < len(found) or not all(str(v) for v in found):
        raise _bad(text, "has a value twice, or an empty one.")
    if not 1 <= len(found) <= MOST_VALUES:
        raise _bad(text, f"has {len(found)} values; 1 to {MOST_VALUES} are possible.")
    return Axis(key, found)


def typed_axes(texts: Sequence[str], scenario: Scenario) -> list[Axis]:
    """Read all axes of a sweep, so that a slip in one does not hide a wrong key beside it.

    Raises
    ------
    UsageError
        If any text is no axis; tells of all, and of every key that this scenario has not.
        Where all are axes, `sweep` itself says what is wrong with keys and values.
    """
    axes: list[Axis] = []
    problems: list[Problem] = []
    for text in texts:
        try:
            axes.append(typed_axis(text))
        except UsageError as error:
            problems += error.problems
            key = text.partition("=")[0].strip()
            problems += [one for one in _refused(scenario, key, 1) if NO_WORD in one.found]
    if problems:
        for axis in axes:
            problems += _refused(scenario, axis.key, axis.values[0])
        raise UsageError(problems)
    return axes


def _refused(scenario: Scenario, key: str, value: Any) -> list[Problem]:
    """Say what is wrong with a changed word of a scenario, if anything."""
    if not key:
        return []
    try:
        scenario.with_changes({"variant": None, key: value})
    except ScenarioError as error:
        return [Problem(f"--vary {shown(key)}", one.found, one.hint) for one in error.problems]
    return []


def _bad(text: str, found: str) -> UsageError:
    return UsageError(Problem(f"--vary {shown(text)}", f"This {found}", HINT))


def _stepped(text: str, values: str) -> tuple[float | int, ...]:
    """Values from first to last by steps, the last included when a step meets it."""
    try:
        first, last, step = (Decimal(part.strip()) for part in values.split(":"))
    except (InvalidOperation, ValueError):
        raise _bad(text, "is no range of first:last:step.") from None
    if not all(number.is_finite() for number in (first, last, step)) or step <= 0 or last < first:
        raise _bad(text, "range needs a step above 0 and a last value not below the first.")
    count = int((last - first) / step) + 1
    if count > MOST_VALUES:
        raise _bad(text, f"range has {count:,} values; at most {MOST_VALUES} are possible.")
    exact = [first + k * step for k in range(count)]
    return tuple(int(v) if v == v.to_integral_value() else float(v) for v in exact)


def _value(text: str) -> Any:
    try:
        return tomllib.loads(f"x = {text}")["x"]
    except (ValueError, RecursionError):
        return text.strip().strip("\"'")


def designs(axes: Sequence[Axis]) -> list[Variant]:
    """Every combination of the values, the last axis running fastest.

    Raises
    ------
    UsageError
        For none or more than two axes, one key twice, or too many designs; all at once.
    """
    problems = []
    keys = [axis.key for axis in axes]
    if not 1 <= len(axes) <= 2:
        problems.append(Problem("--vary", f"{len(axes)} words are varied; vary one or two.", HINT))
    if len(set(keys)) < len(keys):
        problems.append(Problem("--vary", f"{keys[0]} is varied twice."))
    count = 1
    for axis in axes:
        count *= len(axis.values)
    if axes and count < 2:
        hint = f"Give several values, as in {shown(keys[0])}=400:800:200."
        problems.append(Problem("--vary", "One rig is no grid.", hint))
    if count > MOST_DESIGNS:
        problems.append(Problem("--vary", f"{count:,} designs are more than {MOST_DESIGNS:,}."))
    if problems:
        raise UsageError(problems)
    pairs = itertools.product(*[axis.values for axis in axes])
    return [_named(dict(zip(keys, values, strict=True))) for values in pairs]


def _named(changes: Mapping[str, Any]) -> Variant:
    return Variant(", ".join(f"{key} = {value}" for key, value in changes.items()), changes)


def written_at(scenario: Scenario, axis: Axis) -> Any:
    """Value that the scenario itself has for an axis; None where it is not written."""
    node: Any = scenario.document
    for part in axis.key.split("."):
        if isinstance(node, list):
            if part.isdigit() and int(part) < len(node):
                node = node[int(part)]
                continue
            if len(node) != 1:
                return None
            node = node[0]
        elif part == "0" and isinstance(node, Mapping):
            continue  # a lone table stands for a list of one
        if not isinstance(node, Mapping) or part not in node:
            return None
        node = node[part]
    return node if not isinstance(node, Mapping | list) else None
