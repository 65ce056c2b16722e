"""What people are told of a generator: on the screen, in the report, and nothing without one."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from typing import Any, cast

import numpy as np
import pytest

from flatodds.engine.results import Case, Results
from flatodds.outcomes import Outcomes
from flatodds.report.figures_generator import generator_figure, runs_of
from flatodds.report.generator_words import generator_sentences, other_sentence
from flatodds.report.measures import temperature_text
from flatodds.report.page import page_html
from flatodds.report.screen import screen_text

Fabricate = Callable[..., Results]

CASES = (Case("as_estimated", 1.0, 1.0, 1.0), Case("without_generator", 1.0, 1.0, 0.0))


def with_generator(fabricate: Fabricate, hours: tuple[float, float] = (6.0, 14.0)) -> Outcomes:
    """Two months of so many hours each; a tenth of the members need twice as much."""
    flat = np.zeros((2, 40, 2))
    flat[0, :2, 0] = 5.0
    flat[1, :10, 0] = 5.0
    results = fabricate(flat, cases=CASES)
    ran = np.broadcast_to(np.array(hours), (2, 40, 2)).copy()
    ran[:, 36:] *= 2.0
    ran[1] = 0.0
    cast("dict[str, Any]", results.sums)["generator_hours"] = ran
    cast("dict[str, Any]", results.sums)["generator_starts"] = np.ceil(ran)
    cast("dict[str, Any]", results.sums)["generator_wh"] = 700.0 * ran
    cast("dict[str, Any]", results.sums)["fuel_l"] = 0.5 * ran
    cast("dict[str, Any]", results.sums)["hookup_wh"] = np.full((2, 40, 2), 2000.0)
    cast("dict[str, Any]", results.daily)["generator_h"] = np.full((40, 60), 0.5, dtype=np.float32)
    return Outcomes.from_results(results)


def test_hours_litres_and_the_odds_without(fabricate: Fabricate) -> None:
    outcomes = with_generator(fabricate)
    summary = outcomes.summary()
    stay = summary["stays"][0]
    (text,) = generator_sentences(summary, outcomes.facts, stay)
    assert text.startswith("Generator: 22 hours and 11 litres (2.9 gal) in such a stay;")
    assert "Without it 25 of 100 run flat, sun and use as written." in text
    assert stay["odds_generator_needed"]["estimate"] == 1.0
    assert stay["worst_week"]["one_in_ten"]["generator_hours_day"] == pytest.approx(0.5)
    assert [m["generator_hours"]["mean"] for m in stay["months"]] == pytest.approx([6.6, 15.4])
    assert other_sentence(stay) == "Hookup nights add 4.0 kWh in such a stay."


def test_the_screen_and_the_page_say_it(fabricate: Fabricate) -> None:
    outcomes = with_generator(fabricate)
    for plain in (False, True):
        text = screen_text(outcomes.summary(), outcomes.facts, outcomes.dawn_charge(), plain=plain)
        assert "22 hours and 11 litres" in " ".join(text.split())
        assert max(map(len, text.splitlines())) <= 80
    page = page_html(outcomes)
    assert "The generator" in page
    assert "asks most of the generator" in page
    assert "Carbon monoxide" in page


def test_gallons_come_first_where_they_are_used(fabricate: Fabricate) -> None:
    outcomes = with_generator(fabricate)
    stay, facts = outcomes.summary()["stays"][0], outcomes.facts
    for units, said in (("us", "2.9 gal (11 litres)"), ("si", "11 litres (2.9 gal)")):
        there = dataclasses.replace(facts, units=units)
        (text,) = generator_sentences(outcomes.summary(), there, stay)
        assert said in text
        shown = generator_figure("g", runs_of(outcomes.dataset, 0), None, there)
        assert shown is not None
        assert said in shown.finding
    assert temperature_text(29.0, dataclasses.replace(facts, units="us"), "°") == "84 °F (29 °C)"
    assert temperature_text(29.0, facts) == "29 C (84 F)"


def test_with_a_generator_the_answer_still_fits_one_screen(
    fabricate: Fabricate, doubt: tuple[Case, ...]
) -> None:
    flat = np.zeros((10, 40, 2))
    flat[5, :10, 0] = flat[8, :30, 1] = 5.0
    results = fabricate(flat, cases=(*doubt, Case("without_generator", 1.0, 1.0, 0.0)))
    for key in ("generator_hours", "generator_starts", "generator_wh", "fuel_l", "hookup_wh"):
        cast("dict[str, Any]", results.sums)[key] = np.full((10, 40, 2), 10.0)
    cast("dict[str, Any]", results.daily)["generator_h"] = np.full((40, 60), 0.5, dtype=np.float32)
    outcomes = Outcomes.from_results(results)
    text = screen_text(outcomes.summary(), outcomes.facts, outcomes.dawn_charge(), lines_below=2)
    assert len(text.splitlines()) <= 22
    assert "Generator: 20 hours" in text
    assert "sun 12 % weaker" in text


def test_without_a_generator_nothing_is_said(one_stay: Outcomes) -> None:
    summary = one_stay.summary()
    stay = summary["stays"][0]
    assert generator_sentences(summary, one_stay.facts, stay) == []
    assert other_sentence(stay) == ""
    assert runs_of(one_stay.dataset, 0) == []
    assert generator_figure("x", [], None, one_stay.facts) is None
    assert stay["worst_week"]["median"]["generator_hours_day"] is None
    assert "generator" not in " ".join(summary["cautions"])


def test_the_finding_is_computed(fabricate: Fabricate) -> None:
    outcomes = with_generator(fabricate)
    shown = generator_figure("g", runs_of(outcomes.dataset, 0), 10.0, outcomes.facts)
    assert shown is not None
    assert shown.finding.startswith("Jan asks most of the generator: 31 minutes on an average day")
    assert (
        "22 hours and 11 litres (2.9 gal) of fuel; 2.2 changes of oil, with one due"
        in shown.finding
    )
    rows: list[Any] = [row[0] for row in shown.rows]
    assert rows == ["Dec", "Jan"]


def test_a_generator_nobody_needed(fabricate: Fabricate) -> None:
    outcomes = with_generator(fabricate, (0.0, 0.0))
    summary = outcomes.summary()
    (text,) = generator_sentences(summary, outcomes.facts, summary["stays"][0])
    assert text == "The generator was needed in none of 40 simulated stays."
    shown = generator_figure("g", runs_of(outcomes.dataset, 0), None, outcomes.facts)
    assert shown is not None
    assert shown.finding == "The generator was not needed in any simulated stay."
