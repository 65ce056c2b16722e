"""The words for how people live: how many they are, when they rise, when they are away."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from flatodds.scenario.values import Fraction, WindowText
from flatodds.scenario.written_base import Written

Weekday = Literal["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"]


class WrittenHabits(Written):
    """Habits of a household; part of its table."""

    people: int | None = Field(
        default=None, ge=1, le=12, description="How many live there; use per person goes with it."
    )
    rise: Literal["early", "usual", "late"] | None = Field(
        default=None, description="When they get up: moves the catalogue's morning hours."
    )
    away_every_days: int | None = Field(
        default=None, ge=1, le=60, description="Nobody is home for some hours every so many days."
    )
    away_weekdays: Annotated[list[Weekday], Field(min_length=1, max_length=7)] | None = Field(
        default=None, description='Nobody is home for some hours on these, as in ["Mon", "Tue"].'
    )
    away_hours: WindowText | None = Field(
        default=None, description='Hours away on such a day, as in "9-17"; not over midnight.'
    )


class WrittenUseHabits(Written):
    """Habits that go with one appliance; part of its table."""

    only_above_charge_frac: Fraction | None = Field(
        default=None, description="Spare-sun use: runs only while the charge is above this."
    )
    shrink_frac: Fraction | None = Field(
        default=None,
        description="Part of its use given up below caution_frac by people who economise.",
    )
    when_away: bool | None = Field(
        default=None, description="Whether it runs on while nobody is home."
    )
    wet_day_factor: float | None = Field(
        default=None,
        ge=0.0,
        le=5.0,
        description="Runs on a day with rain or snow over those of a dry one, as 1.3.",
    )
