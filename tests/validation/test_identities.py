"""What must hold whatever the weather: nothing is lost, and more never makes it worse."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest
import xarray as xr
from hypothesis import given, settings
from hypothesis import strategies as st

from flatodds import parse_scenario, simulate

if TYPE_CHECKING:
    from tests.validation import square_sun as sq
else:
    import square_sun as sq

pytestmark = [pytest.mark.validation, pytest.mark.law]

DAYS, MEMBERS = 8, 4
FEW = settings(max_examples=8, deadline=None, derandomize=True, database=None)

REAL_RIG = """
bank.chemistry = "{chemistry}"
bank.volts = 24
bank.amp_hours = 150
array.watts = 700
inverter.watts = 1500
household.pattern = "medium"

[[appliance]]
use = "water_heater_element"

[[stay]]
place = "47.0, -112.0"
first_day = "10 Mar"
nights = 40
"""


def light(seed: int) -> xr.Dataset:
    """Light without beam: days of very different strength, square from 8 to 16."""
    rng = np.random.default_rng(seed)
    hours = np.zeros((MEMBERS, DAYS, 24), dtype=np.float32)
    hours[:, :, 8:16] = (1000.0 * rng.random((MEMBERS, DAYS)) ** 2)[:, :, None]
    flat = hours.reshape(MEMBERS, 24 * DAYS)
    return sq.weather({"ghi": flat, "dhi": flat}, 24 * DAYS, MEMBERS)


rigs = st.builds(
    lambda ah, frac, watts: sq.Rig(
        amp_hours=ah, arrival_charge_frac=frac, watts=watts, nights=DAYS, more=""
    ),
    st.floats(5.0, 400.0),
    st.floats(0.0, 1.0),
    st.floats(20.0, 1000.0),
)
loads_w = st.floats(5.0, 200.0)
more = st.floats(1.01, 3.0)


def unserved_wh(rig: sq.Rig, load_w: float, table: xr.Dataset) -> np.ndarray[tuple[int], np.dtype]:
    scenario = replace(rig, more=sq.steady(load_w)).scenario()
    result = sq.only(simulate(scenario, table))
    return np.asarray(result["energy_not_served_wh"].sum("period"))


@FEW
@given(rigs, loads_w, more, st.integers(0, 999))
def test_more_never_makes_it_worse(rig: sq.Rig, load_w: float, times: float, seed: int) -> None:
    """Lossless, rate-unlimited rig: more panels, more bank (as full as before in
    ampere-hours, or fuller) or less load never raises unserved energy, in any member.

    1e-4 of the demand is rounding of float32 steps.
    """
    table = light(seed)
    plain = unserved_wh(rig, load_w, table)
    slack = 1e-4 * load_w * 24 * DAYS
    assert (
        unserved_wh(replace(rig, watts=rig.watts * times), load_w, table) <= plain + slack
    ).all()
    wider = replace(rig, amp_hours=rig.amp_hours * times)
    assert (unserved_wh(wider, load_w, table) <= plain + slack).all()
    assert (unserved_wh(rig, load_w / times, table) <= plain + slack).all()


@FEW
@given(rigs, loads_w, st.integers(0, 999))
def test_a_lossless_rig_balances(rig: sq.Rig, load_w: float, seed: int) -> None:
    """Sun taken + first store = served + last store, served + unserved = demand, and taken
    + spilled = what the panels gave.

    1e-6 is asked of exact arithmetic; charge kept in float32 over 192 hours earns 1e-5.
    """
    table = light(seed)
    result = sq.only(simulate(replace(rig, more=sq.steady(load_w)).scenario(), table))
    sums = {
        name: np.asarray(result[name].sum("period"))
        for name in ("array_wh", "spilled_wh", "served_wh", "demand_wh", "energy_not_served_wh")
    }
    first, last = (
        12.0 * result["start_ah"].to_numpy()[:, 0],
        12.0 * result["end_ah"].to_numpy()[:, 0],
    )
    through = sums["array_wh"] + first
    np.testing.assert_allclose(sums["served_wh"] + last, through, rtol=1e-5, atol=0.01)
    np.testing.assert_allclose(
        sums["served_wh"] + sums["energy_not_served_wh"], sums["demand_wh"], rtol=1e-5
    )
    given_wh = rig.watts / 1000.0 * table["ghi"].to_numpy().astype(np.float64).sum(axis=1)
    np.testing.assert_allclose(sums["array_wh"] + sums["spilled_wh"], given_wh, rtol=1e-5)
    demand = load_w * 24.0 * DAYS
    np.testing.assert_allclose(sums["demand_wh"], demand, rtol=1e-5)


@pytest.mark.parametrize("chemistry", ["lithium", "agm", "flooded", "gel", "sodium", "ideal"])
def test_a_real_rig_balances(chemistry: str) -> None:
    """Losses, cold, inverter, furnace, fridge and put-off use: still nothing is lost.

    Sun taken + first store = served + lost + last store to 1e-5 (days are summed in
    float32), and served less spare-sun use + unserved <= demand: what can wait is demand
    only when it is granted, so it balances too.
    """
    scenario = parse_scenario(REAL_RIG.format(chemistry=chemistry), "real.toml")
    outcomes = simulate(scenario, members=64)
    assert outcomes.summary()["energy_balance"]["relative_error"] < 1e-5
    data = outcomes.dataset
    served = data["served_wh"] - data["spare_served_wh"] + data["energy_not_served_wh"]
    np.testing.assert_allclose(served.to_numpy(), data["demand_wh"].to_numpy(), rtol=1e-5)
    assert float(data["energy_not_served_wh"].sum()) > 0.0
    assert float(data["spare_served_wh"].sum()) > 0.0
