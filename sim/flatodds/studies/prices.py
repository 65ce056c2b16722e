"""What a change costs, weighs and takes of the roof.

Money is only ever the user's own figure. Mass and roof are the user's too where they are
written; else those of the bank and the panels, which are usual ones with their source.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from flatodds.scenario import Scenario
    from flatodds.scenario.variants import Variant
    from flatodds.scenario.written_decide import WrittenPrices


# Words whose change buys nothing, those that unit prices cover, and those whose mass is known.
HABITS = ("household", "appliance", "uncertain", "stay", "title", "units")
FREE = ("inverter.hours_on", "bank.arrival_charge_frac")
PRICED = ("bank.amp_hours", "array.watts")
WEIGHED = (*PRICED, "bank.chemistry", "bank.volts", "bank.location")
WEIGHTLESS_BANK = "ideal"  # nobody carries one


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
    """Price a variant: as the user says, else battery and panels by their size.

    Another chemistry has another price, and so has any other part; what they cost is only
    known where the variant states it. Habits cost nothing.
    """
    priced = all(_among(PRICED, key, value) for key, value in variant.changes.items())
    weighed = all(_among(WEIGHED, key, value) for key, value in variant.changes.items())
    cost = _cost(base, other, prices) if priced else None
    mass = _mass(base, other, prices) if weighed else None
    area = _area(base, other, prices) if weighed else None
    return Extra(
        cost if variant.cost is None else variant.cost,
        mass if variant.mass_kg is None else variant.mass_kg,
        area if variant.area_m2 is None else variant.area_m2,
    )


def extra_of_whole(base: Scenario, other: Scenario, prices: WrittenPrices) -> Extra:
    """Bank and panels of another scenario against the first's; what they cost is not known."""
    return Extra(None, _mass(base, other, prices), _area(base, other, prices))


def usual_masses(prices: WrittenPrices) -> bool:
    """Whether any mass is a usual figure rather than the user's own."""
    return prices.bank_kg_per_kwh is None or prices.panel_kg_per_w is None


def _among(listed: tuple[str, ...], key: str, value: Any) -> bool:
    """Whether a change of a word buys nothing, or only what is listed."""
    words = ".".join(part for part in key.split(".") if not part.isdigit())
    if words == "bank" and isinstance(value, Mapping):
        return all(_among(listed, f"bank.{name}", part) for name, part in value.items())
    return words.split(".")[0] in HABITS or words in FREE or words in listed


def _cost(base: Scenario, other: Scenario, prices: WrittenPrices) -> float | None:
    bank = _times(max(_kwh(other) - _kwh(base), 0.0), prices.bank_cost_per_kwh)
    panels = _times(max(_watts(other) - _watts(base), 0.0), prices.panel_cost_per_w)
    return _sum(bank if other.bank.chemistry == base.bank.chemistry else None, panels)


def _mass(base: Scenario, other: Scenario, prices: WrittenPrices) -> float | None:
    """Bank and panels, heavier or lighter [kg]."""
    before, after = (sum(a.mass_kg for a in one.arrays) for one in (base, other))
    panels = after - before
    if prices.panel_kg_per_w is not None:
        panels = (_watts(other) - _watts(base)) * prices.panel_kg_per_w
    return _sum(_bank_mass(base, other, prices), panels)


def _bank_mass(base: Scenario, other: Scenario, prices: WrittenPrices) -> float | None:
    """Mass a bank gains [kg]; a written mass grows with the label, and tells of no other kind."""
    before, after = base.bank, other.bank
    if WEIGHTLESS_BANK in (before.chemistry, after.chemistry):
        return None
    same_kind = before.chemistry == after.chemistry
    carried_over = _written_mass(other) is not None and _written_mass(other) == _written_mass(base)
    if same_kind and prices.bank_kg_per_kwh is not None:
        return (_kwh(other) - _kwh(base)) * prices.bank_kg_per_kwh
    if same_kind and carried_over:
        label = after.amp_hours * after.volts / (before.amp_hours * before.volts)
        return before.mass_kg * (label - 1.0)
    return None if carried_over else after.mass_kg - before.mass_kg


def _written_mass(scenario: Scenario) -> float | None:
    mass: float | None = scenario.document["bank"].get("mass_kg")
    return mass


def _area(base: Scenario, other: Scenario, prices: WrittenPrices) -> float | None:
    """Roof taken more [m2]."""
    if prices.panel_m2_per_w is not None:
        return (_watts(other) - _watts(base)) * prices.panel_m2_per_w
    before, after = (sum(a.area_m2 for a in one.arrays if a.on_roof) for one in (base, other))
    return after - before


def _kwh(scenario: Scenario) -> float:
    return scenario.bank.capacity_wh / 1000.0


def _watts(scenario: Scenario) -> float:
    return sum(array.watts for array in scenario.arrays)


def _times(amount: float, unit: float | None) -> float | None:
    """Price of an amount; nothing costs nothing whatever the price."""
    if amount == 0.0:
        return 0.0
    return None if unit is None else amount * unit


def _sum(a: float | None, b: float | None) -> float | None:
    return None if a is None or b is None else a + b
