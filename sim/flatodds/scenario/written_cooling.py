"""The words for cooling: which air conditioner, what it keeps, and when it may run."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import AfterValidator, Field

from flatodds.catalog.coolers import coolers
from flatodds.scenario.values import Fraction, WindowText, problem
from flatodds.scenario.written_base import Written

Windows = Annotated[list[WindowText], Field(min_length=1, max_length=4)]
Shade = Literal["none", "awning", "half", "deep"]


def _unit(name: str) -> str:
    if name not in coolers():
        raise problem(
            "is no air conditioner of the catalogue", "There are: " + ", ".join(coolers())
        )
    return name


class WrittenCooling(Written):
    """An air conditioner; left out: there is none."""

    unit: Annotated[str, Field(max_length=200), AfterValidator(_unit)] = Field(
        description="Kind of air conditioner, by its name in the catalogue: "
        + ", ".join(coolers())
        + "."
    )
    watts: float | None = Field(
        default=None,
        gt=0.0,
        le=20_000.0,
        description="What it draws at its plug with 35 Celsius (95 F) outside.",
    )
    cooling_w: float | None = Field(
        default=None,
        gt=0.0,
        le=60_000.0,
        description="Heat it takes out at its rating; Btu/h times 0.293.",
    )
    side: Literal["dc", "ac"] | None = Field(
        default=None, description="On the battery's voltage (dc) or on mains voltage (ac)."
    )
    soft_start: bool | None = Field(
        default=None, description="Whether a soft starter tames its start."
    )
    start_w: float | None = Field(
        default=None,
        gt=0.0,
        le=60_000.0,
        description="Power for a moment at each start; left out: by unit and soft_start.",
    )
    inside_cool_c: float | None = Field(
        default=None, ge=16.0, le=35.0, description="Temperature it keeps, Celsius."
    )
    inside_cool_f: float | None = Field(
        default=None, ge=60.8, le=95.0, description="Temperature it keeps, Fahrenheit."
    )
    need: Literal["must", "above-charge", "spare-sun"] | None = Field(
        default=None,
        description="Runs whenever it is hot, only above a charge, or only on sun that is left"
        " over.",
    )
    only_above_charge_frac: Fraction | None = Field(
        default=None, description='With need = "above-charge": it rests at or below this charge.'
    )
    hours: Windows | None = Field(
        default=None, description='Local hours in which it may run, as in ["11-20"].'
    )
    must_hours: Windows | None = Field(
        default=None,
        description="Local hours in which it runs whatever the charge, as when a dog is inside.",
    )
    sensible_frac: float | None = Field(
        default=None,
        ge=0.3,
        le=1.0,
        description="Share of its work that cools rather than dries; left out: by humidity.",
    )
    inside_wet_bulb_c: float | None = Field(
        default=None,
        gt=5.0,
        le=30.0,
        description="Wet bulb inside, Celsius; left out: as moist as the day's air outside.",
    )
