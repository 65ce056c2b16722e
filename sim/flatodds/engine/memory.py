"""Whether the results of a run fit into this machine, asked before hours are spent on it."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

from flatodds.engine import rows as r
from flatodds.errors import Problem, UsageError

if TYPE_CHECKING:
    from flatodds.engine.plan import Plan

COPIES = 2.5  # blocks, and their joined arrays: measured 2.0 at 40,000 members
SHARE = 0.7  # of all memory that results may take: judgement
FIXED_BYTES = 400e6  # libraries and kernels: measured 307 MB at 500 members


def needed_bytes(plan: Plan, members: int) -> float:
    """Estimate of the memory that a run of so many members takes [byte]."""
    cases, periods, stays = len(plan.cases), len(plan.periods), len(plan.stays)
    sums = 8 * cases * (periods * len(r.SUMS) + stays * len(r.EXTREMES))
    daily = 4 * len(plan.day_stay) * len(r.DAILY)
    uses = 16 * stays * len(plan.appliances)
    return FIXED_BYTES + COPIES * members * float(sums + daily + uses)


def memory_bytes() -> float | None:
    """Memory of this machine [byte], or None where the system does not tell."""
    try:
        return float(os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES"))
    except (AttributeError, ValueError, OSError):
        return None


def refuse_too_many(plan: Plan, members: int) -> None:
    """Refuse members whose results would not fit.

    Raises
    ------
    UsageError
        Says how much is needed and how many members would fit.
    """
    has = memory_bytes()
    needed = needed_bytes(plan, members)
    if has is None or needed <= SHARE * has:
        return
    room = max(SHARE * has - FIXED_BYTES, 0.0)
    fit = int(room / (needed - FIXED_BYTES) * members)
    raise UsageError(
        Problem(
            "members",
            f"{members:,} would need about {needed / 1e9:.0f} GB of memory; this machine has "
            f"{has / 1e9:.0f}.",
            f"Try: --members {max(fit // 1000 * 1000, 1)}",
        )
    )
