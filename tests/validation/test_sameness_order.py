"""The same bits in whatever order and in whatever portions the work is done."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from flatodds import parse_scenario
from flatodds.engine import run as engine_run
from flatodds.engine.plan import Plan, make_plan
from flatodds.engine.results import Results
from flatodds.engine.run import run_plan

pytestmark = pytest.mark.validation

QUESTION = """
bank.chemistry = "agm"
bank.volts = 12
bank.amp_hours = 220
array.watts = 400
inverter.watts = 2000
household.pattern = "light"

[[stay]]
place = "36.1, -79.95"
first_day = "20 Nov"
nights = 17
elevation_m = 270

[[stay]]
place = "33.4, -112.0"
first_day = "12 Dec"
nights = 6
elevation_m = 340
"""
SEED = 11
MEMBERS = 4 * 64 + 3


@cache
def plan() -> Plan:
    return make_plan(parse_scenario(QUESTION, "order.toml"), base_dir=Path())


@cache
def plain() -> Results:
    return run_plan(plan(), MEMBERS, SEED, threads=1)


def same(results: Results) -> None:
    expected = plain()
    assert results.members == expected.members
    for group in ("sums", "extremes", "daily"):
        one, other = getattr(expected, group), getattr(results, group)
        assert one.keys() == other.keys()
        for name in one:
            np.testing.assert_array_equal(other[name], one[name], f"{group} {name}")
    np.testing.assert_array_equal(results.appliance_wanted_wh, expected.appliance_wanted_wh)
    np.testing.assert_array_equal(results.appliance_served_wh, expected.appliance_served_wh)
    assert results.balance_error == expected.balance_error


def test_the_plain_run_is_not_trivial() -> None:
    assert 0 < np.count_nonzero(plain().sums["hours_flat"]) < plain().sums["hours_flat"].size


@pytest.mark.parametrize("days", [1, 3, 7, 64])
def test_days_drawn_at_once_change_nothing(days: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(engine_run, "CHUNK_DAYS", days)
    same(run_plan(plan(), MEMBERS, SEED, threads=1))


@pytest.mark.parametrize("order", ["backwards", "shuffled"])
@pytest.mark.parametrize("threads", [1, 3])
def test_order_of_blocks_changes_nothing(
    order: str, threads: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    in_order = engine_run.blocks_in_pool

    def disordered(plan: Plan, firsts: list[int], seed: int, threads: int) -> Iterator[Any]:
        numbers = list(range(len(firsts)))[::-1]
        if order == "shuffled":
            numbers = [int(n) for n in np.random.default_rng(5).permutation(len(firsts))]
        for at, block in in_order(plan, [firsts[n] for n in numbers], seed, threads):
            yield numbers[at], block

    monkeypatch.setattr(engine_run, "blocks_in_pool", disordered)
    same(run_plan(plan(), MEMBERS, SEED, threads=threads))


@pytest.mark.parametrize("steps", [(1, MEMBERS), (64, 128, MEMBERS), (70, 71, MEMBERS)])
def test_going_on_after_a_look_is_the_whole_run(steps: tuple[int, ...]) -> None:
    """Members asked for little by little are those of one run; none is lived twice."""
    looked: list[int] = []

    def more(results: Results) -> int:
        looked.append(results.members)
        return next((step for step in steps if step > results.members), results.members)

    same(run_plan(plan(), steps[0], SEED, threads=2, more=more))
    assert looked == list(steps)


def test_a_portion_of_members_is_the_beginning_of_the_run() -> None:
    few = run_plan(plan(), 70, SEED, threads=2)
    for name, values in few.sums.items():
        np.testing.assert_array_equal(values, plain().sums[name][:, :70], name)
