"""A run that is given up ends at once, not after the blocks that are under way."""

from __future__ import annotations

import threading
import time
from pathlib import Path

import pytest

from flatodds import parse_scenario
from flatodds.engine.plan import make_plan
from flatodds.engine.run import Stopped, run_block, run_plan


def test_an_interrupt_ends_the_threads_soon(long_stay: str) -> None:
    """A second is what people wait for a prompt; a whole block of this run takes longer."""
    plan = make_plan(parse_scenario(long_stay, "long.toml"), base_dir=Path())
    before = set(threading.enumerate())

    def interrupt(done: int) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        run_plan(plan, 640, 1, threads=2, progress=interrupt)
    begin = time.monotonic()
    while set(threading.enumerate()) - before and time.monotonic() - begin < 5.0:
        time.sleep(0.01)
    assert not set(threading.enumerate()) - before
    assert time.monotonic() - begin < 1.0


def test_a_block_that_nobody_waits_for_is_not_begun(long_stay: str) -> None:
    plan = make_plan(parse_scenario(long_stay, "long.toml"), base_dir=Path())
    stop = threading.Event()
    stop.set()
    with pytest.raises(Stopped):
        run_block(plan, 0, 1, stop=stop)
