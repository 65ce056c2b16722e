"""Sweeps: their grids, the designs they name, and going on after an interruption."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest

from flatodds import Scenario, ScenarioError, UsageError, parse_scenario
from flatodds.errors import StudyIncomplete
from flatodds.studies.grid import Axis, designs, typed_axis, written_at
from flatodds.studies.store import forget
from flatodds.studies.sweep import Sweep, least, sweep

TEXT = """
title = "Hills"
bank.chemistry = "lithium"
bank.volts = 12
bank.amp_hours = 200
array.watts = 800
household.pattern = "light"

[[stay]]
place = "36.10, -79.95"
first_day = "10 Dec"
nights = 8

[prices]
bank_cost_per_kwh = 300
panel_cost_per_w = 1
"""
AXES = (Axis("array.watts", (600, 1200, 2400)), Axis("bank.amp_hours", (100, 200, 400)))


@pytest.fixture(scope="module")
def base() -> Scenario:
    return parse_scenario(TEXT, "x.toml")


@pytest.fixture(scope="module")
def found(base: Scenario) -> Sweep:
    return sweep(base, AXES, members=256, wanted_odds=0.2)


def test_more_of_either_is_never_worse(found: Sweep) -> None:
    """More panels or battery never run flat oftener (up to a few members: cold, taper)."""
    slack = 4 / 256
    assert found.odds.shape == (3, 3)
    assert (np.diff(found.odds, axis=0) <= slack).all()
    assert (np.diff(found.odds, axis=1) <= slack).all()
    assert found.odds[0, 0] > 0.5 > found.odds[2, 2]


def test_designs_that_are_enough(found: Sweep) -> None:
    summary = found.summary()
    rows = summary["designs"]
    good = {k for k, row in enumerate(rows) if row["odds_flat"]["estimate"] <= 0.2}
    assert good
    assert set(summary["smallest"]) <= good
    for k in good:
        assert any(
            all(a <= b for a, b in zip(rows[s]["values"], rows[k]["values"], strict=True))
            for s in summary["smallest"]
        )
    lowest = min(rows[k]["extra_cost"] for k in good)
    assert any(rows[k]["extra_cost"] == lowest for k in summary["least_cost"])
    assert all(rows[k]["extra_cost"] <= lowest for k in summary["least_cost"])
    lightest = min(rows[k]["extra_mass_kg"] for k in good)
    assert any(rows[k]["extra_mass_kg"] == lightest for k in summary["least_mass"])
    estimates = [row["odds_flat"]["estimate"] for row in rows]
    assert int(np.argmin(estimates)) in summary["best"]
    assert int(np.argmax(estimates)) not in summary["best"]
    assert summary["written"] == [800, 200]
    assert summary["theta_points"] == 1


def test_as_good_as_can_be_told() -> None:
    def row(cost: float, estimate: float, low: float) -> dict[str, object]:
        return {"extra_cost": cost, "odds_flat": {"estimate": estimate, "low": low, "high": 1.0}}

    rows = [row(5, 0.02, 0.01), row(3, 0.06, 0.04), row(2, 0.5, 0.4), row(5, 0.03, 0.01)]
    assert least(rows, "extra_cost", 0.05) == [1, 0, 3]
    assert least(rows[2:3], "extra_cost", 0.05) == []


def test_uncertainty_may_be_counted(base: Scenario, found: Sweep) -> None:
    wide = sweep(base, AXES[:1], members=64, with_uncertainty=True).summary()
    assert wide["theta_points"] == 25
    row = wide["designs"][1]
    assert row["odds_flat_range"]["low"] <= row["odds_flat"]["low"]
    assert found.dataset["array.watts"].to_numpy().tolist() == [600] * 3 + [1200] * 3 + [2400] * 3


def kept_in(folder: Path) -> list[Path]:
    return sorted(folder.rglob("*.npz"))


def same(a: Sweep, b: Sweep) -> bool:
    return all(
        np.array_equal(x.flat, y.flat)
        and all(np.array_equal(x.amounts[name], y.amounts[name]) for name in x.amounts)
        for x, y in zip(a.lived, b.lived, strict=True)
    )


def test_an_interrupted_sweep_ends_the_same(base: Scenario, found: Sweep, tmp_path: Path) -> None:
    store = tmp_path / "unfinished"

    def stop(done: int, wanted: int) -> None:
        if done == 2:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        sweep(base, AXES, members=256, wanted_odds=0.2, progress=stop, store_folder=store)
    before = {path: path.stat().st_mtime_ns for path in kept_in(store)}
    assert 2 <= len(before) < 4
    assert not list(store.rglob("manifest.json"))
    next(iter(before)).write_bytes(b"torn")  # as good as missing
    again = sweep(base, AXES, members=256, wanted_odds=0.2, store_folder=store)
    assert same(again, found)
    untouched = list(before)[1:]
    assert all(path.stat().st_mtime_ns == before[path] for path in untouched)
    assert len(list(store.rglob("manifest.json"))) == 1
    assert not list(store.rglob("*.tmp"))
    other = sweep(base, AXES, members=64, seed=2, store_folder=store)
    assert not same(other, found)  # another question never finds these blocks
    (store / "notes.txt").write_text("mine", encoding="utf-8")
    forget(store)
    assert [path.name for path in store.iterdir()] == ["notes.txt"]


@pytest.mark.skipif(os.name == "nt", reason="no such signal")
def test_a_killed_sweep_ends_the_same(found: Sweep, base: Scenario, tmp_path: Path) -> None:
    store = tmp_path / "unfinished"
    (tmp_path / "x.toml").write_text(TEXT, encoding="utf-8")
    lines = f"""
import sys; sys.path[:0] = {sys.path!r}
import time
from pathlib import Path
from flatodds import load_scenario
from flatodds.studies.sweep import sweep
from flatodds.studies.grid import Axis
axes = [Axis("array.watts", (600, 1200, 2400)), Axis("bank.amp_hours", (100, 200, 400))]
sweep(load_scenario({str(tmp_path / "x.toml")!r}), axes, members=256, wanted_odds=0.2,
      store_folder=Path({str(store)!r}), progress=lambda done, wanted: time.sleep(0.5))
"""
    child = subprocess.Popen([sys.executable, "-c", lines])  # noqa: S603  (our own lines)
    until = time.monotonic() + 120
    while not kept_in(store) and time.monotonic() < until and child.poll() is None:
        time.sleep(0.02)
    child.send_signal(signal.SIGKILL)
    assert child.wait() == -signal.SIGKILL
    assert kept_in(store)
    assert same(sweep(base, AXES, members=256, wanted_odds=0.2, store_folder=store), found)


def test_a_full_disk_is_told(base: Scenario, tmp_path: Path) -> None:
    in_the_way = tmp_path / "unfinished"
    in_the_way.write_text("a file", encoding="utf-8")
    with pytest.raises(StudyIncomplete, match="same command again"):
        sweep(base, AXES[:1], members=64, store_folder=in_the_way)


@pytest.mark.parametrize(
    ("text", "values"),
    [
        ("array.watts=400:1000:300", (400, 700, 1000)),
        ("array.watts=400:999:300", (400, 700)),
        ("household.reserve_frac=0.1:0.3:0.1", (0.1, 0.2, 0.3)),
        ("bank.chemistry=agm, lithium", ("agm", "lithium")),
        ("bank.amp_hours=5", (5,)),
    ],
)
def test_typed_axes(text: str, values: tuple[object, ...]) -> None:
    axis = typed_axis(text)
    assert axis == Axis(text.split("=")[0], values)
    assert axis.numeric == (not isinstance(values[0], str))


@pytest.mark.parametrize(
    "text",
    ["", "a", "a=", "a=1:2", "a=1:2:0", "a=2:1:1", "a=1:x:1", "a=1:1e9:1", "a=1,1", "a=1:nan:1"],
)
def test_what_is_no_axis(text: str) -> None:
    with pytest.raises(UsageError, match="--vary"):
        typed_axis(text)


def test_refusals(base: Scenario) -> None:
    with pytest.raises(UsageError, match="one or two"):
        designs([])
    with pytest.raises(UsageError, match="twice"):
        designs([AXES[0], AXES[0]])
    with pytest.raises(UsageError, match="more than"):
        designs([Axis("a", tuple(range(200))), Axis("b", tuple(range(200)))])
    with pytest.raises(UsageError, match="no grid"):
        designs([Axis("a", (1,))])
    with pytest.raises(ScenarioError, match=r"array\.watt ") as caught:
        sweep(base, [Axis("array.watt", tuple(range(100)))])
    assert len(caught.value.problems) == 1  # told once, not for every design
    with pytest.raises(UsageError, match="odds"):
        sweep(base, AXES, wanted_odds=5.0)
    with pytest.raises(ScenarioError, match="amp_hours"):
        sweep(base, [Axis("bank.amphours", (1, 2))])
    assert written_at(base, Axis("array.0.watts", (1,))) == 800
    assert written_at(base, Axis("controller.amps", (1,))) is None


def test_least_mass_of_several_stays(base: Scenario) -> None:
    """Masses are the user's own; every stay has its odds, and the trip is no better than any."""
    stays = [
        {"place": "36.10, -79.95", "first_day": "10 Dec", "nights": 4},
        {"place": "34.70, -76.70", "first_day": "20 Dec", "nights": 4},
    ]
    prices = {"prices.bank_kg_per_kwh": 8.0, "prices.panel_kg_per_w": 0.06}
    twice = base.with_changes({"stay": stays, **prices})
    summary = sweep(twice, AXES, members=128, wanted_odds=0.3).summary()
    rows = summary["designs"]
    for row, (watts, amp_hours) in zip(rows, [row["values"] for row in rows], strict=True):
        kwh = base.bank.capacity_wh * (amp_hours / 200 - 1.0) / 1000.0
        assert row["extra_mass_kg"] == pytest.approx(0.06 * (watts - 800) + 8.0 * kwh)
        each = [stay["odds_flat"]["estimate"] for stay in row["stays"]]
        assert len(each) == 2
        assert max(each) <= row["odds_flat"]["estimate"] <= sum(each) + 1e-12
    good = [k for k, row in enumerate(rows) if row["odds_flat"]["estimate"] <= 0.3]
    assert good
    lightest = min(good, key=lambda k: rows[k]["extra_mass_kg"])
    assert lightest in summary["least_mass"]
    assert all(
        rows[k]["extra_mass_kg"] <= rows[lightest]["extra_mass_kg"] for k in summary["least_mass"]
    )
