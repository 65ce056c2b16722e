"""The words of a scenario's battery bank."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from flatodds.scenario.values import Fraction
from flatodds.scenario.written_base import Written


class WrittenBank(Written):
    """The whole battery bank, as wired: volts and amp_hours, or its batteries (unit_...)."""

    chemistry: Literal["lithium", "agm", "flooded", "gel", "sodium", "ideal"] = Field(
        description="Kind of battery. 'ideal' has no losses and no limits, for checks only."
    )
    volts: Literal[12, 24, 48] | None = Field(
        default=None, description="Nominal voltage of the whole bank."
    )
    amp_hours: float | None = Field(
        default=None,
        ge=0.01,
        le=20_000.0,
        description="Capacity of the whole bank at those volts, new, in 20 hours.",
    )
    unit_volts: float | None = Field(
        default=None, ge=1.0, le=60.0, description="In place of volts: of one battery or cell."
    )
    unit_amp_hours: float | None = Field(
        default=None,
        ge=0.01,
        le=20_000.0,
        description="In place of amp_hours: of one battery or cell, new, in 20 hours.",
    )
    units_series: int | None = Field(
        default=None, ge=1, le=24, description="Batteries in a row: their volts add up."
    )
    units_parallel: int | None = Field(
        default=None, ge=1, le=200, description="Rows side by side: their ampere-hours add up."
    )
    arrival_charge_frac: Fraction | None = Field(
        default=None, description="Charge when the first stay begins, as a share of the bank."
    )
    charge_c_rate: float | None = Field(
        default=None, gt=0.0, le=1000.0, description="Most charge current, as a share of amp_hours."
    )
    discharge_c_rate: float | None = Field(
        default=None,
        gt=0.0,
        le=1000.0,
        description="Most discharge current, as a share of amp_hours.",
    )
    charge_efficiency_frac: float | None = Field(
        default=None, ge=0.3, le=1.0, description="Ampere-hours that stay over ampere-hours put in."
    )
    resistance_ohm: float | None = Field(
        default=None, ge=0.0, le=1.0, description="Inner resistance of the whole bank."
    )
    cutoff_frac: float | None = Field(
        default=None, ge=0.0, le=0.9, description="Charge at which the bank disconnects the loads."
    )
    reconnect_frac: float | None = Field(
        default=None, ge=0.0, le=0.95, description="Charge at which the loads come back."
    )
    self_discharge_frac_month: float | None = Field(
        default=None, ge=0.0, le=0.5, description="Charge lost by standing for 30 days."
    )
    acceptance_hours: float | None = Field(
        default=None,
        gt=0.05,
        le=24.0,
        description="Lead only: charge current is at most missing ampere-hours over this.",
    )
    taper_from_frac: float | None = Field(
        default=None, ge=0.5, le=1.0, description="Charge from which the charge current falls."
    )
    charge_cold_limit_c: float | None = Field(
        default=None,
        ge=-40.0,
        le=10.0,
        description="Bank temperature at or below which none charges.",
    )
    charge_cold_release_c: float | None = Field(
        default=None,
        ge=-40.0,
        le=20.0,
        description="Bank temperature at which charging, stopped by cold, begins again.",
    )
    charge_cold_full_c: float | None = Field(
        default=None,
        ge=-40.0,
        le=30.0,
        description="Bank temperature from which it takes its whole charge current.",
    )
    charge_cold_start_frac: float | None = Field(
        default=None,
        gt=0.0,
        le=1.0,
        description="Share of the charge current just above charge_cold_limit_c.",
    )
    rate_exponent: float | None = Field(
        default=None,
        ge=1.0,
        le=1.4,
        description="Peukert's exponent: how much less fast discharge gives; 1: nothing.",
    )
    available_well_frac: float | None = Field(
        default=None,
        gt=0.01,
        le=1.0,
        description="In place of rate_exponent: share of the charge that is at once available.",
    )
    well_rate_per_h: float | None = Field(
        default=None,
        gt=0.0,
        le=20.0,
        description="With it: rate at which the rest follows (k' of the kinetic battery model).",
    )
    age_years: float | None = Field(
        default=None, ge=0.0, le=40.0, description="Age; lowers health_frac unless that is written."
    )
    health_frac: float | None = Field(
        default=None, ge=0.2, le=1.1, description="Capacity left, as a share of amp_hours."
    )
    heating_pad_w: float | None = Field(
        default=None, ge=0.0, le=5_000.0, description="Heating pad of the batteries; 0: none."
    )
    heating_pad_to_c: float | None = Field(
        default=None, ge=-20.0, le=30.0, description="Temperature the pad keeps, Celsius."
    )
    heating_pad_when: Literal["sun", "always"] | None = Field(
        default=None,
        description="Pad runs only on what would charge the bank (sun), or at any time (always).",
    )
    mass_kg: float | None = Field(
        default=None, gt=0.0, le=20_000.0, description="Weight of the whole bank."
    )
    location: Literal["inside", "bay", "outside"] | None = Field(
        default=None, description="Where the bank sits: it follows the temperature there."
    )
