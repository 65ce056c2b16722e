"""The words for panels and their charge controllers."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from flatodds.scenario.values import DayText, Fraction, PanelText, Text, WindowText
from flatodds.scenario.written_base import Written

MonthsOfTilt = Annotated[
    list[Annotated[float, Field(ge=0.0, le=90.0)]], Field(min_length=12, max_length=12)
]
Horizon = Annotated[
    list[Annotated[float, Field(ge=0.0, le=89.0)]], Field(min_length=4, max_length=360)
]
Leaves = Annotated[list[DayText], Field(min_length=2, max_length=2)]


class WrittenArray(Written):
    """One group of panels that lie alike; write [[array]] several times for several."""

    watts: float | None = Field(
        default=None,
        ge=0.0,
        le=100_000.0,
        description="Sum of the panels' labels, 0 for none; left out: by the panels below.",
    )
    name: Text | None = Field(default=None, description="What to call this group.")
    controller: Text | None = Field(
        default=None, description="Name of the controller it feeds, where there are several."
    )
    tilt_deg: float | None = Field(
        default=None, ge=0.0, le=90.0, description="0 lying flat, 90 upright."
    )
    tilt_by_month: MonthsOfTilt | None = Field(
        default=None, description="In place of tilt_deg: twelve tilts, January first."
    )
    azimuth_deg: float | None = Field(
        default=None, ge=0.0, le=360.0, description="Where they face: 0 north, 90 east, 180 south."
    )
    aimed_times_a_day: int | None = Field(
        default=None,
        ge=1,
        le=12,
        description="On the ground, turned by hand towards the sun so many times a day.",
    )
    aim_error_deg: float | None = Field(
        default=None, ge=0.0, le=60.0, description="By how much such aiming misses the sun."
    )
    out_hours: list[WindowText] | None = Field(
        default=None,
        min_length=1,
        max_length=4,
        description='Local hours in which they stand out, ["8-18"]; else stowed.',
    )
    stowed_days_frac: Fraction | None = Field(
        default=None, description="Share of days on which they stay stowed, as when away."
    )
    stow_wind_m_s: float | None = Field(
        default=None, gt=0.0, le=100.0, description="Wind above which they are laid down, m/s."
    )
    dust_per_day_frac: float | None = Field(
        default=None, ge=0.0, le=0.1, description="Light lost to dust for each day without rain."
    )
    wipe_every_days: float | None = Field(
        default=None, ge=1.0, le=366.0, description="Days between wipings; left out: never."
    )
    snow_cover: bool | None = Field(
        default=None, description="Whether snow that falls stays on them."
    )
    brush: Literal["never", "noon", "morning"] | None = Field(
        default=None, description="When snow is brushed off, on the day it falls."
    )
    under_trees: bool | None = Field(
        default=None, description="Whether the stay's trees shade them."
    )
    temp_coefficient_frac_per_c: float | None = Field(
        default=None,
        ge=-0.01,
        le=0.0,
        description="Change of power for each degree of cell warmth.",
    )
    loss_frac: float | None = Field(
        default=None,
        ge=0.0,
        le=0.9,
        description="Wiring, mismatch, ageing together; dust comes on top.",
    )
    shade_frac: float | None = Field(
        default=None,
        ge=0.0,
        le=1.0,
        description="Sun kept off by things on the own roof when it stands 45 degrees high.",
    )
    incidence_loss: bool | None = Field(
        default=None, description="Whether slanting sun is partly reflected by the glass."
    )
    mount: Literal["open", "roof"] | None = Field(
        default=None, description="Air behind the panels (open), or close to a roof."
    )
    noct_c: float | None = Field(
        default=None,
        ge=35.0,
        le=70.0,
        description="Data sheet: nominal operating cell temperature (NOCT), Celsius.",
    )
    panel: PanelText | None = Field(
        default=None, description="Kind of panel (flatodds new --list panels)."
    )
    count: int | None = Field(default=None, ge=1, le=1000, description="How many panels.")
    in_series: int | None = Field(
        default=None, ge=1, le=100, description="Panels in each string, plus to minus."
    )
    in_parallel: int | None = Field(
        default=None, ge=1, le=1000, description="Strings side by side."
    )
    voc_v: float | None = Field(
        default=None, gt=0.0, le=1_000.0, description="One panel's label: open-circuit volts."
    )
    isc_a: float | None = Field(
        default=None, gt=0.0, le=100.0, description="One panel's label: short-circuit amperes."
    )
    vmp_v: float | None = Field(
        default=None, gt=0.0, le=1_000.0, description="One panel's label: volts at most power."
    )
    imp_a: float | None = Field(
        default=None, gt=0.0, le=100.0, description="One panel's label: amperes at most power."
    )
    voc_frac_per_c: float | None = Field(
        default=None,
        ge=-0.01,
        le=0.0,
        description="One panel's data sheet: change of open-circuit volts for each degree.",
    )
    panel_m2: float | None = Field(
        default=None, gt=0.0, le=10.0, description="Area of one panel, square metres."
    )
    panel_kg: float | None = Field(
        default=None, gt=0.0, le=100.0, description="Mass of one panel, kilograms."
    )


class WrittenController(Written):
    """A charge controller between panels and bank; [[controller]] for up to four."""

    kind: Literal["mppt", "pwm"] | None = Field(default=None, description="Kind of controller.")
    name: Text | None = Field(
        default=None, description="What arrays call it by, where there are several."
    )
    amps: float | None = Field(
        default=None,
        gt=0.0,
        le=10_000.0,
        description="Most current into the bank; left out: no limit.",
    )
    watts: float | None = Field(
        default=None,
        gt=0.0,
        le=1_000_000.0,
        description="Most power into the bank; left out: no limit.",
    )
    efficiency_frac: float | None = Field(
        default=None, ge=0.5, le=1.0, description="Power into the bank over power from the panels."
    )
    max_volts: float | None = Field(
        default=None, gt=0.0, le=1_500.0, description="Most volts its panel side may ever see."
    )
    max_input_amps: float | None = Field(
        default=None, gt=0.0, le=1_000.0, description="Most panel current it is made for."
    )
