"""From a scenario's bank and its chemistry to the numbers one hour needs."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cache
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from flatodds.battery.bank import Bank
from flatodds.battery.kinetic import hour_of, rated_frac, wells, whole_of
from flatodds.catalog import chemistries

if TYPE_CHECKING:
    from flatodds.scenario import Bank as BankChoice

HOURS_A_MONTH = 730.5  # a twelfth of 365.25 days, definition
NO_LIMIT_H = 1e-6  # acceptance so quick that only the missing charge limits; own choice
NO_GATE_C = -300.0  # no bank is so cold: no limit
LAG_H = {"inside": 2.0, "bay": 5.0, "outside": 5.0}  # common practice, no source (3 to 8 h)
FIT_FROM_FRAC = 0.05  # below this protection has opened; the voltage's cliff is left out; judgement


def bank_record(choice: BankChoice) -> Bank:
    """Parameters of one bank as wired, as scalars."""
    volts = voltage_cubic(choice.rest_points)
    warm, cool, cold = capacity_lines(choice.capacity_points)
    rated = choice.amp_hours
    share, rate = choice.wells or wells(choice.rate_exponent)
    whole = whole_of(share, rate, 1.0 if choice.wells else rated_frac(choice.rate_exponent))
    available, decay, drain = hour_of(share, rate)
    capacity = rated * choice.health_frac * whole
    efficiency, knee, slope = efficiency_line(choice)
    lag_h = LAG_H[choice.location]
    return Bank(
        capacity_ah=capacity,
        v0=volts[0],
        v1=volts[1],
        v2=volts[2],
        v3=volts[3],
        resistance_ohm=choice.resistance_ohm,
        charge_efficiency=efficiency,
        charge_limit_a=choice.charge_c_rate * rated,
        discharge_limit_a=choice.discharge_c_rate * rated,
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
        lag_decay=float(np.exp(-1.0 / lag_h)),
        inside_frac=1.0 if choice.location == "inside" else 0.0,
        cold_start_frac=_or(choice.charge_cold_start_frac, 1.0),
        charge_over_v=choice.charge_over_v,
        knee_frac=knee,
        knee_slope=slope,
        available_frac=available,
        well_decay=decay,
        well_drain=drain,
        pad_w=choice.heating_pad_w,
        pad_set_c=choice.heating_pad_to_c,
        pad_lift_k_per_w=pad_lift_k_per_w(choice, lag_h),
        pad_always=1.0 if choice.heating_pad_when == "always" else 0.0,
    )


def efficiency_line(choice: BankChoice) -> tuple[float, float, float]:
    """Charge efficiency up to the knee, the knee, and the fall for each share beyond it [1].

    The mean over a whole charge (of its reciprocal: ampere-hours put in add up) is the
    bank's charge_efficiency_frac; if that leaves more than 1 before the knee, it is 1.
    """
    mean, knee = choice.charge_efficiency_frac, choice.efficiency_falls_from_frac
    ratio = choice.efficiency_full_ratio
    if knee >= 1.0 or ratio >= 1.0:
        return mean, 1.0, 0.0
    before = min(1.0, mean * (knee - (1.0 - knee) * math.log(ratio) / (1.0 - ratio)))
    return before, knee, before * (1.0 - ratio) / (1.0 - knee)


def pad_lift_k_per_w(choice: BankChoice, lag_h: float) -> float:
    """Warming of the bank by one watt for an hour [K], heat leaving it all the while.

    The bank is one lump of heat capacity C that cools with the time constant of its place,
    so it loses C / lag for each degree.
    """
    kind = chemistries()[choice.chemistry]
    heat_j_per_k = choice.mass_kg * kind.heat_j_per_kg_k
    return lag_h * 3600.0 / heat_j_per_k * -math.expm1(-1.0 / lag_h)


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


@cache
def voltage_cubic(rest_points: tuple[tuple[float, float], ...]) -> tuple[float, ...]:
    """Coefficients of the cubic through the rest-voltage points of a bank, four [V].

    Least squares on straight lines between the points, above the protection's cut-off.
    """
    points = np.array(rest_points)
    frac = np.linspace(FIT_FROM_FRAC, 1.0, 96)
    volts = np.interp(frac, points[:, 0], points[:, 1])
    if np.ptp(points[:, 1]) == 0.0:
        return float(points[0, 1]), 0.0, 0.0, 0.0
    return tuple(np.polynomial.polynomial.polyfit(frac, volts, 3).tolist())


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
