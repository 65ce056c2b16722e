"""Results in memory or on disk: what is read is what was put, to the bit."""

from __future__ import annotations

import pickle
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import pytest

from flatodds import parse_scenario
from flatodds.engine import holding
from flatodds.engine.holding import Groups, Holding, parts_of
from flatodds.engine.plan import make_plan
from flatodds.engine.run import run_plan
from flatodds.errors import FlatoddsError
from flatodds.outcomes import Outcomes

LANES, CASES, PERIODS, DAYS = 64, 3, 5, 9


def block(seed: int) -> Groups:
    rng = np.random.default_rng(seed)
    draw: Any = rng.random
    return {
        "sums": {"a": draw((CASES, LANES, PERIODS)), "b": draw((CASES, LANES, PERIODS))},
        "extremes": {"c": draw((CASES, LANES, 2))},
        "daily": {"d": draw((LANES, DAYS), np.float32)},
        "plugs": {"e": draw((LANES, 2, 4))},
    }


def whole(blocks: list[Groups], group: str, name: str, axis: int) -> npt.NDArray[Any]:
    return np.concatenate([one[group][name] for one in blocks], axis)


@pytest.mark.parametrize("members", [1, 64, 65, 192])
@pytest.mark.parametrize("most", [1, 100_000, 1 << 30])
def test_what_is_read_is_what_was_put(
    members: int, most: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On disk from the first block, from the second, or never; put in any order."""
    monkeypatch.setattr(holding, "MOST_IN_MEMORY", most)
    blocks = [block(n) for n in range(3)]
    held = Holding()
    for number in (1, 2, 0):
        held.put(number, blocks[number])
    for group, name, axis in (
        ("sums", "a", 1),
        ("sums", "b", 1),
        ("extremes", "c", 1),
        ("daily", "d", 0),
        ("plugs", "e", 0),
    ):
        expected = np.take(whole(blocks, group, name, axis), range(members), axis)
        found = held.group(group, members)
        assert found[name].dtype == expected.dtype
        assert np.array_equal(found[name], expected)
        part_axis = 1 if group in ("daily", "plugs") else 2
        for at in ([0], [1], list(range(expected.shape[part_axis]))):
            some = parts_of(found, name, at, part_axis)
            assert np.array_equal(some, np.take(expected, at, part_axis))
            assert np.array_equal(some, parts_of({name: expected}, name, at, part_axis))


def test_names_are_known_without_reading() -> None:
    held = Holding()
    held.put(0, block(1))
    sums = held.group("sums", 64)
    assert list(sums) == ["a", "b"]
    assert len(sums) == 2
    assert "a" in sums
    assert "c" not in sums
    with pytest.raises(KeyError):
        sums["c"]


def test_a_copy_is_an_ordinary_dict() -> None:
    held = Holding()
    held.put(0, block(1))
    copied = pickle.loads(pickle.dumps(held.group("sums", 60)))  # noqa: S301  (our own bytes)
    assert type(copied) is dict
    assert np.array_equal(copied["a"], block(1)["sums"]["a"][:, :60])


def test_several_threads_may_read() -> None:
    held = Holding()
    for number in range(9):
        held.put(number, block(number))
    sums = held.group("sums", 9 * LANES)
    expected = {name: sums[name] for name in sums}
    with ThreadPoolExecutor(4) as pool:
        for name, found in pool.map(lambda name: (name, sums[name]), ["a", "b"] * 100):
            assert np.array_equal(found, expected[name])


class Full:
    """A file on a full disk."""

    def seek(self, _at: int) -> None: ...

    def write(self, _what: bytes) -> None:
        raise OSError(28, "No space left on device")


def test_a_full_disk_is_said_in_words() -> None:
    held = Holding()
    held._file = Full()  # type: ignore[assignment]
    with pytest.raises(FlatoddsError, match="No space left on device"):
        held.put(0, block(1))


QUESTION = """
bank.chemistry = "agm"
bank.volts = 12
bank.amp_hours = 90
array.watts = 200
inverter.watts = 1000
household.pattern = "light"
[[stay]]
place = "36.1, -79.95"
first_day = "20 Dec"
nights = 17
elevation_m = 270
"""


def test_summaries_do_not_depend_on_where_results_lie(monkeypatch: pytest.MonkeyPatch) -> None:
    plan = make_plan(parse_scenario(QUESTION, "held.toml"), base_dir=Path())
    found = []
    for most in (1, 1 << 30):
        monkeypatch.setattr(holding, "MOST_IN_MEMORY", most)
        found.append(Outcomes.from_results(run_plan(plan, 130, 3)).summary())
    assert found[0] == found[1]
    assert (
        0.0 < found[0]["stays"][0]["hours_flat"]["p50"] < found[0]["stays"][0]["hours_flat"]["p90"]
    )
