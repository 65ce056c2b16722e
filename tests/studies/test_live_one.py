from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
import xarray as xr

from flatodds.errors import UsageError
from flatodds.outcomes import Outcomes
from flatodds.report.page import page_files, shown_stays
from flatodds.scenario import Scenario, load_scenario
from flatodds.studies.live_one import bad_week, live_one, simulate_then_look, telling_member
from flatodds.studies.simulate import simulate

LAKESHORE = Path(__file__).parents[2] / "scenarios" / "lakeshore-autumn.toml"
Looked = tuple[Outcomes, dict[int, xr.Dataset]]


@pytest.fixture(scope="module")
def scenario() -> Scenario:
    return load_scenario(LAKESHORE)


@pytest.fixture(scope="module")
def looked(scenario: Scenario) -> Looked:
    outcomes, look = simulate_then_look(scenario, members=100, seed=3)
    return outcomes, look([0])


@pytest.fixture(scope="module")
def lived(scenario: Scenario, looked: Looked) -> xr.Dataset:
    return live_one(scenario, telling_member(looked[0], 0), 3)


def test_one_member_lives_what_the_run_lived(looked: Looked, lived: xr.Dataset) -> None:
    found, member = looked[0].dataset, int(lived.attrs["member"])
    assert lived.sizes["time"] == 45 * 24
    by_day = {key: lived[key].to_numpy().reshape(45, 24) for key in ("array_w", "demand_w")}
    assert by_day["array_w"].sum(axis=1) == pytest.approx(
        found["daily_array_wh"].to_numpy()[member], rel=1e-5, abs=1e-2
    )
    assert by_day["demand_w"].sum(axis=1) == pytest.approx(
        found["daily_demand_wh"].to_numpy()[member], rel=1e-5
    )
    lowest = lived["charge_frac"].to_numpy().reshape(45, 24).min(axis=1)
    daily = found["daily_min_charge_frac"].to_numpy()[member]
    assert lowest == pytest.approx(daily, abs=1e-6)
    hours = found["hours_flat"].to_numpy()[0, member].sum()
    assert hours > 0.0
    assert lived["flat"].to_numpy().sum() == hours


def test_looking_changes_no_answer(scenario: Scenario, looked: Looked, lived: xr.Dataset) -> None:
    outcomes, weeks = looked
    assert simulate(scenario, members=100, seed=3).summary() == outcomes.summary()
    assert weeks[0].identical(bad_week(lived, 0))


def test_units_and_the_clock_of_the_household(lived: xr.Dataset) -> None:
    units = {key: lived[key].attrs.get("units") for key in ("ghi", "temp_air", "array_w")}
    assert units == {"ghi": "W m-2", "temp_air": "degC", "array_w": "W"}
    assert lived["charge_a"].attrs["units"] == "A"
    assert lived["bank_temp_c"].attrs["units"] == "degC"
    times = lived["time"].to_numpy()
    # 20 September is in daylight saving time at the lakeshore: its clock is one hour ahead.
    assert str(times[0])[:16] == "2025-09-20T01:00"
    steps = np.unique(np.diff(times) / np.timedelta64(1, "h"))
    assert steps.tolist() == [0.0, 1.0]  # one hour comes twice in November
    assert lived["day"].to_numpy()[[0, 23, 24, -1]].tolist() == [1, 1, 2, 45]
    noon = lived["array_offered_w"].groupby(lived["time"].dt.hour).mean()
    assert 12 <= int(noon.idxmax()) <= 14


def test_the_member_shown_is_the_middle_one_of_those_flat(looked: Looked) -> None:
    found = looked[0].dataset
    hours = found["hours_flat"].to_numpy()[0].sum(axis=1)
    member = telling_member(looked[0], 0)
    flat = np.sort(hours[hours > 0.0])
    assert hours[member] in (flat[(len(flat) - 1) // 2], flat[len(flat) // 2])


def test_without_flat_members_the_emptiest_is_shown() -> None:
    charge = np.array([[[0.4], [0.2], [0.3]]])
    dataset = xr.Dataset(
        {
            "hours_flat": (("case", "member", "period"), np.zeros((1, 3, 1))),
            "min_charge_frac": (("case", "member", "stay"), charge),
            "period_stay": ("period", np.array([0])),
        }
    )
    outcomes: Any = SimpleNamespace(dataset=dataset)
    assert telling_member(outcomes, 0) == 1


def hours_of(flat: list[int], days: int = 20, low: int = 0) -> xr.Dataset:
    at = np.arange(24 * days)
    charge = np.ones(at.size)
    charge[low] = 0.1
    return xr.Dataset(
        {"flat": ("time", np.isin(at, flat)), "charge_frac": ("time", charge)},
        {
            "time": np.datetime64("2025-01-01", "ns") + at * np.timedelta64(1, "h"),
            "stay": ("time", np.zeros(at.size, dtype=int)),
            "day": ("time", at // 24 + 1),
        },
    )


def test_the_worst_week_is_cut_with_the_days_around_it() -> None:
    week = bad_week(hours_of([24 * 10 + 5, 24 * 10 + 6, 24 * 2]), 0)
    assert week.sizes["time"] == 168
    assert int(week["flat"].sum()) == 2
    assert week["day"].to_numpy()[[0, -1]].tolist() == [8, 14]  # day 11 stands in the middle
    assert week.attrs["stay_flat_hours"] == 3
    low = bad_week(hours_of([], low=24 * 10 + 5), 0)
    assert low["day"].to_numpy()[[0, -1]].tolist() == [8, 14]
    assert bad_week(hours_of([3], days=2), 0).sizes["time"] == 48


@pytest.mark.parametrize(("member", "seed"), [(-1, 1), (1_000_000, 1), (0, -1), (0, 2**64)])
def test_numbers_out_of_range_are_refused(scenario: Scenario, member: int, seed: int) -> None:
    with pytest.raises(UsageError, match="outside"):
        live_one(scenario, member, seed)


def test_page_and_hours_of_a_real_run(scenario: Scenario, looked: Looked) -> None:
    outcomes, weeks = looked
    files = page_files(outcomes, scenario=scenario, weeks=weeks, scenario_file="lake.toml")
    assert set(files) == {"report.html", "tables/bad_week_hours.csv"}
    page, table = str(files["report.html"]), str(files["tables/bad_week_hours.csv"])
    assert shown_stays(outcomes) == [0]
    assert "What trouble looks like" in page
    assert "cut-off 5 %" in page
    lines = table.splitlines()
    assert lines[0].startswith("stay,member,day,time,flat,ghi,")
    assert len(lines) == 169
    flat = sum(int(line.split(",")[4]) for line in lines[1:])
    assert f"missing for {flat} hours of the week shown" in page.replace("\u00a0", " ")
