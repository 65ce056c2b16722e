"""What each appliance wanted, got, got late and went without, at its own plug."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from flatodds.engine.notes import GONE, SERVED, SHIFTED
from flatodds.engine.plan import Plan

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
        Served, served later than asked for, gone without, (stay, appliance, 3, member) [Wh].
    """
    of_stay = np.array([period.stay for period in plan.periods])
    stays = [of_stay == n for n in range(len(plan.stays))]

    def first_case(name: str) -> Floats:
        return np.stack([sums[name][0][:, here].sum(axis=1) for here in stays], axis=1)

    use = plan.cases[0].use_factor
    found = {"appliance_wanted_wh": wanted.transpose(2, 0, 1) * use}
    for name, row in (("served", SERVED), ("shifted", SHIFTED), ("gone_without", GONE)):
        found[f"appliance_{name}_wh"] = served[:, :, row].transpose(2, 0, 1) * use
    extra_wanted = [first_case(f"{kind}_wanted_wh") for kind, _ in plan.extras]
    extra_served = [first_case(f"{kind}_served_wh") for kind, _ in plan.extras]
    extra = {
        "appliance_wanted_wh": extra_wanted,
        "appliance_served_wh": extra_served,
        "appliance_shifted_wh": [np.zeros_like(values) for values in extra_wanted],
        "appliance_gone_without_wh": [
            np.maximum(asked - got, 0.0)
            for asked, got in zip(extra_wanted, extra_served, strict=True)
        ],
    }
    return {
        name: np.concatenate([values, *(x[:, :, None] for x in extra[name])], axis=2)
        for name, values in found.items()
    }


def plugged(plan: Plan) -> tuple[str, ...]:
    """Names of the appliances in those arrays."""
    return plan.appliances + tuple(name for _, name in plan.extras)
