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
from flatodds.outcomes.record import facts_from_json, record_of
from flatodds.outcomes.schema_studies import STUDIES
from flatodds.outcomes.summary import appliances_part

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
