from __future__ import annotations

import dataclasses
from collections.abc import Callable
from types import SimpleNamespace

from flatodds.engine.results import Results
from flatodds.outcomes import Outcomes

Fabricate = Callable[..., Results]


def cautions(results: Results) -> list[str]:
    found: list[str] = Outcomes.from_results(results).summary()["cautions"]
    return found


def test_medical_use_is_warned_of_first(fabricate: Fabricate) -> None:
    uses = (SimpleNamespace(name="breathing machine", medical=True),)
    first = cautions(fabricate(scenario={"appliances": uses}))[0]
    assert first.startswith("Safety: ")
    assert "breathing machine" in first
    assert "second source" in first


def test_furnace_is_warned_of_only_where_there_is_one(fabricate: Fabricate) -> None:
    assert any("monoxide" in text for text in cautions(fabricate()))
    home = SimpleNamespace(reserve_frac=0.15, heat="none", comfort_high_c=29.0)
    assert not any("furnace" in text for text in cautions(fabricate(scenario={"household": home})))


def test_cautions_of_the_scenario_are_passed_on(fabricate: Fabricate) -> None:
    assert "Panels look large. Check them." in cautions(fabricate())


def test_weather_cautions_are_passed_on_once(fabricate: Fabricate) -> None:
    found = cautions(fabricate(stays=3))
    assert found.count("The dull season may be further off.") == 1


def test_a_short_record_is_warned_of(fabricate: Fabricate) -> None:
    assert any("9 real years" in text for text in cautions(fabricate(record_years=9)))
    assert not any("real years" in text for text in cautions(fabricate(record_years=10)))


def test_energy_that_does_not_add_up_comes_before_all(fabricate: Fabricate) -> None:
    assert not any(text.startswith("Warning: ") for text in cautions(fabricate()))
    bad = dataclasses.replace(fabricate(), balance_error=2e-5)
    assert cautions(bad)[0].startswith("Warning: energy does not add up")
