"""JSON Schemas of what the studies print with ``--json``, one for each."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from flatodds.errors import Problem, UsageError
from flatodds.outcomes.schema import (
    COUNT,
    FRAC,
    NOT_NEGATIVE,
    PROPORTION,
    RANGE,
    TEXT,
    Schema,
    closed,
    levels,
    listed,
    or_null,
)

NUMBER: Schema = {"type": "number"}
SIGNED: Schema = {"$ref": "#/$defs/difference"}
MEAN: Schema = closed(dict.fromkeys(("mean", "low", "high"), NUMBER))
INDEX: Schema = {"type": "integer", "minimum": 0}
DAY: Schema = {"type": "string", "pattern": "^[0-9]{1,2} [A-Z][a-z]{2}$"}
NIGHTS_OR_MORE: Schema = or_null(INDEX)  # null: more than were looked ahead
FLAG: Schema = {"type": "boolean"}
MONTH: Schema = {"type": "integer", "minimum": 1, "maximum": 12}


def study_schema(study: str) -> Schema:
    """Build the JSON Schema (draft 2020-12) of a study's summary.

    Parameters
    ----------
    study : str
        ``compare``, ``upgrades``, ``sweep``, ``arrivals``, ``cooling`` or ``days-left``.

    Raises
    ------
    UsageError
        There is no such study.
    """
    if study not in STUDIES:
        found, hint = f"There is no study {study[:40]!r}.", f"There are: {', '.join(STUDIES)}."
        raise UsageError(Problem("", found, hint))
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": f"flatodds {study}",
        "description": "Quantities carry their unit in their name; chances are proportions of "
        "simulated stays with their sampling interval.",
        **closed({**_head(study), **STUDIES[study]()}),
        "$defs": {
            "proportion": levels("estimate low high", FRAC),
            "difference": levels(
                "estimate low high", {"type": "number", "minimum": -1, "maximum": 1}
            ),
            "range": levels("low high", FRAC),
        },
    }


def _head(study: str) -> dict[str, Schema]:
    """Describe the keys that every study has."""
    head: dict[str, Schema] = {
        "flatodds": TEXT,
        "study": {"const": study},
        "scenario": closed({"title": TEXT, "sha256": TEXT}),
        "seed": INDEX,
        "members": COUNT,
        "record_years": or_null(COUNT),
        "confidence": {"type": "number", "exclusiveMinimum": 0, "exclusiveMaximum": 1},
        "theta_points": COUNT,
        "weather": listed(
            closed(
                {
                    "basis": TEXT,
                    "sha256": TEXT,
                    "typical_error_frac": NOT_NEGATIVE,
                    "cautions": listed(TEXT),
                }
            ),
            1,
        ),
    }
    if study != "cooling":
        head["interval_basis"] = {"enum": ["monte_carlo", "record"]}
    return head


def _variant() -> dict[str, Schema]:
    return {
        "name": TEXT,
        "changes": {"type": "object"},
        "odds_flat": PROPORTION,
        "odds_flat_range": RANGE,
        "odds_reserve": PROPORTION,
        "nights": COUNT,
        "nights_flat": NOT_NEGATIVE,
        "did_without_kwh": NOT_NEGATIVE,
        "spilled_kwh": NOT_NEGATIVE,
        "generator_hours": or_null(NOT_NEGATIVE),
        "extra_cost": or_null(NUMBER),
        "extra_mass_kg": or_null(NUMBER),
        "extra_area_m2": or_null(NUMBER),
        "stays": listed(closed({"name": TEXT, "odds_flat": PROPORTION}), 1),
        "difference": or_null(SIGNED),
        "did_without_difference_kwh": or_null(MEAN),
    }


def _compare() -> dict[str, Schema]:
    return {
        "currency": or_null(TEXT),
        "usual_masses": FLAG,
        "variants": listed(closed(_variant()), 2),
    }


def _upgrades() -> dict[str, Schema]:
    ranked = {
        "kind": TEXT,
        "seen": FLAG,
        "drop_per_100_money": or_null(NUMBER),
        "drop_per_10_kg": or_null(NUMBER),
        "drop_per_m2": or_null(NUMBER),
        "why_not": TEXT,
    }
    return {
        "currency": or_null(TEXT),
        "usual_masses": FLAG,
        "as_written": closed(_variant()),
        "upgrades": listed(closed({**_variant(), **ranked}), 1),
    }


def _sweep() -> dict[str, Schema]:
    design = {
        "values": listed({}, 1),
        "odds_flat": PROPORTION,
        "odds_flat_range": RANGE,
        "did_without_kwh": NOT_NEGATIVE,
        "spilled_kwh": NOT_NEGATIVE,
        "generator_hours": NOT_NEGATIVE,
        "extra_cost": or_null(NUMBER),
        "extra_mass_kg": or_null(NUMBER),
        "stays": listed(closed({"name": TEXT, "odds_flat": PROPORTION}), 1),
    }
    found = dict.fromkeys(("smallest", "least_cost", "least_mass", "best"), listed(INDEX))
    return {
        "axes": listed(closed({"key": TEXT, "values": listed({}, 1)}), 1),
        "written": listed({}, 1),
        "currency": or_null(TEXT),
        "usual_masses": FLAG,
        "wanted_odds": FRAC,
        "designs": listed(closed(design), 1),
        **found,
    }


def _arrivals() -> dict[str, Schema]:
    week = {
        "first_doy": INDEX,
        "first_day": DAY,
        "odds_flat": PROPORTION,
        "odds_flat_range": RANGE,
        "did_without_kwh": NOT_NEGATIVE,
        "generator_hours": NOT_NEGATIVE,
    }
    season = {
        "season": {"enum": ["winter", "spring", "summer", "autumn"]},
        "odds_flat_mean": FRAC,
        "odds_flat_worst": FRAC,
        "generator_hours_mean": NOT_NEGATIVE,
    }
    place = {
        "name": TEXT,
        "weeks": listed(closed(week), 52),
        "seasons": listed(closed(season), 4),
        "good": listed(listed(DAY, 2)),
        "leave_by": listed(DAY),
        "best": listed(DAY, 1),
    }
    return {
        "nights": COUNT,
        "charge_frac": FRAC,
        "wanted_odds": FRAC,
        "places": listed(closed(place), 1),
    }


def _cooling() -> dict[str, Schema]:
    told = {
        "nights": COUNT,
        "odds_flat": PROPORTION,
        "odds_flat_range": RANGE,
        "hot_hours_day": NOT_NEGATIVE,
        "held_hours_day": or_null(NOT_NEGATIVE),
        "cooling_hours_day": or_null(NOT_NEGATIVE),
        "cooling_kwh_day": or_null(NOT_NEGATIVE),
        "hot_days": or_null(NOT_NEGATIVE),
        "held_frac": or_null(FRAC),
        "generator_hours_day": NOT_NEGATIVE,
    }
    way = {
        "name": TEXT,
        "rule": {"enum": ["none", "as written", "whenever hot"]},
        "generator": FLAG,
        **told,
        "months": listed(closed({"stay": TEXT, "month": MONTH, **told}), 1),
    }
    return {
        "unit": TEXT,
        "hold_c": NUMBER,
        "comfort_high_c": NUMBER,
        "need": TEXT,
        "only_above_charge_frac": FRAC,
        "generator_watts": NOT_NEGATIVE,
        "generator_start_frac": FRAC,
        "nights": COUNT,
        "ways": listed(closed(way), 3),
    }


def _days_left() -> dict[str, Schema]:
    lasts = levels("p10 p50 p90", NIGHTS_OR_MORE)
    through = listed(PROPORTION, 1)
    without = {"name": TEXT, "lasts_nights": lasts, "through": through, "difference": SIGNED}
    return {
        "charge_frac": FRAC,
        "first_day": listed(COUNT, 2),
        "place": TEXT,
        "nights": COUNT,
        "known_of_the_weather": TEXT,
        "lasts_nights": lasts,
        "through": through,
        "dawn_charge_frac": levels("p10 p25 p50 p75 p90", listed(FRAC, 1)),
        "without": listed(closed(without)),
    }


STUDIES: Mapping[str, Callable[[], dict[str, Schema]]] = {
    "compare": _compare,
    "upgrades": _upgrades,
    "sweep": _sweep,
    "arrivals": _arrivals,
    "cooling": _cooling,
    "days-left": _days_left,
}
