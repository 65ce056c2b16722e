"""The state after days of known sun, against direct conditioning and long draws."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
from scipy.stats import kstest, norm

from flatodds.engine.run import seed_words
from flatodds.errors import UsageError
from flatodds.sun import sun_table
from flatodds.weather.lately import (
    WORDS,
    Known,
    after_sun,
    after_word,
    kalman,
    score_of,
    unknown,
)
from flatodds.weather.source import build_synthetic
from flatodds.weather.synthetic import YEAR, SyntheticTables, T, W, X, Y, Z

MEMBERS = np.arange(40_000)
KEY = seed_words(5)
DOY = 327
DAYS = np.array([324, 325, 326])


@pytest.fixture(scope="module")
def tables() -> SyntheticTables:
    place = SimpleNamespace(latitude=36.10, longitude=-79.95, elevation_m=270.0)
    return build_synthetic(place, sun_table(36.10, -79.95, 270.0, -5), None)[0]


def path_covariance(tables: SyntheticTables) -> np.ndarray:
    """Covariance of (z of three days; x, y, year of the last) by the lag formula of the AR(1)s."""
    v = float(tables.year_weight[0])
    a, b, w = (np.asarray(v)[DAYS] for v in (tables.fast, tables.slow, tables.slow_weight))

    def lagged(keep: np.ndarray, i: int, j: int) -> float:
        return float(np.prod(keep[min(i, j) + 1 : max(i, j) + 1]))

    whole = np.zeros((6, 6))
    for i in range(3):
        for j in range(3):
            fast = np.sqrt((1 - w[i]) * (1 - w[j])) * lagged(a, i, j)
            days = fast + np.sqrt(w[i] * w[j]) * lagged(b, i, j)
            whole[i, j] = (1 - v) * days + v
        whole[i, 3] = whole[3, i] = np.sqrt((1 - v) * (1 - w[i])) * lagged(a, i, 2)
        whole[i, 4] = whole[4, i] = np.sqrt((1 - v) * w[i]) * lagged(b, i, 2)
        whole[i, 5] = whole[5, i] = np.sqrt(v)
    whole[3:, 3:] = np.eye(3)
    return whole


def test_filter_equals_conditioning_at_once(tables: SyntheticTables) -> None:
    """Kalman's recursion gives what the normal law's conditional formulas give."""
    seen, noise = np.array([-1.2, -0.4, -2.0]), np.array([0.1, 0.3, 0.05])
    whole = path_covariance(tables)
    cross, own = whole[3:, :3], whole[:3, :3] + np.diag(noise)
    mean, covariance = kalman(tables, DAYS, seen, noise.tolist())
    assert mean == pytest.approx(cross @ np.linalg.solve(own, seen), abs=1e-10)
    left = np.eye(3) - cross @ np.linalg.solve(own, cross.T)
    assert covariance == pytest.approx(left, abs=1e-10)


def test_a_word_equals_picking_from_long_draws(tables: SyntheticTables) -> None:
    """Paths whose mean score lies in the dullest third, counted in 400,000 draws."""
    draws = np.random.default_rng(1).multivariate_normal(
        np.zeros(6), path_covariance(tables), 400_000
    )
    mean = draws[:, :3].mean(axis=1)
    thirds = np.quantile(mean, [1 / 3, 2 / 3])
    for third, word in enumerate(WORDS):
        chosen = draws[np.searchsorted(thirds, mean) == third][:, 3:]
        state = after_word(tables, DOY, word).states(MEMBERS, KEY)[[X, Y, YEAR]].T
        assert state.mean(axis=0) == pytest.approx(chosen.mean(axis=0), abs=0.02)
        assert np.cov(state.T) == pytest.approx(np.cov(chosen.T), abs=0.02)


def test_the_three_words_together_are_knowing_nothing(tables: SyntheticTables) -> None:
    parts = [after_word(tables, DOY, word).states(MEMBERS, KEY) for word in WORDS]
    every = np.concatenate(parts, axis=1)
    for row in (X, Y, T, W, YEAR):
        assert every[row].mean() == pytest.approx(0.0, abs=0.01)
        assert every[row].std() == pytest.approx(1.0, abs=0.01)
    assert np.corrcoef(every[X], every[Y])[0, 1] == pytest.approx(0.0, abs=0.01)
    assert parts[0][Z].mean() < -0.6 < 0.6 < parts[2][Z].mean()


def test_nothing_known_is_the_settled_state(tables: SyntheticTables) -> None:
    state = unknown(tables, DOY).states(MEMBERS[:5000], KEY)
    for row in (X, Y, T, W, YEAR):
        assert kstest(state[row], norm.cdf).pvalue > 1e-3
    part, year = float(tables.slow_weight[DOY - 1]), float(tables.year_weight[0])
    days = np.sqrt(1 - part) * state[X] + np.sqrt(part) * state[Y]
    assert state[Z] == pytest.approx(np.sqrt(1 - year) * days + np.sqrt(year) * state[YEAR])


def test_states_do_not_depend_on_the_block(tables: SyntheticTables) -> None:
    known = after_word(tables, DOY, "dull")
    whole = known.states(np.arange(128), KEY)
    assert np.array_equal(known.states(np.arange(64, 128), KEY), whole[:, 64:])
    assert not np.array_equal(known.states(np.arange(128), seed_words(6)), whole)


def test_dull_days_lower_the_state_and_more_days_tell_more(tables: SyntheticTables) -> None:
    dull: Known = after_sun(tables, DOY, [0.4, 0.3, 0.4])
    clear = after_sun(tables, DOY, [3.2, 3.3, 3.2])
    one = after_sun(tables, DOY, [0.4])
    assert dull.mean[1] < one.mean[1] < 0.0  # three dull days speak of a dull season
    assert dull.mean[0] < -1.0
    assert one.mean[0] < -1.0
    assert (clear.mean > 0.0).all()
    assert np.linalg.det(dull.covariance) < np.linalg.det(one.covariance) < 1.0


def test_a_days_sun_and_its_score_agree(tables: SyntheticTables) -> None:
    for wanted in (-1.5, 0.0, 1.0):
        at = round((wanted + 4.0) * 32)
        sun = float(tables.k_by_z[DOY, at] * tables.h0_wh_m2[DOY]) / 1000.0
        score, noise = score_of(tables, DOY, sun)
        assert score == pytest.approx(wanted, abs=0.02)
        assert 0.0 < noise < 1.0


def test_refusals(tables: SyntheticTables) -> None:
    with pytest.raises(UsageError, match="dull, mixed, clear"):
        after_word(tables, DOY, "rainy")
    with pytest.raises(UsageError) as caught:
        after_sun(tables, DOY, [1.0, -1.0, 25.0])
    assert len(caught.value.problems) == 2
    with pytest.raises(UsageError, match="0 days"):
        after_sun(tables, DOY, [])
