from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binom, binomtest, multinomial

from flatodds.outcomes.odds import (
    Sample,
    bonett_price,
    mixture_proportion,
    mixture_range,
    outer_share,
    paired_difference,
    sample_of,
    wilson,
)

# Newcombe 1998, Statistics in Medicine 17, 857-872, Table I cases; seen, of, low, high.
NEWCOMBE = [
    (0, 20, 0.0, 0.1611),
    (1, 29, 0.0061, 0.1718),
    (3, 30, 0.0346, 0.2562),
    (0, 30, 0.0, 0.1135),
    (15, 148, 0.0624, 0.1605),
    (81, 263, 0.2553, 0.3662),
]


@pytest.mark.validation
@pytest.mark.parametrize(("seen", "of", "low", "high"), NEWCOMBE)
def test_wilson_gives_the_published_intervals(seen: int, of: int, low: float, high: float) -> None:
    ends = wilson(seen / of, of)
    assert ends["low"] == pytest.approx(low, abs=1e-4)
    assert ends["high"] == pytest.approx(high, abs=1e-4)


@pytest.mark.validation
@pytest.mark.parametrize("of", [1, 7, 30, 1024])
def test_wilson_equals_scipy(of: int) -> None:
    for seen in {0, 1, of // 3, of - 1, of}:
        ends = wilson(seen / of, of)
        oracle = binomtest(seen, of).proportion_ci(0.95, method="wilson")
        assert ends["low"] == pytest.approx(oracle.low, abs=1e-12)
        assert ends["high"] == pytest.approx(oracle.high, abs=1e-12)


@pytest.mark.validation
@pytest.mark.parametrize(("seen", "of"), [(15, 148), (81, 263), (100, 1024)])
def test_wilson_is_close_to_the_exact_interval_in_large_samples(seen: int, of: int) -> None:
    ends, exact = wilson(seen / of, of), binomtest(seen, of).proportion_ci(0.95, method="exact")
    assert ends["low"] == pytest.approx(exact.low, abs=1.0 / of)
    assert ends["high"] == pytest.approx(exact.high, abs=1.0 / of)


@pytest.mark.validation
def test_wilson_covers_at_its_level_on_average() -> None:
    units = 40
    ends = [wilson(seen / units, units) for seen in range(units + 1)]
    chances = np.linspace(0.02, 0.98, 97)
    covered = [
        sum(
            binom.pmf(seen, units, chance)
            for seen, end in enumerate(ends)
            if end["low"] <= chance <= end["high"]
        )
        for chance in chances
    ]
    assert np.mean(covered) == pytest.approx(0.95, abs=0.01)


@pytest.mark.law
@given(st.floats(0.0, 1.0), st.integers(1, 10**7), st.floats(0.5, 0.999))
def test_wilson_holds_its_estimate_and_is_never_a_point(
    estimate: float, units: int, confidence: float
) -> None:
    ends = wilson(estimate, units, confidence)
    assert 0.0 <= ends["low"] <= estimate <= ends["high"] <= 1.0
    assert ends["low"] < ends["high"]


@pytest.mark.parametrize(("estimate", "units"), [(-0.1, 10), (1.1, 10), (0.5, 0), (np.nan, 3)])
def test_wilson_refuses_nonsense(estimate: float, units: int) -> None:
    with pytest.raises(ValueError, match="no interval"):
        wilson(estimate, units)


def test_wilson_refuses_a_confidence_that_is_none() -> None:
    with pytest.raises(ValueError, match="confidence"):
        wilson(0.5, 10, 1.0)


def test_real_years_are_counted_instead_of_members() -> None:
    assert sample_of(1000, None) == Sample("monte_carlo", 1000)
    assert sample_of(1000, 30) == Sample("record", 30)
    assert sample_of(12, 30) == Sample("record", 12)


@pytest.mark.validation
def test_three_flat_years_of_thirty_lived_many_times_are_three_of_thirty() -> None:
    year_flat = np.arange(30) < 3
    flags = np.tile(year_flat, 33)[np.newaxis, :]
    found = mixture_proportion(flags, np.ones(1), sample_of(990, 30))
    assert found["estimate"] == pytest.approx(0.1)
    assert found["low"] == pytest.approx(0.0346, abs=1e-4)
    assert found["high"] == pytest.approx(0.2562, abs=1e-4)


@pytest.mark.law
@given(st.lists(st.booleans(), min_size=1, max_size=200))
def test_one_case_is_the_plain_proportion(flat: list[bool]) -> None:
    flags, sample = np.array([flat]), Sample("monte_carlo", len(flat))
    found = mixture_proportion(flags, np.ones(1), sample)
    assert found["estimate"] == sum(flat) / len(flat)
    ends = wilson(sum(flat) / len(flat), len(flat))
    assert (found["low"], found["high"]) == (ends["low"], ends["high"])
    band = mixture_range(flags, np.ones(1), sample)
    assert band["low"] == pytest.approx(ends["low"], abs=1e-15)
    assert band["high"] == pytest.approx(ends["high"], abs=1e-15)


def shares_to_flags(shares: list[float], members: int) -> np.ndarray:
    return np.array([np.arange(members) < round(share * members) for share in shares])


def test_the_range_leaves_a_tenth_of_the_weight_out_on_each_side() -> None:
    shares = [at / 20 for at in range(20)]  # 0, .05 ... .95, each with a twentieth
    flags = shares_to_flags(shares, 1000)
    weights, sample = np.full(20, 0.05), Sample("monte_carlo", 1000)
    band = mixture_range(flags, weights, sample)
    assert band["low"] == pytest.approx(wilson(0.05, 1000)["low"])
    assert band["high"] == pytest.approx(wilson(0.90, 1000)["high"])
    assert mixture_proportion(flags, weights, sample)["estimate"] == pytest.approx(0.475)


def test_cases_of_no_weight_do_not_count() -> None:
    flags = shares_to_flags([0.9, 0.2, 0.4], 100)
    weights, sample = np.array([0.0, 0.5, 0.5]), Sample("monte_carlo", 100)
    assert mixture_proportion(flags, weights, sample)["estimate"] == pytest.approx(0.3)
    assert outer_share(np.array([0.9, 0.2, 0.4]), weights) == 0.2
    assert outer_share(np.array([0.1, 0.2, 0.4]), weights) == 0.2
    assert mixture_range(flags, weights, sample)["high"] == wilson(0.4, 100)["high"]


def test_a_headline_never_lies_outside_its_range() -> None:
    flags = shares_to_flags([0.0] * 15 + [0.6], 1000)
    weights, sample = np.full(16, 1 / 16), Sample("monte_carlo", 1000)
    found, band = mixture_proportion(flags, weights, sample), mixture_range(flags, weights, sample)
    assert found["estimate"] == pytest.approx(0.0375)
    assert band["low"] == 0.0
    assert band["high"] == found["high"]


@pytest.mark.law
@given(st.lists(st.floats(0.0, 1.0), min_size=1, max_size=20), st.integers(1, 300))
def test_a_range_holds_the_interval_of_the_mean(shares: list[float], members: int) -> None:
    flags = shares_to_flags(shares, members)
    weights, sample = np.full(len(shares), 1 / len(shares)), Sample("monte_carlo", members)
    found, band = mixture_proportion(flags, weights, sample), mixture_range(flags, weights, sample)
    assert band["low"] <= found["low"] <= found["estimate"] <= found["high"] <= band["high"]


def test_paired_difference_counts_only_what_differs() -> None:
    first = np.array([True] * 30 + [False] * 70)
    second = np.array([True] * 20 + [False] * 75 + [True] * 5)
    found = paired_difference(first, second)
    assert found["estimate"] == pytest.approx(-0.05)
    # By hand: (5 + 1 - 10 - 1) / 102 -+ 1.96 sqrt(((6 + 11) / 102 - (5 / 102)^2) / 102)
    half = 1.959964 * np.sqrt((17 / 102 - (5 / 102) ** 2) / 102)
    assert found["low"] == pytest.approx(-5 / 102 - half, abs=1e-6)
    assert found["high"] == pytest.approx(-5 / 102 + half, abs=1e-6)


def test_paired_difference_is_sharper_than_two_separate_intervals() -> None:
    first = np.arange(1000) < 300
    second = np.arange(1000) < 280
    found = paired_difference(first, second)
    assert found["high"] < 0.0
    assert wilson(0.28, 1000)["high"] > wilson(0.30, 1000)["low"]


def test_paired_difference_of_equals_is_not_certain() -> None:
    flags = np.arange(50) < 10
    found = paired_difference(flags, flags)
    assert found["estimate"] == 0.0
    assert found["low"] < 0.0 < found["high"]
    assert found["low"] == pytest.approx(-found["high"])


def test_paired_difference_counts_years_not_members() -> None:
    year_first, year_second = np.arange(10) < 3, np.arange(10) < 2
    years = paired_difference(year_first, year_second)
    members = paired_difference(np.tile(year_first, 100), np.tile(year_second, 100), years=10)
    assert members == pytest.approx(years)


def test_paired_difference_averages_over_cases() -> None:
    first = np.array([[True] * 4 + [False] * 6, [True] * 8 + [False] * 2])
    second = np.zeros((2, 10), dtype=bool)
    assert paired_difference(first, second)["estimate"] == pytest.approx(-0.6)
    assert paired_difference(first, second, weights=[1.0, 0.0])["estimate"] == pytest.approx(-0.4)


def test_paired_difference_refuses_unlike_members() -> None:
    with pytest.raises(ValueError, match="different shapes"):
        paired_difference(np.ones(3, dtype=bool), np.ones(4, dtype=bool))


@pytest.mark.validation
@pytest.mark.parametrize(("gain", "loss"), [(0.05, 0.15), (0.02, 0.02), (0.3, 0.1), (0.0, 0.1)])
def test_paired_interval_covers_by_enumeration(gain: float, loss: float) -> None:
    pairs, covered = 40, 0.0
    for up, down in itertools.product(range(pairs + 1), repeat=2):
        if up + down > pairs:
            continue
        low, high = bonett_price(up / pairs, down / pairs, pairs)
        if low <= gain - loss <= high:
            covered += float(
                multinomial.pmf([up, down, pairs - up - down], pairs, [gain, loss, 1 - gain - loss])
            )
    assert covered >= 0.94
