"""How fast the full model is, as ratios measured in one run; the table of DEVELOPERS.md.

    python benchmarks/speed.py [--json OUT.json] [--quick] [SCENARIO]

Every row names both sides. One thread unless said. The full model is a demo scenario with
weather generation, all its appliances, cabin, bank and controller. Work on one thread is timed as
processor time, the least of several rounds, so that waiting for neighbours does not count; two
threads and whole answers are timed by the clock on the wall, and mean little on a busy machine.
"""

from __future__ import annotations

import argparse
import json
import os
import platform
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numba
import numpy as np

from flatodds.engine.passes import without_details
from flatodds.engine.plan import Plan, make_plan
from flatodds.engine.records import LIMITS
from flatodds.engine.run import blocks_in_pool, run_block
from flatodds.engine.twin import live
from flatodds.lanes import LANES
from flatodds.scenario import Scenario, load_scenario
from flatodds.studies.live_one import first_case

HERE = Path(__file__).parent
DEMO = HERE.parent / "scenarios" / "piedmont-winter.toml"
NIGHTS = 90
DESIGNS = 400
WHOLE_NIGHTS = 20  # of the numpy side, which is slow
TWIN_NIGHTS = 3


@dataclass(frozen=True)
class Row:
    """One line of the table; `value` is the ratio or the figure, `goal` what is wanted of it."""

    what: str
    against: str
    value: float
    goal: str
    met: bool


def least(
    work: Callable[[], Any], rounds: int, clock: Callable[[], float] = time.thread_time
) -> float:
    """Shortest time of several rounds [s]."""
    times = []
    for _ in range(rounds):
        begin = clock()
        work()
        times.append(clock() - begin)
    return min(times)


def plan_for(scenario: Scenario, nights: int, folder: Path, dtype: Any = np.float32) -> Plan:
    """Plan of the first design alone."""
    changed = scenario.with_changes({"stay.nights": nights})
    return first_case(make_plan(changed, base_dir=folder, dtype=dtype))


def widened(plan: Plan, designs: int) -> Plan:
    """The same plan for many rigs: panels and bank from half to twice what they are."""
    scale = np.geomspace(0.5, 2.0, designs)
    stays = []
    for stay in plan.stays:
        bank = np.repeat(stay.rigs.bank, designs, axis=1)
        bank[0] *= scale
        tables = {
            name: np.repeat(getattr(stay.rigs, name), designs, axis=0 if name == "label_w" else 1)
            for name in stay.rigs._fields
        }
        tables["bank"] = bank
        tables["label_w"][:, :, LIMITS:] *= scale[::-1, None, None]
        stays.append(replace(stay, rigs=type(stay.rigs)(**tables)))
    whole = np.repeat(plan.bank, designs, axis=1)
    whole[0] *= scale
    return replace(plan, stays=tuple(stays), bank=whole, cases=plan.cases * designs)


@numba.njit(error_model="numpy")  # type: ignore[untyped-decorator]
def bare_recursion(net: Any, charge: Any, capacity: Any, flat: Any) -> None:
    """The least a bank model can be: charge, clipped, and hours at empty counted."""
    for h in range(net.shape[0]):
        for i in range(64):
            wanted = charge[i] + net[h, i]
            left = min(max(wanted, np.float32(0.0)), capacity)
            flat[i] += np.float32(1.0) if wanted < np.float32(0.0) else np.float32(0.0)
            charge[i] = left


def recursion_ns() -> float:
    """Nanoseconds an hour of one lane of the bare recursion."""
    rng = np.random.default_rng(1)
    hours = 24 * NIGHTS
    net = rng.normal(0.0, 50.0, (hours, LANES)).astype(np.float32)
    charge, flat = np.full(LANES, 500.0, np.float32), np.zeros(LANES, np.float32)
    work = lambda: bare_recursion(net, charge, np.float32(1000.0), flat)  # noqa: E731
    work()
    return 1e9 * least(work, 200) / (hours * LANES)


def block_ns(plan: Plan, rounds: int) -> float:
    """Nanoseconds an hour of one member of one design of the full model."""
    designs = plan.bank.shape[1]
    hours = 24 * len(plan.day_stay) * LANES * designs
    run_block(plan, 0, 1)
    return 1e9 * least(lambda: run_block(plan, 0, 1), rounds) / hours


def whole_arrays_ns(file: Path, plan: Plan) -> tuple[float, float]:
    """Nanoseconds of the numpy side, and the largest difference of its results [1]."""
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / "out.npz"
        line = [sys.executable, str(HERE / "whole_arrays.py"), str(file), str(WHOLE_NIGHTS), out]
        subprocess.run([str(word) for word in line], check=True, env=outside())  # noqa: S603
        with np.load(out) as found:
            took, sums, daily = float(found["took"]), found["sums"], found["daily"]
    members = sums.shape[1]
    mine = run_block(plan, 0, 1)
    scale = np.abs(mine.sums).max(axis=(0, 1, 2)) + 1e-9
    worst = float((np.abs(sums[:, :LANES] - mine.sums) / scale).max())
    worst = max(worst, float(np.abs(daily[:LANES] - mine.daily).max() / np.abs(mine.daily).max()))
    return 1e9 * took / (members * 24 * WHOLE_NIGHTS), worst


def outside() -> dict[str, str]:
    """Environment in which a child finds its own copy of the package first."""
    keep = {key: value for key, value in os.environ.items() if key != "PYTHONPATH"}
    return {**keep, "OMP_NUM_THREADS": "1"}


def threads_ratio(plan: Plan, blocks: int) -> float:
    firsts = [LANES * n for n in range(blocks)]

    def work(threads: int) -> Callable[[], Any]:
        return lambda: list(blocks_in_pool(plan, firsts, 1, threads))

    wall = time.perf_counter
    return max(least(work(1), 1, wall) / least(work(2), 1, wall) for _ in range(3))


PEAK = """
import resource, sys, tempfile
from pathlib import Path
from flatodds.report.writer import write_result
from flatodds.scenario import load_scenario
from flatodds.studies.simulate import simulate
scenario = load_scenario(sys.argv[1]).with_changes(
    {"stay.nights": 14, "uncertain.sun_frac": 0.0, "uncertain.use_frac": 0.0})
with tempfile.TemporaryDirectory() as folder:
    write_result(simulate(scenario, members=int(sys.argv[2]), threads=1), Path(folder))
print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
"""


def peak_mb(file: Path, members: int) -> float:
    line = [sys.executable, "-c", PEAK, str(file), str(members)]
    done = subprocess.run(line, check=True, capture_output=True, text=True)  # noqa: S603
    return float(done.stdout)


def of_children() -> float:
    """Processor time of all finished children [s]."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def installed() -> dict[str, str]:
    """Environment in which Python keeps compiled modules, as those of an installed package are."""
    return {key: value for key, value in os.environ.items() if key != "PYTHONDONTWRITEBYTECODE"}


def command_s(words: list[str], rounds: int) -> float:
    code = "import sys; from flatodds.cli.app import main; sys.exit(main(sys.argv[1:]))"
    line = [sys.executable, "-c", code, *words]
    run = lambda: subprocess.run(  # noqa: E731, S603
        line, check=True, capture_output=True, env=installed()
    )
    run()
    return least(run, rounds, of_children)


def answer_s(file: Path, folder: str, **env: str) -> float:
    """Seconds until the answer stands on the screen; the report is written after it."""
    code = (
        "import sys, time; from flatodds.cli.app import main\n"
        "sys.exit(main(['run', sys.argv[1], '--out', sys.argv[2], '--members', '1000', '-q']))"
    )
    begin = time.perf_counter()
    child = subprocess.Popen(  # noqa: S603
        [sys.executable, "-c", code, str(file), folder],
        stdout=subprocess.PIPE,
        env={**installed(), **env},
    )
    assert child.stdout is not None
    child.stdout.readline()
    took = time.perf_counter() - begin
    child.communicate()
    return took


def rows(file: Path, quick: bool) -> list[Row]:
    scenario = load_scenario(file)
    rounds = 2 if quick else 5
    found: list[Row] = []

    def row(what: str, against: str, value: float, goal: str, met: bool) -> None:
        found.append(Row(what, against, value, goal, met))
        print(f"|{what}|{against}|{value:.3g}|{goal}|{'yes' if met else 'no'}|", flush=True)

    print("|what|against|measured|goal|met|\n|---|---|---|---|---|")
    one = plan_for(scenario, NIGHTS, file.parent)
    full, bare = block_ns(one, rounds), recursion_ns()
    whole, worst = whole_arrays_ns(file, plan_for(scenario, WHOLE_NIGHTS, file.parent))
    if worst > 1e-4:
        raise SystemExit(f"the numpy side differs by {worst:.2g}: the ratio would mean nothing")
    few = plan_for(scenario, TWIN_NIGHTS, file.parent, np.float64)
    twin = 1e9 * least(lambda: live(few, 0, 1), 1) / (24 * TWIN_NIGHTS)
    many = without_details(widened(one, DESIGNS))  # as studies live them
    wide = block_ns(many, 1 if quick else 2)
    row("numpy over 4,096 members", "full model", whole / full, ">= 15", whole / full >= 15)
    row("plain-Python twin", "full model", twin / full, ">= 500", twin / full >= 500)
    row("full model, one design", "bare recursion", full / bare, "<= 12", full / bare <= 12)
    row(f"{DESIGNS} designs, each", "bare recursion", wide / bare, "<= 3", wide / bare <= 3)
    row(f"{DESIGNS} runs", f"{DESIGNS} designs in one pass", full / wide, ">= 6", full / wide >= 6)
    pace = threads_ratio(widened(one, 8), 4 if quick else 16)
    row("one thread", "two threads", pace, ">= 1.7", pace >= 1.7)
    peak_mb(file, 500)  # makes the place's tables
    growth = peak_mb(file, 50_000) / peak_mb(file, 500)
    row("peak memory, 50,000 members", "500 members", growth, "<= 1.05", growth <= 1.05)
    row("full model, one design [ns an hour]", "-", full, "-", True)
    row("400 designs, each [ns an hour]", "-", wide, "-", True)
    row("bare recursion [ns an hour]", "-", bare, "-", True)
    with tempfile.TemporaryDirectory() as folder:
        answer_s(file, folder)
        warm = min(answer_s(file, folder) for _ in range(rounds))
        row("first answer, kernels cached [s]", "-", warm, "<= 2.5", warm <= 2.5)
        if not quick:
            with tempfile.TemporaryDirectory() as empty:
                cold = answer_s(file, folder, FLATODDS_CACHE_DIR=empty)
            row("first answer, nothing cached [s]", "-", cold, "<= 15", cold <= 15)
    for words in (["--help"], ["check", str(file)]):
        took = command_s(words, 2 * rounds)
        row(f"{words[0]} [processor s]", "-", took, "<= 0.3", took <= 0.3)
    return found


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])  # type: ignore[union-attr]
    parser.add_argument("scenario", nargs="?", type=Path, default=DEMO)
    parser.add_argument("--json", type=Path)
    parser.add_argument("--quick", action="store_true")
    asked = parser.parse_args()
    found = rows(asked.scenario, asked.quick)
    if asked.json is not None:
        machine = {"machine": platform.machine(), "python": platform.python_version()}
        document = {**machine, "numba": numba.__version__, "rows": [vars(row) for row in found]}
        asked.json.write_text(json.dumps(document, indent=2) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
