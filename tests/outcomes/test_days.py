from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from flatodds.engine.results import Results
from flatodds.outcomes.days import date_text, dawn_charge, worst_member, worst_week
from flatodds.outcomes.record import record_of

Fabricate = Callable[..., Results]


@pytest.mark.parametrize(
    ("doy", "text"),
    [(0, "1 Jan"), (30, "31 Jan"), (31, "1 Feb"), (58, "28 Feb"), (59, "1 Mar"), (334, "1 Dec")],
)
def test_dates_of_a_year_without_29_february(doy: int, text: str) -> None:
    assert date_text(doy) == text


def test_the_year_ends_and_begins_again() -> None:
    assert (date_text(364), date_text(365)) == ("31 Dec", "1 Jan")


def test_worst_week_is_found_where_it_was_put(fabricate: Fabricate) -> None:
    results = fabricate(members=100)
    results.daily["array_wh"][:] = 2000.0
    results.daily["demand_wh"][:] = 1000.0
    for member in range(100):  # a gloomy week of 10, 20 ... 1000 Wh a day, each at another date
        start = member % 50
        results.daily["array_wh"][member, start : start + 7] = 10.0 * (member + 1)
        results.daily["demand_wh"][member, start : start + 7] = 1500.0 + member
    found = worst_week(record_of(results), 0)
    assert found["days"] == 7
    assert found["one_in_ten"]["array_kwh_day"] == pytest.approx(0.1)
    assert found["median"]["array_kwh_day"] == pytest.approx(0.5)
    # members 5 to 14, and 45 to 54, lie nearest the two levels
    assert found["one_in_ten"]["demand_kwh_day"] == pytest.approx(1.5095)
    assert found["median"]["demand_kwh_day"] == pytest.approx(1.5495)


def test_one_gloomy_day_is_not_a_gloomy_week(fabricate: Fabricate) -> None:
    results = fabricate(members=10)
    results.daily["array_wh"][:] = 2000.0
    results.daily["array_wh"][:, 20] = 600.0
    level = worst_week(record_of(results), 0)["median"]["array_kwh_day"]
    assert level == pytest.approx(1.8)


def test_a_short_stay_is_its_own_worst_week(fabricate: Fabricate) -> None:
    results = fabricate(nights=4, members=1, stays=2)
    results.daily["array_wh"][0] = [9, 9, 9, 9, 1000, 2000, 3000, 4000]
    found = worst_week(record_of(results), 1)
    assert found["days"] == 4
    assert found["median"]["array_kwh_day"] == pytest.approx(2.5)
    assert found["one_in_ten"] == found["median"]


def test_dawn_charge_looks_at_mornings_of_its_stay(fabricate: Fabricate) -> None:
    results = fabricate(nights=10, members=10, stays=2)
    results.daily["dawn_charge_frac"][:, :10] = 0.9
    results.daily["dawn_charge_frac"][:, 10:] = np.arange(1, 101).reshape(10, 10) / 200.0
    record = record_of(results)
    assert dawn_charge(record, 0) == pytest.approx({"p10": 0.9, "p50": 0.9, "p90": 0.9})
    assert dawn_charge(record, 1) == pytest.approx({"p10": 0.05, "p50": 0.25, "p90": 0.45})


def test_the_worst_member_has_most_flat_hours(fabricate: Fabricate) -> None:
    flat = np.zeros((1, 40, 2))
    flat[0, 7], flat[0, 9], flat[0, 11] = [3.0, 4.0], [7.0, 0.0], [6.0, 0.0]
    results = fabricate(flat)
    results.extremes["min_charge_frac"][0, :, 0] = 0.3
    results.extremes["min_charge_frac"][0, 9, 0] = 0.2
    assert worst_member(record_of(results), 0) == 9
    results.extremes["min_charge_frac"][0, 7, 0] = 0.1
    assert worst_member(record_of(results), 0) == 7
