"""Every way of working a question out writes the same summary.json and the same stored arrays.

Threads, order of blocks, portions in which blocks are asked for, an interrupted run begun again,
and where results lie meanwhile: all combinations, compared to the byte.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from flatodds import Outcomes, parse_scenario
from flatodds.engine import holding
from flatodds.engine import run as engine_run
from flatodds.engine.plan import Plan, make_plan
from flatodds.engine.results import Results
from flatodds.engine.run import run_plan
from flatodds.lanes import LANES
from flatodds.report.writer import summary_json

pytestmark = [pytest.mark.validation, pytest.mark.usefixtures("estimate_taken_for_exact")]

QUESTION = """
bank.chemistry = "agm"
bank.volts = 12
bank.amp_hours = 90
array.watts = 250
inverter.watts = 1000
household.pattern = "light"
uncertain.sun_frac = 0.0
uncertain.use_frac = 0.0

[[stay]]
place = "36.1, -79.95"
first_day = "20 Dec"
nights = 3
elevation_m = 270
"""
BLOCKS = 70  # more than the largest portion
MEMBERS = BLOCKS * LANES - 5
SEED = 3
SOME = 7 * LANES - 5  # where the order of blocks and threads is crossed with the rest


@cache
def plan() -> Plan:
    return make_plan(parse_scenario(QUESTION, "matrix.toml"), base_dir=Path())


def bytes_of(results: Results) -> tuple[str, str]:
    """Text of summary.json, and a hash over every stored array."""
    outcomes = Outcomes.from_results(results)
    digest = hashlib.sha256()
    for name, variable in sorted(outcomes.dataset.variables.items(), key=str):
        values = variable.to_numpy()
        digest.update(f"{name} {values.dtype} {values.shape}".encode())
        text = values.dtype.kind == "O"
        digest.update(str(values.tolist()).encode() if text else values.tobytes())
    return summary_json(outcomes.summary()), digest.hexdigest()


@cache
def plain(members: int) -> tuple[str, str]:
    return bytes_of(run_plan(plan(), members, SEED, threads=1))


def in_order(kind: str) -> Any:
    """Let blocks finish in another order."""
    lived = engine_run.blocks_in_pool

    def disordered(plan: Plan, firsts: list[int], seed: int, threads: int) -> Iterator[Any]:
        numbers = list(range(len(firsts)))[::-1]
        if kind == "shuffled":
            numbers = [int(n) for n in np.random.default_rng(5).permutation(len(firsts))]
        for at, block in lived(plan, [firsts[n] for n in numbers], seed, threads):
            yield numbers[at], block

    return lived if kind == "forwards" else disordered


@pytest.mark.parametrize("blocks", [1, 7, 64])
def test_portions_of_blocks(blocks: int) -> None:
    """Asked for a portion at a time, as auto does; every look sees all that was lived."""

    def more(results: Results) -> int:
        return min(results.members + blocks * LANES, MEMBERS)

    assert bytes_of(run_plan(plan(), blocks * LANES, SEED, threads=2, more=more)) == plain(MEMBERS)


@pytest.mark.parametrize("threads", [1, 2, 4])
@pytest.mark.parametrize("order", ["forwards", "backwards", "shuffled"])
@pytest.mark.parametrize("days", [1, 64])
@pytest.mark.parametrize("most", [1, 1 << 30], ids=["on disk", "in memory"])
def test_threads_order_days_at_once_and_place_of_results(
    threads: int, order: str, days: int, most: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(engine_run, "blocks_in_pool", in_order(order))
    monkeypatch.setattr(engine_run, "CHUNK_DAYS", days)
    monkeypatch.setattr(holding, "MOST_IN_MEMORY", most)
    assert bytes_of(run_plan(plan(), SOME, SEED, threads=threads)) == plain(SOME)


@pytest.mark.parametrize("after", [1, 3])
def test_interrupted_and_begun_again(after: int) -> None:
    seen: list[int] = []

    def interrupt(done: int) -> None:
        seen.append(done)
        if len(seen) == after:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        run_plan(plan(), SOME, SEED, threads=2, progress=interrupt)
    assert bytes_of(run_plan(plan(), SOME, SEED, threads=2)) == plain(SOME)


def test_the_question_is_not_trivial() -> None:
    assert plain(SOME) != plain(MEMBERS)
    hours = run_plan(plan(), SOME, SEED).sums["hours_flat"]
    assert len(np.unique(hours)) > 10
