"""JSON Schema (draft 2020-12) of the summary: the contract other programs may rely on."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from flatodds.outcomes.schema_explain import explain_schema

Schema = dict[str, Any]

FRAC: Schema = {"type": "number", "minimum": 0, "maximum": 1}
COUNT: Schema = {"type": "integer", "minimum": 1}
TEXT: Schema = {"type": "string"}
NOT_NEGATIVE: Schema = {"type": "number", "minimum": 0}


def closed(properties: Mapping[str, Schema]) -> Schema:
    """Describe an object that has exactly these keys."""
    return {
        "type": "object",
        "properties": dict(properties),
        "required": list(properties),
        "additionalProperties": False,
    }


def listed(item: Schema, at_least: int = 0) -> Schema:
    """Describe a list of one kind of thing."""
    return {"type": "array", "items": item, "minItems": at_least}


def or_null(schema: Schema) -> Schema:
    """Allow null, for what is not known or does not apply."""
    return {"anyOf": [schema, {"type": "null"}]}


def levels(names: str, schema: Schema) -> Schema:
    """Describe named levels of one quantity."""
    return closed(dict.fromkeys(names.split(), schema))


PROPORTION: Schema = {"$ref": "#/$defs/proportion"}
AMOUNT: Schema = {"$ref": "#/$defs/amount"}
RANGE: Schema = {"$ref": "#/$defs/range"}


def summary_schema() -> Schema:
    """Build the JSON Schema of ``summary.json``."""
    whole: Schema = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "flatodds summary",
        "description": "Odds that a battery bank runs flat. Quantities carry their unit in their "
        "name; chances are proportions of simulated stays with their sampling interval; amounts "
        "are the mean and percentiles over simulated stays.",
        **closed(
            {
                "flatodds": TEXT,
                "scenario": closed({"title": TEXT, "sha256": TEXT}),
                "seed": {"type": "integer", "minimum": 0},
                "members": COUNT,
                "confidence": {"type": "number", "exclusiveMinimum": 0, "exclusiveMaximum": 1},
                "theta_points": COUNT,
                "theta_over": listed({"enum": ["sun", "use", "cold_gate"]}),
                "trip": closed({"odds_flat": PROPORTION, "odds_flat_range": RANGE}),
                "weather": listed(weather_schema(), 1),
                "stays": listed(stay_schema(), 1),
                "energy_balance": closed({"relative_error": NOT_NEGATIVE}),
                "cautions": listed(TEXT),
            }
        ),
        "$defs": {
            "proportion": levels("estimate low high", FRAC),
            "amount": levels("mean p50 p90 p99", NOT_NEGATIVE),
            "range": levels("low high", FRAC),
        },
    }
    whole["properties"] |= explain_schema()  # not required: only an explained run prints them
    return whole


def weather_schema() -> Schema:
    """Describe what the weather of one stay rests on."""
    return closed(
        {
            "place": TEXT,
            "basis": TEXT,
            "sources": listed(TEXT),
            "sha256": TEXT,
            "typical_error_frac": NOT_NEGATIVE,
        }
    )


def stay_schema() -> Schema:
    """Describe one stay."""
    week = closed(
        {
            "array_kwh_day": NOT_NEGATIVE,
            "demand_kwh_day": NOT_NEGATIVE,
            "generator_hours_day": or_null(NOT_NEGATIVE),
        }
    )
    cases = "as_estimated sun_low sun_high use_low use_high both_bad gate_late economised"
    return closed(
        {
            "name": TEXT,
            "place": TEXT,
            "first_day": {"type": "string", "pattern": "^[0-9]{1,2} [A-Z][a-z]{2}$"},
            "nights": COUNT,
            "odds_flat": PROPORTION,
            "odds_reserve": or_null(PROPORTION),
            "odds_overload": or_null(PROPORTION),
            "odds_generator_needed": or_null(PROPORTION),
            "odds_flat_range": RANGE,
            "odds_flat_if": levels(cases, or_null(PROPORTION)),
            "odds_flat_without_generator": or_null(PROPORTION),
            "interval_basis": {"enum": ["monte_carlo", "record"]},
            "hours_flat": AMOUNT,
            "nights_flat": AMOUNT,
            "energy_not_served_kwh": AMOUNT,
            "demand_kwh": AMOUNT,
            "array_kwh": AMOUNT,
            "spilled_kwh": AMOUNT,
            "spilled_by_cause": or_null(
                closed(
                    dict.fromkeys(
                        (
                            "bank_full_kwh",
                            "controller_kwh",
                            "cold_bank_kwh",
                            "charge_current_kwh",
                        ),
                        AMOUNT,
                    )
                )
            ),
            "best_day_kwh": AMOUNT,
            "peak_array_w": AMOUNT,
            "full_days_frac": AMOUNT,
            "generator_hours": or_null(AMOUNT),
            "fuel_litres": or_null(AMOUNT),
            "hot_hours": or_null(AMOUNT),
            "cold_hours": AMOUNT,
            "cold_locked_kwh": AMOUNT,
            "heating_pad_kwh": or_null(AMOUNT),
            "generator_kwh": or_null(AMOUNT),
            "generator_starts": or_null(AMOUNT),
            "drive_kwh": or_null(AMOUNT),
            "hookup_kwh": or_null(AMOUNT),
            "cooling": or_null(cooling_schema()),
            "worst_week": closed({"days": COUNT, "one_in_ten": week, "median": week}),
            "lowest_charge_frac": levels("p01 p05 p50", FRAC),
            "first_flat_day": levels("p10 p50 p90", or_null({"type": "number", "minimum": 1})),
            "wear": closed(
                {
                    "full_cycles": AMOUNT,
                    "longest_days_since_full": AMOUNT,
                    "years_to_80pct": closed(
                        {"by_cycles": or_null(AMOUNT), "by_calendar": or_null(NOT_NEGATIVE)}
                    ),
                }
            ),
            "appliances": listed(
                closed(
                    {
                        "name": TEXT,
                        "wanted_kwh": AMOUNT,
                        **got_properties(),
                        "if_economised": or_null(closed(got_properties())),
                    }
                )
            ),
            "months": listed(month_schema(), 1),
        }
    )


def got_properties() -> dict[str, Schema]:
    """Describe what an appliance got of what it wanted."""
    return {
        "served_frac": or_null(AMOUNT),
        "served_later_kwh": AMOUNT,
        "gone_without_kwh": AMOUNT,
    }


def cooling_schema() -> Schema:
    """Describe what an air conditioner did in a stay."""
    return closed(
        {
            "comfort_high_c": {"type": "number"},
            "hot_hours_without": AMOUNT,
            "hot_days_without": AMOUNT,
            "days_held": AMOUNT,
            "held_frac": or_null(FRAC),
            "cooling_hours": AMOUNT,
            "wanted_kwh": AMOUNT,
            "served_kwh": AMOUNT,
        }
    )


def month_schema() -> Schema:
    """Describe the nights of a stay in one month."""
    return closed(
        {
            "month": {"type": "integer", "minimum": 1, "maximum": 12},
            "odds_flat": PROPORTION,
            "hours_flat": AMOUNT,
            "generator_hours": or_null(AMOUNT),
            "array_kwh": AMOUNT,
            "demand_kwh": AMOUNT,
            "spilled_kwh": AMOUNT,
        }
    )
