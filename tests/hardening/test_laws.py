"""Laws that hold for every rig, household and weather, through the real engine.

FLATODDS_LAWS sets how many examples each law is tried on.
"""

from __future__ import annotations

import os
import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from flatodds import Outcomes, Scenario, parse_scenario, simulate
from flatodds.engine.plan import make_plan
from flatodds.engine.run import run_block
from flatodds.outcomes import open_result
from flatodds.scenario import scenario_from
from flatodds.scenario.changes import changed_document
from flatodds.units import c_from_f, f_from_c, ft_from_m, m_from_ft

EXAMPLES = int(os.environ.get("FLATODDS_LAWS", "20"))
ROUNDING = 2e-4  # of the demand or throughput: charge is kept in float32 [1]
SETTINGS = settings(
    max_examples=EXAMPLES,
    deadline=None,
    derandomize=True,
    database=None,
    suppress_health_check=[HealthCheck.too_slow],
)
pytestmark = [pytest.mark.law, pytest.mark.usefixtures("estimate_taken_for_exact")]

PLACES = ["36.10, -79.95", "47.0, -112.0", "33.45, -112.07", "-33.9, 18.4", "64.1, -21.9"]
numbers = st.floats(0.0, 1.0)


def between(low: float, high: float) -> st.SearchStrategy[float]:
    """Give a number whose logarithm is even, to four digits."""
    return numbers.map(lambda u: float(f"{low * (high / low) ** u:.4g}"))


documents = st.fixed_dictionaries(
    {
        "bank": st.fixed_dictionaries(
            {
                "chemistry": st.sampled_from(
                    ["lithium", "sodium", "agm", "gel", "flooded", "ideal"]
                ),
                "volts": st.sampled_from([12, 24, 48]),
                "amp_hours": between(20.0, 600.0),  # at 48 V still what a trailer can carry
            },
            optional={
                "arrival_charge_frac": numbers,
                "resistance_ohm": between(1e-4, 0.1),
                "location": st.sampled_from(["inside", "bay", "outside"]),
            },
        ),
        "array": st.fixed_dictionaries(
            {"watts": between(10.0, 20_000.0)},
            optional={"tilt_deg": st.floats(0.0, 90.0), "azimuth_deg": st.floats(0.0, 360.0)},
        ),
        "inverter": st.just({"watts": 2000.0}),
        "household": st.fixed_dictionaries(
            {"pattern": st.sampled_from(["light", "medium", "heavy", "none"])},
            optional={"reserve_frac": st.floats(0.0, 0.4)},
        ),
        "stay": st.fixed_dictionaries(
            {
                "place": st.sampled_from(PLACES),
                "elevation_m": st.just(300.0),
                "first_day": st.sampled_from(["1 Jan", "20 Mar", "15 Jun", "28 Oct", "30 Dec"]),
                "nights": st.integers(1, 4),
            }
        ),
        "uncertain": st.just({"sun_frac": 0.0, "use_frac": 0.0}),
    }
)
seeds = st.integers(0, 2**64 - 1)


def lived(document: Any, seed: int, members: int = 64) -> Outcomes:
    return simulate(scenario_from(document, "law"), members=members, seed=seed, threads=1)


@SETTINGS
@given(documents, seeds)
def test_balance_bounds_and_finite(document: Any, seed: int) -> None:
    """Energy is closed, charge within 0 and 1, everything finite, served no more than asked."""
    outcomes = lived(document, seed)
    data = outcomes.dataset
    assert outcomes.summary()["energy_balance"]["relative_error"] < ROUNDING
    for name in ("min_charge_frac", "daily_min_charge_frac", "daily_dawn_charge_frac"):
        values = data[name].to_numpy()
        assert values.min() >= -ROUNDING
        assert values.max() <= 1.0 + ROUNDING
    for label, variable in data.data_vars.items():
        if variable.dtype.kind == "f" and label != "first_flat_day":
            assert np.isfinite(variable.to_numpy()).all(), label
    demand = data["demand_wh"].to_numpy()
    unserved = data["energy_not_served_wh"].to_numpy()
    assert unserved.min() >= 0.0
    assert (unserved <= demand * (1.0 + ROUNDING) + 1e-3).all()
    hours = 24.0 * data["period_nights"].to_numpy()
    assert (data["hours_flat"].to_numpy() <= hours + 24.0).all()
    assert data["array_wh"].to_numpy().min() >= 0.0
    assert data["spilled_wh"].to_numpy().min() >= 0.0


@SETTINGS
@given(documents, seeds, st.integers(1, 63))
def test_members_are_independent(document: Any, seed: int, member: int) -> None:
    """A member lived from another block's first lane is the same member, bit for bit."""
    plan = make_plan(scenario_from(document, "law"), base_dir=Path())
    block, alone = run_block(plan, 0, seed), run_block(plan, member, seed)
    np.testing.assert_array_equal(alone.sums[:, 0], block.sums[:, member])
    np.testing.assert_array_equal(alone.extremes[:, 0], block.extremes[:, member])
    np.testing.assert_array_equal(alone.daily[0], block.daily[member])


LOSSLESS = """
[bank]
chemistry = "ideal"
volts = 12
amp_hours = {amp_hours!r}
arrival_charge_frac = {arrival!r}

[array]
watts = {watts!r}
loss_frac = 0.0
shade_frac = 0.0
incidence_loss = false
temp_coefficient_frac_per_c = 0.0

[controller]
efficiency_frac = 1.0

[household]
pattern = "none"
heat = "none"

[[appliance]]
name = "load"
side = "dc"
kind = "steady"
watts = {load!r}

[[stay]]
place = "{place}"
elevation_m = 300.0
first_day = "10 Nov"
nights = 4

[uncertain]
sun_frac = 0.0
use_frac = 0.0
"""


def unserved_wh(seed: int, **words: Any) -> Any:
    outcomes = simulate(parse_scenario(LOSSLESS.format(**words)), members=64, seed=seed, threads=1)
    return outcomes.dataset["energy_not_served_wh"].sum("period").to_numpy()


@SETTINGS
@given(
    seeds,
    between(5.0, 400.0),
    numbers,
    between(20.0, 1000.0),
    between(5.0, 200.0),
    st.sampled_from(PLACES),
    st.floats(1.01, 3.0),
)
def test_more_is_never_worse(
    seed: int, ah: float, arrival: float, watts: float, load: float, place: str, times: float
) -> None:
    """Lossless, rate-unlimited rig in drawn weather: more panels, more bank (as full in share)
    or less load never raises unserved energy, in any member.

    No exception is known for such a rig.
    """
    words = {"amp_hours": ah, "arrival": arrival, "watts": watts, "load": load, "place": place}
    most = unserved_wh(seed, **words) + ROUNDING * load * 24 * 4 + 1e-3
    assert (unserved_wh(seed, **{**words, "watts": watts * times}) <= most).all()
    assert (unserved_wh(seed, **{**words, "amp_hours": ah * times}) <= most).all()
    assert (unserved_wh(seed, **{**words, "load": load / times}) <= most).all()


@settings(SETTINGS, max_examples=10 * EXAMPLES)
@given(documents)
def test_a_scenario_comes_back_from_its_text(document: Any) -> None:
    scenario = scenario_from(document, "law")
    again = scenario_from(tomllib.loads(scenario.toml), "law", title=scenario.title)
    assert again == scenario
    assert again.sha256 == scenario.sha256
    changed = changed_document(scenario.document, {"bank.amp_hours": 77.0}, "law")
    assert Scenario.__eq__(scenario_from(changed, "law"), scenario) == (
        document["bank"]["amp_hours"] == 77.0
    )


@settings(SETTINGS, max_examples=max(EXAMPLES // 2, 5))
@given(documents, seeds)
def test_a_result_comes_back_from_its_file(
    tmp_path_factory: pytest.TempPathFactory, document: Any, seed: int
) -> None:
    outcomes = lived(document, seed)
    path = tmp_path_factory.mktemp("law") / "result.nc"
    outcomes.to_netcdf(path)
    again = open_result(path)
    assert again.dataset.identical(outcomes.dataset)
    assert again.summary() == outcomes.summary()


@settings(SETTINGS, max_examples=10 * EXAMPLES)
@given(st.floats(-1e4, 1e4))
def test_units_come_back(value: float) -> None:
    assert c_from_f(f_from_c(value)) == pytest.approx(value, rel=1e-12, abs=1e-9)
    assert m_from_ft(ft_from_m(value)) == pytest.approx(value, rel=1e-12, abs=1e-9)
