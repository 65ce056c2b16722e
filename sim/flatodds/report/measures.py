"""Temperatures and volumes in both systems, the reader's own first."""

from __future__ import annotations

from flatodds.outcomes import Facts
from flatodds.report.words import number
from flatodds.units import f_from_c, gal_from_l


def reads_us(facts: Facts) -> bool:
    """Whether the reader's own units are those of the United States."""
    return facts.units == "us"


def temperature_text(warm_c: float, facts: Facts, degree: str = "") -> str:
    """Write a temperature in both scales; `degree` is the mark to set before the letter."""
    celsius, fahrenheit = f"{warm_c:.0f} {degree}C", f"{f_from_c(warm_c):.0f} {degree}F"
    return f"{fahrenheit} ({celsius})" if reads_us(facts) else f"{celsius} ({fahrenheit})"


def volume_text(litres: float, facts: Facts) -> str:
    """Write a volume in litres and US gallons."""
    gallons = number(gal_from_l(litres))
    if reads_us(facts):
        return f"{gallons} gal ({number(litres)} litres)"
    return f"{number(litres)} litres ({gallons} gal)"
