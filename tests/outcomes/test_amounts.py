from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from flatodds.outcomes.amounts import member_amount, mixture_amount, mixture_quantiles

LEVELS = {"p01": 0.01, "p10": 0.1, "p50": 0.5, "p90": 0.9, "p99": 0.99}


def test_amount_of_one_to_a_hundred() -> None:
    values = np.random.default_rng(3).permutation(np.arange(1.0, 101.0))
    assert member_amount(values) == {"mean": 50.5, "p50": 50.0, "p90": 90.0, "p99": 99.0}


@pytest.mark.law
@given(st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=300))
def test_one_case_gives_plain_percentiles(values: list[float]) -> None:
    array = np.array([values])
    found = mixture_quantiles(array, np.ones(1), LEVELS)
    plain = np.quantile(array[0], list(LEVELS.values()), method="inverted_cdf")
    assert list(found.values()) == plain.tolist()
    assert mixture_amount(array, np.ones(1))["mean"] == pytest.approx(array.mean())


@pytest.mark.law
@given(st.integers(1, 6), st.integers(1, 40), st.integers(0, 2**32 - 1))
def test_weights_count_like_repeats(cases: int, members: int, seed: int) -> None:
    rng = np.random.default_rng(seed)
    values, repeats = rng.normal(size=(cases, members)), rng.integers(1, 5, cases)
    weights = repeats / repeats.sum()
    pooled = np.concatenate([np.tile(row, n) for row, n in zip(values, repeats, strict=True)])
    found = mixture_quantiles(values, weights, LEVELS)
    plain = np.quantile(pooled, list(LEVELS.values()), method="inverted_cdf")
    assert list(found.values()) == plain.tolist()
    assert mixture_amount(values, weights)["mean"] == pytest.approx(pooled.mean(), abs=1e-12)


def test_cases_of_no_weight_do_not_count() -> None:
    values = np.array([[1e9] * 10, list(range(10))])
    assert mixture_amount(values, np.array([0.0, 1.0]))["p99"] == 9.0
    assert mixture_amount(values, np.array([0.0, 1.0]))["mean"] == 4.5


def test_never_is_told_apart_from_late() -> None:
    days = np.array([[3.0, 5.0, np.inf, np.inf, np.inf]])
    found = mixture_quantiles(days, np.ones(1), {"p20": 0.2, "p40": 0.4, "p41": 0.41})
    assert found == {"p20": 3.0, "p40": 5.0, "p41": np.inf}
