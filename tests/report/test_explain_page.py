"""What each appliance costs, and overloads, as the page tells them."""

from __future__ import annotations

import pytest

from flatodds.outcomes import Outcomes
from flatodds.report.explain_page import explained_of, overload_sentence
from flatodds.report.page import page_html

COST = {
    "name": "<b>lamp</b>",
    "kwh_day": 0.1504,
    "bank_frac": 0.0312,
    "odds_change": {"estimate": -0.052, "low": -0.08, "high": -0.02},
}
MEETING = {"names": ("kettle", "saw"), "watts": 2400.0, "starting": True, "days_frac": 0.1234}


@pytest.mark.parametrize(
    ("odds", "words"),
    [(None, ""), (0.0, ""), (1.0, "every simulated stay"), (0.12, "12 of 100 stays")],
)
def test_overloads_are_told_if_there_are_any(odds: float | None, words: str) -> None:
    text = overload_sentence({"odds_overload": None if odds is None else {"estimate": odds}})
    assert bool(text) is bool(words)
    assert words in text


def test_tables_are_on_the_page_and_names_are_escaped(one_stay: Outcomes) -> None:
    found = explained_of([COST], [MEETING], members=512, kept=["furnace_blower"])
    page = page_html(one_stay, explained=found).replace("\u00a0", " ")
    assert "<bdi>&lt;b&gt;lamp&lt;/b&gt;</bdi>" in page
    assert "-5.2 (-8 to -2)" in page
    assert "2,400 W as it starts" in page
    assert "belongs to the heat: furnace blower" in page
    assert "512 stays" in page
    assert "no slip" not in page
    assert 'id="appliances"' not in page_html(one_stay)


def test_more_odds_without_an_appliance_are_explained() -> None:
    worse = COST | {"odds_change": {"estimate": 0.01, "low": -0.01, "high": 0.03}}
    assert any("no slip" in text for text in explained_of([worse], [], members=64).costs_notes)


def test_costs_that_are_all_nothing_and_what_others_take_up_are_explained() -> None:
    same = COST | {"odds_change": {"estimate": 0.0, "low": -0.01, "high": 0.01}}
    notes = explained_of([same, same], [], members=64, taken_up=True).costs_notes
    assert notes[0].startswith("Dropping any one of them changes nothing")
    assert any("may take up" in text for text in notes)
    notes = explained_of([same, COST], [], members=64).costs_notes
    assert not any("changes nothing" in text or "may take up" in text for text in notes)
