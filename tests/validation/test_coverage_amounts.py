"""How often intervals and percentiles of amounts hold the truth, which is known exactly here.

An amount is nothing for most members and so much for a few; its law is chosen, so that mean and
percentiles are known without simulating. As in the tests of chances, members carry one luck
through every case, and real years have a level of their own that their members share.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import numpy.typing as npt
import pytest

from flatodds.outcomes.amounts import AMOUNT_LEVELS, mixture_amount, mixture_quantiles
from flatodds.outcomes.means import mean_of
from flatodds.outcomes.odds import normal_quantile

pytestmark = pytest.mark.validation

STUDIES, RECORDS = 2_000, 400
LEAST = 0.93  # as for chances
MEMBERS = 2_000  # as many as a comparison lives
ONE_MORE = 3.0  # a week without is more than what is missing on average, which is 1 here

Floats = npt.NDArray[np.float64]
Generator = np.random.Generator

SIZES: dict[str, Callable[[Generator, int], Floats]] = {  # all of mean 1
    "alike": lambda rng, count: rng.normal(1.0, 0.1, count),
    "skewed": lambda rng, count: rng.exponential(1.0, count),
    "more skewed": lambda rng, count: rng.lognormal(-0.5, 1.0, count),
}


def differences(rng: Generator, more: float, less: float, size: str, count: int) -> Floats:
    """Amounts of which so large a share is above zero, and so large a share below."""
    luck, sizes = rng.random(count), SIZES[size](rng, count)
    return np.where(luck < more, sizes, np.where(luck < more + less, -sizes, 0.0))


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize(
    ("more", "less"),
    [(0.0003, 0.0), (0.0, 0.002), (0.005, 0.0), (0.02, 0.0), (0.2, 0.0), (1.0, 0.0),
     (0.002, 0.001), (0.02, 0.02), (0.4, 0.5)],
)  # fmt: skip
def test_means_over_drawn_years_hold_the_truth(more: float, less: float, size: str) -> None:
    rng = np.random.default_rng(11)
    held = 0
    for _ in range(STUDIES):
        found = mean_of(differences(rng, more, less, size, MEMBERS), MEMBERS, ONE_MORE)
        held += found["low"] <= more - less <= found["high"]
    assert held / STUDIES >= LEAST


def test_the_usual_interval_would_be_caught() -> None:
    """Mean and twice its standard error, where one stay in 500 is short of anything."""
    rng = np.random.default_rng(11)
    held = 0
    for _ in range(STUDIES):
        values = differences(rng, 0.002, 0.0, "skewed", MEMBERS)
        half = normal_quantile(0.95) * values.std(ddof=1) / MEMBERS**0.5
        held += abs(values.mean() - 0.002) <= half
    assert held / STUDIES < 0.85


@pytest.mark.parametrize("years", [10, 20, 40])
@pytest.mark.parametrize("within", [0.0, 0.5])
@pytest.mark.parametrize("hard", [0.03, 0.1, 0.3, 1.0])
def test_means_over_real_years_hold_the_truth(hard: float, within: float, years: int) -> None:
    """A share of the winters is hard, each by a level of its own; members differ in household."""
    rng = np.random.default_rng(12)
    per_year, held = 50, 0
    for _ in range(RECORDS):
        level = np.where(rng.random(years) < hard, rng.exponential(1.0, years), 0.0)
        own = rng.exponential(1.0, (per_year, years)) if within else np.ones((per_year, years))
        values = level * (1.0 - within + within * own)
        found = mean_of(values.ravel(), years, ONE_MORE)
        held += found["low"] <= hard <= found["high"]
    assert held / RECORDS >= LEAST


@pytest.mark.parametrize("years", [10, 20, 40])
def test_even_differences_over_real_years_hold_the_truth(years: int) -> None:
    """Normal about 0.4: every winter differs, some the other way."""
    rng = np.random.default_rng(13)
    held = 0
    for _ in range(RECORDS):
        values = np.tile(rng.normal(0.4, 1.0, years), 50)
        found = mean_of(values, years)
        held += found["low"] <= 0.4 <= found["high"]
    assert held / RECORDS >= LEAST


def test_nothing_seen_is_not_nothing_sure() -> None:
    """No member differs: each end at what 3.7 such members would make (exact Poisson, 97.5 %)."""
    found = mean_of(np.zeros(MEMBERS), MEMBERS, ONE_MORE)
    assert found["mean"] == 0.0
    assert found["high"] == -found["low"] == pytest.approx(3.6889 * ONE_MORE / MEMBERS, rel=1e-4)


def test_equal_sizes_give_the_exact_limits_of_a_count() -> None:
    """Seven struck alike of very many: at most 14.42, the exact Poisson limit; at least 2.81.

    The low end also allows for the other way round, of which none were seen: 3.69 at most.
    """
    values = np.zeros(1_000_000)
    values[:7] = 1.0
    found = mean_of(values, len(values))
    assert found["high"] * 1e6 == pytest.approx(14.4227, rel=1e-3)
    low = 7.0 - ((7.0 - 2.8144) ** 2 + 3.6889**2) ** 0.5
    assert found["low"] * 1e6 == pytest.approx(low, rel=1e-3)


POINTS = np.array([0.5, 0.8, 1.0, 1.3, 2.0])  # mean amount at each model point
EVEN = np.full(5, 0.2)


def share_below(value: float) -> float:
    """Exact share of stays at or below a value: exponential at each point, all weighing alike."""
    return float(np.mean(1.0 - np.exp(-value / POINTS)))


def test_percentiles_leave_the_share_of_stays_they_say() -> None:
    """Half, nine tenths, 99 of 100 of all further stays; so does the band of eight in ten."""
    rng = np.random.default_rng(14)
    levels = {**AMOUNT_LEVELS, "p10": 0.10}
    found: dict[str, list[float]] = {name: [] for name in levels}
    means = []
    for _ in range(STUDIES):
        values = rng.exponential(1.0, 1024) * POINTS[:, None]
        for name, value in mixture_quantiles(values, EVEN, levels).items():
            found[name].append(share_below(value))
        means.append(mixture_amount(values, EVEN)["mean"])
    for name, level in levels.items():
        error = float(np.std(found[name])) / STUDIES**0.5
        assert abs(np.mean(found[name]) - level) < 4.0 * error + 1.0 / 1024, name
    band = np.mean(found["p90"]) - np.mean(found["p10"])
    assert band == pytest.approx(0.8, abs=0.002)
    assert np.mean(means) == pytest.approx(POINTS.mean(), abs=4.0 * np.std(means) / STUDIES**0.5)


def test_days_by_which_so_many_are_flat_are_the_true_days() -> None:
    """Each day .35 of those left run flat: a tenth by day 1, half by 2, nine tenths by 6."""
    rng = np.random.default_rng(15)
    flat_by = 1.0 - 0.65 ** np.arange(1, 60)
    levels = {"p10": 0.10, "p50": 0.50, "p90": 0.90}
    truth = {name: 1.0 + int(np.argmax(flat_by >= level)) for name, level in levels.items()}
    assert truth == {"p10": 1.0, "p50": 2.0, "p90": 6.0}
    held = 0
    for _ in range(STUDIES):
        drawn = rng.geometric(0.35, MEMBERS).astype(np.float64)
        drawn[drawn > 8.0] = np.inf  # not within the stay
        held += mixture_quantiles(drawn[None, :], np.ones(1), levels) == truth
    assert held / STUDIES >= LEAST
