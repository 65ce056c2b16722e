"""Tries to break flatodds in every way the tests know, and prints what was tried and lost.

    python benchmarks/hardening.py [--full] [--only killed]

Runs the tests of `tests/hardening` and the damage tests of scenario and weather files, one
group after another. Without --full as often as the ordinary tests do; with it 200 kills of each
kind, a million scenarios, 100,000 weather files, 5,000 flipped bits and 200 examples of each law,
which takes hours. A count that is set in the environment (FLATODDS_KILLS=50) goes before both.
"""

from __future__ import annotations

import argparse
import os
import re
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[1]
HARD = "tests/hardening"


@dataclass(frozen=True, slots=True)
class Group:
    """Tests of one kind, what one try of theirs is, and how many there are."""

    what: str
    tests: tuple[str, ...]
    setting: str = ""
    usual: int = 0
    full: int = 0
    times: int = 1


GROUPS = (
    Group(
        "runs, reports and sweeps killed",
        (f"{HARD}/test_killed_runs.py",),
        "FLATODDS_KILLS",
        20,
        200,
        3,
    ),
    Group(
        "damaged scenario files",
        (f"{HARD}/test_scenario_damage.py",),
        "FLATODDS_SCENARIOS",
        10_000,
        1_000_000,
    ),
    Group(
        "damaged weather files",
        ("tests/weather/test_readers_mutation.py",),
        "FLATODDS_MUTATIONS",
        5_000,
        100_000,
    ),
    Group(
        "bits flipped in results and kept blocks",
        (f"{HARD}/test_result_faults.py", f"{HARD}/test_store_faults.py"),
        "FLATODDS_FLIPS",
        16,
        250,
        21,
    ),
    Group("examples of each law", (f"{HARD}/test_laws.py",), "FLATODDS_LAWS", 20, 200),
    Group("hostile names", (f"{HARD}/test_hostile_text.py",)),
    Group("wrong calls from Python", (f"{HARD}/test_api_misuse.py",)),
    Group(
        "modules, libraries, run without network",
        (f"{HARD}/test_package.py", f"{HARD}/test_dependencies.py"),
    ),
    Group("rare branches", (f"{HARD}/test_rare_branches.py",)),
)


def run(group: Group, full: bool) -> tuple[int, int, float]:
    """Tries, failed tests and seconds of one group."""
    count = int(os.environ.get(group.setting) or (group.full if full else group.usual))
    environment = {**os.environ, **({group.setting: str(count)} if group.setting else {})}
    begun = time.monotonic()
    done = subprocess.run(  # noqa: S603  (our own words)
        [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", *group.tests],
        cwd=ROOT,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )
    found = {word: int(n) for n, word in re.findall(r"(\d+) (passed|failed|errors?)", done.stdout)}
    lost = sum(n for word, n in found.items() if word != "passed")
    if done.returncode and not lost:
        lost = 1
    if lost:
        sys.stderr.write(done.stdout[-4000:])
    tries = group.times * count if group.setting else found.get("passed", 0) + lost
    return tries, lost, time.monotonic() - begun


def main() -> int:
    """Run all groups and print the table."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--full", action="store_true", help="hours instead of minutes")
    parser.add_argument("--only", default="", help="only groups whose name holds this word")
    chosen = parser.parse_args()
    print(f"{'tried':<42}{'times':>10}{'lost':>6}{'seconds':>9}")
    worst = 0
    for group in (one for one in GROUPS if chosen.only in one.what):
        tries, lost, took = run(group, chosen.full)
        worst += lost
        print(f"{group.what:<42}{tries:>10,}{lost:>6}{took:>9.0f}", flush=True)
    return int(worst > 0)


if __name__ == "__main__":
    raise SystemExit(main())
