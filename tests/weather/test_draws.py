"""Normal draws of a block: the right law, the same in both types, one member at a time."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt
from scipy import stats

from flatodds.lanes import LANES, kernel, philox, rough_normal
from flatodds.weather.draws import fill_normal, fill_rough, rough

WORDS = np.random.default_rng(5).integers(0, 2**32, 20000, dtype=np.uint64)


@kernel
def both_rough(words, mine, theirs) -> None:  # type: ignore[no-untyped-def]
    one = mine.dtype.type(1.0)
    for i in range(words.size):
        mine[i] = rough(words[i], one)
        theirs[i] = rough_normal(words[i])


@kernel
def many(days, first, normal_rows, rough_rows) -> None:  # type: ignore[no-untyped-def]
    a, b = np.uint64(11), np.uint64(12)
    for day in range(days):
        n, r = normal_rows[day], rough_rows[day]
        fill_normal(np.uint64(day), np.uint64(1), first, np.uint64(0), a, b, n)
        fill_rough(np.uint64(day), np.uint64(16), first, np.uint64(0), a, b, r)


def drawn(days: int = 400, first: int = 0) -> tuple[npt.NDArray[Any], npt.NDArray[Any]]:
    normal_rows, rough_rows = np.empty((days, 4, LANES)), np.empty((days, 4, LANES), np.float32)
    many(days, np.uint64(first), normal_rows, rough_rows)
    return normal_rows, rough_rows


def test_rough_numbers_are_those_of_the_ground_floor() -> None:
    for dtype, tolerance in ((np.float64, 1e-15), (np.float32, 1e-6)):
        mine, theirs = np.empty(WORDS.size, dtype), np.empty(WORDS.size)
        both_rough(WORDS, mine, theirs)
        assert np.abs(mine.astype(np.float64) - theirs).max() < tolerance


def test_two_rows_follow_the_normal_law() -> None:
    rows, _ = drawn()
    for row in range(2):
        assert stats.kstest(rows[:, row].ravel(), "norm").pvalue > 1e-3
    for row in range(4):
        assert abs(rows[:, row].mean()) < 4 / np.sqrt(400 * LANES)
        assert abs(rows[:, row].var() - 1.0) < 4 * np.sqrt(2 / (400 * LANES))


def test_rows_days_and_lanes_are_unrelated() -> None:
    rows, rough_rows = drawn()
    columns = np.concatenate([rows, rough_rows], axis=1).transpose(1, 0, 2).reshape(8, -1)
    off = np.corrcoef(columns) - np.eye(8)
    assert np.abs(off).max() < 4.5 / np.sqrt(columns.shape[1])
    following = np.corrcoef(rows[:-1, 0].ravel(), rows[1:, 0].ravel())[0, 1]
    beside = np.corrcoef(rows[:, 0, :-1].ravel(), rows[:, 0, 1:].ravel())[0, 1]
    assert max(abs(following), abs(beside)) < 4.5 / np.sqrt(400 * LANES)


def test_a_member_draws_the_same_whoever_shares_its_block() -> None:
    whole, whole_rough = drawn(3)
    alone, alone_rough = drawn(3, first=17)
    np.testing.assert_array_equal(alone[..., 0], whole[..., 17])
    np.testing.assert_array_equal(alone_rough[..., 0], whole_rough[..., 17])


@kernel
def word(counter, out) -> None:  # type: ignore[no-untyped-def]
    w = philox(counter[0], counter[1], counter[2], counter[3], counter[4], counter[5])
    out[0] = rough_normal(w[0])


def test_the_counter_is_day_stream_member_place() -> None:
    _, rough_rows = drawn(2)
    out = np.empty(1)
    word(np.array([1, 16, 3, 0, 11, 12], dtype=np.uint64), out)
    assert abs(rough_rows[1, 0, 3] - out[0]) < 1e-6
