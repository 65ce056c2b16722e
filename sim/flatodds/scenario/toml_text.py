"""Writes a scenario's document as TOML; only the kinds of value a scenario may hold."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from typing import Any

_BARE = re.compile(r"[A-Za-z0-9_-]+")


def toml_text(document: Mapping[str, Any]) -> str:
    """TOML of a document: plain values first, then a header for each table."""
    lines: list[str] = _pairs(document)
    for key, value in document.items():
        if isinstance(value, Mapping):
            lines += ["", f"[{_key(key)}]", *_pairs(value, nested=True)]
        elif _tables(value):
            for entry in value:
                lines += ["", f"[[{_key(key)}]]", *_pairs(entry, nested=True)]
    return "\n".join(lines).strip("\n") + "\n"


def _tables(value: object) -> bool:
    return isinstance(value, list) and bool(value) and all(isinstance(v, Mapping) for v in value)


def _pairs(table: Mapping[str, Any], *, nested: bool = False) -> list[str]:
    """Lines of a table; tables within it stand in braces, or are left out."""
    return [
        f"{_key(key)} = {_value(value)}"
        for key, value in table.items()
        if nested or (not isinstance(value, Mapping) and not _tables(value))
    ]


def _key(key: str) -> str:
    return key if _BARE.fullmatch(key) else _quoted(key)


def _quoted(text: str) -> str:
    """TOML basic string: JSON's escapes are a subset, but for the delete character."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _value(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return _quoted(value)
    if isinstance(value, list):
        return "[" + ", ".join(_value(item) for item in value) + "]"
    if isinstance(value, int | float):
        return repr(value)
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{_key(k)} = {_value(v)}" for k, v in value.items()) + "}"
    raise TypeError(f"a scenario holds no {type(value).__name__}")
