"""What must hold of any generator under any weather."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
import xarray as xr
from hypothesis import given, settings
from hypothesis import strategies as st

from flatodds import simulate
from flatodds.studies.live_one import live_one

if TYPE_CHECKING:
    from tests.validation import square_sun as sq
else:
    import square_sun as sq

pytestmark = [pytest.mark.validation, pytest.mark.law]

DAYS, MEMBERS = 6, 4
FEW = settings(max_examples=6, deadline=None, derandomize=True, database=None)

ENGINE = """
[generator]
watts = {watts!r}
charger_amps = {amps!r}
start_frac = {start!r}
stop_frac = {stop!r}
hours = ["8-10:30", "17-19"]
minimum_run_hours = {least!r}
"""


@st.composite
def engines(draw: st.DrawFn) -> str:
    start = draw(st.floats(0.1, 0.7))
    return ENGINE.format(
        watts=draw(st.floats(300.0, 3000.0)),
        amps=draw(st.floats(5.0, 100.0)),
        start=start,
        stop=draw(st.floats(start + 0.05, 1.0)),
        least=draw(st.sampled_from((0.0, 0.0, 2.0))),
    )


rigs = st.builds(
    lambda ah, frac, watts, load, engine: sq.Rig(
        amp_hours=ah,
        arrival_charge_frac=frac,
        watts=watts,
        nights=DAYS,
        more=engine + sq.steady(load),
    ),
    st.floats(20.0, 400.0),
    st.floats(0.0, 1.0),
    st.floats(20.0, 600.0),
    st.floats(10.0, 150.0),
    engines(),
)


def light(seed: int) -> xr.Dataset:
    """Days of very different light, square from 8 to 16."""
    rng = np.random.default_rng(seed)
    hours = np.zeros((MEMBERS, DAYS, 24), dtype=np.float32)
    hours[:, :, 8:16] = (1000.0 * rng.random((MEMBERS, DAYS)) ** 2)[:, :, None]
    flat = hours.reshape(MEMBERS, 24 * DAYS)
    return sq.weather({"ghi": flat, "dhi": flat}, 24 * DAYS, MEMBERS)


@FEW
@given(rigs, st.integers(0, 999))
def test_a_generator_never_makes_it_worse(rig: sq.Rig, seed: int) -> None:
    """Lossless bank: with a generator no member goes without more than the same member without.

    1e-4 of the demand is rounding of float32 steps.
    """
    outcomes = simulate(rig.scenario(), light(seed))
    unserved = outcomes.dataset["energy_not_served_wh"].sum("period")
    demand = outcomes.dataset["demand_wh"].sum("period").sel(case="as_estimated").max()
    worse = unserved.sel(case="as_estimated") - unserved.sel(case="without_generator")
    assert float(worse.max()) <= 1e-4 * float(demand)
    assert outcomes.summary()["energy_balance"]["relative_error"] < 1e-5
    ran = outcomes.dataset["generator_hours"].sum("period")
    assert float(ran.sel(case="without_generator").max()) == 0.0
    assert float(ran.max()) <= DAYS * 4.5 + 1e-3


@FEW
@given(rigs, st.integers(0, 999))
def test_it_runs_only_when_it_may_and_when_it_must(rig: sq.Rig, seed: int) -> None:
    """Never outside its hours, never above its stop charge but for its shortest run, and never
    with more than its charger's current."""
    scenario = rig.scenario()
    generator = scenario.generator
    assert generator is not None
    hours = live_one(scenario, 0, weather=light(seed))
    watts = hours["generator_w"].to_numpy()
    clock = hours["time"].dt.hour.to_numpy()
    assert set(clock[watts > 0.0]) <= {8, 9, 10, 17, 18}
    most_w = min(generator.charger_amps * 12.0, generator.watts * generator.charger_efficiency_frac)
    assert watts.max() <= most_w * (1.0 + 1e-4)
    assert watts[clock == 10].max(initial=0.0) <= 0.5 * most_w * (1.0 + 1e-4)
    begins = np.concatenate([[rig.arrival_charge_frac], hours["charge_frac"].to_numpy()[:-1]])
    if generator.minimum_run_hours == 0.0:
        assert (begins[watts > 0.0] < generator.stop_frac + 1e-4).all()
