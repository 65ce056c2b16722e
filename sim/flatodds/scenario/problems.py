"""Turns what the written models refuse into messages people can act on."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any, get_args, get_origin

from pydantic.fields import FieldInfo

from flatodds.errors import Problem
from flatodds.scenario.lines import Lines, Path
from flatodds.scenario.written import LISTS, WrittenScenario
from flatodds.scenario.written_base import Written
from flatodds.units import c_from_f, f_from_c, ft_from_m, m_from_ft

SHOWN = 60  # characters of a wrong value that a message repeats
NO_WORD = "is not a word that belongs here"

# The other spelling of a key, and the conversion that tells whether it was meant.
_TWINS = {"_c": ("_f", c_from_f), "_f": ("_c", f_from_c)}
_LENGTHS = {"_m": ("_ft", m_from_ft), "_ft": ("_m", ft_from_m)}
_NUMBER = re.compile(r"[+-]?\d+(?:,\d{3})*(?:\.\d+)?")


class Where:
    """Names a place in a scenario: file, line, and the dotted key as people write it."""

    def __init__(self, name: str, lines: Lines | None, document: Mapping[str, Any]) -> None:
        self._name = name
        self._lines = lines
        self._document = document

    def line(self, path: Path) -> str:
        """File and line of a key: ``"my.toml line 6"``."""
        if self._lines is None:
            return self._name
        return f"{self._name} line {self._lines.of(self.written(path))}"

    def written(self, path: Path) -> Path:
        """Path in the file, where a single table stands without its list."""
        if len(path) > 1 and path[0] in LISTS and isinstance(self._document.get(path[0]), dict):
            return (path[0], *path[2:])
        return path

    def key(self, path: Path) -> str:
        """Dotted key; the number (from 0) in a list is left out when there is only one."""
        parts = list(path)
        if len(parts) > 1 and parts[0] in LISTS:
            group = self._document.get(str(parts[0]))
            if group is None or isinstance(group, dict) or group_of_one(group):
                del parts[1]
        return ".".join(shown(part) if isinstance(part, str) else str(part) for part in parts)

    def spelling(self, path: Path) -> str:
        """Key as it is spelled where it stands: dotted, or bare below a table's header."""
        if self._lines is None or len(path) < 2:
            return self.key(path)
        line = self._lines.text(self._lines.of(self.written(path)))
        dotted = not line.startswith("[") and "." in line.partition("=")[0]
        return self.key(path) if dotted or line.startswith("#") else str(path[-1])


def group_of_one(group: object) -> bool:
    """Whether a list holds at most one table."""
    return isinstance(group, list) and len(group) <= 1


def shown(text: str) -> str:
    """Text that is safe and short enough to repeat on a terminal."""
    plain = text.encode("unicode_escape").decode("ascii")
    return plain if len(plain) <= SHOWN else plain[: SHOWN - 3] + "..."


def value_text(value: object) -> str:
    """Write a value as it would stand in the file, shortened."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return f'"{shown(value)}"'
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list):
        return "a list"
    if isinstance(value, int) and abs(value) >= 10**18:
        return "a huge number"
    return shown(f"{value:g}" if isinstance(value, float) else str(value))


def models() -> dict[str, type[Written]]:
    """Find the model of every table of a scenario, by the table's key."""
    found = {}
    for key, field in WrittenScenario.model_fields.items():
        for candidate in (field.annotation, *get_args(field.annotation)):
            if isinstance(candidate, type) and issubclass(candidate, Written):
                found[key] = candidate
    return found


def field_at(path: Path) -> FieldInfo | None:
    """Field of the written models that a path names."""
    words = [part for part in path if isinstance(part, str)]
    if len(words) == 1:
        return WrittenScenario.model_fields.get(words[0])
    table = models().get(words[0]) if len(words) == 2 else None
    return table.model_fields.get(words[1]) if table else None


def explained(errors: Sequence[Mapping[str, Any]], where: Where) -> list[Problem]:
    """Problems, in our words, of the errors pydantic lists."""
    misspelt: set[Path] = set()
    for error in errors:
        if error["type"] == "extra_forbidden":
            path = tuple(error["loc"])
            misspelt |= {(*path[:-1], word) for word in _near_words(path)}
    return [
        _explained(error, where)
        for error in errors
        if error["type"] != "missing" or tuple(error["loc"]) not in misspelt
    ]


def _near_words(path: Path) -> list[str]:
    """Up to three words of the same table that look like an unknown one."""
    from difflib import get_close_matches

    table = models().get(str(path[0])) if len(path) > 1 else WrittenScenario
    fields = list(table.model_fields) if table else []
    return get_close_matches(str(path[-1]).lower(), fields, n=3, cutoff=0.6)


def _explained(error: Mapping[str, Any], where: Where) -> Problem:
    path: Path = tuple(error["loc"])
    kind, value, key = error["type"], error.get("input"), where.key(path)
    line, word = where.line(path), where.spelling(path)
    if kind == "missing":
        return Problem(line, f"{key} is missing.", _example(path, word))
    if kind == "extra_forbidden":
        return Problem(line, f"{key} {NO_WORD}.", _nearest(path, where))
    if kind == "flatodds":
        context = error["ctx"]
        return Problem(line, f"{key} {value_text(value)} {context['found']}.", context["hint"])
    if path == ("bank",) and isinstance(value, list):
        found = "There is more than one bank; flatodds knows one, of batteries that are alike."
        return Problem(line, found, "Describe the one that feeds the loads in a single [bank].")
    if kind == "literal_error":
        return _not_allowed(line, key, word, value, path)
    if kind in ("greater_than", "greater_than_equal", "less_than", "less_than_equal"):
        return _out_of_range(line, key, word, value, path, error.get("ctx", {}))
    if kind == "finite_number":
        return Problem(line, f"{key} is {value_text(value)}; a finite number is needed.")
    wanted, hint = _wanted(kind, word, value, path)
    return Problem(line, f"{key} should be {wanted}, but is {value_text(value)}.", hint)


def _wanted(kind: str, key: str, value: object, path: Path) -> tuple[str, str]:
    """Tell what was expected instead of a value of the wrong kind, and a hint."""
    if kind in ("float_type", "int_type", "int_from_float"):
        word = "a number" if kind == "float_type" else "a whole number"
        return word, _number_hint(key, value, whole=kind != "float_type")
    if kind == "string_type":
        return "text in quotes", f'Write: {key} = "..."'
    if kind == "bool_type":
        return "true or false", "Write it without quotes, in small letters."
    if kind in ("string_too_short", "string_too_long"):
        return "text of ordinary length", ""
    if kind in ("too_short", "too_long"):
        return "a list of a sensible length", _list_hint(path)
    if kind == "list_type":
        return "a list", f"Write: {key} = [{value_text(value)}]" if path[-1] == "window" else ""
    if kind == "model_type":
        return "a table of values", f"Write them one a line, as in {key}.{_first_word(path)} = ..."
    return "something else", ""


def _number_hint(key: str, value: object, *, whole: bool) -> str:
    if isinstance(value, str) and (match := _NUMBER.search(value)):
        number = match[0].replace(",", "").lstrip("+")
        if len(number) <= 12:
            return f"Write: {key} = {number.split('.')[0] if whole else number}"
    if whole and isinstance(value, float) and abs(value) < 1e9:
        return f"Write: {key} = {round(value)}"
    return "Write the number alone, without quotes or units."


def _list_hint(path: Path) -> str:
    bounds = _bounds(field_at(path))
    low, high = bounds.get("min_length"), bounds.get("max_length")
    return f"It holds {low or 0} to {high} entries." if high else ""


def _first_word(path: Path) -> str:
    table = models().get(str(path[0]))
    return next(iter(table.model_fields)) if table else "key"


def _bounds(field: FieldInfo | None) -> dict[str, float]:
    """Limits a field states: ge, gt, le, lt, min_length, max_length."""
    found: dict[str, float] = {}
    for item in [*(field.metadata if field else ()), *_inner(field)]:
        for name in ("ge", "gt", "le", "lt", "min_length", "max_length"):
            limit = getattr(item, name, None)
            if limit is not None:
                found.setdefault(name, limit)
    return found


def _inner(field: FieldInfo | None) -> list[Any]:
    """Limits inside an optional annotated type, such as ``Fraction | None``."""
    found: list[Any] = []
    for part in get_args(field.annotation) if field else ():
        for item in getattr(part, "__metadata__", ()):
            found.extend(item.metadata if isinstance(item, FieldInfo) else [item])
    return found


def _element_bounds(field: FieldInfo | None) -> dict[str, float]:
    """Limits of the entries of a list."""
    parts = [field.annotation] if field else []
    while parts:
        part = parts.pop()
        if get_origin(part) is list:
            return _bounds(FieldInfo.from_annotation(get_args(part)[0]))
        parts.extend(get_args(part))
    return {}


def _out_of_range(
    line: str, key: str, word: str, value: object, path: Path, context: Mapping[str, Any]
) -> Problem:
    """Tell both limits where the field states them, else the one that was broken."""
    field, in_list = field_at(path), isinstance(path[-1], int)
    bounds = {**context, **(_element_bounds(field) if in_list else _bounds(field))}
    low, high = bounds.get("ge", bounds.get("gt")), bounds.get("le", bounds.get("lt"))
    if low is None or high is None:
        limit = f"at least {low:g}" if high is None else f"at most {high:g}"
    elif "gt" in bounds:
        limit = f"above {low:g} and at most {high:g}"
    else:
        limit = f"from {low:g} to {high:g}"
    found = f"{key} = {value_text(value)}; it must be {limit}."
    return Problem(line, found, "" if in_list else _unit_hint(word, value, path))


def _unit_hint(key: str, value: object, path: Path) -> str:
    """Hint when the value would fit the same key in the other unit, or as a percentage."""
    if not isinstance(value, int | float) or abs(value) > 1e9:
        return ""
    if key.endswith("_frac") and 1.0 < value <= 100.0:
        return f"Shares go from 0 to 1. If you meant {value:g} %, write: {key} = {value / 100:g}"
    for suffix, (other, convert) in (*_TWINS.items(), *_LENGTHS.items()):
        if not key.endswith(suffix):
            continue
        field = field_at(path)
        twin = field_at((*path[:-1], str(path[-1]).removesuffix(suffix) + other))
        if field is None or twin is None:
            continue
        bounds = _bounds(twin)
        if bounds["ge"] <= value <= bounds["le"]:
            name = {"_f": "Fahrenheit", "_c": "Celsius", "_ft": "feet", "_m": "metres"}[other]
            converted = convert(float(value))
            return (
                f"If that is in {name}, write: {key.removesuffix(suffix)}{other} = {value:g}"
                f" (or {key} = {converted:.4g})"
            )
    return ""


# What people and shops also call a kind of battery: common practice, no source.
ALSO_CALLED = {
    **dict.fromkeys(("lifepo4", "lfp", "li-ion", "lithium iron phosphate"), "lithium"),
    **dict.fromkeys(("lead", "lead-acid", "lead acid", "wet", "golf cart"), "flooded"),
    **dict.fromkeys(("sealed", "sla", "vrla"), "agm"),
}


def _not_allowed(line: str, key: str, word: str, value: object, path: Path) -> Problem:
    from difflib import get_close_matches

    allowed = _literals(field_at(path))
    texts = [value_text(item) for item in allowed]
    listed = " or ".join([", ".join(texts[:-1]), texts[-1]] if len(texts) > 1 else texts)
    words = [item for item in allowed if isinstance(item, str)]
    hint = ""
    other = ALSO_CALLED.get(value.lower()) if isinstance(value, str) else None
    if other in words:
        hint = f'Write: {word} = "{other}"'
    elif isinstance(value, str) and (near := get_close_matches(value.lower(), words, n=1)):
        hint = f'Write: {word} = "{near[0]}"'
    return Problem(line, f"{key} = {value_text(value)} is not offered; use {listed}.", hint)


def _literals(field: FieldInfo | None) -> list[object]:
    """Words that a field, or each entry of its list, may be."""
    found: list[object] = []
    parts: list[object] = [field.annotation] if field else []
    while parts:
        part = parts.pop(0)
        if isinstance(part, str | int):
            found.append(part)
        parts.extend(get_args(part))
    return list(dict.fromkeys(found))


def _nearest(path: Path, where: Where) -> str:
    """Up to three known keys that look like an unknown one, those of its own table first."""
    from difflib import get_close_matches

    model = models().get(str(path[0])) if len(path) > 1 else WrittenScenario
    word = str(path[-1]).lower()
    fields = list(model.model_fields) if model else []
    near = _near_words(path)
    if near:
        table = where.spelling(path).rpartition(".")[0]
        return f"Did you mean {' or '.join(f'{table}.{name}' if table else name for name in near)}?"
    if len(path) > 1 and path[-1] in WrittenScenario.model_fields:
        header = f"[[{path[0]}]]" if path[0] in LISTS else f"[{path[0]}]"
        return f"Lines below {header} belong to it: write {path[-1]} above {header}."
    elsewhere = [f"{name}.{key}" for name, model in models().items() for key in model.model_fields]
    last = {dotted: dotted.rpartition(".")[2] for dotted in elsewhere}
    near = get_close_matches(word, list(dict.fromkeys(last.values())), n=3, cutoff=0.75)
    found = [dotted for dotted in elsewhere if last[dotted] in near][:3]
    if found:
        return f"There is {' or '.join(found)}."
    return f"Known here: {', '.join(fields)}."


def _example(path: Path, word: str) -> str:
    """How a missing key could be written."""
    tables = {
        "bank": "bank.chemistry, bank.volts and bank.amp_hours are needed.",
        "array": "Write: array.watts = 800, or 0 where there are no panels",
        "household": 'Write: household.pattern = "light"',
        "stay": 'Write [[stay]] and below it place = "44.95, -93.60", first_day, nights.',
    }
    values = {
        "chemistry": '"lithium"',
        "volts": "12",
        "amp_hours": "400",
        "unit_volts": "6",
        "unit_amp_hours": "225",
        "watts": "800",
        "pattern": '"light"',
        "place": '"44.95, -93.60"',
        "first_day": '"20 Sep"',
        "nights": "45",
    }
    if len(path) == 1:
        return tables.get(str(path[0]), "")
    return f"Write: {word} = {values[str(path[-1])]}" if path[-1] in values else ""
