"""Days left: what it is asked, and what it refuses. Its numbers are in tests/validation."""

from __future__ import annotations

import json

import numpy as np
import pytest

from flatodds import Scenario, ScenarioError, UsageError, parse_scenario
from flatodds.studies.days_left import days_left, without_appliance

TEXT = """
bank.chemistry = "lithium"
bank.volts = 12
bank.amp_hours = 100
array.watts = 200
household.pattern = "light"

[[appliance]]
name = "lamp"
watts = 20
side = "dc"
minutes = 120
times_a_day = 1
window = ["17-22"]

[[stay]]
name = "hills"
place = "36.10, -79.95"
first_day = "1 Nov"
nights = 20

[[stay]]
name = "coast"
place = "34.70, -76.70"
first_day = "21 Nov"
nights = 10
"""


@pytest.fixture(scope="module")
def base() -> Scenario:
    return parse_scenario(TEXT, "x.toml")


def test_the_stay_is_that_of_the_day(base: Scenario) -> None:
    places = {}
    for day in ("5 Nov", "24 Nov", "1 Mar"):
        found = days_left(base, 0.5, day, nights=2, members=64)
        places[day] = found.scenario.stays[0].name
        assert len(found.scenario.stays) == 1
        assert found.summary()["nights"] == 2
    assert places == {"5 Nov": "hills", "24 Nov": "coast", "1 Mar": "hills"}


def test_summary_and_dataset_hold_the_same(base: Scenario) -> None:
    found = days_left(base, 0.4, nights=5, without=["lamp"], members=64)
    summary = json.loads(json.dumps(found.summary(), allow_nan=False))
    data = found.dataset
    flat = data["flat_by"].mean("member").weighted(data["case_weight"]).mean("case").to_numpy()
    told = [[night["estimate"] for night in summary["through"]]]
    told.append([night["estimate"] for night in summary["without"][0]["through"]])
    assert 1.0 - flat == pytest.approx(np.array(told))
    assert (np.diff(flat) >= 0.0).all()
    assert summary["without"][0]["difference"]["estimate"] <= 0.0
    dawn = np.array([summary["dawn_charge_frac"][key] for key in ("p10", "p50", "p90")])
    assert (np.diff(dawn, axis=0) >= 0.0).all()


def test_an_appliance_is_left_out(base: Scenario) -> None:
    names = [use.name for use in base.appliances]
    assert "lamp" in names
    assert "laptop" in names
    assert [use.name for use in without_appliance(base, "LAMP").appliances] == [
        name for name in names if name != "lamp"
    ]
    rest = without_appliance(without_appliance(base, "laptop"), "lamp")
    assert [use.name for use in rest.appliances] == [
        name for name in names if name not in ("lamp", "laptop")
    ]


def test_refusals(base: Scenario) -> None:
    with pytest.raises(UsageError, match=r"6200 % is outside 0 to 100 %") as caught:
        days_left(base, 62.0, nights=0)
    assert len(caught.value.problems) == 2
    with pytest.raises(UsageError) as caught:
        days_left(base, 2.0, "31 Feb", lately="rainy", without=["toaster", "anvil"], members=0)
    wheres = [problem.where for problem in caught.value.problems]
    assert wheres == ["charge", "from", "lately", "without", "without", "members"]
    with pytest.raises(UsageError, match=r"There are: .*laptop"):
        days_left(base, 0.5, without=["toaster"])
    with pytest.raises(UsageError, match="from"):
        days_left(base, 0.5, "12-01")
    with pytest.raises(UsageError, match="dull, mixed, clear"):
        days_left(base, 0.5, lately="rainy", members=64)
    with pytest.raises(UsageError, match="kWh"):
        days_left(base, 0.5, lately=[30.0], members=64)
    with pytest.raises((ScenarioError, UsageError)):
        days_left(base, 0.5, without=["furnace_blower"], members=64)
