"""What a change costs, weighs and takes of the roof: the user's own figures, or nothing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from flatodds.scenario import Scenario
    from flatodds.scenario.variants import Variant
    from flatodds.scenario.written_decide import WrittenPrices


# Words whose change buys nothing, and those that unit prices cover.
HABITS = ("household", "appliance", "uncertain", "stay", "title", "units")
FREE = ("inverter.hours_on", "bank.arrival_charge_frac")
PRICED = ("bank.amp_hours", "array.watts")


@dataclass(frozen=True, slots=True)
class Extra:
    """More than the scenario as written; None where no figure is known.

    Attributes
    ----------
    cost : float or None
        Parts to be bought, in the user's money; what is taken off earns nothing.
    mass_kg, area_m2 : float or None
        Mass and roof, less where parts are taken off.
    """

    cost: float | None
    mass_kg: float | None
    area_m2: float | None


def extra_of(base: Scenario, other: Scenario, variant: Variant, prices: WrittenPrices) -> Extra:
    """Price a variant: as the user says, else battery and panels by the user's unit prices.

    Another chemistry has another price, and so has any other part; what they cost and weigh
    is only known where the variant states it. Habits cost nothing.
    """
    known = all(_known(key) for key in variant.changes)
    kwh = (other.bank.capacity_wh - base.bank.capacity_wh) / 1000.0
    watts = sum(a.watts for a in other.arrays) - sum(a.watts for a in base.arrays)
    bank_cost, bank_kg = _times(max(kwh, 0.0), prices.bank_cost_per_kwh), None
    if other.bank.chemistry == base.bank.chemistry:
        bank_kg = _times(kwh, prices.bank_kg_per_kwh)
    else:
        bank_cost = None
    cost = None if not known else _sum(bank_cost, _times(max(watts, 0.0), prices.panel_cost_per_w))
    mass = None if not known else _sum(bank_kg, _times(watts, prices.panel_kg_per_w))
    area = None if not known else _times(watts, prices.panel_m2_per_w)
    return Extra(
        cost if variant.cost is None else variant.cost,
        mass if variant.mass_kg is None else variant.mass_kg,
        area if variant.area_m2 is None else variant.area_m2,
    )


def _known(key: str) -> bool:
    """Whether a change of a word buys nothing, or only what has a unit price."""
    words = ".".join(part for part in key.split(".") if not part.isdigit())
    return words.split(".")[0] in HABITS or words in FREE or words in PRICED


def _times(amount: float, unit: float | None) -> float | None:
    """Price of an amount; nothing costs nothing whatever the price."""
    if amount == 0.0:
        return 0.0
    return None if unit is None else amount * unit


def _sum(a: float | None, b: float | None) -> float | None:
    return None if a is None or b is None else a + b
