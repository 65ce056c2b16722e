"""What is said about heat inside and about cooling; nothing where neither is."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from flatodds.outcomes import Facts
from flatodds.outcomes.said import of_100
from flatodds.report.measures import hours_text, temperature_text
from flatodds.report.words import number

Part = Mapping[str, Any]
LEAST_HOT_HOURS = 1.0  # in a stay on average, from which heat is spoken of: own judgement


def held_text(held_frac: float | None) -> str:
    """Say the share of hot days held; none and all are not said as chances."""
    if held_frac is None:
        return "no day would have been hot"
    if held_frac in (0.0, 1.0):
        return f"{'every hot day' if held_frac else 'no hot day'}"
    return f"{of_100(held_frac)} hot days"


def heat_sentences(facts: Facts, stay: Part) -> list[str]:
    """Say how hot it gets, how many hot days cooling holds, and what it takes."""
    if stay["hot_hours"] is None:
        return []
    hot, limit = stay["hot_hours"]["mean"], temperature_text(facts.comfort_high_c, facts)
    cooling = stay["cooling"]
    if cooling is None:
        if hot < LEAST_HOT_HOURS:
            return []
        return [f"Hotter than {limit} inside for about {hours_text(hot)} of such a stay."]
    if cooling["held_frac"] is None:
        return [f"No simulated day would be hotter than {limit} inside without cooling."]
    bare, nights = cooling["hot_hours_without"]["mean"], stay["nights"]
    runs, draws = cooling["cooling_hours"]["mean"] / nights, cooling["served_kwh"]["mean"] / nights
    return [
        f"Cooling kept it below {limit} on {held_text(cooling['held_frac'])}; {hours_text(hot)} "
        f"were hotter, {hours_text(bare)} without it. It ran {hours_text(runs)} and took "
        f"{number(draws)} kWh a day."
    ]
