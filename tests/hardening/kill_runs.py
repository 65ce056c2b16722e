"""Kills runs at random moments and looks at what they leave; a program of its own.

    python kill_runs.py run|report|sweep COUNT SEED FOLDER

Everything is imported and run once here; each run to be killed is a fork of this process, so
it costs only its own work. Half are killed anywhere in the run, half while the result folder
is written (those inherit the simulation's outcome and the drawn page). Reports alone inherit
the outcome and are killed anywhere in the drawing and writing of figures, page and tables.
Prints one JSON object with the counts.
"""

from __future__ import annotations

import json
import os
import random
import shutil
import signal
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

SCENARIO = """title = "Short stay"
bank.chemistry = "lithium"
bank.volts = 12
bank.amp_hours = 100
array.watts = 200
inverter.watts = 1000
household.pattern = "light"

[[stay]]
place = "36.10, -79.95"
first_day = "20 Nov"
nights = 3
"""
RESULT = "short-stay-result"
FILES = {"summary.json", "result.nc", "report.html"}
Tree = dict[str, bytes]
Functions = tuple[Callable[..., Any], Callable[..., Any]]  # simulate and look, draw the page


def tree(folder: Path) -> Tree:
    """Every file below a folder: relative name to bytes."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def run(base: Path, seed: int) -> int:
    """Run the command as a user does."""
    from flatodds.cli.app import main

    file = str(base / "my.toml")
    words = ["run", file, "--out", str(base), "--members", "64", "-q", "--json", "--threads", "1"]
    return main([*words, "--seed", str(seed)])


def remembered(function: Callable[..., Any], key: str) -> Callable[..., Any]:
    """Call a function once for each seed, so that forks inherit its answer."""
    known: dict[Any, Any] = {}

    def call(*arguments: Any, **words: Any) -> Any:
        at = words.get("seed", CURRENT[0])
        if at not in known:
            known[at] = function(*arguments, **words)
        return known[at]

    call.__name__ = key
    return call


CURRENT = [1]


class SweepKiller:
    """Sweeps killed one after another, each going on from what the last one kept."""

    result, store = "short-stay-sweep", "short-stay-sweep-unfinished"

    def __init__(self, base: Path, seed: int) -> None:
        self.base = base
        self.chance = random.Random(seed)
        self.counts = {"killed": 0, "ended_before": 0, "torn": 0, "kept_blocks": 0, "redone": 0}

    def sweep(self) -> int:
        """Sweep as a user does: four rigs, eight blocks of members."""
        from flatodds.cli.app import main

        vary = ["--vary", "array.watts=200,400", "--vary", "bank.amp_hours=100,200"]
        words = ["sweep", str(self.base / "my.toml"), "--out", str(self.base), "--members", "512"]
        return main([*words, *vary, "-q", "--json", "--threads", "1"])

    def start(self) -> int:
        """Sweep in a fork of this process."""
        if threading.active_count() != 1:
            raise SystemExit("a thread is alive at the fork")
        child = os.fork()
        if child == 0:
            nowhere = os.open(os.devnull, os.O_WRONLY)
            os.dup2(nowhere, 1)
            os._exit(self.sweep())
        return child

    def prepare(self) -> None:
        """Sweep to the end twice."""
        (self.base / "my.toml").write_text(SCENARIO, encoding="utf-8")
        self.redo_bytes = None
        for _ in range(2):
            begun = time.monotonic()
            if self.sweep() != 0:
                raise SystemExit("the sweep itself fails")
            self.whole_s = time.monotonic() - begun
            found = tree(self.base / self.result)
            if self.redo_bytes not in (None, found):
                raise SystemExit("the same sweep gives other bytes")
            self.redo_bytes = found
        shutil.rmtree(self.base / self.result)

    def kill_one(self) -> None:
        """Start a sweep, kill it, and look."""
        child = self.start()
        time.sleep(self.chance.uniform(0.0, 1.05 * self.whole_s))
        os.kill(child, signal.SIGKILL)
        _, status = os.waitpid(child, 0)
        self.counts["ended_before" if os.WIFEXITED(status) else "killed"] += 1
        self.look()

    def look(self) -> None:
        """Every block under a final name can be read, and the result is whole or not there."""
        import numpy as np

        for path in (self.base / self.store).rglob("pass*.npz"):
            with np.load(path, allow_pickle=False) as found:
                if not all(values.size for _, values in found.items()):
                    self.counts["torn"] += 1
            self.counts["kept_blocks"] += 1
        folder = self.base / self.result
        if folder.exists() and tree(folder) != self.redo_bytes:
            self.counts["torn"] += 1

    def redo(self) -> None:
        """Sweep to the end: the same bytes, and nothing left beside them."""
        if self.sweep() != 0 or tree(self.base / self.result) != self.redo_bytes:
            raise SystemExit("a sweep after a killed one gives other bytes")
        left = sorted(path.name for path in self.base.iterdir())
        if left != ["my.toml", self.result]:
            raise SystemExit(f"left over after the next sweep: {left}")
        self.counts["redone"] += 1

    def two_at_once(self) -> None:
        """Two sweeps of one question in one folder: both end, or one says it cannot."""
        children = [self.start(), self.start()]
        codes = [os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) for child in children]
        if not set(codes) <= {0, 5} or 0 not in codes:
            raise SystemExit(f"two sweeps at once end with {codes}")
        self.redo()


class Killer:
    """Runs in one folder, killed one after another."""

    def __init__(self, base: Path, seed: int) -> None:
        self.base = base
        self.chance = random.Random(seed)
        self.known: dict[int, Tree] = {}
        self.whole_s = self.write_s = 0.0
        self.counts = {"killed": 0, "ended_before": 0, "torn": 0, "left_hidden": 0, "redone": 0}

    def prepare(self) -> None:
        """Run both seeds to the end, twice: the first also fills every cache."""
        from flatodds.report import page
        from flatodds.studies import live_one

        (self.base / "my.toml").write_text(SCENARIO, encoding="utf-8")
        self.plain = (live_one.simulate_then_look, page.page_files)
        for seed in (1, 2, 1):
            CURRENT[0] = seed
            begun = time.monotonic()
            if run(self.base, seed) != 0:
                raise SystemExit("the run itself fails")
            self.whole_s = time.monotonic() - begun
            found = tree(self.base / RESULT)
            if self.known.setdefault(seed, found) != found:
                raise SystemExit("the same run gives other bytes")
        self.quick = (
            remembered(self.plain[0], "simulate_then_look"),
            remembered(self.plain[1], "page_files"),
        )
        for seed in (2, 1):
            self.use(self.quick, seed)
            run(self.base, seed)
        self.write_s = self.shortest_s()
        if tree(self.base / RESULT) != self.known[1]:
            raise SystemExit("a remembered run gives other bytes")

    def shortest_s(self) -> float:
        """Seconds of the quickest of three runs, since a busy machine only ever adds."""
        times = []
        for _ in range(3):
            begun = time.monotonic()
            run(self.base, 1)
            times.append(time.monotonic() - begun)
        return min(times)

    def use(self, functions: Functions, seed: int) -> None:
        """Let the command work with these functions."""
        from flatodds.report import page
        from flatodds.studies import live_one

        CURRENT[0] = seed
        live_one.simulate_then_look, page.page_files = functions

    def moment(self, number: int) -> tuple[Functions, float]:
        """What the next run works with, and after how many seconds it is killed."""
        whole = number % 2 == 0
        longest = self.whole_s if whole else self.write_s
        return self.plain if whole else self.quick, self.chance.uniform(0.0, 1.05 * longest)

    def kill_one(self, number: int) -> None:
        """Start a run, kill it, and look."""
        seed = 1 + self.chance.randrange(2)
        functions, after_s = self.moment(number)
        self.use(functions, seed)
        if threading.active_count() != 1:
            raise SystemExit("a thread is alive at the fork")
        child = os.fork()
        if child == 0:
            nowhere = os.open(os.devnull, os.O_WRONLY)
            os.dup2(nowhere, 1)
            os._exit(run(self.base, seed))
        time.sleep(after_s)
        os.kill(child, signal.SIGKILL)
        _, status = os.waitpid(child, 0)
        ended = os.WIFEXITED(status)
        self.counts["ended_before" if ended else "killed"] += 1
        self.look()

    def look(self) -> None:
        """Under the final name is one whole result, or nothing."""
        folder = self.base / RESULT
        if folder.exists() and tree(folder) not in self.known.values():
            self.counts["torn"] += 1
        if any(path.name.startswith(".") for path in self.base.iterdir()):
            self.counts["left_hidden"] += 1

    def redo(self) -> None:
        """Run to the end: the same bytes, and nothing left beside them."""
        seed = 1 + self.chance.randrange(2)
        self.use(self.quick, seed)
        if run(self.base, seed) != 0 or tree(self.base / RESULT) != self.known[seed]:
            raise SystemExit("a run after a killed one gives other bytes")
        left = sorted(path.name for path in self.base.iterdir())
        if left != ["my.toml", RESULT]:
            raise SystemExit(f"left over after the next run: {left}")
        self.counts["redone"] += 1


class ReportKiller(Killer):
    """Reports killed one after another: the years are lived already, the page is not drawn."""

    def prepare(self) -> None:
        """Time the drawing and writing of a report, without the run before it."""
        super().prepare()
        self.drawn = (self.quick[0], self.plain[1])
        self.use(self.drawn, 1)
        self.report_s = self.shortest_s()
        if self.report_s < 1.2 * self.write_s:
            raise SystemExit("the page is not drawn anew: nothing would be shown")
        self.counts["while_drawn"] = 0

    def moment(self, number: int) -> tuple[Functions, float]:
        """Draw and write, and kill anywhere in that; the later half more often."""
        late = number % 2 == 1
        begin = self.report_s - 1.5 * self.write_s if late else 0.0
        return self.drawn, self.chance.uniform(begin, 1.05 * self.report_s)

    def look(self) -> None:
        """Count also the kills that came before anything was written."""
        before = self.counts["left_hidden"]
        super().look()
        self.counts["while_drawn"] += self.counts["left_hidden"] == before


def kill_sweeps(count: int, seed: int, folder: str) -> dict[str, int]:
    """Kill so many sweeps."""
    killer = SweepKiller(Path(folder), seed)
    killer.prepare()
    for number in range(count):
        killer.kill_one()
        if number % 4 == 3 or number == count - 1:
            killer.redo()
    killer.two_at_once()
    return killer.counts


def kill_runs(count: int, seed: int, folder: str, kind: type[Killer] = Killer) -> dict[str, int]:
    """Kill so many runs, or reports alone."""
    killer = kind(Path(folder), seed)
    killer.prepare()
    for number in range(count):
        killer.kill_one(number)
        if number % 4 == 3 or number == count - 1:
            killer.redo()
    return killer.counts


def kill_reports(count: int, seed: int, folder: str) -> dict[str, int]:
    """Kill so many reports."""
    return kill_runs(count, seed, folder, ReportKiller)


if __name__ == "__main__":
    told, sys.stdout = sys.stdout, open(os.devnull, "w")  # noqa: SIM115  (until the end)
    job = {"run": kill_runs, "report": kill_reports, "sweep": kill_sweeps}[sys.argv[1]]
    told.write(json.dumps(job(int(sys.argv[2]), int(sys.argv[3]), sys.argv[4])) + "\n")
