from __future__ import annotations

from collections.abc import Callable
from typing import Any, cast

import numpy as np
import pytest

from flatodds.engine.results import Case, Results
from flatodds.outcomes import Outcomes

Fabricate = Callable[..., Results]


@pytest.fixture
def outcomes(fabricate: Fabricate, doubt: tuple[Case, ...]) -> Outcomes:
    flat = np.zeros((9, 40, 4))
    flat[:, :6, 1] = 3.0
    flat[6:, 4:10, 2] = 1.0
    return Outcomes.from_results(fabricate(flat, cases=doubt, stays=2))


def test_odds_by_stay_month_and_trip_are_those_of_the_summary(outcomes: Outcomes) -> None:
    summary = outcomes.summary()
    by_stay = outcomes.odds().to_dict("records")
    for row, stay in zip(by_stay, summary["stays"], strict=True):
        assert row["stay"] == stay["name"]
        assert {key: row[key] for key in ("estimate", "low", "high")} == stay["odds_flat"]
        assert {"low": row["range_low"], "high": row["range_high"]} == stay["odds_flat_range"]
    months = [month for stay in summary["stays"] for month in stay["months"]]
    by_month = outcomes.odds("month").to_dict("records")
    assert [row["month"] for row in by_month] == [12, 1, 12, 1]
    for row, month in zip(by_month, months, strict=True):
        assert {key: row[key] for key in ("estimate", "low", "high")} == month["odds_flat"]
    trip = outcomes.odds("trip").to_dict("records")[0]
    assert trip["estimate"] == summary["trip"]["odds_flat"]["estimate"] == pytest.approx(0.25)


def test_headers_end_in_their_unit(outcomes: Outcomes) -> None:
    months = outcomes.table("months")
    assert len(months) == 4
    assert {"array_mean_kwh", "demand_p90_kwh", "odds_flat_high", "hours_flat_p99"} <= set(months)
    headers = [str(name) for name in outcomes.table("stays")]
    assert not [name for name in headers if "_kwh_" in name.replace("kwh_day", "")]


def test_tables_hold_the_numbers_of_the_summary(outcomes: Outcomes) -> None:
    stays = outcomes.summary()["stays"]
    row = outcomes.table("stays").to_dict("records")[1]
    assert row["name"] == "stay 2"
    assert row["array_p90_kwh"] == stays[1]["array_kwh"]["p90"]
    assert row["odds_flat_if_both_bad_estimate"] == stays[1]["odds_flat_if"]["both_bad"]["estimate"]
    one_in_ten = stays[1]["worst_week"]["one_in_ten"]
    assert row["worst_week_one_in_ten_array_kwh_day"] == one_in_ten["array_kwh_day"]
    uses = outcomes.table("appliances").to_dict("records")
    assert [use["name"] for use in uses] == ["fridge", "=lamp"] * 2
    assert uses[2]["wanted_mean_kwh"] == stays[1]["appliances"][0]["wanted_kwh"]["mean"]


def test_worst_stay_days_follow_the_worst_member(fabricate: Fabricate) -> None:
    flat = np.zeros((1, 40, 2))
    flat[0, 23, 0] = 9.0
    results = fabricate(flat)
    table = Outcomes.from_results(results).table("worst_stay_days")
    assert set(table["member"]) == {23}
    assert table["date"].tolist()[:32:31] == ["1 Dec", "1 Jan"]
    assert table["day"].tolist() == list(range(1, 61))
    np.testing.assert_allclose(table["array_kwh"] * 1000.0, results.daily["array_wh"][23])


def test_unknown_tables_and_odds_are_refused(outcomes: Outcomes) -> None:
    with pytest.raises(ValueError, match="there are months, stays"):
        outcomes.table(cast(Any, "years"))
    with pytest.raises(ValueError, match="there are stay, month, trip"):
        outcomes.odds(cast(Any, "year"))
