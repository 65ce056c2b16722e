"""Odds of running flat against exact results for stores fed by random days.

Days are worth whole numbers of daily loads, so the bank is a random walk on a few levels
whose odds are known in closed form or by its transition matrix. Chances from n independent
members are held to 3.29 standard deviations, long-run means to 3.29 standard errors over
members (days of one member are not independent).
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

import numpy as np
import pytest
import xarray as xr

if TYPE_CHECKING:
    from tests.validation import square_sun as sq
else:
    import square_sun as sq

pytestmark = pytest.mark.validation

MANY, YEARS = 4096, 1024  # members of the season runs and of the year runs
SETTLED = 7  # a full bank in January is forgotten by July: the matrix gives 1e-4 of LOLP


def coin_days(p: float, members: int, days: int, sun: int = 2, seed: int = 1) -> sq.Units:
    """Independent days: `sun` units with chance p, else none."""
    return sun * (np.random.default_rng(seed).random((members, days)) < p).astype(np.int64)


def geometric_days(mean: float, members: int, days: int, seed: int = 2) -> sq.Units:
    """Independent days of j units with chance (1/(1+m)) (m/(1+m))^j; at most 32."""
    draws = np.random.default_rng(seed).geometric(1.0 / (1.0 + mean), (members, days)) - 1
    return np.minimum(draws, 32)


@cache
def markov_days(members: int, days: int, seed: int = 3) -> sq.Units:
    """Days of two units or none; sun follows sun by 0.8, cloud follows cloud by 0.7."""
    rng = np.random.default_rng(seed)
    sunny = np.empty((members, days), dtype=bool)
    sunny[:, 0] = rng.random(members) < 0.6
    for day in range(1, days):
        again = np.where(sunny[:, day - 1], 0.8, 0.7)
        sunny[:, day] = sunny[:, day - 1] ^ (rng.random(members) >= again)
    return 2 * sunny.astype(np.int64)


@cache
def coin_year(p: float, bank_days: int) -> xr.Dataset:
    return sq.run_square(coin_days(p, YEARS, 365), bank_days)


@cache
def markov_run(members: int, days: int, shuffled: bool) -> tuple[xr.Dataset, float]:
    """Result of the Markov days, as they come or shuffled, and their share of sun."""
    units = markov_days(members, days)
    if shuffled:
        mixed = np.random.default_rng(4).permutation(units.ravel())
        units = mixed.reshape(units.shape)
    return sq.run_square(units, 10), float(units.mean() / 2.0)


def walk_lolp(p: float, bank_days: int) -> float:
    """Long-run share of short days when days are independent: gambler's-ruin closed form."""
    r = p / (1.0 - p)
    return (1.0 - p) * (1.0 - r) / (1.0 - r ** (bank_days + 1))


@pytest.mark.parametrize(
    ("p", "bank_days", "chance"), [(0.5, 10, 0.45378), (0.6, 10, 0.05309), (0.6, 5, 0.50272)]
)
def test_coin_season(p: float, bank_days: int, chance: float) -> None:
    """Sun of two loads with chance p: short at least once in 90 days (transition matrix).

    4,096 members: +-0.0256 at p 0.5, +-0.0115 at 0.053.
    """
    result = sq.run_square(coin_days(p, MANY, 90), bank_days)
    assert sq.flat_by(result, 90) == pytest.approx(chance, abs=sq.sampling(chance, MANY))
    # A short day refuses its whole load: six flat hours, one flat night, one unit.
    short = result["hours_flat"].sum() / sq.LOAD_H
    assert float(result["nights_flat"].sum()) == float(short)
    unserved = float(result["energy_not_served_wh"].sum()) / sq.UNIT_WH
    assert unserved == pytest.approx(float(short), rel=1e-5)


@pytest.mark.parametrize(
    ("p", "bank_days", "chance", "lolp"),
    [(0.5, 10, 0.95833, 0.045455), (0.6, 10, 0.24664, 0.0023392), (0.6, 5, 0.95210, 0.019248)],
)
def test_coin_year(p: float, bank_days: int, chance: float, lolp: float) -> None:
    """The same over 365 days, and in the long run: short days, unserved and spilled energy.

    LOLP = EENS = (1-p)(1-r)/(1-r^(N+1)), r = p/(1-p), or 1/2/(N+1) at p 1/2; spill is
    EENS + 2p - 1 (closed forms). From July on, 1,024 members.
    """
    result = coin_year(p, bank_days)
    assert sq.flat_by(result, 365) == pytest.approx(chance, abs=sq.sampling(chance, YEARS))
    for name, divisor, wanted in (
        ("hours_flat", sq.LOAD_H, lolp),
        ("energy_not_served_wh", sq.UNIT_WH, lolp),
        ("spilled_wh", sq.UNIT_WH, lolp + 2.0 * p - 1.0),
    ):
        mean, within = sq.mean_and_tolerance(sq.per_day(result, name, SETTLED) / divisor)
        assert mean == pytest.approx(wanted, abs=within), name


def test_days_to_the_first_shortage() -> None:
    """Sun of two loads by the toss of a coin: (N+1)(N+2) days on average, N 3: 20 days.

    Random walk between a reflecting and an absorbing end. A small bank, so that all of
    1,024 members run short in 240 days (the longest wait is kept, not cut off).
    """
    result = sq.run_square(coin_days(0.5, 1024, 240, seed=5), 3)
    mean, within = sq.mean_and_tolerance(result["first_flat_day"].to_numpy().ravel())
    assert mean == pytest.approx(20.0, abs=within)


@pytest.mark.parametrize(
    ("mean", "bank_days", "chance"), [(1.25, 10, 0.29618), (1.25, 5, 0.88127), (1.0, 10, 0.70618)]
)
def test_dam_season(mean: float, bank_days: int, chance: float) -> None:
    """Moran's dam with geometric inflow: short at least once in 90 days (transition matrix)."""
    result = sq.run_square(geometric_days(mean, MANY, 90), bank_days)
    assert sq.flat_by(result, 90) == pytest.approx(chance, abs=sq.sampling(chance, MANY))


@pytest.mark.parametrize(
    ("mean", "bank_days", "lolp"),
    [(1.25, 10, 0.018448), (1.25, 5, 0.066342), (1.0, 10, 0.083333)],
)
def test_dam_in_the_long_run(mean: float, bank_days: int, lolp: float) -> None:
    """The same dam: LOLP = EENS = (m-1)/(m^(N+2)-1), 1/(N+2) at m 1; spill m - 1 + EENS."""
    result = sq.run_square(geometric_days(mean, YEARS, 365), bank_days)
    for name, divisor, wanted in (
        ("hours_flat", sq.LOAD_H, lolp),
        ("energy_not_served_wh", sq.UNIT_WH, lolp),
        ("spilled_wh", sq.UNIT_WH, mean - 1.0 + lolp),
    ):
        seen, within = sq.mean_and_tolerance(sq.per_day(result, name, SETTLED) / divisor)
        assert seen == pytest.approx(wanted, abs=within), name


@pytest.mark.parametrize(
    ("run", "days", "chance"),
    [(3, 90, 0.83334), (5, 90, 0.13788), (6, 90, 0.04279), (5, 30, 0.04433)],
)
def test_runs_of_cloud(run: int, days: int, chance: float) -> None:
    """A bank of r-1 days that any sunny day fills is short when r cloudy days come in a row.

    Chance of such a run, cloud 0.3 (Feller, success runs).
    """
    result = sq.run_square(coin_days(0.7, MANY, days, sun=run, seed=6), run - 1)
    assert sq.flat_by(result, days) == pytest.approx(chance, abs=sq.sampling(chance, MANY))


def test_wait_for_a_run_of_cloud() -> None:
    """Feller's mean wait (1-q^r)/((1-q)q^r): 14.44 days for two cloudy days, q 0.3.

    Short runs, so that no member is left waiting at the end of 240 days.
    """
    result = sq.run_square(coin_days(0.7, 1024, 240, sun=2, seed=7), 1)
    mean, within = sq.mean_and_tolerance(result["first_flat_day"].to_numpy().ravel())
    assert mean == pytest.approx((1.0 - 0.09) / (0.7 * 0.09), abs=within)


def test_spells_of_weather() -> None:
    """Sun and cloud that last (Markov, 60 % sun), N 10: P30 0.15509, P90 0.50981 (matrix)."""
    result, _ = markov_run(MANY, 90, False)
    assert sq.flat_by(result, 30) == pytest.approx(0.15509, abs=sq.sampling(0.15509, MANY))
    assert sq.flat_by(result, 90) == pytest.approx(0.50981, abs=sq.sampling(0.50981, MANY))


def test_shuffled_days_lose_the_spells() -> None:
    """Negative control: the same days shuffled have the coin's odds, 0.05309 in 90 days.

    The shuffled table's share of sun differs from 0.6 by chance (sd 0.0014 for days that
    come in spells), which moves the odds by 2.4 per unit (matrix): added in quadrature.
    """
    result, share = markov_run(MANY, 90, True)
    assert share == pytest.approx(0.6, abs=sq.SIGMAS * 0.0014)
    within = float(np.hypot(sq.sampling(0.05309, MANY), sq.SIGMAS * 2.4 * 0.0014))
    assert sq.flat_by(result, 90) == pytest.approx(0.05309, abs=within)


def test_spells_make_short_days_eighteen_times_as_many() -> None:
    """LOLP 0.042537 with spells (matrix), 0.0023392 once shuffled (closed form), N 10.

    The shuffled run is held to the closed form at its own share of sun.
    """
    spells, _ = markov_run(YEARS, 365, False)
    mixed, share = markov_run(YEARS, 365, True)
    with_spells, within = sq.mean_and_tolerance(
        sq.per_day(spells, "hours_flat", SETTLED) / sq.LOAD_H
    )
    assert with_spells == pytest.approx(0.042537, abs=within)
    without, around = sq.mean_and_tolerance(sq.per_day(mixed, "hours_flat", SETTLED) / sq.LOAD_H)
    assert without == pytest.approx(walk_lolp(share, 10), abs=around)
    assert walk_lolp(0.6, 10) == pytest.approx(0.0023392, rel=1e-4)
    slack = (0.042537 / 0.0023392) * float(np.hypot(within / 0.042537, around / 0.0023392))
    assert with_spells / without == pytest.approx(0.042537 / 0.0023392, abs=slack)
