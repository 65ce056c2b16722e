"""Small facts of summaries, records and schemas that a slip of the pen would change."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from dataclasses import FrozenInstanceError, replace
from typing import Any

import numpy as np
import pytest
from jsonschema import Draft202012Validator

from flatodds.errors import UsageError
from flatodds.outcomes import study_schema
from flatodds.outcomes.amounts import mixture_amount
from flatodds.outcomes.days import dawn_charge
from flatodds.outcomes.frames import worst_rows
from flatodds.outcomes.odds import sample_of, wilson
from flatodds.outcomes.record import facts_from_json, record_of
from flatodds.outcomes.schema import summary_schema
from flatodds.outcomes.schema_explain import explain_schema
from flatodds.outcomes.schema_studies import STUDIES
from flatodds.outcomes.summary import appliances_part, summary_of
from flatodds.outcomes.wear import wear_cautions

Fabricate = Callable[..., Any]


def parts(schema: Any) -> Iterator[dict[str, Any]]:
    """Every table within a schema."""
    if isinstance(schema, dict):
        yield schema
        schema = list(schema.values())
    if isinstance(schema, list):
        for inner in schema:
            yield from parts(inner)


@pytest.mark.parametrize("study", STUDIES)
def test_each_studys_schema_is_closed_and_bounded(study: str) -> None:
    schema = study_schema(study)
    Draft202012Validator.check_schema(schema)
    assert schema["title"] == f"flatodds {study}"
    for part in parts(schema):
        if part.get("type") == "object" and "properties" in part:
            assert part["additionalProperties"] is False
            assert set(part["required"]) == set(part["properties"])
        if "minimum" in part:
            assert part["minimum"] in (0, 1, -1)
        if part.get("maximum") not in (None, 12):
            assert part["maximum"] == 1
    allowed = Draft202012Validator({"$ref": "#/$defs/difference", "$defs": schema["$defs"]})
    whole = {"estimate": -0.5, "low": -1.0, "high": 1.0}
    assert allowed.is_valid(whole)
    assert not allowed.is_valid({**whole, "low": -1.01})
    assert not allowed.is_valid({**whole, "high": 1.01})
    chance = Draft202012Validator({"$ref": "#/$defs/proportion", "$defs": schema["$defs"]})
    assert chance.is_valid({"estimate": 0.5, "low": 0.0, "high": 1.0})
    assert not chance.is_valid({"estimate": -0.01, "low": 0.0, "high": 1.0})


def test_lists_that_may_not_be_empty() -> None:
    """A comparison holds two variants; a sweep has a design; an upgrade is ranked."""

    def least(study: str, key: str) -> Any:
        return study_schema(study)["properties"][key]["minItems"]

    assert least("compare", "variants") == 2
    assert least("sweep", "axes") == least("sweep", "designs") == least("upgrades", "upgrades") == 1
    design = study_schema("sweep")["properties"]["designs"]["items"]["properties"]
    assert design["values"]["minItems"] == design["stays"]["minItems"] == 1


def test_months_and_levels() -> None:
    months = [p for p in parts(study_schema("cooling")) if p.get("maximum") == 12]
    assert months
    assert all(month["minimum"] == 1 for month in months)
    for study in STUDIES:
        for part in parts(study_schema(study)):
            assert part.get("exclusiveMinimum", 0) == 0
            assert part.get("exclusiveMaximum", 1) == 1


def test_no_such_study() -> None:
    with pytest.raises(UsageError, match=r"no study 'x{40}'"):
        study_schema("x" * 50)


def test_facts_cannot_be_changed(fabricate: Fabricate) -> None:
    facts = record_of(fabricate(members=4)).facts
    for part, name in (
        (facts, "title"),
        (facts.stays[0], "name"),
        (facts.bases[0], "kind"),
        (facts.assumed[0], "key"),
    ):
        with pytest.raises(FrozenInstanceError):
            setattr(part, name, "x")
        assert not hasattr(part, "__dict__")


def test_facts_are_written_in_order_and_come_back(fabricate: Fabricate) -> None:
    facts = record_of(fabricate(members=4)).facts
    text = facts.to_json()
    assert text == json.dumps(json.loads(text), sort_keys=True)
    assert facts_from_json(text) == facts
    without = {key: value for key, value in json.loads(text).items() if key != "comfort_high_c"}
    assert facts_from_json(json.dumps(without)).comfort_high_c == 29.0


def test_appliances_by_hand(fabricate: Fabricate) -> None:
    """Members that wanted nothing do not count in the share; late and without are kWh."""
    made = fabricate(members=4)
    shape = (4, 1, 2)
    wanted, served, late, gone = (np.zeros(shape) for _ in range(4))
    wanted[:, 0, 0] = [0.0, 0.5, 400.0, 800.0]
    served[:, 0, 0] = [0.0, 0.25, 200.0, 400.0]
    late[:, 0, 0] = [-1.0, 0.0, 300.0, 700.0]
    gone[:, 0, 0] = [-1.0, 0.0, 100.0, 300.0]
    record = record_of(
        replace(
            made,
            plugs={
                "appliance_wanted_wh": wanted,
                "appliance_served_wh": served,
                "appliance_shifted_wh": late,
                "appliance_gone_without_wh": gone,
            },
        )
    )
    fridge, lamp = appliances_part(record, 0)
    assert fridge["served_frac"]["mean"] == pytest.approx(0.5)
    assert fridge["wanted_kwh"]["mean"] == pytest.approx(0.300125)
    assert fridge["served_later_kwh"]["mean"] == pytest.approx(0.25)
    assert fridge["gone_without_kwh"]["mean"] == pytest.approx(0.1)
    assert lamp["served_frac"] is None
    assert lamp["served_later_kwh"]["mean"] == 0.0


def test_sources_of_a_stay_are_kwh_and_hours(fabricate: Fabricate) -> None:
    """What only some rigs have: energies in kWh, times and starts as they were counted."""
    results = fabricate(members=4)
    keys = ("generator_wh", "drive_wh", "hookup_wh", "heating_pad_wh")
    counted = ("generator_hours", "generator_starts", "fuel_l", "hot_hours")
    more = {key: np.full((1, 4, 2), 1250.0) for key in keys}
    more |= {key: np.full((1, 4, 2), 3.0) for key in counted}
    stay = summary_of(record_of(replace(results, sums={**results.sums, **more})))["stays"][0]
    for key in keys:
        assert stay[key.replace("_wh", "_kwh")]["p50"] == pytest.approx(2.5)
    for key in ("generator_hours", "generator_starts", "fuel_litres", "hot_hours"):
        assert stay[key]["p50"] == 6.0
    assert stay["cold_hours"] == pytest.approx(
        mixture_amount(results.sums["cold_hours"].sum(axis=2), np.ones(1))
    )


def test_records_cannot_be_changed(fabricate: Fabricate) -> None:
    record = record_of(fabricate(members=4))
    for part, name in ((record, "seed"), (sample_of(4, None), "units")):
        with pytest.raises(FrozenInstanceError):
            setattr(part, name, 5)
        assert not hasattr(part, "__dict__")


def test_the_ends_of_an_interval_at_none_and_all() -> None:
    assert wilson(1.0, 30, 0.9)["high"] == 1.0
    assert wilson(0.0, 30, 0.9)["low"] == 0.0
    for confidence in (0.0, 1.0):
        with pytest.raises(ValueError, match="confidence"):
            wilson(0.5, 30, confidence)


def test_bounds_of_a_summarys_numbers(fabricate: Fabricate) -> None:
    """Chances may be 0 and 1; a first flat day is at least the first; a level is within."""
    summary = summary_of(record_of(fabricate(members=4)))
    allowed = Draft202012Validator(summary_schema())
    assert allowed.is_valid(summary)
    for confidence in (0.0, 1.0):
        assert not allowed.is_valid({**summary, "confidence": confidence})
    stay = summary["stays"][0]
    for day, fits in ((1.0, True), (0.99, False), (None, True)):
        other = {**stay, "first_flat_day": {"p10": day, "p50": None, "p90": None}}
        assert allowed.is_valid({**summary, "stays": [other]}) is fits


def test_bounds_of_what_only_an_explained_run_has() -> None:
    costs, meetings = (Draft202012Validator(part) for part in explain_schema().values())
    change = {"estimate": -1.0, "low": -1.0, "high": 1.0}
    cost = {"name": "fridge", "kwh_day": 0.5, "bank_frac": 0.1, "odds_change": change}
    assert costs.is_valid([cost])
    for bad in ({**change, "high": 1.01}, {**change, "low": -1.01}, {**change, "more": 0}):
        assert not costs.is_valid([{**cost, "odds_change": bad}])
    meeting = {"names": ["kettle"], "watts": 0, "starting": False, "days_frac": 0.0}
    assert meetings.is_valid([meeting])
    assert meetings.is_valid([{**meeting, "names": ["a", "b"], "days_frac": 1.0}])
    wrong: tuple[dict[str, Any], ...] = ({"names": []}, {"names": ["a", "b", "c"]}, {"more": 1})
    for other in (*wrong, {"watts": -1}, {"days_frac": 1.01}, {"days_frac": -0.01}):
        assert not meetings.is_valid([{**meeting, **other}])


@pytest.mark.parametrize(
    ("study", "keys", "least"),
    [
        ("arrivals", ("places", "weeks"), 52),
        ("arrivals", ("places", "seasons"), 4),
        ("compare", ("weather",), 1),
    ],
)
def test_how_many_a_study_lists_at_least(study: str, keys: tuple[str, ...], least: int) -> None:
    part: Any = {"properties": study_schema(study)["properties"]}
    for key in keys:
        part = (part if "properties" in part else part["items"])["properties"][key]
    assert part["minItems"] == least


def test_worst_days_are_kwh_of_their_member(fabricate: Fabricate) -> None:
    record = record_of(fabricate(members=4))
    rows = worst_rows(record)
    member = rows[0]["member"]
    for key in ("array", "demand"):
        told = [row[f"{key}_kwh"] for row in rows]
        kept = record.daily[f"{key}_wh"][member].astype(np.float64)
        np.testing.assert_array_equal(told, kept / 1000.0)


def test_dawn_charge_is_of_all_mornings_as_estimated(fabricate: Fabricate) -> None:
    record = record_of(fabricate(members=5, nights=4))
    dawns = record.daily["dawn_charge_frac"].astype(np.float64).ravel()
    plain = np.quantile(dawns, [0.1, 0.5, 0.9], method="inverted_cdf")
    assert list(dawn_charge(record, 0).values()) == pytest.approx(list(plain), abs=1e-12)


def test_longest_waits_of_lead_are_of_the_worst_stay(fabricate: Fabricate) -> None:
    """Means over members, weighted over cases, the largest of the stays."""
    made = fabricate(members=4, stays=2)
    record = record_of(made)
    waits = np.zeros((1, 4, 2))
    waits[0, :, 0] = [10.0, 10.0, 10.0, 18.0]
    waits[0, :, 1] = [100.0, 0.0, 40.0, 20.0]
    facts = replace(record.facts, chemistry="agm")
    lead = replace(
        record, facts=facts, extremes={**record.extremes, "longest_days_since_full": waits}
    )
    (told,) = wear_cautions(lead)
    assert "goes 40 days" in told
