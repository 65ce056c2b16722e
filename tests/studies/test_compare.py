"""Comparisons: paired, priced, and told."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from flatodds import Scenario, ScenarioError, UsageError, parse_scenario
from flatodds.outcomes.lived import ever_flat
from flatodds.scenario.defaults_arrays import KG_PER_M2
from flatodds.scenario.variants import Variant, variants_in
from flatodds.studies.compare import Comparison, compare, compare_scenarios

pytestmark = pytest.mark.usefixtures("estimate_taken_for_exact")

TEXT = """
title = "Short days"
bank.chemistry = "lithium"
bank.volts = 12
bank.amp_hours = 200
array.watts = 800
household.pattern = "light"

[[stay]]
place = "36.10, -79.95"
first_day = "10 Dec"
nights = 14

[[variant]]
name = "more panels"
array.watts = 2000

[[variant]]
name = "a lamp less"
household.caution_frac = 0.31

[prices]
currency = "EUR"
panel_cost_per_w = 0.5
"""


@pytest.fixture(scope="module")
def base() -> Scenario:
    return parse_scenario(TEXT, "x.toml")


@pytest.fixture(scope="module")
def found(base: Scenario) -> Comparison:
    return compare(base, variants_in(base), members=128, seed=2)


def test_differences_are_paired(found: Comparison) -> None:
    first, more, _ = found.summary()["variants"]
    assert first["difference"] is None
    flat = [np.einsum("cm,c->m", ever_flat(x), [c.weight for c in x.cases]) for x in found.lived]
    assert more["difference"]["estimate"] == pytest.approx(float((flat[1] - flat[0]).mean()))
    assert more["difference"]["high"] < 0.0
    wide = sum(row["odds_flat"]["high"] - row["odds_flat"]["low"] for row in (first, more))
    assert more["difference"]["high"] - more["difference"]["low"] < wide
    assert more["did_without_difference_kwh"]["high"] < 0.0


def test_prices_are_the_users_own(found: Comparison) -> None:
    _, more, less = found.summary()["variants"]
    assert more["extra_cost"] == 600.0
    assert more["extra_mass_kg"] == pytest.approx(more["extra_area_m2"] * KG_PER_M2)
    assert (less["extra_cost"], less["extra_mass_kg"]) == (0.0, 0.0)
    assert found.summary()["currency"] == "EUR"


def test_summary_and_dataset_hold_the_same(found: Comparison, tmp_path: Path) -> None:
    summary = json.loads(json.dumps(found.summary(), allow_nan=False))
    data = found.dataset
    flat = data["flat"].any("stay").mean("member").weighted(data["case_weight"]).mean("case")
    told = [row["odds_flat"]["estimate"] for row in summary["variants"]]
    assert flat.to_numpy() == pytest.approx(told)
    assert data["energy_not_served_wh"].attrs["units"] == "W h"
    assert summary["theta_points"] == 25
    del tmp_path


def test_whole_scenarios_may_be_compared(base: Scenario) -> None:
    longer = base.with_changes({"stay.nights": 24, "title": "Short days"})
    result = compare_scenarios([base, longer], members=64)
    rows = result.summary()["variants"]
    assert [row["name"] for row in rows] == ["Short days", "Short days (2)"]
    assert rows[1]["difference"]["estimate"] >= 0.0  # the first fourteen nights are the same
    assert bool((ever_flat(result.lived[1]) | ~ever_flat(result.lived[0])).all())


def test_what_cannot_be_compared(base: Scenario) -> None:
    with pytest.raises(UsageError, match="nothing to compare"):
        compare(base, [])
    with pytest.raises(ScenarioError, match="variant 'x'"):
        compare(base, [Variant("x", {"bank.amp_hours": -1})])
    with pytest.raises(UsageError, match="members"):
        compare(base, variants_in(base), members=0)
    sure = Variant("sure", {"uncertain.use_frac": 0.0, "uncertain.sun_frac": 0.0})
    with pytest.raises(UsageError, match="uncertain"):
        compare(base, [sure], members=64).summary()
