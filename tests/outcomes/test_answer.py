"""A result answers by itself, in the words that screen and page use too."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from flatodds.engine.results import Results
from flatodds.errors import UsageError
from flatodds.outcomes import Outcomes, open_result
from flatodds.report.screen import screen_text

Fabricate = Callable[..., Results]


def with_flat(fabricate: Fabricate, *counts: int) -> Outcomes:
    """A stay for each count: so many of its 100 members run flat in its second month."""
    flat = np.zeros((1, 100, 2 * len(counts)))
    for stay, count in enumerate(counts):
        flat[0, :count, 2 * stay + 1] = 3.0
    return Outcomes.from_results(fabricate(flat, members=100, stays=len(counts)))


def test_one_stay_answers_in_three_sentences(fabricate: Fabricate) -> None:
    outcomes = with_flat(fabricate, 10)
    verdict, chance, band = outcomes.answer().split(". ")
    assert verdict == "A real chance"
    assert chance == "The battery runs flat in about 10 of 100 such stays"
    assert band == "Were sun and use known exactly, 5 to 18 of 100."
    assert outcomes.answer(0) == outcomes.answer()


def test_several_stays_answer_for_the_trip_or_one(fabricate: Fabricate) -> None:
    outcomes = with_flat(fabricate, 10, 0, 70)
    assert "about 70 of 100 such trips" in outcomes.answer()
    assert "about 10 of 100 such stays" in outcomes.answer(0)
    assert "none of 100 simulated stays; we cannot rule out" in outcomes.answer(1)
    assert outcomes.answer(2).startswith("Expect to run flat.")


@pytest.mark.parametrize("stay", [-1, 3])
def test_no_such_stay(fabricate: Fabricate, stay: int) -> None:
    with pytest.raises(UsageError, match=r"is no stay of this result, which has 3"):
        with_flat(fabricate, 1, 2, 3).answer(stay)


def test_the_screen_says_the_same(fabricate: Fabricate) -> None:
    outcomes = with_flat(fabricate, 37)
    text = screen_text(outcomes.summary(), outcomes.facts, outcomes.dawn_charge(), plain=True)
    assert outcomes.answer() in " ".join(text.split())


def test_a_kept_result_answers_the_same(fabricate: Fabricate, tmp_path: Path) -> None:
    outcomes = with_flat(fabricate, 4, 44)
    outcomes.to_netcdf(tmp_path / "result.nc")
    assert open_result(tmp_path).answer() == outcomes.answer()
