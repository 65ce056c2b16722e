"""What changes cost, weigh and take of the roof: the user's figures, else usual masses."""

from __future__ import annotations

from typing import Any

import pytest

from flatodds import Scenario, parse_scenario
from flatodds.catalog import chemistries
from flatodds.scenario.variants import Variant
from flatodds.scenario.written_decide import WrittenPrices
from flatodds.studies.prices import Extra, extra_of, extra_of_whole, usual_masses

TEXT = """
title = "Plain"
bank.chemistry = "lithium"
bank.volts = 12
bank.amp_hours = 200
array.watts = 800
household.pattern = "light"

[[stay]]
place = "36.10, -79.95"
first_day = "10 Dec"
nights = 14
"""
NO_PRICES = WrittenPrices()


@pytest.fixture(scope="module")
def base() -> Scenario:
    return parse_scenario(TEXT, "x.toml")


def extra(base: Scenario, changes: dict[str, Any], prices: WrittenPrices = NO_PRICES) -> Extra:
    return extra_of(base, base.with_changes(changes), Variant("x", changes), prices)


def test_the_price_of_another_chemistry_is_not_guessed(base: Scenario) -> None:
    prices = WrittenPrices(bank_cost_per_kwh=300.0, bank_kg_per_kwh=10.0)
    changes = {"bank.chemistry": "agm", "bank.amp_hours": 200}
    assert extra(base, changes, prices).cost is None
    stated = Variant("agm", changes, cost=99.0, mass_kg=5.0)
    found = extra_of(base, base.with_changes(changes), stated, prices)
    assert (found.cost, found.mass_kg) == (99.0, 5.0)
    bigger = base.with_changes({"bank.amp_hours": 300})
    kwh = (bigger.bank.capacity_wh - base.bank.capacity_wh) / 1000.0
    found = extra(base, {"bank.amp_hours": 300}, prices)
    assert found.cost == pytest.approx(300.0 * kwh)
    assert found.mass_kg == pytest.approx(10.0 * kwh)


def test_usual_masses_are_the_catalogues(base: Scenario) -> None:
    """2.4 kWh of label: lithium 9 kg and sealed lead 27 kg a kWh."""
    kinds = chemistries()
    more = extra(base, {"bank.amp_hours": 400})
    assert more.mass_kg == pytest.approx(2.4 * kinds["lithium"].kg_per_kwh)
    assert (more.cost, more.area_m2) == (None, 0.0)
    lead = extra(base, {"bank.chemistry": "agm"})
    differ = kinds["agm"].kg_per_kwh - kinds["lithium"].kg_per_kwh
    assert lead.mass_kg == pytest.approx(2.4 * differ)
    table = extra(base, {"bank": {"chemistry": "agm", "volts": 12, "amp_hours": 200}})
    assert table == lead
    assert extra(base, {"array.watts": 400}).mass_kg == pytest.approx(-base.arrays[0].mass_kg / 2)
    assert usual_masses(NO_PRICES)
    assert not usual_masses(WrittenPrices(bank_kg_per_kwh=9.0, panel_kg_per_w=0.05))


def test_a_written_mass_grows_with_the_bank_and_tells_of_no_other_kind(base: Scenario) -> None:
    own = base.with_changes({"bank.mass_kg": 30.0})
    assert extra(own, {"bank.amp_hours": 300}).mass_kg == pytest.approx(15.0)
    assert extra(own, {"bank.chemistry": "agm"}).mass_kg is None
    stated = {"bank.chemistry": "agm", "bank.mass_kg": 70.0}
    assert extra_of_whole(own, own.with_changes(stated), NO_PRICES).mass_kg == pytest.approx(40.0)


def test_what_nobody_knows_the_mass_of(base: Scenario) -> None:
    assert extra(base, {"bank.chemistry": "ideal"}).mass_kg is None
    assert extra(base, {"generator.watts": 1000}).mass_kg is None
    assert extra(base, {"array.tilt_deg": 40}).mass_kg is None  # its frame
    assert extra(base, {"inverter.hours_on": 12}) == Extra(0.0, 0.0, 0.0)


def test_whole_scenarios_are_weighed(base: Scenario) -> None:
    other = base.with_changes({"array.watts": 1600, "array.aimed_times_a_day": 1})
    found = extra_of_whole(base, other, NO_PRICES)
    assert found.mass_kg == pytest.approx(base.arrays[0].mass_kg)
    assert found.area_m2 == pytest.approx(-base.arrays[0].area_m2)  # it stands on the ground now
    assert found.cost is None
