"""Temperatures and volumes in both systems, the reader's own first; hours as people say them."""

from __future__ import annotations

from flatodds.outcomes import Facts
from flatodds.outcomes.said import rounded
from flatodds.report.words import number
from flatodds.units import degrees_text, gal_from_l

MINUTES = 60.0  # an hour, definition
LEAST_MINUTES = 0.5 / MINUTES  # of an hour, from which a time is more than less than a minute


def reads_us(facts: Facts) -> bool:
    """Whether the reader's own units are those of the United States."""
    return facts.units == "us"


def temperature_text(warm_c: float, facts: Facts, degree: str = "") -> str:
    """Write a temperature in both scales; `degree` is the mark to set before the letter."""
    return degrees_text(warm_c, us=reads_us(facts), degree=degree)


def hours_text(hours: float) -> str:
    """Write a time as people say it: ``"129 hours"``, ``"1.5 hours"``, ``"14 minutes"``."""
    if hours <= 0.0:
        return "no time"
    if hours < LEAST_MINUTES:
        return "less than a minute"
    minutes = rounded(hours * MINUTES, "nearest")
    if minutes < MINUTES:
        return "1 minute" if minutes == 1 else f"{minutes} minutes"
    said = number(max(hours, 1.0))
    return f"{said.removesuffix('.0')} hour" if said == "1.0" else f"{said} hours"


def clock_scale(most_hours: float) -> tuple[float, str]:
    """Choose in what a drawing of hours is read best: how many in an hour, and their name."""
    return (1.0, "hours") if most_hours >= 1.0 else (MINUTES, "minutes")


def volume_text(litres: float, facts: Facts) -> str:
    """Write a volume in litres and US gallons."""
    gallons = number(gal_from_l(litres))
    if reads_us(facts):
        return f"{gallons} gal ({number(litres)} litres)"
    return f"{number(litres)} litres ({gallons} gal)"
