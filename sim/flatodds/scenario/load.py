"""From a file or a text to a checked scenario, or one error with everything that is wrong."""

from __future__ import annotations

import re
from collections.abc import Mapping
from copy import deepcopy
from pathlib import Path as FilePath
from typing import Any

from pydantic import ValidationError

from flatodds.errors import Problem, ScenarioError
from flatodds.scenario.bank import UNITS, WHOLE, missing_size
from flatodds.scenario.lines import Lines, Path
from flatodds.scenario.model import Scenario
from flatodds.scenario.problems import Where, explained, shown
from flatodds.scenario.resolve import Origin, resolve
from flatodds.scenario.text import (
    MOST_BYTES,
    decoded,
    hidden,
    parsed,
    text_problems,
    value_problems,
)
from flatodds.scenario.written import LISTS, WrittenScenario

MOST_PROBLEMS = 50  # in one error; more would scroll away what matters
TITLE_LENGTH = 200  # letters; own choice


def load_scenario(path: FilePath | str) -> Scenario:
    """Read, check and complete a scenario file.

    Raises
    ------
    ScenarioError
        If there is no such file or it cannot be used; holds every problem of the file.
    """
    file = FilePath(path)
    name = shown(file.name)
    try:
        with file.open("rb") as stream:
            raw = stream.read(MOST_BYTES + 1)
    except FileNotFoundError:
        raise ScenarioError(_no_file(file)) from None
    except (OSError, ValueError) as error:
        if file.is_dir():
            found = "is a folder, not a scenario file."
            raise ScenarioError(Problem(name or ".", found, _toml_in(file))) from None
        reason = getattr(error, "strerror", None) or "not a file name"
        raise ScenarioError(Problem(name, f"cannot be read: {reason}.")) from None
    return _from_text(decoded(raw, name), name, file.parent, file.stem)


def parse_scenario(text: str, name: str = "scenario") -> Scenario:
    """Check and complete a scenario given as text; `name` stands for the file in messages.

    Raises
    ------
    ScenarioError
        If the text cannot be used; holds every problem of it.
    """
    name = shown(name)
    raw = text.encode("utf-8", "surrogatepass")[: MOST_BYTES + 1]
    return _from_text(decoded(raw, name), name, None, FilePath(name).stem)


def scenario_from(
    document: Mapping[str, Any],
    name: str = "scenario",
    *,
    folder: FilePath | None = None,
    title: str = "scenario",
) -> Scenario:
    """Check and complete a scenario given as a nested dictionary.

    Raises
    ------
    ScenarioError
        If it cannot be used; holds every problem of it.
    """
    return _checked(document, Origin(name, folder, title), None)


def _no_file(file: FilePath) -> Problem:
    """Problem of a missing file, naming one that was perhaps meant."""
    from difflib import get_close_matches

    name = shown(file.name)
    doubled = file.with_name(file.name + ".txt")
    if doubled.is_file():
        return Problem(
            "",
            f"There is no file {name} here, but there is {name}.txt: an editor added the ending.",
            f"Rename it, or give its whole name: {name}.txt",
        )
    try:
        others = [other.name for other in file.parent.glob("*.toml")]
    except OSError:
        others = []
    near = get_close_matches(file.name, others, n=3)
    hint = f"Did you mean {' or '.join(shown(one) for one in near)}?" if near else ""
    return Problem("", f"There is no file {name}.", hint or f"To begin one: flatodds new {name}")


def _toml_in(folder: FilePath) -> str:
    """Name a scenario file of a folder, where it holds one."""
    first = min((file.name for file in folder.glob("*.toml")), default="")
    return f"In it is {shown(first)}." if first else ""


def _from_text(text: str, name: str, folder: FilePath | None, title: str) -> Scenario:
    problems = text_problems(text, name)
    if problems:
        raise ScenarioError(problems[:MOST_PROBLEMS])
    document = parsed(text, name)
    title = "".join(mark for mark in title if not hidden(mark))[:TITLE_LENGTH] or "scenario"
    return _checked(document, Origin(name, folder, title), Lines(text))


def _checked(document: Mapping[str, Any], origin: Origin, lines: Lines | None) -> Scenario:
    where = Where(origin.name, lines, document)
    problems = value_problems(document, where)
    if problems:
        raise ScenarioError(problems[:MOST_PROBLEMS])
    listed = _listed(document)
    written: WrittenScenario | None = None
    errors: list[Any] = missing_size(document)
    try:
        written = WrittenScenario.model_validate(listed)
    except ValidationError as error:
        errors = [*error.errors(include_url=False), *errors]
    if written is None or errors:
        problems = explained(errors, where)
        problems += _beyond(listed, [tuple(e["loc"]) for e in errors], where, origin)
        raise ScenarioError(_sorted(problems))
    scenario, problems = resolve(written, where, deepcopy(dict(document)), origin)
    if problems:
        raise ScenarioError(_sorted(problems))
    return scenario


def _listed(document: Mapping[str, Any]) -> dict[str, Any]:
    """Document in which a table that could be a list is one."""
    return {
        key: [value] if key in LISTS and isinstance(value, dict) else value
        for key, value in document.items()
    }


_LINE = re.compile(r" line (\d+)$")


def _sorted(problems: list[Problem]) -> list[Problem]:
    """Problems without repeats, in the order of the file's lines."""

    def line(problem: Problem) -> int:
        match = _LINE.search(problem.where)
        return int(match[1]) if match else 0

    return sorted(dict.fromkeys(problems), key=line)[:MOST_PROBLEMS]


# Stand-ins for what must be written, so that the rest of a faulty file can be checked too;
# none of them can be at odds with anything a user writes.
_STAND_INS: dict[str, Any] = {
    "bank": {"chemistry": "ideal", "volts": 12, "amp_hours": 100.0},
    "array": {"watts": 100.0},
    "household": {"pattern": "none"},
}
_LONE_STAY = {"place": "45.0, -93.0", "first_day": "1 Jan", "nights": 1}


def _beyond(
    listed: Mapping[str, Any], bad: list[Path], where: Where, origin: Origin
) -> list[Problem]:
    """Problems between the parts of a file once its single faults are put aside."""
    rest = deepcopy(dict(listed))
    faulty = {path[1] for path in bad if path[0] == "appliance" and len(path) > 1}
    for path in bad:
        _remove(rest, path)
    for key, words in _STAND_INS.items():
        tables = rest.setdefault(key, [{}] if key in LISTS else {})
        for table in tables if key in LISTS else [tables]:
            sized = key == "bank" and any(word in table for word in UNITS)
            for word, value in words.items():
                if not (sized and word in WHOLE):
                    table.setdefault(word, value)
    if any(path[0] == "stay" for path in bad):
        rest["stay"] = [_LONE_STAY]
    try:
        written = WrittenScenario.model_validate(rest)
    except ValidationError:
        return []
    _, problems = resolve(written, where, {}, origin)
    skipped = {where.line(("appliance", index)) for index in faulty}
    return [problem for problem in problems if problem.where not in skipped]


def _remove(rest: dict[str, Any], path: Path) -> None:
    """Take the value at a path, or the list around it, out of a document if it is there."""
    while len(path) > 1 and isinstance(path[-1], int):
        path = path[:-1]
    parent: Any = rest
    for part in path[:-1]:
        in_list = isinstance(parent, list) and isinstance(part, int) and part < len(parent)
        if not in_list and not (isinstance(parent, dict) and part in parent):
            return
        parent = parent[part]
    if isinstance(parent, dict):
        parent.pop(path[-1], None)
