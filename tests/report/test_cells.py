"""Chances and ranges in the cells of tables: short, rounded outwards, never none and never all."""

from __future__ import annotations

import pytest

from flatodds.report.arrivals_words import season_table
from flatodds.report.compare_words import chance_cell, range_cell
from flatodds.report.days_left_words import table_lines
from flatodds.report.words import wrapped


@pytest.mark.parametrize(
    ("estimate", "low", "high", "chance", "both_ends"),
    [
        (0.23, 0.201, 0.249, "23 (20 to 25)", "20 to 25"),
        (0.02, 0.004, 0.095, "2 (<1 to 10)", "<1 to 10"),
        (0.0, 0.0, 0.011, "<1 (to 2)", "<1 to 2"),
        (0.98, 0.9, 0.998, "98 (90 to >99)", "90 to >99"),
        (1.0, 0.981, 1.0, ">99 (from 98)", "98 to >99"),
        (0.5, 0.001, 0.999, "50 (<1 to >99)", "<1 to >99"),
    ],
)
def test_ends_of_an_interval(
    estimate: float, low: float, high: float, chance: str, both_ends: str
) -> None:
    ends = {"estimate": estimate, "low": low, "high": high}
    assert chance_cell(ends) == chance
    assert range_cell(ends) == both_ends


def test_seasons_call_nothing_all_that_the_sentence_calls_more_than_99() -> None:
    season = {"season": "winter", "odds_flat_mean": 0.974, "generator_hours_mean": 0.0}
    places = [
        {"name": name, "seasons": [{**season, "odds_flat_worst": worst}]}
        for name, worst in (("Lake", 1.0), ("Hill", 0.992), ("Bay", 0.988))
    ]
    rows = season_table({"places": places, "nights": 7})
    assert [row.split()[-2:] for row in rows[2:]] == [
        ["97", "(>99)"],
        ["97", "(>99)"],
        ["97", "(99)"],
    ]


def test_charge_at_dawn_is_one_figure_where_both_ends_are_alike() -> None:
    chance = {"estimate": 0.5, "low": 0.4, "high": 0.6}
    summary = {
        "dawn_charge_frac": {"p10": [0.21, 0.05], "p90": [0.49, 0.05]},
        "through": [chance, chance],
        "members": 100,
        "record_years": None,
        "nights": 2,
    }
    assert [line.split(")")[1].strip() for line in table_lines(summary)[1:]] == [
        "21 to 49 %",
        "5 %",
    ]


def test_no_line_breaks_within_a_range() -> None:
    lines = wrapped("Flat in 99 fewer of 100 such stays (90 to 100).", width=40)
    assert lines == ["Flat in 99 fewer of 100 such stays", "(90 to 100)."]
