"""Where the kernel and its twin are further apart than rounding."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable

import numpy as np
import numpy.typing as npt

from flatodds.engine import rows as r
from flatodds.engine.notes import PARTS
from flatodds.engine.plan import Plan
from flatodds.engine.run import BlockResult
from flatodds.engine.twin_lived import Lived

Floats = npt.NDArray[np.float64]

RELATIVE = 1e-9
# Differences are held against the value or 1 of its unit, whichever is larger: where a flow
# fades out (a bank's last milliamperes, mismatch left unserved) it is a difference of numbers
# of 10 to 1000, which carry some 1e-13 of rounding whatever the order of the operations.
UNIT = 1.0


def misses(got: Floats, want: Floats, names: Iterable[str]) -> list[str]:
    """Every column (last axis) that differs, with its worst difference."""
    same = got == want  # infinities, where a bank never runs flat
    with np.errstate(invalid="ignore"):
        apart = np.abs(got - want) / np.maximum(np.abs(want), UNIT)
    worst = np.where(same, 0.0, apart).reshape(-1, got.shape[-1]).max(axis=0)
    return [f"{n}: {x:.1e}" for n, x in zip(names, worst, strict=True) if not x <= RELATIVE]


def table(rows: list[dict[str, float]], names: Iterable[str]) -> Floats:
    keys = tuple(names)
    return np.array([[row[key] for key in keys] for row in rows])


def hours_apart(lived: Lived, block: BlockResult, lane: int) -> list[str]:
    got = np.array([dataclasses.astuple(hour) for hour in lived.hours])
    return misses(got, block.trace[:, :, lane], r.TRACE)


def sums_apart(lived: Lived, block: BlockResult, lane: int, case: int) -> list[str]:
    sums = misses(table(lived.sums, r.SUMS), block.sums[case, lane], r.SUMS)
    extremes = table(lived.extremes, r.EXTREMES)
    return sums + misses(extremes, block.extremes[case, lane], r.EXTREMES)


def appliances_apart(
    lived: Lived, block: BlockResult, lane: int, plan: Plan, noted: int = 0
) -> list[str]:
    """Compare by appliance, of the household as planned (0) or economised (1)."""
    wanted = misses(np.array(lived.wanted_wh), block.wanted[:, :, lane], plan.appliances)
    got = np.moveaxis(np.array(lived.served_wh), 1, 2)  # (stay, served or late or not, appliance)
    want = np.moveaxis(block.served[:, :, PARTS * noted : PARTS * (noted + 1), lane], 1, 2)
    return wanted + misses(got, want, plan.appliances)
