"""Weather from stay to stay: neighbours share it, far places do not, one place just goes on."""

from __future__ import annotations

import math
from functools import cache
from typing import Any

import numpy as np
import numpy.typing as npt
import pytest

from flatodds.engine import rows as r
from flatodds.engine.plan import Plan, make_plan
from flatodds.engine.run import run_block
from flatodds.engine.twin import live
from flatodds.lanes import LANES
from flatodds.scenario import parse_scenario
from flatodds.weather.synthetic import STATE, YEAR, Z
from flatodds.weather.travel import travel, weather_kept

pytestmark = pytest.mark.usefixtures("estimate_taken_for_exact")

Floats = npt.NDArray[np.float64]
SEED = 77
HOME, NEAR, FAR = "46.80, -100.78", "46.80, -98.00", "33.00, -112.00"
RIG = """
bank = { chemistry = "lithium", volts = 12, amp_hours = 100 }
array = { watts = 300 }
household = { pattern = "light", heat = "none" }
uncertain = { sun_frac = 0.0, use_frac = 0.0 }
"""


@cache
def plan_of(*stays: str, dtype: Any = np.float64) -> Plan:
    return make_plan(parse_scenario(RIG + "".join(stays), "test.toml"), dtype=dtype)


def stay(place: str, first_day: str, nights: int) -> str:
    return (
        f'[[stay]]\nplace = "{place}"\nelevation_m = 500.0\nfirst_day = "{first_day}"\n'
        f"nights = {nights}\n"
    )


def sun(plan: Plan, block: int = 0) -> Floats:
    """Global irradiance of all stays, (day, 24, LANES)."""
    trace = run_block(plan, block * LANES, SEED, trace=True).trace[:, r.TRACE.index("ghi")]
    return trace.reshape(-1, 24, LANES)


def test_a_quarter_of_the_globe_and_a_degree() -> None:
    """One degree of a great circle is 111.2 km."""
    assert weather_kept((10.0, 20.0), (10.0, 20.0)) == 1.0
    assert weather_kept((0.0, 0.0), (1.0, 0.0)) == pytest.approx(math.exp(-111.195 / 450.0), 1e-4)
    assert weather_kept((0.0, 179.5), (0.0, -179.5)) == pytest.approx(math.exp(-111.195 / 450.0))
    assert weather_kept((0.0, 0.0), (0.0, 90.0)) < 1e-9


def test_one_stay_split_in_two_is_bitwise_the_same() -> None:
    whole = plan_of(stay(HOME, "20 Nov", 12))
    split = plan_of(stay(HOME, "20 Nov", 5), stay(HOME, "25 Nov", 7))
    assert (sun(whole) == sun(split)).all()
    a, b = run_block(whole, 0, SEED), run_block(split, 0, SEED)
    assert (a.daily == b.daily).all()


@pytest.mark.parametrize("place", [NEAR, FAR])
def test_the_twin_travels_alike(place: str) -> None:
    plan = plan_of(stay(HOME, "20 Nov", 3), stay(place, "25 Nov", 4))
    sky = sun(plan)
    for member in (0, 41):
        hours = np.array([hour.ghi for hour in live(plan, member, SEED).hours]).reshape(-1, 24)
        assert hours == pytest.approx(sky[:, :, member], rel=1e-9, abs=1e-9)


@pytest.mark.parametrize(("kept", "tolerance"), [(0.9, 0.03), (0.5, 0.06), (0.0, 0.08)])
def test_scores_stay_normal_and_keep_their_share(kept: float, tolerance: float) -> None:
    rng = np.random.default_rng(4)
    before = rng.normal(size=(STATE, 2048))
    after = before.copy()
    travel(after, kept, 400, 0, (np.uint64(5), np.uint64(6)))
    rows = [row for row in range(STATE) if row != Z]
    for row in rows:
        assert after[row].std() == pytest.approx(1.0, abs=0.06)
        assert np.corrcoef(before[row], after[row])[0, 1] == pytest.approx(kept, abs=tolerance)
    fresh = (after - kept * before)[rows]
    assert np.abs(np.corrcoef(fresh) - np.eye(len(rows))).max() < 0.1
    assert YEAR in rows


def test_staying_draws_nothing() -> None:
    state = np.random.default_rng(4).normal(size=(STATE, 64))
    before = state.copy()
    travel(state, 1.0, 400, 0, (np.uint64(5), np.uint64(6)))
    assert (state == before).all()


def test_neighbours_share_dull_days_and_far_places_do_not() -> None:
    """The day before and after a move: correlation over 512 members, at kept .62 and .04."""

    def shared(place: str) -> float:
        plan = plan_of(stay(HOME, "1 Jul", 1), stay(place, "2 Jul", 1))
        days = np.concatenate([sun(plan, n).sum(axis=1) for n in range(8)], axis=1)
        return float(np.corrcoef(days)[0, 1])

    assert shared(HOME) > shared(NEAR) > shared(FAR) - 0.02
    assert abs(shared(FAR)) < 0.15
