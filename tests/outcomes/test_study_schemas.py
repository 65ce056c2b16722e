"""What every study prints with --json keeps to its schema, which is itself a valid schema."""

from __future__ import annotations

import json
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from flatodds import (
    Axis,
    Scenario,
    UsageError,
    Variant,
    arrivals,
    compare,
    days_left,
    parse_scenario,
    sweep,
    upgrades,
)
from flatodds.cli.app import main
from flatodds.outcomes import study_schema
from flatodds.outcomes.schema_studies import STUDIES

TEXT = """
title = "Two stays"
bank.chemistry = "agm"
bank.volts = 12
bank.amp_hours = 150
array.watts = 300
household.pattern = "light"
generator.watts = 1000

[[stay]]
place = "36.10, -79.95"
first_day = "10 Dec"
nights = 3

[[stay]]
place = "34.70, -76.70"
first_day = "13 Dec"
nights = 2

[prices]
currency = "EUR"
panel_cost_per_w = 1
"""


@pytest.fixture(scope="module")
def base() -> Scenario:
    return parse_scenario(TEXT, "x.toml")


def check(study: str, summary: dict[str, Any]) -> None:
    plain = json.loads(json.dumps(summary, allow_nan=False))
    Draft202012Validator(study_schema(study)).validate(plain)
    for basis in plain["weather"]:
        assert basis["basis"].startswith("Sun data: ")
        assert basis["typical_error_frac"] > 0.0
        assert len(basis["sha256"]) == 64


def test_compare(base: Scenario) -> None:
    check("compare", compare(base, [Variant("more", {"array.watts": 900})], members=64).summary())


def test_upgrades(base: Scenario) -> None:
    check("upgrades", upgrades(base, members=64).summary())


def test_sweep(base: Scenario) -> None:
    axes = [Axis("array.watts", (300, 600)), Axis("bank.chemistry", ("agm", "lithium"))]
    summary = sweep(base, axes, members=64).summary()
    check("sweep", summary)
    assert all(len(row["stays"]) == 2 for row in summary["designs"])


def test_arrivals(base: Scenario) -> None:
    check("arrivals", arrivals(base, nights=2, members=64).summary())


def test_days_left(base: Scenario) -> None:
    one = base.with_changes({"generator": None})
    check("days-left", days_left(one, 0.5, nights=3, without=["laptop"], members=64).summary())


@pytest.mark.parametrize("study", STUDIES)
def test_schemas_are_schemas(study: str, capsys: pytest.CaptureFixture[str]) -> None:
    Draft202012Validator.check_schema(study_schema(study))
    assert main(["schema", study]) == 0
    assert json.loads(capsys.readouterr().out) == study_schema(study)


def test_no_such_study(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(UsageError, match="There are: compare"):
        study_schema("toast")
    assert main(["schema", "toast"]) == 2
    assert "There are: compare" in " ".join(capsys.readouterr().err.split())
    assert main(["schema", "run"]) == 0
    assert json.loads(capsys.readouterr().out)["title"] == "flatodds summary"
