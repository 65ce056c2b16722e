"""Words of a scenario that only decisions read: other ways to build the rig, and prices."""

from __future__ import annotations

from pydantic import ConfigDict, Field

from flatodds.scenario.values import Text
from flatodds.scenario.written_base import Written


class WrittenVariant(Written):
    """Another way to build or use the rig: a name, and the values that differ."""

    model_config = ConfigDict(extra="allow")

    name: Text = Field(
        description="What to call it; beside it stand the values that differ, by their dotted keys."
    )
    cost: float | None = Field(
        default=None, ge=0.0, le=1e9, description="What the change costs in all, in your money."
    )
    mass_kg: float | None = Field(
        default=None, ge=-1e5, le=1e5, description="How much heavier it makes the rig."
    )
    area_m2: float | None = Field(
        default=None, ge=-1e4, le=1e4, description="How much more roof it takes."
    )


class WrittenPrices(Written):
    """What things cost and weigh where you live; without yours nothing has a price."""

    currency: Text | None = Field(default=None, description="What money is counted in.")
    bank_cost_per_kwh: float | None = Field(
        default=None, ge=0.0, le=1e6, description="One more kWh of battery of the same kind."
    )
    bank_kg_per_kwh: float | None = Field(
        default=None, ge=0.0, le=1e3, description="Mass of one kWh of battery of the same kind."
    )
    panel_cost_per_w: float | None = Field(
        default=None, ge=0.0, le=1e4, description="One more watt of panel label."
    )
    panel_kg_per_w: float | None = Field(
        default=None, ge=0.0, le=10.0, description="Mass of one watt of panel label."
    )
    panel_m2_per_w: float | None = Field(
        default=None, ge=0.0, le=1.0, description="Roof taken by one watt of panel label."
    )
