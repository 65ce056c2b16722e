"""JSON Schema of a scenario file, for editors that complete and check as people type."""

from __future__ import annotations

from typing import Any

from flatodds.scenario.written import LISTS, WrittenScenario

DIALECT = "https://json-schema.org/draft/2020-12/schema"


def json_schema() -> dict[str, Any]:
    """JSON Schema, draft 2020-12, of everything a scenario file may hold."""
    schema: dict[str, Any] = _tidy(WrittenScenario.model_json_schema())
    schema = {"$schema": DIALECT, **schema, "title": "flatodds scenario"}
    for key in LISTS:
        several = schema["properties"][key]
        lone = dict(several["items"])
        words = (
            {"description": lone_words} if (lone_words := several.pop("description", "")) else {}
        )
        schema["properties"][key] = {"anyOf": [lone, several], **words}
    return schema


def _tidy(node: Any) -> Any:
    """Drop what TOML has no word for: null, and defaults that mean "not written"."""
    if isinstance(node, list):
        return [_tidy(item) for item in node]
    if not isinstance(node, dict):
        return node
    kept = {key: _tidy(item) for key, item in node.items() if key != "default"}
    options = kept.get("anyOf")
    if isinstance(options, list):
        options = [option for option in options if option != {"type": "null"}]
        if len(options) == 1:
            del kept["anyOf"]
            kept = {**options[0], **kept}
        else:
            kept["anyOf"] = options
    return kept
