"""Variants as listed in a scenario and as typed."""

from __future__ import annotations

import pytest

from flatodds import Scenario, ScenarioError, UsageError, parse_scenario
from flatodds.scenario.variants import Variant, changed, prices_in, typed_variant, variants_in

TEXT = """
bank.chemistry = "agm"
bank.volts = 12
bank.amp_hours = 120
array.watts = 250
household.pattern = "light"

[[stay]]
place = "36.10, -79.95"
first_day = "20 Dec"
nights = 9

[[variant]]
name = "bigger battery"
bank.amp_hours = 240
bank.arrival_charge_frac = 0.9
cost = 300
mass_kg = 60.0

[[variant]]
name = "no kettle"
"array.0.tilt_deg" = 30

[prices]
currency = "EUR"
panel_cost_per_w = 0.5
"""


@pytest.fixture(scope="module")
def base() -> Scenario:
    return parse_scenario(TEXT, "x.toml")


def test_listed_variants(base: Scenario) -> None:
    first, second = variants_in(base)
    assert first.changes == {"bank.amp_hours": 240, "bank.arrival_charge_frac": 0.9}
    assert (first.cost, first.mass_kg, first.area_m2) == (300, 60.0, None)
    assert second.changes == {"array.0.tilt_deg": 30}
    bigger, tilted = changed(base, [first, second])
    assert (bigger.bank.amp_hours, bigger.bank.arrival_charge_frac) == (240.0, 0.9)
    assert tilted.arrays[0].tilt_deg == 30.0
    assert variants_in(bigger) == ()


def test_variants_and_prices_change_no_result(base: Scenario) -> None:
    plain = parse_scenario(TEXT.split("[[variant]]")[0], "x.toml")
    assert plain.sha256 == base.sha256
    assert variants_in(plain) == ()
    assert prices_in(plain).currency is None
    assert prices_in(base).panel_cost_per_w == 0.5
    assert parse_scenario(base.toml, "x.toml").document == base.document


@pytest.mark.parametrize(
    ("text", "changes"),
    [
        ("bank.amp_hours=400", {"bank.amp_hours": 400}),
        ("array.watts = 8e2 , home=van", {"array.watts": 800.0, "home": "van"}),
        ('home="van"', {"home": "van"}),
        ("array.incidence_loss=false", {"array.incidence_loss": False}),
        (
            "appliance.0.window=['7-9', '17-19'],bank.volts=24",
            {"appliance.0.window": ["7-9", "17-19"], "bank.volts": 24},
        ),
    ],
)
def test_typed_variants(text: str, changes: dict[str, object]) -> None:
    assert typed_variant(text, "B") == Variant("B", changes)


@pytest.mark.parametrize("text", ["", "bank.amp_hours", "=3", "a=", "a=1,,b=2", "a=1,a=2"])
def test_what_is_no_change(text: str) -> None:
    with pytest.raises(UsageError, match="--change"):
        typed_variant(text)


def test_all_that_is_wrong_is_told_at_once(base: Scenario) -> None:
    wrong = [
        Variant("one", {"bank.amphours": 3}),
        Variant("two", {"bank.amp_hours": -3, "array.watts": "many"}),
        Variant("three", {}),
        Variant("one", {"home": "van"}),
    ]
    with pytest.raises(ScenarioError) as caught:
        changed(base, wrong)
    told = str(caught.value)
    assert [p.where for p in caught.value.problems] == [
        "variant 'one'",
        "variant 'two'",
        "variant 'two'",
        "variant 'three'",
        "variant 'one'",
    ]
    assert "amp_hours" in told
    assert "changes nothing" in told
    assert "comes twice" in told


@pytest.mark.parametrize(
    "text",
    [
        "[[variant]]\nbank.amp_hours = 3",
        "[[variant]]\nname = 'x'\ncost = -3",
        "[prices]\npanel_cost_per_w = 'cheap'",
        "[prices]\npanels = 3",
    ],
)
def test_faulty_tables_are_refused(text: str) -> None:
    with pytest.raises(ScenarioError, match=r"x\.toml line"):
        parse_scenario(TEXT.split("[[variant]]")[0] + text, "x.toml")
