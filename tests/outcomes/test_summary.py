from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from typing import Any, cast

import numpy as np
import pytest
from jsonschema import Draft202012Validator

from flatodds.engine.results import Case, Results
from flatodds.outcomes import Outcomes, summary_schema, wilson

Fabricate = Callable[..., Results]

TOP = """flatodds scenario seed members confidence theta_points theta_over trip weather stays
energy_balance cautions"""
STAY = """name place first_day nights odds_flat odds_reserve odds_overload odds_generator_needed
odds_flat_range odds_flat_if odds_flat_without_generator interval_basis
hours_flat nights_flat energy_not_served_kwh demand_kwh
array_kwh spilled_kwh spilled_by_cause best_day_kwh peak_array_w full_days_frac generator_hours
fuel_litres hot_hours
cold_hours cold_locked_kwh heating_pad_kwh
generator_kwh generator_starts drive_kwh hookup_kwh cooling worst_week
lowest_charge_frac first_flat_day wear appliances months"""
MONTH = "month odds_flat hours_flat generator_hours array_kwh demand_kwh spilled_kwh"
TOP_KEYS, STAY_KEYS, MONTH_KEYS = TOP.split(), STAY.split(), MONTH.split()


def hours(cases: int, members: int, periods: int, flat: dict[tuple[int, int], int]) -> np.ndarray:
    """Ten flat hours for the first so many members of each (case, period)."""
    found = np.zeros((cases, members, periods))
    for (case, period), count in flat.items():
        found[case, :count, period] = 10.0
    return found


def check(summary: dict[str, Any]) -> None:
    schema = summary_schema()
    Draft202012Validator.check_schema(schema)
    Draft202012Validator(schema).validate(json.loads(json.dumps(summary, allow_nan=False)))


def test_keys_and_their_order_are_the_contract(fabricate: Fabricate) -> None:
    summary = Outcomes.from_results(fabricate(stays=2)).summary()
    assert list(summary) == TOP_KEYS
    assert list(summary["stays"][0]) == STAY_KEYS
    assert list(summary["stays"][0]["months"][0]) == MONTH_KEYS
    assert list(summary["trip"]) == ["odds_flat", "odds_flat_range"]
    check(summary)


def test_the_cold_gate_is_unknown_where_cold_barred_charge(fabricate: Fabricate) -> None:
    """Points that differ in it count only where more than 1 Wh of a month was refused."""
    cases = (
        Case("as_estimated", 1.0, 1.0, 0.5),
        Case("gate_late", 1.0, 1.0, 0.0, gate_later_c=2.0),
        Case("theta_01", 1.0, 1.0, 0.5, gate_later_c=1.0),
    )
    made = fabricate(hours(3, 40, 2, {}), cases=cases)
    sums = dict(made.sums)
    for barred_wh, expected in ((0.0, []), (0.9, []), (1.1, ["cold_gate"])):
        sums["cold_locked_wh"] = np.zeros((3, 40, 2))
        sums["cold_locked_wh"][2, 7, 1] = barred_wh
        summary = Outcomes.from_results(replace(made, sums=sums)).summary()
        assert summary["theta_over"] == expected


@pytest.mark.parametrize(
    ("barred_wh", "first", "second", "trip"),
    [
        ((0.0, 0.0), False, False, "Sun and use are not"),
        ((0.5, 900.0), False, True, "Sun, use and the battery's cold lock (in 1 of 2 stays) are"),
        ((900.0, 900.0), True, True, "Sun, use and the battery's cold lock are not known exactly"),
    ],
)
def test_the_cold_lock_is_named_with_the_stays_where_cold_barred_charge(
    fabricate: Fabricate,
    doubt: tuple[Case, ...],
    barred_wh: tuple[float, float],
    first: bool,
    second: bool,
    trip: str,
) -> None:
    """In mean stays; the words "not known exactly" list what the range of that stay counts."""
    cases = tuple(
        replace(case, gate_later_c=1.0) if case.weight == 0.25 else case for case in doubt
    )
    made = fabricate(stays=2, cases=cases)
    cold = np.repeat(np.array(barred_wh), 2)[None, None] * np.ones((len(cases), 40, 1))
    found = Outcomes.from_results(replace(made, sums={**made.sums, "cold_locked_wh": cold}))
    assert ("cold lock" in found.answer(0), "cold lock" in found.answer(1)) == (first, second)
    assert trip in found.answer()


@pytest.mark.parametrize("gone", STAY_KEYS)
def test_the_schema_demands_every_key_of_a_stay(fabricate: Fabricate, gone: str) -> None:
    summary = Outcomes.from_results(fabricate()).summary()
    del summary["stays"][0][gone]
    assert not Draft202012Validator(summary_schema()).is_valid(summary)


def test_the_schema_refuses_what_is_not_in_the_contract(fabricate: Fabricate) -> None:
    summary = Outcomes.from_results(fabricate()).summary()
    validator = Draft202012Validator(summary_schema())
    assert validator.is_valid(summary)
    assert not validator.is_valid({**summary, "extra": 1})
    summary["stays"][0]["odds_flat"]["estimate"] = 1.2
    assert not validator.is_valid(summary)


def test_odds_of_one_case_are_counted_members(fabricate: Fabricate) -> None:
    flat = hours(1, 40, 2, {(0, 0): 3, (0, 1): 8})  # 3 members in December, 8 in January
    stay = Outcomes.from_results(fabricate(flat)).summary()["stays"][0]
    ends = wilson(0.2, 40)
    assert stay["odds_flat"] == {"estimate": 0.2, **ends}
    assert stay["odds_flat_range"] == pytest.approx(ends)
    assert stay["odds_flat_if"]["as_estimated"] == stay["odds_flat"]
    assert stay["odds_flat_if"]["both_bad"] is None
    assert [month["odds_flat"]["estimate"] for month in stay["months"]] == [0.075, 0.2]
    assert [month["month"] for month in stay["months"]] == [12, 1]
    assert stay["interval_basis"] == "monte_carlo"
    assert stay["odds_reserve"]["estimate"] == 0.2


def test_odds_of_several_cases_are_their_weighted_mean(
    fabricate: Fabricate, doubt: tuple[Case, ...]
) -> None:
    # theta weights .25 .5 .25 with shares .1 .2 .7; single cases weigh nothing
    counts = [20, 60, 5, 5, 50, 90, 10, 20, 70]
    flat = hours(9, 100, 2, {(case, 0): count for case, count in enumerate(counts)})
    summary = Outcomes.from_results(fabricate(flat, cases=doubt, members=100)).summary()
    check(summary)
    stay = summary["stays"][0]
    assert summary["theta_points"] == 3
    assert stay["odds_flat"]["estimate"] == pytest.approx(0.3)
    assert stay["odds_flat"]["low"] == pytest.approx(wilson(0.3, 100)["low"])
    assert stay["odds_flat_range"]["low"] == pytest.approx(wilson(0.1, 100)["low"])
    assert stay["odds_flat_range"]["high"] == pytest.approx(wilson(0.7, 100)["high"])
    assert summary["theta_over"] == ["sun", "use"]
    for name in ("economised", "gate_late"):
        assert stay["odds_flat_if"].pop(name) is None  # not run
    found = {name: part["estimate"] for name, part in stay["odds_flat_if"].items()}
    assert found == {
        "as_estimated": 0.2,
        "sun_low": 0.6,
        "sun_high": 0.05,
        "use_low": 0.05,
        "use_high": 0.5,
        "both_bad": 0.9,
    }
    assert stay["hours_flat"]["mean"] == pytest.approx(3.0)
    assert stay["hours_flat"]["p50"] == 0.0
    assert stay["hours_flat"]["p90"] == 10.0


def test_the_trip_is_flat_when_any_stay_is(fabricate: Fabricate) -> None:
    flat = np.zeros((1, 40, 4))
    flat[0, 0:4, 0] = 1.0  # first stay, December
    flat[0, 2:10, 3] = 2.0  # second stay, January; two members fail twice
    summary = Outcomes.from_results(fabricate(flat, stays=2)).summary()
    assert [stay["odds_flat"]["estimate"] for stay in summary["stays"]] == [0.1, 0.2]
    assert summary["trip"]["odds_flat"]["estimate"] == 0.25
    assert [stay["first_day"] for stay in summary["stays"]] == ["1 Dec", "30 Jan"]


def test_real_years_widen_the_interval(fabricate: Fabricate) -> None:
    flat = hours(1, 40, 2, {(0, 0): 4})
    stay = Outcomes.from_results(fabricate(flat, record_years=10)).summary()["stays"][0]
    assert stay["interval_basis"] == "record"
    assert stay["odds_flat"] == {"estimate": 0.1, **wilson(0.1, 10)}


def test_nothing_seen_is_not_nothing_possible(fabricate: Fabricate) -> None:
    stay = Outcomes.from_results(fabricate()).summary()["stays"][0]
    assert stay["odds_flat"]["estimate"] == 0.0
    assert stay["odds_flat"]["high"] == pytest.approx(wilson(0.0, 40)["high"])
    assert stay["odds_flat"]["high"] > 0.08
    assert stay["first_flat_day"] == {"p10": None, "p50": None, "p90": None}


def test_first_flat_day_is_null_where_fewer_run_flat(fabricate: Fabricate) -> None:
    results = fabricate(hours(1, 40, 2, {(0, 0): 20}))
    results.extremes["first_flat_day"][0, :20, 0] = np.arange(1, 21)
    stay = Outcomes.from_results(results).summary()["stays"][0]
    assert stay["first_flat_day"] == {"p10": 4.0, "p50": 20.0, "p90": None}


def test_amounts_are_per_stay_in_their_named_units(fabricate: Fabricate) -> None:
    results = fabricate(members=100)
    per_member = np.arange(1.0, 101.0) * 1000.0
    for key in ("demand_wh", "array_wh", "spilled_wh", "energy_not_served_wh", "cold_locked_wh"):
        results.sums[key][0] = np.stack([per_member * 0.25, per_member * 0.75], axis=1)
    results.sums["discharge_ah"][0] = 600.0
    results.sums["full_days"][0] = 12.0
    results.extremes["peak_array_w"][0, :, 0] = per_member / 100.0
    stay = Outcomes.from_results(results).summary()["stays"][0]
    expected = {"mean": 50.5, "p50": 50.0, "p90": 90.0, "p99": 99.0}
    for key in ("demand", "array", "spilled", "energy_not_served", "cold_locked"):
        assert stay[f"{key}_kwh"] == pytest.approx(expected)
    assert stay["wear"]["full_cycles"]["mean"] == pytest.approx(3.0)  # 1200 Ah over 400 Ah
    assert stay["full_days_frac"]["mean"] == pytest.approx(0.4)  # 24 of 60 days
    assert stay["peak_array_w"]["p90"] == pytest.approx(900.0)
    assert stay["months"][0]["demand_kwh"]["mean"] == pytest.approx(50.5 * 0.25)


def test_lowest_charge_looks_at_the_low_end(fabricate: Fabricate) -> None:
    results = fabricate(members=100)
    results.extremes["min_charge_frac"][0, :, 0] = np.arange(1, 101) / 100.0
    stay = Outcomes.from_results(results).summary()["stays"][0]
    assert stay["lowest_charge_frac"] == {"p01": 0.01, "p05": 0.05, "p50": 0.5}


def test_appliances_tell_what_they_wanted_and_got(fabricate: Fabricate) -> None:
    results = fabricate()
    results.appliance_wanted_wh[:, 0, 1] = 0.0
    results.appliance_served_wh[:, 0, 1] = 0.0
    fridge, lamp = Outcomes.from_results(results).summary()["stays"][0]["appliances"]
    assert fridge["name"] == "fridge"
    assert fridge["wanted_kwh"]["mean"] == pytest.approx(
        results.appliance_wanted_wh[:, 0, 0].mean() / 1000.0
    )
    assert fridge["served_frac"]["mean"] == pytest.approx(0.75)
    assert lamp["served_frac"] is None


def test_what_is_not_simulated_is_null_and_said(fabricate: Fabricate) -> None:
    summary = Outcomes.from_results(fabricate()).summary()
    stay = summary["stays"][0]
    assert stay["hot_hours"] is None
    assert stay["cooling"] is None
    assert stay["wear"]["years_to_80pct"]["by_cycles"] is None  # an engine without daily highs


def test_overload_is_null_until_the_engine_fills_it(fabricate: Fabricate) -> None:
    results = fabricate()
    results.sums["hours_overload"][0, :10, 1] = 1.0
    summary = Outcomes.from_results(results).summary()
    assert summary["stays"][0]["odds_overload"]["estimate"] == 0.25
    assert not any("overload" in text for text in summary["cautions"])
    del cast("dict[str, Any]", results.sums)["hours_overload"]
    summary = Outcomes.from_results(results).summary()
    assert summary["stays"][0]["odds_overload"] is None
    assert any(text.startswith("odds_overload is null") for text in summary["cautions"])
    check(summary)


def test_spilled_sun_is_told_by_cause(fabricate: Fabricate) -> None:
    results = fabricate(stays=1)
    assert Outcomes.from_results(results).summary()["stays"][0]["spilled_by_cause"] is None
    for key in ("spilled_full_wh", "spilled_clip_wh", "spilled_rate_wh"):
        cast("dict[str, Any]", results.sums)[key] = np.full_like(results.sums["days"], 1500.0)
    causes = Outcomes.from_results(results).summary()["stays"][0]["spilled_by_cause"]
    assert causes["controller_kwh"]["mean"] == pytest.approx(3.0)  # two periods
    assert set(causes) == {"bank_full_kwh", "controller_kwh", "cold_bank_kwh", "charge_current_kwh"}
