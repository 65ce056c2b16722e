"""How often printed intervals hold the truth, where the truth is known because it was made.

Nominal is 95 %. Every case repeats whole studies, the decision when to stop included. A member is
flat in a case when its luck, one uniform number for all cases, is below that case's chance: the
same members live every case, as in a run.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest

from flatodds.outcomes.odds import (
    Sample,
    mixture_proportion,
    mixture_range,
    outer_share,
    paired_difference,
)
from flatodds.outcomes.stopping import FIRST_MEMBERS, MOST_AUTO_MEMBERS, enough

pytestmark = pytest.mark.validation

STUDIES, RECORDS = 2_000, 400
LEAST = 0.93  # allowed below the nominal .95; two standard errors of 2,000 studies are .0098


def study(rng: np.random.Generator, chances: npt.NDArray[np.float64]) -> tuple[float, float, int]:
    """Interval ends of one study that stops by itself, and its members."""
    weights = np.full(len(chances), 1.0 / len(chances))
    luck = rng.random(MOST_AUTO_MEMBERS)
    members = FIRST_MEMBERS
    while True:
        flags = luck[:members] < chances[:, None]
        if members >= MOST_AUTO_MEMBERS or enough(flags, weights):
            found = mixture_proportion(flags, weights, Sample("monte_carlo", members))
            return found["low"], found["high"], members
        members *= 2


@pytest.mark.parametrize(
    "chances",
    [
        [0.0003],
        [0.002],
        [0.01],
        [0.05],
        [0.4],
        [0.001, 0.004, 0.01, 0.03, 0.09],
        [0.0, 0.0, 0.0, 0.001, 0.02],
        [0.3, 0.5, 0.6, 0.8, 0.95],
    ],
)
def test_intervals_of_drawn_years_hold_the_truth(chances: list[float]) -> None:
    rng = np.random.default_rng(20261125)
    truth = float(np.mean(chances))
    held = 0
    for _ in range(STUDIES):
        low, high, _ = study(rng, np.array(chances))
        held += low <= truth <= high
    assert held / STUDIES >= LEAST


@pytest.mark.parametrize(
    "chances",
    [
        [0.001, 0.004, 0.01, 0.03, 0.09],
        [0.0, 0.0, 0.0, 0.001, 0.02],
        [0.3, 0.5, 0.6, 0.8, 0.95],
        [0.1, 0.1, 0.1, 0.1, 0.1],
        np.linspace(0.02, 0.5, 25).tolist(),
    ],
)
def test_the_range_holds_eight_in_ten_model_points(chances: list[float]) -> None:
    """Both ends at once: the true chances that leave a tenth of the points outside each side."""
    rng = np.random.default_rng(20261129)
    weights = np.full(len(chances), 1.0 / len(chances))
    own = np.array(chances)
    bottom, top = outer_share(own, weights), 1.0 - outer_share(1.0 - own, weights)
    held = 0
    for _ in range(STUDIES):
        luck = rng.random(FIRST_MEMBERS)
        flags = luck < own[:, None]
        found = mixture_range(flags, weights, Sample("monte_carlo", FIRST_MEMBERS))
        held += found["low"] <= bottom and top <= found["high"]
    assert held / STUDIES >= LEAST


@pytest.mark.parametrize("years", [10, 20, 40])
@pytest.mark.parametrize("spread", [0.0, 0.3, 1.5])
@pytest.mark.parametrize("chance", [0.03, 0.1, 0.3])
def test_intervals_of_real_years_hold_the_truth(chance: float, spread: float, years: int) -> None:
    """Each real year has a chance of its own; `spread` is its log-odds' sd about the mean.

    A spread of 0 would make years alike and members independent; the winters of real records
    differ so much that a year is nearly always or nearly never flat.
    """
    rng = np.random.default_rng(7)
    per_year = 50
    held = 0
    sharpness = 0.02 if spread == 0.0 else 1.0 / spread
    for _ in range(RECORDS):
        own = rng.beta(chance * sharpness, (1.0 - chance) * sharpness, years)
        flags = rng.random((per_year, years)) < own
        found = mixture_range(flags.reshape(1, -1), np.ones(1), Sample("record", years))
        held += found["low"] <= chance <= found["high"]
    assert held / RECORDS >= LEAST


@pytest.mark.parametrize("years", [10, 20, 40])
@pytest.mark.parametrize("chance", [0.03, 0.3])
def test_real_years_at_several_model_points(chance: float, years: int) -> None:
    """The headline over five points: a winter has one hardness, which each point meets its way."""
    rng = np.random.default_rng(9)
    points = chance * np.array([0.4, 0.7, 1.0, 1.3, 1.6])
    weights, held = np.full(5, 0.2), 0
    for _ in range(RECORDS):
        hardness = rng.random(years)
        flags = np.tile(hardness < points[:, None], 50)
        found = mixture_proportion(flags, weights, Sample("record", years))
        held += found["low"] <= chance <= found["high"]
    assert held / RECORDS >= LEAST


@pytest.mark.parametrize("years", [10, 20, 40])
@pytest.mark.parametrize(("first", "second"), [(0.3, 0.1), (0.1, 0.1), (0.06, 0.04), (0.5, 0.05)])
def test_differences_over_real_years_hold_the_truth(
    first: float, second: float, years: int
) -> None:
    """Both rigs live the same winters; the household's luck differs a little between members."""
    rng = np.random.default_rng(10)
    held = 0
    for _ in range(RECORDS):
        hardness = np.clip(rng.random(years), 0.02, 0.98) + rng.uniform(-0.02, 0.02, (50, years))
        one, two = (hardness < chance for chance in (first, second))
        found = paired_difference(one.ravel(), two.ravel(), years=years)
        held += found["low"] <= second - first <= found["high"]
    assert held / RECORDS >= LEAST


@pytest.mark.parametrize(("gain", "loss"), [(0.0, 0.02), (0.01, 0.05), (0.0005, 0.001)])
@pytest.mark.parametrize("points", [1, 5])
def test_differences_over_drawn_years_hold_the_truth(gain: float, loss: float, points: int) -> None:
    """As many members as a comparison lives; the points differ in how often rigs differ."""
    rng = np.random.default_rng(10)
    factor = np.linspace(0.5, 1.5, points)[:, None] if points > 1 else np.ones((1, 1))
    held = 0
    for _ in range(STUDIES):
        luck = rng.random(2_000)
        one, two = luck > 1.0 - loss * factor, luck < gain * factor
        found = paired_difference(one, two)
        held += found["low"] <= gain - loss <= found["high"]
    assert held / STUDIES >= LEAST


def test_counting_members_instead_of_years_would_be_caught() -> None:
    """The mistake these tests are there for: fifty members of each of ten winters."""
    rng = np.random.default_rng(7)
    held = 0
    for _ in range(RECORDS):
        own = rng.beta(0.1 * 0.02, 0.9 * 0.02, 10)
        flags = rng.random((50, 10)) < own
        found = mixture_proportion(flags.reshape(1, -1), np.ones(1), Sample("monte_carlo", 500))
        held += found["low"] <= 0.1 <= found["high"]
    assert held / RECORDS < 0.7


def test_stops_early_when_the_model_is_in_doubt_and_late_when_it_is_not() -> None:
    rng = np.random.default_rng(3)
    wide, narrow = np.array([0.0, 0.02, 0.05, 0.15, 0.4]), np.array([0.12])
    assert np.median([study(rng, wide)[2] for _ in range(50)]) == FIRST_MEMBERS
    assert np.median([study(rng, narrow)[2] for _ in range(50)]) == 4 * FIRST_MEMBERS


def test_real_years_stop_when_their_own_interval_is_the_wider_doubt() -> None:
    flags = np.random.default_rng(1).random((1, FIRST_MEMBERS)) < 0.1
    assert enough(flags, np.ones(1), years=12)
    assert not enough(flags, np.ones(1))


@pytest.mark.parametrize("points", [1, 5, 25])
def test_the_mean_over_model_points_is_the_flat_mixture(points: int) -> None:
    """Every point lives every member, which is drawing point and member apart, less chance.

    Pooled, all pairs of point and member have the same share that happened; and pairs drawn
    apart, 200,000 of them, agree within four standard errors.
    """
    rng = np.random.default_rng(points)
    chances, members = rng.uniform(0.0, 0.3, points), 4096
    flags = rng.random((points, members)) < chances[:, None]
    weights = np.full(points, 1.0 / points)
    sample = Sample("monte_carlo", members)
    estimate = mixture_proportion(flags, weights, sample)["estimate"]
    assert estimate == pytest.approx(flags.mean(), abs=1e-12)
    point, member = rng.integers(0, points, 200_000), rng.integers(0, members, 200_000)
    drawn = flags[point, member].mean()
    assert abs(drawn - estimate) < 4.0 * np.sqrt(estimate * (1.0 - estimate) / 200_000)
    twice = np.repeat(flags, 2, axis=0)  # a point of twice the weight is two alike
    uneven = np.concatenate([weights[:1] * 2, weights[1:]]) / (1.0 + weights[0])
    kept = twice if points == 1 else np.concatenate([twice[:2], flags[1:]])
    even = np.full(len(kept), 1.0 / len(kept))
    assert mixture_proportion(flags, uneven, sample)["estimate"] == pytest.approx(
        mixture_proportion(kept, even, sample)["estimate"], abs=1e-12
    )
