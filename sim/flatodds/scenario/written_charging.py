"""The words for charging other than sun: generator, driving, hookup."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from flatodds.scenario.values import DayText, Fraction, WindowText
from flatodds.scenario.written_base import Written

Windows = Annotated[list[WindowText], Field(min_length=1, max_length=4)]
EveryDays = Annotated[int, Field(ge=0, le=365)]
Dates = Annotated[list[DayText], Field(max_length=60)]


class WrittenGenerator(Written):
    """A generator that charges the bank through a charger when charge runs low."""

    watts: float = Field(
        gt=0.0, le=50_000.0, description="Watts it gives all day on its fuel, not its peak."
    )
    charger_amps: float | None = Field(
        default=None,
        gt=0.0,
        le=10_000.0,
        description="Most current that its charger puts out at the bank's voltage.",
    )
    charger_efficiency_frac: float | None = Field(
        default=None, ge=0.3, le=1.0, description="Power out of the charger over power into it."
    )
    start_frac: Fraction | None = Field(
        default=None, description="It is started before the charge falls below this."
    )
    stop_frac: Fraction | None = Field(
        default=None, description="It is stopped when the charge reaches this."
    )
    hours: Windows | None = Field(
        default=None, description='Local hours in which it may run, as in ["8-10", "16-19"].'
    )
    minimum_run_hours: float | None = Field(
        default=None, ge=0.0, le=24.0, description="Shortest run once it is started."
    )
    warm_up_minutes: float | None = Field(
        default=None, ge=0.0, le=60.0, description="Time it runs before the charger is switched in."
    )
    sun_takes_over: bool | None = Field(
        default=None, description="Whether it rests while the sun alone charges about as well."
    )
    fuel: Literal["petrol", "gasoline", "propane"] | None = Field(
        default=None, description="What it burns; petrol and gasoline are the same."
    )
    idle_l_per_h: float | None = Field(
        default=None, ge=0.0, le=20.0, description="Litres an hour without load."
    )
    load_l_per_kwh: float | None = Field(
        default=None, gt=0.0, le=5.0, description="Litres more for each kilowatt-hour it makes."
    )
    height_loss_frac_per_km: float | None = Field(
        default=None, ge=0.0, le=0.3, description="Share of its watts lost with each 1,000 m."
    )
    heat_loss_frac_per_c: float | None = Field(
        default=None,
        ge=0.0,
        le=0.05,
        description="Share of its watts lost with each degree of air above 40 Celsius.",
    )
    service_hours: float | None = Field(
        default=None, gt=0.0, le=2_000.0, description="Running hours between changes of oil."
    )


class WrittenDrive(Written):
    """Charging from the engine while driving."""

    amps: float = Field(gt=0.0, le=1_000.0, description="Current that reaches the bank.")
    hours: Windows | None = Field(default=None, description='Local hours of a drive: ["10-12"].')
    every_days: EveryDays | None = Field(
        default=None, description="A drive every so many days; 0 for none."
    )
    first: int | None = Field(
        default=None,
        ge=1,
        le=365,
        description="Day of the stay of the first drive, 1 on arrival; left out: every_days.",
    )
    dates: Dates | None = Field(
        default=None, description='In place of every_days: the days, as in ["3 Nov", "9 Nov"].'
    )


class WrittenHookup(Written):
    """Nights on a pedestal: it carries the loads, and its charger fills the bank."""

    charger_amps: float | None = Field(
        default=None, gt=0.0, le=10_000.0, description="Current its charger puts into the bank."
    )
    charger_efficiency_frac: float | None = Field(
        default=None, ge=0.3, le=1.0, description="Power out of the charger over power into it."
    )
    pedestal_amps: float | None = Field(
        default=None, gt=0.0, le=200.0, description="Breaker of the pedestal: 15, 20, 30 or 50."
    )
    pedestal_volts: float | None = Field(
        default=None, ge=100.0, le=480.0, description="Volts of the pedestal."
    )
    hours: Windows | None = Field(
        default=None, description='Local hours plugged in, as in ["18-8"].'
    )
    every_days: EveryDays | None = Field(
        default=None, description="A hookup night every so many days; 0 for none."
    )
    first: int | None = Field(
        default=None,
        ge=1,
        le=365,
        description="Day of the stay of the first such night, 1 on arrival; left out: every_days.",
    )
    dates: Dates | None = Field(
        default=None, description='In place of every_days: the evenings, as in ["3 Nov"].'
    )
