"""Borrows the maker of invented results from the tests of the room below."""

from __future__ import annotations

import importlib.util
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from flatodds.engine.results import Case, Results
from flatodds.outcomes import Outcomes

Fabricate = Callable[..., Results]


def borrowed() -> Any:
    path = Path(__file__).parents[1] / "outcomes" / "conftest.py"
    spec = importlib.util.spec_from_file_location("made_by_hand", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


MADE = borrowed()


@pytest.fixture
def fabricate() -> Fabricate:
    made: Fabricate = MADE.made_results
    return made


@pytest.fixture
def doubt() -> tuple[Case, ...]:
    cases: tuple[Case, ...] = MADE.DOUBT
    return cases


@pytest.fixture
def one_stay(fabricate: Fabricate, doubt: tuple[Case, ...]) -> Outcomes:
    """One stay with doubt: shares .05 as estimated, .17, .25, .62 in the single cases."""
    return Outcomes.from_results(with_shares(fabricate, doubt, 1))


@pytest.fixture
def three_stays(fabricate: Fabricate, doubt: tuple[Case, ...]) -> Outcomes:
    """Three stays, the second the worst."""
    results = with_shares(fabricate, doubt, 3)
    results.sums["hours_flat"][:, 100:300, 2] = 4.0
    return Outcomes.from_results(results)


def with_shares(fabricate: Fabricate, cases: tuple[Case, ...], stays: int) -> Results:
    counts = [50, 170, 10, 20, 250, 620, 30, 60, 180]
    flat = np.zeros((9, 1000, 2 * stays))
    for case, count in enumerate(counts):
        flat[case, :count, 0] = 5.0
    return fabricate(flat, cases=cases, members=1000, stays=stays, seed=7)
