"""From a bank as written to the numbers of its hour."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from flatodds.battery.chemistry import (
    acceptance_h,
    bank_record,
    capacity_lines,
    efficiency_line,
    pad_lift_k_per_w,
    voltage_cubic,
)
from flatodds.catalog import chemistries
from flatodds.scenario import Bank, parse_scenario

RIG = """
bank = {{ chemistry = "{chemistry}", volts = 12, amp_hours = 200 }}
array.watts = 100
household.pattern = "none"
stay = [{{ place = "45.0, -93.0", first_day = "1 Jan", nights = 1 }}]
"""


def choice(chemistry: str = "lithium", **changes: Any) -> Bank:
    return replace(parse_scenario(RIG.format(chemistry=chemistry)).bank, **changes)


def test_every_value_finds_its_field() -> None:
    bank = bank_record(
        choice(
            resistance_ohm=0.013, charge_efficiency_frac=0.97, charge_c_rate=0.4,
            discharge_c_rate=0.7, cutoff_frac=0.11, reconnect_frac=0.22,
            self_discharge_frac_month=0.07305, charge_cold_limit_c=-1.0,
            charge_cold_release_c=3.0, charge_cold_full_c=12.0, charge_cold_start_frac=0.15,
            charge_over_v=0.3, health_frac=0.9, taper_from_frac=0.8, heating_pad_w=35.0,
            heating_pad_to_c=6.0,
        )
    )  # fmt: skip
    assert bank.capacity_ah == pytest.approx(180.0)
    assert (bank.charge_limit_a, bank.discharge_limit_a) == pytest.approx((80.0, 140.0))
    assert bank.acceptance_h == pytest.approx(0.2 / 0.4)
    assert bank.self_discharge_per_h == pytest.approx(1e-4)
    assert (bank.resistance_ohm, bank.charge_efficiency, bank.charge_over_v) == (0.013, 0.97, 0.3)
    assert (bank.cutoff_frac, bank.reconnect_frac) == (0.11, 0.22)
    assert (bank.cold_cut_c, bank.cold_release_c, bank.cold_ramp_c) == (-1.0, 3.0, 12.0)
    assert (bank.cold_start_frac, bank.pad_w, bank.pad_set_c) == (0.15, 35.0, 6.0)
    assert (bank.knee_frac, bank.knee_slope, bank.available_frac) == (1.0, 0.0, 1.0)


def test_no_gate_is_one_that_no_winter_shuts() -> None:
    bank = bank_record(choice("agm"))
    assert max(bank.cold_cut_c, bank.cold_release_c, bank.cold_ramp_c) <= -273.15
    assert bank.cold_start_frac == 1.0


@pytest.mark.parametrize(
    ("place", "inside", "lag_h"), [("inside", 1.0, 2.0), ("bay", 0.0, 5.0), ("outside", 0.0, 5.0)]
)
def test_where_the_bank_is(place: str, inside: float, lag_h: float) -> None:
    bank = bank_record(choice(location=place))
    assert bank.inside_frac == inside
    assert bank.lag_decay == pytest.approx(math.exp(-1.0 / lag_h), rel=1e-12)
    heat_j_per_k = bank_heat(choice())
    lift = lag_h * 3600.0 / heat_j_per_k * (1.0 - math.exp(-1.0 / lag_h))
    assert bank.pad_lift_k_per_w == pytest.approx(lift, rel=1e-12)


def bank_heat(one: Bank) -> float:
    return one.mass_kg * chemistries()[one.chemistry].heat_j_per_kg_k


def test_a_pad_that_loses_nothing_warms_by_its_heat() -> None:
    """With an endless lag, a watt for an hour is 3,600 J."""
    one = choice()
    assert pad_lift_k_per_w(one, 1e7) == pytest.approx(3600.0 / bank_heat(one), rel=1e-6)


@pytest.mark.parametrize(("when", "always"), [("sun", 0.0), ("always", 1.0)])
def test_when_the_pad_runs(when: str, always: float) -> None:
    assert bank_record(choice(heating_pad_when=when)).pad_always == always


@pytest.mark.parametrize(("knee", "ratio"), [(0.6, 0.35), (0.8, 0.75), (0.0, 0.9)])
def test_the_mean_efficiency_of_a_whole_charge(knee: float, ratio: float) -> None:
    """Ampere-hours put in are the integral of 1 / eta over what is stored."""
    one = choice(
        "agm",
        charge_efficiency_frac=0.7,
        efficiency_falls_from_frac=knee,
        efficiency_full_ratio=ratio,
    )
    before, from_frac, slope = efficiency_line(one)
    share = (np.arange(200_000) + 0.5) / 200_000
    eta = before - slope * np.maximum(share - from_frac, 0.0)
    assert 1.0 / np.mean(1.0 / eta) == pytest.approx(0.7, rel=1e-6)
    assert eta[-1] / before == pytest.approx(ratio, rel=1e-4)
    assert from_frac == knee


def test_efficiency_before_the_knee_is_at_most_one() -> None:
    one = choice(charge_efficiency_frac=0.99, efficiency_falls_from_frac=0.5)
    line = efficiency_line(replace(one, efficiency_full_ratio=0.5))
    assert line == pytest.approx((1.0, 0.5, 1.0))
    assert efficiency_line(replace(one, efficiency_full_ratio=1.0)) == (0.99, 1.0, 0.0)
    never = replace(one, efficiency_falls_from_frac=1.0, efficiency_full_ratio=0.5)
    assert efficiency_line(never) == (0.99, 1.0, 0.0)


def test_acceptance() -> None:
    assert acceptance_h(0.93, 0.5, 0.2) == 0.93
    assert acceptance_h(0.0, 0.5, 0.2) == 0.0
    assert acceptance_h(None, 0.9, 0.2) == pytest.approx(0.5)
    assert acceptance_h(None, 1.0, 0.2) == 1e-6


def test_the_cubic_goes_through_points_of_a_cubic() -> None:
    share = np.linspace(0.0, 1.0, 401)
    volts = 12.0 + share - 0.5 * share**2 + 0.7 * share**3
    found = voltage_cubic(tuple(zip(share.tolist(), volts.tolist(), strict=True)))
    assert found == pytest.approx([12.0, 1.0, -0.5, 0.7], abs=2e-4)


def test_the_cliff_below_the_cut_off_does_not_bend_the_cubic() -> None:
    points = ((0.0, 3.0), (0.05, 12.0), (1.0, 13.0))
    slope = 1.0 / 0.95
    wanted = [12.0 - 0.05 * slope, slope, 0.0, 0.0]
    assert voltage_cubic(points) == pytest.approx(wanted, abs=1e-9)


def test_a_constant_voltage() -> None:
    assert voltage_cubic(((0.0, 12.5), (1.0, 12.5))) == (12.5, 0.0, 0.0, 0.0)


def test_capacity_lines_go_through_their_points() -> None:
    points = [(25.0, 1.0), (-20.0, 0.5), (0.0, 0.9), (-10.0, 0.75), (10.0, 0.96)]
    warm, cool, cold = capacity_lines(points)
    for (intercept, slope), ends in (
        (warm, [(10.0, 0.96), (25.0, 1.0)]),
        (cool, [(0.0, 0.9), (10.0, 0.96)]),
        (cold, [(-20.0, 0.5), (-10.0, 0.75)]),
    ):
        for temp_c, frac in ends:
            assert intercept + slope * temp_c == pytest.approx(frac, abs=1e-12)
    assert capacity_lines([(25.0, 1.0)]) == ((1.0, 0.0), (1.0, 0.0), (1.0, 0.0))
    one, same, again = capacity_lines([(0.0, 0.8), (20.0, 1.0)])
    assert one == same == again == pytest.approx((0.8, 0.01))


def test_lead_holds_more_than_its_rating() -> None:
    """A discharge slower than 20 hours gives more: 1 / q(20 h) of the two wells."""
    bank = bank_record(choice("flooded", health_frac=0.5))
    share, k = 0.4378, 0.4439  # the fit at an exponent of 1.25
    kt = 20.0 * k
    given = share * kt / (1.0 - math.exp(-kt) + share * (kt - 1.0 + math.exp(-kt)))
    assert bank.capacity_ah == pytest.approx(100.0 / given, rel=1e-9)
    assert bank.available_frac == pytest.approx(share, rel=1e-9)
    assert bank.well_decay == pytest.approx(math.exp(-k), rel=1e-9)


def test_the_capacity_lines_of_a_bank() -> None:
    bank = bank_record(choice(capacity_points=((-20.0, 0.6), (0.0, 0.9), (20.0, 1.0))))
    assert (bank.warm_frac, bank.warm_slope) == pytest.approx((0.9, 0.005))
    assert (bank.cool_frac, bank.cool_slope) == pytest.approx((0.9, 0.005))
    assert (bank.cold_frac, bank.cold_slope) == pytest.approx((0.9, 0.015))


def test_an_hour_of_the_wells_of_a_bank() -> None:
    """a + c (1 - a) of the current, a = (1 - d) / k, with c and k of an exponent of 1.25."""
    bank = bank_record(choice("flooded"))
    share, k = 0.4378, 0.4439
    spread = (1.0 - math.exp(-k)) / k
    assert bank.well_drain == pytest.approx(spread + share * (1.0 - spread), rel=1e-9)
