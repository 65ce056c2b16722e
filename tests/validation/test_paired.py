"""Paired differences against published worked examples, and their coverage by simulation.

Example 1 of D. G. Bonett and R. M. Price, "Adjusted Wald confidence interval for a
difference of binomial proportions based on paired data", Journal of Educational and Behavioral
Statistics 37(4), 2012; counts, standard error and interval of the difference as
reprinted in the tests of a public statistics package (esci, `estimate_pdiff_paired`).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pytest

from flatodds.engine.many import Lived
from flatodds.engine.results import Case, Period
from flatodds.outcomes.lived import chance, difference, ever_flat, may_be_as_good

# both, only the first, only the second, neither; difference second less first; its standard
# error; and the interval at 95 % as reprinted.
EXAMPLES = {
    "truancy": ((60, 50, 22, 68), -0.14, 0.04145395, (-0.2198621, -0.05736562)),
}


def lived_of(flags: list[tuple[int, bool]], years: int | None = None) -> Lived:
    flat = np.concatenate([np.full(count, value) for count, value in flags])[None, :, None]
    return Lived(
        cases=(Case("as_estimated", 1.0, 1.0, 1.0),),
        periods=(Period(0, 1, 1),),
        bases=(),
        record_years=years,
        members=flat.shape[1],
        seed=1,
        flat=flat,
        reserve=flat,
        nights=flat,
        amounts={},
        dawn=np.empty((flat.shape[1], 0), np.float32),
        balance=0.0,
    )


@pytest.mark.parametrize("name", EXAMPLES)
def test_published_examples(name: str) -> None:
    (both, first, second, neither), estimate, error, ends = EXAMPLES[name]
    a = lived_of([(both, True), (first, True), (second, False), (neither, False)])
    b = lived_of([(both, True), (first, False), (second, True), (neither, False)])
    found = difference(a, b, (ever_flat(a), ever_flat(b)))
    assert found["estimate"] == pytest.approx(estimate, abs=1e-12)
    assert (found["low"], found["high"]) == pytest.approx(ends, abs=1e-6)
    width = found["high"] - found["low"]
    assert width / (2 * 1.959964) == pytest.approx(error, abs=1e-6)


def test_the_approval_ratings_of_agresti() -> None:
    """McNemar's example of 1,600 people asked twice: difference, interval and statistic.

    A. Agresti, Categorical Data Analysis, 1990, p. 350: the counts as seen in R's manual of
    mcnemar.test; what follows from them as in the 2nd edition, section 10.1, from memory:
    944 approve at first, 880 later; difference -.04, 95 % interval -.06 to -.02; z = -4.17. The
    interval there is the plain Wald interval, which two decimals cannot tell from ours.
    """
    both, first, second, neither = 794, 150, 86, 570
    a = lived_of([(both, True), (first, True), (second, False), (neither, False)])
    b = lived_of([(both, True), (first, False), (second, True), (neither, False)])
    found = difference(a, b, (ever_flat(a), ever_flat(b)))
    assert chance(a, ever_flat(a))["estimate"] == pytest.approx(944 / 1600)
    assert chance(b, ever_flat(b))["estimate"] == pytest.approx(880 / 1600)
    assert found["estimate"] == pytest.approx(-0.04)
    assert (round(found["low"], 2), round(found["high"], 2)) == (-0.06, -0.02)
    # Only those who changed their minds speak: the statistic rests on them alone.
    assert found["estimate"] * 1600 / (first + second) ** 0.5 == pytest.approx(-4.17, abs=0.005)


def test_a_worked_example_of_two_polls() -> None:
    """164 people asked twice about a cabinet: 28 turned away, 35 towards it.

    Worked in lecture pages on tests for proportions of Gunma University (seen), by R: without
    correction chi-squared = 0.7778, p = 0.3778; no change that can be shown.
    """
    from scipy.stats import chi2

    both, first, second, neither = 48, 28, 35, 53
    a = lived_of([(both, True), (first, True), (second, False), (neither, False)])
    b = lived_of([(both, True), (first, False), (second, True), (neither, False)])
    found = difference(a, b, (ever_flat(a), ever_flat(b)))
    statistic = (found["estimate"] * 164.0) ** 2 / (first + second)
    assert statistic == pytest.approx(0.7778, abs=5e-5)
    assert chi2.sf(statistic, 1) == pytest.approx(0.3778, abs=5e-5)
    assert found["low"] < 0.0 < found["high"]


@pytest.mark.parametrize(("gain", "loss"), [(0.01, 0.05), (0.03, 0.03), (0.002, 0.01)])
def test_intervals_cover(gain: float, loss: float) -> None:
    """1,500 studies of 400 members each: 95 % intervals hold the truth in 93.5 % or more."""
    rng = np.random.default_rng(8)
    held = 0
    for _ in range(1500):
        only_second, only_first, _ = rng.multinomial(400, [gain, loss, 1.0 - gain - loss])
        rest = 400 - only_second - only_first
        a = lived_of([(only_first, True), (only_second, False), (rest, False)])
        b = lived_of([(only_first, False), (only_second, True), (rest, False)])
        found = difference(a, b, (ever_flat(a), ever_flat(b)))
        held += found["low"] <= gain - loss <= found["high"]
    assert held / 1500 >= 0.935


def test_years_count_not_members() -> None:
    """Ten years lived a hundred times each are ten years."""
    a = lived_of([(300, True), (700, False)], years=10)
    b = lived_of([(1000, False)], years=10)
    clustered = difference(a, b, (ever_flat(a), ever_flat(b)))
    free_a, free_b = lived_of([(300, True), (700, False)]), lived_of([(1000, False)])
    free = difference(free_a, free_b, (ever_flat(free_a), ever_flat(free_b)))
    assert free["high"] < 0.0
    assert clustered["high"] - clustered["low"] > 5 * (free["high"] - free["low"])
    ten = chance(a, ever_flat(a))
    assert (ten["low"], ten["high"]) == pytest.approx((0.1078, 0.6032), abs=1e-4)


def flat_of(flags: npt.NDArray[np.bool_]) -> Lived:
    alike = lived_of([(len(flags), True)])
    return replace(alike, flat=flags[None, :, None])


@pytest.mark.parametrize(("weeks", "odds"), [(52, 0.05), (26, 0.3), (6, 0.02)])
def test_one_as_good_as_any_is_seldom_left_out(weeks: int, odds: float) -> None:
    """Independent weeks of one chance, where nothing speaks for the luckiest but luck.

    A given one is left out in at most 5 of 100 of 300 studies of 1,000 members (and 2 more that
    300 may scatter by); with intervals that forget that the luckiest was picked, in many.
    """
    rng = np.random.default_rng(20261129)
    left_out = np.zeros(2)
    for _ in range(300):
        flat = rng.random((weeks, 1000)) < odds
        given, luckiest = flat_of(flat[0]), flat_of(flat[flat.sum(axis=1).argmin()])
        flags = (ever_flat(luckiest), ever_flat(given))
        left_out += [not may_be_as_good(luckiest, given, flags, among) for among in (weeks, 2)]
    assert left_out[0] <= 0.07 * 300
    if weeks > 20:
        assert left_out[1] > 0.15 * 300
