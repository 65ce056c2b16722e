"""A sweep on a cluster of two processes gives bitwise what this machine's threads give."""

from __future__ import annotations

import socket
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from flatodds import Axis, Scenario, Sweep, UsageError, parse_scenario, sweep

pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning")
TEXT = """
bank.chemistry = "lithium"
bank.volts = 12
bank.amp_hours = 200
array.watts = 400
household.pattern = "light"

[[stay]]
place = "36.10, -79.95"
first_day = "10 Dec"
nights = 4
"""
AXES = [Axis("array.watts", (200, 400)), Axis("array.tilt_deg", (0, 40))]  # two passes
MEMBERS = 256  # four blocks of each


@pytest.fixture(scope="module")
def base() -> Scenario:
    return parse_scenario(TEXT, "x.toml")


@pytest.fixture(scope="module")
def here(base: Scenario) -> Sweep:
    return sweep(base, AXES, members=MEMBERS)


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    distributed = pytest.importorskip("distributed")
    with distributed.LocalCluster(
        n_workers=2,
        threads_per_worker=1,
        processes=True,
        dashboard_address=None,
        host="127.0.0.1",
    ) as cluster:
        yield str(cluster.scheduler_address)


def same(a: Sweep, b: Sweep) -> bool:
    return all(
        np.array_equal(x.flat, y.flat)
        and np.array_equal(x.nights, y.nights)
        and np.array_equal(x.dawn, y.dawn)
        and x.balance == y.balance
        and all(np.array_equal(x.amounts[name], y.amounts[name]) for name in x.amounts)
        for x, y in zip(a.lived, b.lived, strict=True)
    )


def test_two_processes_give_the_same_numbers(
    base: Scenario, here: Sweep, address: str, tmp_path: Path
) -> None:
    done: list[tuple[int, int]] = []

    def note(so_far: int, wanted: int) -> None:
        done.append((so_far, wanted))

    there = sweep(
        base, AXES, members=MEMBERS, cluster=address, progress=note, store_folder=tmp_path / "s"
    )
    assert same(there, here)
    assert done[-1] == (8, 8)
    assert there.odds.max() > 0.0
    # What the cluster kept serves a sweep that goes on without it.
    assert len(list((tmp_path / "s").rglob("*.npz"))) == 8
    assert same(sweep(base, AXES, members=MEMBERS, store_folder=tmp_path / "s"), here)


def test_nobody_there(base: Scenario, monkeypatch: pytest.MonkeyPatch) -> None:
    pytest.importorskip("distributed")
    monkeypatch.setattr("flatodds.studies.cluster.CONNECT_S", "1s")
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    for address in (f"tcp://127.0.0.1:{port}", "nonsense://x", "tcp://"):
        with pytest.raises(UsageError, match="Nobody answers"):
            sweep(base, AXES, members=64, cluster=address)


def test_the_extra_is_asked_for(base: Scenario, monkeypatch: pytest.MonkeyPatch) -> None:
    import sys

    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(UsageError, match=r"flatodds\[cluster\]"):
        sweep(base, AXES, members=64, cluster="tcp://127.0.0.1:1")
