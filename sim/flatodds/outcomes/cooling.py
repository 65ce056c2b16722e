"""What an air conditioner did in a stay: hot days held, hot hours with and without it."""

from __future__ import annotations

from typing import Any

from flatodds.outcomes.amounts import mixture_amount, mixture_mean
from flatodds.outcomes.record import Record
from flatodds.units import degrees_text

SAFETY = "Safety: "  # as in `cautions`
LEAST_HOT_HOURS = 1.0  # in a stay on average, from which heat is warned of: own judgement


def cooling_part(record: Record, stay: int) -> dict[str, Any] | None:
    """Put cooling into the contract's keys; null without an air conditioner.

    A hot day is one on which it would be warmer inside than the household's comfort at the
    end of some hour without air conditioner; it is held when with it that never happens.
    """
    if not record.has("cooling_hours"):
        return None
    weights = record.weights

    def total(key: str, scale: float = 1.0) -> Any:
        return mixture_amount(record.stay_sum(key, stay) * scale, weights)

    hot = mixture_mean(record.stay_sum("hot_days_uncooled", stay), weights)
    held = mixture_mean(record.stay_sum("days_held", stay), weights)
    return {
        "comfort_high_c": record.facts.comfort_high_c,
        "hot_hours_without": total("hot_hours_uncooled"),
        "hot_days_without": total("hot_days_uncooled"),
        "days_held": total("days_held"),
        "held_frac": held / hot if hot > 0.0 else None,
        "cooling_hours": total("cooling_hours"),
        "wanted_kwh": total("cooling_wanted_wh", 1e-3),
        "served_kwh": total("cooling_served_wh", 1e-3),
    }


def heat_cautions(record: Record) -> list[str]:
    """Warn of heat inside, where there is no air conditioner that the scenario warns of."""
    if record.has("cooling_hours") or not record.has("hot_hours"):
        return []
    hours = max(
        mixture_mean(record.stay_sum("hot_hours", stay), record.weights)
        for stay in range(len(record.facts.stays))
    )
    if hours < LEAST_HOT_HOURS:
        return []
    limit = degrees_text(record.facts.comfort_high_c, us=record.facts.units == "us")
    return [
        f"{SAFETY}it gets hotter than {limit} inside. Heat "
        "kills children, pets, old and ill people first: never leave any of them alone in a "
        "parked home, drink, and have a cooler place to go to."
    ]
