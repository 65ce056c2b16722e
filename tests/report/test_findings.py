"""Findings follow the numbers, and stand on the pictures that leave the program as files."""

from __future__ import annotations

import re
from typing import Any

import numpy as np
import pytest

from flatodds.report.compare_words import compare_finding
from flatodds.report.cooling_words import season_sentence
from flatodds.report.figures import (
    CAPTION_GAP,
    CAPTION_LINE,
    POINTS_PER_INCH,
    add_axes,
    caption_on_top,
    drawing,
    legend_on_top,
    new_figure,
    svg_of,
)
from flatodds.report.figures_days_left import dawn_sentence
from flatodds.report.figures_energy import share_text
from flatodds.report.sweep_words import axis_words, design_words, sweep_sentences
from flatodds.report.words import tied


def test_a_caption_stands_above_a_drawing_that_stays_as_it_is() -> None:
    with drawing():
        figure = new_figure(200.0)
        axes = add_axes(figure, 40.0, 30.0, 10.0, 60.0)
        axes.plot([0, 1], [0, 1], label="charge")
        legend_on_top(figure, axes)
        before = axes.get_window_extent().bounds
        key = figure.legends[0].get_window_extent().y1
        caption_on_top(figure, "The battery lasts 12 nights or more. " * 3)
        height = figure.get_size_inches()[1] * POINTS_PER_INCH
        after = axes.get_window_extent().bounds
        text = figure.texts[0].get_window_extent()
        svg = svg_of(figure, "x", "Title", "Words")
    lines = round((height - 200.0 - CAPTION_GAP) / CAPTION_LINE)
    assert lines == 3
    assert after == pytest.approx(before)
    assert figure.legends[0].get_window_extent().y1 == pytest.approx(key, abs=1.5)
    assert key < text.y0
    assert text.y1 <= height
    assert text.x1 <= 400.0
    assert "The battery lasts" in svg


def test_a_number_keeps_its_unit_and_a_day_its_month() -> None:
    assert tied("23 Apr to 28 %, 4 Marmots") == "23\u00a0Apr to 28\u00a0%, 4 Marmots"


def variant(name: str, chance: float, low: float, high: float) -> dict[str, Any]:
    band = {"estimate": chance, "low": chance, "high": chance}
    difference = {"estimate": (low + high) / 2, "low": low, "high": high}
    return {
        "name": name,
        "odds_flat": band,
        "odds_flat_range": band,
        "difference": difference,
        "stays": [1],
    }


def test_the_least_likely_to_run_flat_is_named() -> None:
    summary: dict[str, Any] = {"members": 64, "record_years": None}
    first = variant("as written", 0.2, 0.0, 0.0)
    worse, better = variant("lead", 0.4, 0.1, 0.3), variant("panels", 0.1, -0.12, -0.08)
    summary["variants"] = [first, worse, better]
    assert compare_finding(summary) == (
        "Least likely to run flat: panels, flat in 10 fewer of 100 such stays (8 to 12) than "
        "as written."
    )
    summary["variants"] = [first, worse]
    assert compare_finding(summary) == "None can be seen to run flat less often than as written."
    summary["variants"] = [first]
    assert compare_finding(summary).startswith("as written: 20 of 100;")


def test_best_and_worst_months_of_cooling() -> None:
    def summary(*held: float | None) -> dict[str, Any]:
        months = [{"month": 5 + at, "held_frac": one} for at, one in enumerate(held)]
        return {"ways": [{"rule": "as written", "generator": False, "months": months}]}

    said = season_sentence(summary(0.95, 0.5, 0.06, None))
    assert said == "By its rule alone it holds 95 of 100 hot days in May, 6 of 100 hot days in Jul."
    assert season_sentence(summary(0.5, 0.5)) == ""
    assert season_sentence(summary(0.5, None)) == ""


def test_things_that_are_varied_have_names() -> None:
    assert axis_words("bank.amp_hours") == "battery, Ah"
    assert axis_words("stay.0.nights") == "stay.0.nights"
    axes = [{"key": "array.watts"}, {"key": "bank.chemistry"}]
    found = design_words({"axes": axes, "designs": [{"values": [800, "agm"]}]}, 0)
    assert found == "panels 800 W, bank.chemistry agm"


def test_the_leanest_dawn_is_the_first_of_equals() -> None:
    fan = {
        "p10": np.array([50.0, 20.0, 5.0, 5.0]),
        "p50": np.array([52.0, 30.0, 5.3, 5.0]),
        "p90": np.array([55.0, 40.0, 28.0, 9.0]),
    }
    said = dawn_sentence(fan)
    assert said.startswith("The dawn of day 3 is as lean as any: half the time 5 % or less")
    assert re.search(r"between 5 and 28 %", said)


def test_next_to_nothing_is_not_called_zero_percent() -> None:
    assert share_text(0.004) == "hardly any"
    assert share_text(0.374) == "37 %"


@pytest.mark.parametrize(
    ("count", "told"),
    [
        (1, "battery 100 Ah."),
        (3, "battery 100 Ah; battery 200 Ah; battery 300 Ah."),
        (4, "battery 100 Ah; battery 300 Ah; battery 400 Ah; and 1 between."),
        (9, "battery 100 Ah; battery 500 Ah; battery 900 Ah; and 6 between."),
    ],
)
def test_a_long_line_of_smallest_rigs_is_told_by_its_ends_and_middle(count: int, told: str) -> None:
    designs = [
        {"values": [100 * k + 100], "odds_flat": {"estimate": 0.01}, "extra_cost": None}
        for k in range(count)
    ]
    summary = {
        "axes": [{"key": "bank.amp_hours"}],
        "designs": designs,
        "wanted_odds": 0.05,
        "smallest": list(range(count)),
        "currency": None,
        "least_cost": [],
        "least_mass": [],
        "best": [0],
    }
    assert sweep_sentences(summary)[1] == f"The smallest of them: {told}"
