"""What habits put into a plan: the economised case, charge lines, the inverter's surge."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypedDict

from flatodds.loads.appliances import LINES
from flatodds.loads.household import charge_lines

if TYPE_CHECKING:
    from flatodds.scenario import Scenario

ECONOMISED = "economised"
NO_LINE = 2.0  # a charge that is never reached


class HabitFields(TypedDict):
    """Fields of a design that follow from habits and inverter; meanings as in `Design`."""

    surge_w: float
    economy: float
    line_a: float
    line_b: float
    line_c: float
    ac_slope: float
    ac_bend: float
    heat_loss: float


def can_economise(scenario: Scenario) -> bool:
    """Whether some comfort use can shrink while the battery is low."""
    return any(use.shrink_frac > 0.0 and use.need == "must" for use in scenario.appliances)


def habit_fields(scenario: Scenario) -> HabitFields:
    """Give the fields of a design of the household as planned."""
    lines = [*charge_lines(scenario.appliances), *[NO_LINE] * LINES]
    return {
        "surge_w": scenario.inverter.watts * scenario.inverter.surge_ratio,
        "economy": 0.0,
        "line_a": lines[0],
        "line_b": lines[1],
        "line_c": lines[2],
        "ac_slope": scenario.inverter.slope,
        "ac_bend": scenario.inverter.bend,
        "heat_loss": scenario.inverter.heat_loss_frac_per_c,
    }
