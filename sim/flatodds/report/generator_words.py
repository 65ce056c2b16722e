"""What is said about generator, driving and hookups; nothing where the rig has none."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from flatodds.outcomes import Facts
from flatodds.outcomes.said import counted, seen
from flatodds.report.measures import LEAST_MINUTES, hours_text, volume_text
from flatodds.report.words import number

Part = Mapping[str, Any]
LEAST_KWH = 0.005  # in a stay on average, from which other charging is spoken of: own judgement


def generator_sentences(summary: Part, facts: Facts, stay: Part) -> list[str]:
    """Say how much the generator runs in a stay, and what the odds are without it."""
    needed = stay["odds_generator_needed"]
    if needed is None:
        return []
    units = counted(summary["members"], facts.record_years)
    if needed["estimate"] <= 0.0:
        return [f"The generator was needed in none of {units}."]
    hours, fuel = stay["generator_hours"], stay["fuel_litres"]
    burnt = volume_text(fuel["mean"], facts)
    rare = f"1 in 10 needs more than {hours_text(hours['p90'])}."
    if hours["p90"] < LEAST_MINUTES:
        rare = "9 in 10 need none."
    text = f"Generator: {hours_text(hours['mean'])} and {burnt} in such a stay; {rare}"
    if needed["estimate"] < 1.0:
        text += f" Used at all in {seen(needed['estimate'], units)}."
    without = stay["odds_flat_without_generator"]
    if without is None:
        return [text]
    flat = seen(without["estimate"], units)
    return [f"{text} Without it {flat} run flat, sun and use as written."]


def other_sentence(stay: Part) -> str:
    """Say what driving and hookups bring; empty where there are none."""
    said = [
        f"{words} {number(stay[key]['mean'])} kWh in such a stay."
        for key, words in (("drive_kwh", "Driving adds"), ("hookup_kwh", "Hookup nights add"))
        if stay[key] is not None and stay[key]["mean"] >= LEAST_KWH
    ]
    return " ".join(said)


def charging_sentences(summary: Part, facts: Facts, stay: Part) -> list[str]:
    """Say all of it."""
    return [*generator_sentences(summary, facts, stay), *filter(None, [other_sentence(stay)])]
