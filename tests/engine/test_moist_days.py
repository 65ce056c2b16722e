"""Dew point, rain and snow as the first kernel hands them on, and as the twin tells them."""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
import numpy.typing as npt
import pytest
import xarray as xr

from flatodds.engine.plan import Plan, make_plan
from flatodds.engine.records import FIRST_DAY, SPIN_DAYS, Key, World
from flatodds.engine.run import seed_words, weather_of_block
from flatodds.engine.twin import live
from flatodds.engine.world import draw_days
from flatodds.lanes import LANES
from flatodds.scenario import parse_scenario
from flatodds.solar.cover import COVER
from flatodds.weather.contract import TEMP, check_weather
from flatodds.weather.moisture import DEW_C, MOIST, SNOW, WET, dew_point_c
from flatodds.weather.synthetic import STATE
from flatodds.weather.travel import travel

pytestmark = pytest.mark.usefixtures("estimate_taken_for_exact")

Floats = npt.NDArray[np.float64]
SEED = 77
COLD = "46.80, -100.78"
RIG = """
bank = { chemistry = "lithium", volts = 12, amp_hours = 100 }
array = { watts = 300 }
household = { pattern = "light", heat = "none" }
uncertain = { sun_frac = 0.0, use_frac = 0.0 }
"""


def stay(place: str, first_day: str, nights: int, more: str = "") -> str:
    return (
        f'[[stay]]\nplace = "{place}"\nelevation_m = 500.0\nfirst_day = "{first_day}"\n'
        f"nights = {nights}\n{more}\n"
    )


@cache
def plan_of(stays: str, dtype: Any = np.float64) -> Plan:
    return make_plan(parse_scenario(RIG + stays, "test.toml"), dtype=dtype)


def worlds(plan: Plan, first_member: int = 0) -> list[World]:
    """What the first kernel hands on for each stay, all its days at once."""
    latent = np.zeros((STATE, LANES))
    key = Key(np.int64(first_member), *seed_words(SEED))  # type: ignore[arg-type]
    found, begun = [], False
    for n, part in enumerate(plan.stays):
        days, groups = len(part.calendar.days), len(part.planes.groups)
        world = World(
            np.empty((days, 5, 24, LANES), plan.dtype),
            np.empty((days, groups, 24, LANES), plan.dtype),
            np.empty((days, MOIST, LANES), plan.dtype),
            np.zeros((groups, COVER, LANES), plan.dtype),
        )
        given = weather_of_block(plan, n, first_member, seed_words(SEED))
        if begun:
            arrival = int(part.calendar.stay[FIRST_DAY] - part.calendar.stay[SPIN_DAYS])
            travel(latent, part.weather_kept, arrival, first_member, seed_words(SEED))
        draw_days(
            part.calendar, 0, days, key, part.sky, given, part.planes, not begun, latent, world
        )
        begun = begun or given.values.shape[0] == 0
        found.append(world)
    return found


def moist(plan: Plan) -> Floats:
    return np.concatenate([world.moist for world in worlds(plan)])


@cache
def year(place: str, more: str = "") -> tuple[Floats, Floats]:
    """Moisture (365, 3, LANES) and mean temperature (365, LANES) of a drawn year."""
    world = worlds(plan_of(stay(place, "1 Jan", 365, more)))[0]
    return np.asarray(world.moist), np.asarray(world.sky[:, TEMP].mean(axis=1))


def given_table() -> xr.Dataset:
    rng = np.random.default_rng(3)
    hours = 24 * 12
    shape = (2, hours)
    sun = np.maximum(np.sin((np.arange(hours) % 24 - 13.0) / 24.0 * 2.0 * np.pi), 0.0)
    ghi = 500.0 * sun * np.repeat(rng.uniform(0.1, 1.0, (2, 12)), 24, axis=1)
    columns = {
        "ghi": ghi,
        "dni": np.zeros(shape),
        "dhi": ghi,
        "temp_air": rng.normal(0.0, 3.0, shape),
        "wind_speed": np.full(shape, 2.0),
    }
    time = np.datetime64("2021-02-26T00", "ns") + np.arange(hours) * np.timedelta64(1, "h")
    return xr.Dataset(
        {name: (("member", "time"), values) for name, values in columns.items()},
        coords={"time": time},
    )


DRAWN = stay(COLD, "20 Nov", 9) + stay("32.2, -110.9", "29 Nov", 6, 'weather = "sample:greensboro"')
GIVEN = stay(COLD, "27 Feb", 9)


@pytest.mark.parametrize("member", [0, 41])
@pytest.mark.parametrize("kind", ["drawn", "given"])
def test_the_twin_tells_the_same_moisture(kind: str, member: int) -> None:
    plan = plan_of(DRAWN)
    if kind == "given":
        table = check_weather(given_table())
        plan = make_plan(parse_scenario(RIG + GIVEN, "test.toml"), table, dtype=np.float64)
    told = np.array([list(day) for day in live(plan, member, SEED).moisture], dtype=np.float64)
    got = moist(plan)[:, :, member]
    assert got[:, DEW_C] == pytest.approx(told[:, DEW_C], rel=1e-9, abs=1e-9)
    assert (got[:, [WET, SNOW]] == told[:, [WET, SNOW]]).all()


def test_dew_point_is_what_the_days_temperatures_say() -> None:
    world = worlds(plan_of(DRAWN))[0]
    low, high = world.sky[:, TEMP].min(axis=1), world.sky[:, TEMP].max(axis=1)
    assert world.moist[:, DEW_C] == pytest.approx(dew_point_c(low, high - low), abs=1e-9)
    assert (world.moist[:, DEW_C] <= low).all()


def test_the_users_wet_days_come_out_month_by_month() -> None:
    """64 members: a month of 12 wet days has a standard error of about a quarter day."""
    days = [3, 0, 6, 9, 12, 15, 18, 21, 24, 27, 30, 2]
    found = year(COLD, f"monthly_wet_days = {days}")[0][:, WET].mean(axis=1)
    starts = np.cumsum([0, 31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30])
    assert np.add.reduceat(found, starts) == pytest.approx(np.array(days), abs=1.2)


def test_snow_is_a_wet_day_at_freezing_and_nothing_else() -> None:
    wet, mean = year(COLD)
    assert wet[:, SNOW].max() == 1.0
    assert (wet[:, SNOW] == wet[:, WET] * (mean <= 0.5)).all()
    assert year("14.2, 121.2")[0][:, SNOW].max() == 0.0


def test_wet_days_are_dull_days() -> None:
    world = worlds(plan_of(stay(COLD, "1 Jul", 60)))[0]
    sun = world.sky[:, 0].sum(axis=1)
    wet = world.moist[:, WET] == 1.0
    assert sun[wet].mean() < 0.85 * sun[~wet].mean()


@pytest.mark.parametrize(
    ("place", "low", "high"), [("33.07, -111.97", 15, 75), ("52.1, 5.18", 120, 230)]
)
def test_judged_wet_days_are_of_the_right_order(place: str, low: int, high: int) -> None:
    """Central Arizona has some 30 to 40 a year and the Netherlands some 130 to 190."""
    assert low < year(place)[0][:, WET].mean(axis=1).sum() < high


def test_both_builds_tell_the_same_days_wet() -> None:
    quick = moist(plan_of(DRAWN, np.float32))
    exact = moist(plan_of(DRAWN))
    assert quick[:, WET] == pytest.approx(exact[:, WET])
    assert quick[:, DEW_C] == pytest.approx(exact[:, DEW_C], abs=1e-3)
