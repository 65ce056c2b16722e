"""What following uses to the minute costs the hourly engine, as ratios measured in one run.

    python benchmarks/coincidence.py [--rounds N] [SCENARIO]

The same household is lived with its big mains use followed by start and end, and with nothing
followed, so that overloads and peak amperes rest on hourly means alone. Draws, weather and rigs
are the same to the bit. Processor time of one thread, the least of several rounds taken in turn;
for one design, and for the thirty that an ordinary run lives abreast.
"""

from __future__ import annotations

import argparse
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
from speed import DEMO, NIGHTS, plan_for, widened

from flatodds.engine.plan import Plan
from flatodds.engine.run import run_block
from flatodds.lanes import LANES
from flatodds.loads.appliances import PEAK_W, SURGE_W
from flatodds.scenario import load_scenario

ABREAST = 30
PATTERNS = ("medium", "heavy")
INVERTER_W = 3000


def unfollowed(plan: Plan) -> Plan:
    """The same household with nothing followed to the minute."""
    stays = []
    for stay in plan.stays:
        slots = stay.uses.slots.copy()
        slots[:, [PEAK_W, SURGE_W]] = 0.0
        stays.append(replace(stay, uses=stay.uses._replace(slots=slots)))
    return replace(plan, stays=tuple(stays))


def pair_ns(plan: Plan, rounds: int) -> tuple[float, float]:
    """Nanoseconds an hour of one member of one design, followed and not."""
    hours = 24 * len(plan.day_stay) * LANES * plan.bank.shape[1]
    both = (plan, unfollowed(plan))
    found = [run_block(one, 0, 1) for one in both]  # compiles, and shows that they are the same
    if not np.array_equal(found[0].wanted, found[1].wanted):
        raise SystemExit("the two households differ: the ratio would mean nothing")
    times: list[list[float]] = [[], []]
    for _ in range(rounds):
        for k, one in enumerate(both):
            begin = time.thread_time()
            run_block(one, 0, 1)
            times[k].append(time.thread_time() - begin)
    return 1e9 * min(times[0]) / hours, 1e9 * min(times[1]) / hours


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])  # type: ignore[union-attr]
    parser.add_argument("scenario", nargs="?", type=Path, default=DEMO)
    parser.add_argument("--rounds", type=int, default=7)
    asked = parser.parse_args()
    print("|household|followed|designs|ns an hour|not followed|ratio|\n|---|---|---|---|---|---|")
    for pattern in PATTERNS:
        changes = {"household.pattern": pattern, "inverter.watts": INVERTER_W}
        scenario = load_scenario(asked.scenario).with_changes(changes)
        one = plan_for(scenario, NIGHTS, asked.scenario.parent)
        slots, owner = one.stays[0].uses.slots, one.stays[0].uses.owner
        count = len(set(owner[slots[:, PEAK_W] > 0.0, 0]))
        for designs in (1, ABREAST):
            plan = one if designs == 1 else widened(one, designs)
            ours, bare = pair_ns(plan, asked.rounds if designs == 1 else asked.rounds // 2)
            told = f"{ours:.3g}|{bare:.3g}|{ours / bare:.2f}"
            print(f"|{pattern}|{count} appliances|{designs}|{told}|", flush=True)


if __name__ == "__main__":
    main()
