"""JSON Schema of what ``run --explain --json`` prints beside the summary."""

from __future__ import annotations

from typing import Any

Schema = dict[str, Any]


def explain_schema() -> dict[str, Schema]:
    """Describe the keys that only an explained run has."""
    number: Schema = {"type": "number"}
    share: Schema = {"type": "number", "minimum": 0, "maximum": 1}
    change: Schema = {"type": "number", "minimum": -1, "maximum": 1}
    names: Schema = {"type": "array", "items": {"type": "string"}, "minItems": 1, "maxItems": 2}
    cost = {
        "name": {"type": "string"},
        "kwh_day": number,
        "bank_frac": number,
        "odds_change": _all_of(dict.fromkeys(("estimate", "low", "high"), change)),
    }
    meeting = {
        "names": names,
        "watts": {"type": "number", "minimum": 0},
        "starting": {"type": "boolean"},
        "days_frac": share,
    }
    return {
        "appliance_costs": {"type": "array", "items": _all_of(cost)},
        "overloads": {"type": "array", "items": _all_of(meeting)},
    }


def _all_of(properties: dict[str, Schema]) -> Schema:
    return {
        "type": "object",
        "properties": properties,
        "required": list(properties),
        "additionalProperties": False,
    }
