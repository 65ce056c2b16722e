"""What a reader must know beside the numbers.

Cautions about safety, and about a run that went wrong, come first and start with a word of
`URGENT`. Their first sentence stands alone, for a screen with room for one line.
"""

from __future__ import annotations

from flatodds.catalog.called import called
from flatodds.errors import WARNING
from flatodds.outcomes.cooling import heat_cautions
from flatodds.outcomes.record import Record
from flatodds.outcomes.wear import wear_cautions

SAFETY = "Safety: "
URGENT = (SAFETY, WARNING)
FEW_YEARS = 10  # fewer real years than this rarely hold a bad winter; own judgement
BALANCE_LIMIT = 1e-5  # promised closure of the single-precision engine; own choice


def cautions_of(record: Record) -> list[str]:
    """Collect every caution of a result, the urgent first, each once."""
    found = [
        *balance_warnings(record),
        *safety_cautions(record),
        *heat_cautions(record),
        *record.facts.cautions,
        *weather_cautions(record),
        *engine_cautions(record),
        *wear_cautions(record),
    ]
    return list(dict.fromkeys(found))


def safety_cautions(record: Record) -> list[str]:
    """Warn of what a flat battery does to health and warmth."""
    facts = record.facts
    found = []
    if facts.medical:
        names = ", ".join(map(called, facts.medical))
        found.append(
            f"{SAFETY}keep a second source of power for {names}. These are odds, not a promise: "
            "the second source must not hang on this battery."
        )
    if facts.heat != "none":
        found.append(
            f"{SAFETY}a flat battery stops the furnace and may silence gas alarms. Keep gas, smoke "
            "and carbon monoxide alarms with batteries of their own, and never heat with a stove "
            "or burner instead."
        )
    return found


def weather_cautions(record: Record) -> list[str]:
    """Pass on what the weather basis warns of, and too short a record."""
    found = [caution for basis in record.facts.bases for caution in basis.cautions]
    years = record.record_years
    if years is not None and years < FEW_YEARS:
        found.append(f"The weather rests on {years} real years: too few to show rare bad ones.")
    return found


def balance_warnings(record: Record) -> list[str]:
    """Warn when energy does not add up."""
    if record.balance_error <= BALANCE_LIMIT:
        return []
    return [
        f"{WARNING}energy does not add up, so do not rely on this result. It is off by "
        f"{record.balance_error:.1e} of what went through."
    ]


def engine_cautions(record: Record) -> list[str]:
    """Tell of overloads not seen at all."""
    if not record.has("hours_overload"):
        return ["odds_overload is null: this result tells nothing of inverter overloads."]
    return []
