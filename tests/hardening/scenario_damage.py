"""Makes scenarios from the JSON Schema's own words and damages them; every case has a number.

The words, their kinds and limits are read from the schema, so a new word is covered without a
line here. A case is made from its number alone, so a failure can be made again.
"""

from __future__ import annotations

import json
import random
import tomllib
from copy import deepcopy
from functools import cache
from typing import Any

from flatodds.scenario import json_schema
from flatodds.scenario.templates import demo, demos, starter
from flatodds.scenario.toml_text import toml_text

Node = dict[str, Any]

MARKS = [
    *"\"'[]{}=.#\n\t\r-\\,_+:%é“”",
    "\x00",
    "\x1b[31m",
    "\u202e",
    "\ufeff",
    "\ud800",
    '"""',
    "'''",
]
WORDS = [
    "nan", "-inf", "1e999", "9" * 30, "9" * 120, "0x1F", "0b1", "true", "1979-05-27",
    "07:32:00", "[[stay]]\n", "[bank]\n", "[[", "]]", "= =", "a.b.c.d = 1\n", "[" * 40, "{" * 40,
    "x = [" + "1," * 300 + "]\n", '"' + "y" * 3000 + '"', "_" * 200, "1_000", "00", "-0.0",
    "1e-320", "a" + ".b" * 40 + " = 1\n",
]  # fmt: skip
TEXTS: dict[str, list[str]] = {
    "place": ["36.10, -79.95", "45 N 93 W", "Moab, UT", "30 miles S of Moab, UT", "0, 0", "90, 0"],
    "first_day": ["1 Dec", "29 Feb", "31 Apr", "20 Sep", "Dec 1"],
    "window": ["7-9", "22-6", "17-19:30", "9-9", "25-26", "-1-4"],
    "use": ["microwave", "kettle", "water_heater_element", "no such thing"],
    "weather": ["sample:greensboro", "sample:nowhere", "../x.csv", "/etc/passwd"],
    "name": ["lamp", "=1+1", "a" * 300, "é", " "],
}
ODD: list[Any] = [
    None, True, False, 0, -1, 1, 2**31, 2**63, 10**16, -(10**30), 0.5, -0.0, 1e-300, 1e300,
    float("nan"), float("inf"), "", "x", "12", "7-9", "\x1b[2J", "=1", "a\nb", [], [[]], [1, "a"],
    {}, {"a": 1}, [{}], [{"watts": "x"}], ["x"] * 200,
]  # fmt: skip


@cache
def schema() -> Node:
    """Give the schema as one dictionary."""
    return json_schema()


@cache
def originals() -> tuple[str, ...]:
    """Give the valid texts that damage starts from."""
    return (starter(), *(demo(name) for name in sorted(demos())))


def resolved(node: Node) -> Node:
    """Follow a reference to its definition."""
    while "$ref" in node:
        node = schema()["$defs"][node["$ref"].rpartition("/")[2]]
    return node


def options(node: Node) -> list[Node]:
    """Shapes that a value may have."""
    node = resolved(node)
    found = node.get("anyOf") or node.get("oneOf") or node.get("allOf")
    return [shape for option in found for shape in options(option)] if found else [node]


def value(node: Node, word: str, chance: random.Random) -> Any:
    """Make a value of a word, mostly within what its schema says, at or near its limits."""
    node = chance.choice(options(node))
    if "const" in node:
        return node["const"]
    if "enum" in node:
        return chance.choice(node["enum"])
    kind = node.get("type")
    if kind == "object":
        return table(node, chance, 0.3)
    if kind == "array":
        low, high = node.get("minItems", 0), min(node.get("maxItems", 3), 12)
        count = chance.choice([low, high, chance.randint(low, max(low, high)), low + 1])
        return [value(node.get("items", {}), word, chance) for _ in range(count)]
    if kind == "boolean":
        return chance.random() < 0.5
    if kind in ("number", "integer"):
        return number(node, kind == "integer", chance)
    if kind == "string":
        return chance.choice(TEXTS.get(word, ["text", "1 Dec", "7-9", "a" * 70]))
    return deepcopy(chance.choice(ODD))


def number(node: Node, whole: bool, chance: random.Random) -> float:
    """Make a number inside, at, or just beyond its limits."""
    low: Any = node.get("minimum", node.get("exclusiveMinimum", -10.0))
    high: Any = node.get("maximum", node.get("exclusiveMaximum", 1000.0))
    near = chance.choice([low, high, (low + high) / 2, low + chance.random() * (high - low)])
    if chance.random() < 0.1:
        near += chance.choice([-1.0, 1.0, 1e-9, -1e-9])
    return int(near) if whole else float(near)


def table(node: Node, chance: random.Random, share: float) -> Node:
    """Make a table with its needed words and a share of the others."""
    needed = set(node.get("required", ()))
    found = {}
    for word, inner in node.get("properties", {}).items():
        if word in needed or chance.random() < share:
            found[word] = value(inner, word, chance)
    return found


def _spot(document: Node, chance: random.Random) -> tuple[Any, Node | None]:
    """Choose a table of a document, at any depth, and its part of the schema."""
    here: Any = document
    node: Node | None = schema()
    while chance.random() < 0.7:
        inner = [key for key, item in here.items() if _tables(item)]
        if not inner:
            break
        key = chance.choice(inner)
        chosen = chance.choice(_tables(here[key]))
        known = (node or {}).get("properties", {}).get(key)
        shapes = [s for s in options(known) if "properties" in s] if known else []
        node, here = (shapes[0] if shapes else None), chosen
    return here, node


def _tables(item: Any) -> list[Node]:
    if isinstance(item, dict):
        return [item]
    return [entry for entry in item if isinstance(entry, dict)] if isinstance(item, list) else []


def damaged_document(chance: random.Random) -> Node:
    """Change some words of a valid document, or make one from the schema."""
    if chance.random() < 0.5:
        document = tomllib.loads(chance.choice(originals()))
    else:
        document = table(schema(), chance, 0.5)
    for _ in range(chance.choice([0, 1, 1, 2, 4])):
        here, node = _spot(document, chance)
        words = list((node or {}).get("properties", {})) or ["x"]
        word = (
            chance.choice(words) if chance.random() < 0.9 else chance.choice(["x", "", "watt\ts"])
        )
        way = chance.random()
        if way < 0.25:
            here.pop(word, None)
        elif way < 0.6 and node is not None and word in node["properties"]:
            here[word] = value(node["properties"][word], word, chance)
        elif way < 0.7 and word in here:
            here[word] = [deepcopy(here[word]) for _ in range(chance.choice([1, 2, 70]))]
        else:
            here[word] = deepcopy(chance.choice(ODD))
    cleaned: Node = _without_none(document)
    return cleaned


def _without_none(item: Any) -> Any:
    if isinstance(item, dict):
        return {str(key): _without_none(inner) for key, inner in item.items() if inner is not None}
    if isinstance(item, list):
        return [_without_none(inner) for inner in item if inner is not None]
    return item


def damaged_text(text: str, chance: random.Random) -> str:
    """Change a text without knowing what it says."""
    for _ in range(chance.choice([1, 1, 2, 3, 6])):
        at = chance.randrange(len(text) + 1)
        end = min(len(text), at + chance.choice([0, 0, 1, 2, 8, 60, 400]))
        way = chance.random()
        if way < 0.6:
            text = text[:at] + chance.choice(MARKS + WORDS + [""]) + text[end:]
        elif way < 0.75:
            lines = text.split("\n")
            lines.insert(chance.randrange(len(lines) + 1), chance.choice(lines))
            text = "\n".join(lines)
        elif way < 0.85:
            text = text[:at] + text[at:end] * chance.choice([2, 3, 40]) + text[end:]
        elif way < 0.95:
            text = text[:end]
        else:
            text = text[:at] + chance.choice(originals())[chance.randrange(200) :]
    return text


def case(number: int) -> str | bytes:
    """Text (or, now and then, bytes) of the damaged scenario with this number."""
    chance = random.Random(number)
    if number % 3:
        text = toml_text(damaged_document(chance))
        return text if number % 5 else damaged_text(text, chance)
    text = damaged_text(chance.choice(originals()), chance)
    if number % 7:
        return text
    raw = bytearray(text.encode("utf-8", "surrogatepass"))
    for _ in range(chance.choice([1, 1, 3, 20])):
        if raw:
            raw[chance.randrange(len(raw))] = chance.randrange(256)
    return bytes(raw)


def words_of_schema() -> set[str]:
    """Every word that a scenario may hold, at any depth."""
    found: set[str] = set()
    stack: list[Any] = [schema()]
    while stack:
        node = stack.pop()
        if isinstance(node, dict):
            found |= set(node.get("properties", ()))
            stack += node.values()
        elif isinstance(node, list):
            stack += node
    return found


if __name__ == "__main__":
    print(json.dumps(sorted(words_of_schema())))
