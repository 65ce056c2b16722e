"""What each appliance wanted, got, got late and went without, at its own plug."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from flatodds.engine.notes import GONE, PARTS, SERVED, SHIFTED
from flatodds.engine.plan import Plan
from flatodds.engine.plan_habits import ECONOMISED

Floats = npt.NDArray[np.float64]


def by_appliance(
    plan: Plan, sums: dict[str, Floats], wanted: Floats, served: Floats
) -> dict[str, Floats]:
    """Arrays (member, stay, appliance) [Wh] by the names `Results` has.

    Parameters
    ----------
    plan : Plan
        Whose results these are.
    sums : dict of str to Floats
        Sums over each period, (case, member, period); those of thermostatic appliances.
    wanted : Floats
        Of appliances that run by the clock, (stay, appliance, member) [Wh].
    served : Floats
        Served, served later than asked for, gone without, as planned and then economised,
        (stay, appliance, 6, member) [Wh].
    """
    first = plan.cases[0].use_factor
    asked = [_of_case(plan, sums[f"{kind}_wanted_wh"][0]) for kind, _ in plan.extras]
    found = {"appliance_wanted_wh": _joined(wanted * first, asked)}
    found |= _got(plan, sums, served[:, :, :PARTS] * first, 0, "")
    names = [case.name for case in plan.cases]
    if ECONOMISED in names:
        case = names.index(ECONOMISED)
        own = served[:, :, PARTS:] * plan.cases[case].use_factor
        found |= _got(plan, sums, own, case, "_economised")
    return found


def _got(
    plan: Plan, sums: dict[str, Floats], served: Floats, case: int, ending: str
) -> dict[str, Floats]:
    """Find what appliances got, got late and went without in one case."""
    asked = [_of_case(plan, sums[f"{kind}_wanted_wh"][case]) for kind, _ in plan.extras]
    got = [_of_case(plan, sums[f"{kind}_served_wh"][case]) for kind, _ in plan.extras]
    late = [np.zeros_like(values) for values in asked]
    gone = [np.maximum(a - b, 0.0) for a, b in zip(asked, got, strict=True)]
    rows = {"served": (SERVED, got), "shifted": (SHIFTED, late), "gone_without": (GONE, gone)}
    return {
        f"appliance_{name}{ending}_wh": _joined(served[:, :, row], extra)
        for name, (row, extra) in rows.items()
    }


def _of_case(plan: Plan, values: Floats) -> Floats:
    """Sum a case's periods to stays, (member, period) to (member, stay)."""
    of_stay = np.array([period.stay for period in plan.periods])
    stays = [values[:, of_stay == n].sum(axis=1) for n in range(len(plan.stays))]
    return np.stack(stays, axis=1)


def _joined(by_clock: Floats, by_cabin: list[Floats]) -> Floats:
    """Put both kinds of appliances side by side, (member, stay, appliance)."""
    rows = [by_clock.transpose(2, 0, 1), *(values[:, :, None] for values in by_cabin)]
    return np.concatenate(rows, axis=2)


def plugged(plan: Plan) -> tuple[str, ...]:
    """Names of the appliances in those arrays."""
    return plan.appliances + tuple(name for _, name in plan.extras)
