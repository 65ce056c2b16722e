"""From a scenario's bank and its chemistry to the numbers one hour needs."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from flatodds.battery.bank import Bank

if TYPE_CHECKING:
    from flatodds.scenario import Bank as BankChoice

HOURS_A_MONTH = 730.5
NO_LIMIT_H = 1e-6  # acceptance so quick that only the missing charge limits
NO_GATE_C = -300.0
LAG_H = {"inside": 2.0, "bay": 5.0, "outside": 5.0}  # common practice, no source (3 to 8 h)
FIT_FROM_FRAC = 0.05  # below this protection has opened; the voltage's cliff is left out


def bank_record(choice: BankChoice) -> Bank:
    """Parameters of one bank as wired, as scalars."""
    volts = voltage_cubic(choice.rest_points)
    warm, cool, cold = capacity_lines(choice.capacity_points)
    capacity = choice.amp_hours
    return Bank(
        capacity_ah=capacity,
        v0=float(volts[0]),
        v1=float(volts[1]),
        v2=float(volts[2]),
        v3=float(volts[3]),
        resistance_ohm=choice.resistance_ohm,
        charge_efficiency=choice.charge_efficiency_frac,
        charge_limit_a=choice.charge_c_rate * capacity,
        discharge_limit_a=choice.discharge_c_rate * capacity,
        acceptance_h=acceptance_h(
            choice.acceptance_hours, choice.taper_from_frac, choice.charge_c_rate
        ),
        cutoff_frac=choice.cutoff_frac,
        reconnect_frac=choice.reconnect_frac,
        self_discharge_per_h=choice.self_discharge_frac_month / HOURS_A_MONTH,
        cold_cut_c=_or(choice.charge_cold_limit_c, NO_GATE_C),
        cold_release_c=_or(choice.charge_cold_release_c, NO_GATE_C),
        cold_ramp_c=_or(choice.charge_cold_full_c, NO_GATE_C),
        warm_frac=warm[0],
        warm_slope=warm[1],
        cool_frac=cool[0],
        cool_slope=cool[1],
        cold_frac=cold[0],
        cold_slope=cold[1],
        lag_decay=float(np.exp(-1.0 / LAG_H[choice.location])),
        inside_frac=1.0 if choice.location == "inside" else 0.0,
        cold_start_frac=_or(choice.charge_cold_start_frac, 1.0),
    )


def _or(value: float | None, otherwise: float) -> float:
    return otherwise if value is None else value


def acceptance_h(hours: float | None, taper_from_frac: float, charge_c_rate: float) -> float:
    """Time constant tau of the acceptance rule [h].

    A lithium bank that holds full current up to a share of its charge follows the same
    rule with a tau that meets full current there.
    """
    if hours is not None:
        return hours
    return max((1.0 - taper_from_frac) / charge_c_rate, NO_LIMIT_H)


def voltage_cubic(rest_points: Sequence[tuple[float, float]]) -> npt.NDArray[np.float64]:
    """Coefficients of the cubic through the rest-voltage points of a bank, (4,) [V].

    Least squares on straight lines between the points, above the protection's cut-off.
    """
    points = np.array(rest_points)
    frac = np.linspace(FIT_FROM_FRAC, 1.0, 96)
    volts = np.interp(frac, points[:, 0], points[:, 1])
    if np.ptp(points[:, 1]) == 0.0:
        return np.array([points[0, 1], 0.0, 0.0, 0.0])
    return np.asarray(np.polynomial.polynomial.polyfit(frac, volts, 3), dtype=np.float64)


def capacity_lines(
    points: Sequence[tuple[float, float]],
) -> tuple[tuple[float, float], tuple[float, float], tuple[float, float]]:
    """Three lines (intercept, slope) in temperature whose least, with 1, is the capacity.

    Lines through neighbouring points of the concave table, warmest first: the three that
    end at the warmest point, in the middle, and at the coldest.
    """
    table = sorted(points)
    if len(table) == 1:
        return (1.0, 0.0), (1.0, 0.0), (1.0, 0.0)
    lines = [_line(a, b) for a, b in pairwise(table)]
    return lines[-1], lines[len(lines) // 2], lines[0]


def _line(a: tuple[float, float], b: tuple[float, float]) -> tuple[float, float]:
    slope = (b[1] - a[1]) / (b[0] - a[0])
    return a[1] - slope * a[0], slope
