"""Heat in words and in its figure."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import xarray as xr

from flatodds.report.figures_heat import heat_figure, heat_of
from flatodds.report.heat_words import heat_sentences

FACTS: Any = SimpleNamespace(comfort_high_c=29.0, units="si")


def amount(mean: float) -> dict[str, float]:
    return {"mean": mean}


def stay(hot: float, **cooling: Any) -> dict[str, Any]:
    return {"hot_hours": amount(hot), "nights": 10, "cooling": cooling or None}


def cooled(held_frac: float | None) -> dict[str, Any]:
    return stay(
        12.0,
        held_frac=held_frac,
        hot_hours_without=amount(95.0),
        cooling_hours=amount(64.0),
        served_kwh=amount(71.0),
    )


def test_nothing_is_said_where_it_is_never_hot() -> None:
    assert heat_sentences(FACTS, stay(0.4)) == []
    assert heat_sentences(FACTS, {"hot_hours": None, "cooling": None, "nights": 3}) == []


def test_hot_hours_are_said_in_both_scales() -> None:
    (said,) = heat_sentences(FACTS, stay(41.0))
    assert "29 C (84 F)" in said
    assert "41 hours" in said


def test_days_held_are_said_as_a_share_and_never_as_all_of_100() -> None:
    (said,) = heat_sentences(FACTS, cooled(0.61))
    assert "on 61 of 100 hot days" in said
    assert "12 hours were hotter, 95 hours without it" in said
    assert "6.4 hours" in said
    assert "7.1 kWh a day" in said
    assert "every hot day" in heat_sentences(FACTS, cooled(1.0))[0]
    assert "no hot day" in heat_sentences(FACTS, cooled(0.0))[0]
    assert "No simulated day" in heat_sentences(FACTS, cooled(None))[0]


def dataset(cooling: bool, hot: float = 60.0) -> xr.Dataset:
    shape = (1, 4, 2)
    values = {"hot_hours": hot}
    if cooling:
        values |= {
            "hot_hours_uncooled": 240.0,
            "cooling_hours": 180.0,
            "cooling_served_wh": 210_000.0,
            "hot_days_uncooled": 30.0,
            "days_held": 12.0,
        }
    dims = ("case", "member", "period")
    return xr.Dataset(
        {name: (dims, np.full(shape, value)) for name, value in values.items()},
        coords={
            "case_weight": ("case", [1.0]),
            "period_stay": ("period", [0, 0]),
            "period_month": ("period", [7, 8]),
            "period_nights": ("period", [30, 30]),
        },
    )


def test_figure_tells_hot_hours_with_and_without_cooling() -> None:
    shown = heat_figure("s1-heat", heat_of(dataset(True), 0), FACTS)
    assert shown is not None
    assert "8.0 hours a day" in shown.finding
    assert "all day: 40 of 100 hot days" in shown.finding
    assert shown.rows[0] == ("Jul", "2.0 h", "8.0 h", "6.0 h", "7.0 kWh", "40 of 100 hot days")
    assert "hot without cooling" in shown.svg


def test_figure_is_left_out_where_it_is_never_hot() -> None:
    assert heat_figure("s1-heat", heat_of(dataset(False, hot=0.0), 0), FACTS) is None
    shown = heat_figure("s1-heat", heat_of(dataset(False), 0), FACTS)
    assert shown is not None
    assert shown.head == ("a day in", "hot")
