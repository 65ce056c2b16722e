"""The kernel against its readable twin: every hour, every sum, and the energy balance."""

from __future__ import annotations

import dataclasses
import statistics
from collections.abc import Mapping
from functools import cache
from typing import Any

import numpy as np
import numpy.typing as npt
import pytest
import xarray as xr
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from flatodds.engine import rows as r
from flatodds.engine.plan import Plan, make_plan
from flatodds.engine.run import BlockResult, run_block, run_plan
from flatodds.engine.twin import Lived, TwinHour, live
from flatodds.engine.twin_bank import bank_of, energy_wh
from flatodds.engine.twin_draws import normal_score, philox
from flatodds.lanes import LANES
from flatodds.scenario import parse_scenario
from flatodds.weather.contract import WeatherTable, check_weather

Floats = npt.NDArray[np.float64]

SEED = 20_250_101_123_456_789  # uses both words of the key
MEMBERS = (0, 41)
RELATIVE = 1e-9
# Differences are held against the value or 1 of its unit, whichever is larger: where a flow
# fades out (a bank's last milliamperes, mismatch left unserved) it is a difference of numbers
# of 10 to 1000, which carry some 1e-13 of rounding whatever the order of the operations.
UNIT = 1.0

LIGHT_AUTUMN = """
title = "light, over the end of summer time"
bank = { chemistry = "lithium", volts = 12, amp_hours = 100 }
array = { watts = 120 }
household = { pattern = "light" }
stay = [{ place = "44.90, -86.02", first_day = "28 Oct", nights = 12 }]
"""
MEDIUM_COLD = """
title = "medium, lead in the bay, deep cold"
bank = { chemistry = "agm", volts = 24, amp_hours = 220 }
array = { watts = 600, tilt_deg = 45 }
controller = { amps = 12.0 }
inverter = { watts = 1000 }
household = { pattern = "medium" }
stay = [{ place = "46.80, -100.78", elevation_m = 510.0, first_day = "27 Jan", nights = 14 }]
"""
HEAVY_LOCKED = """
title = "heavy, 48 V lithium outside in the cold, ampere clip"
home = "cabin"
bank = { chemistry = "lithium", volts = 48, amp_hours = 200, location = "outside" }
array = [{ watts = 2000, tilt_deg = 60 }, { watts = 900, azimuth_deg = 90, mount = "roof" }]
controller = { amps = 25.0 }
inverter = { watts = 3000 }
household = { pattern = "heavy" }
stay = [{ place = "39.74, -104.99", first_day = "1 Mar", nights = 14 }]
"""
TWO_STAYS = """
title = "two stays over the new year, the second on other weather and charge"
bank = { chemistry = "agm", volts = 12, amp_hours = 200 }
array = { watts = 300 }
inverter = { watts = 1500, hours_on = 5 }
household = { pattern = "medium", heat = "none" }

[[stay]]
place = "32.22, -110.97"
first_day = "27 Dec"
nights = 8
weather = "sample:greensboro"

[[stay]]
place = "-33.87, 151.21"
first_day = "9 Jan"
nights = 6
arrival_charge_frac = 0.55

[[stay]]
place = "19.08, 72.88"
first_day = "15 Jan"
nights = 5
"""
SPARE_AND_WAIT = """
title = "spare-sun and can-wait use on both sides, a small inverter"
home = "van"
bank = { chemistry = "lithium", volts = 12, amp_hours = 150, arrival_charge_frac = 0.6 }
array = { watts = 700 }
inverter = { watts = 600, hours_on = 12.5 }
household = { pattern = "light" }
stay = [{ place = "36.07, -79.79", first_day = "5 Mar", nights = 14 }]

[[appliance]]
name = "hot water rod"
watts = 250
side = "ac"
minutes = 120
times_a_day = 2
window = ["9-17"]
need = "spare-sun"

[[appliance]]
name = "cool box"
watts = 60
side = "dc"
minutes = 300
times_a_day = 1.4
window = ["8-20"]
need = "spare-sun"

[[appliance]]
name = "tool batteries"
watts = 180
side = "ac"
minutes = 90
times_a_day = 2
times_sd = 1.0
window = ["6-9", "12-15:30", "21-2"]
need = "can-wait"

[[appliance]]
name = "night radio"
watts = 22
side = "dc"
minutes = 200
times_a_day = 1
window = ["23-5"]

[[appliance]]
name = "mixer"
watts = 900
side = "ac"
minutes = 10
times_a_day = 3
window = ["0-1", "7-8:30", "12-13", "18-20"]
"""
NO_INVERTER = """
title = "no inverter at all"
bank = { chemistry = "lithium", volts = 24, amp_hours = 60, location = "bay" }
array = { watts = 260, tilt_deg = 20, azimuth_deg = 250 }
inverter = { watts = 0 }
household = { pattern = "light" }
stay = [{ place = "53.0, -8.0", first_day = "20 Mar", nights = 14 }]
"""
IDEAL_STORE = """
title = "a store without losses or limits"
bank = { chemistry = "ideal", volts = 12, amp_hours = 40 }
array = { watts = 150 }
inverter = { watts = 300 }
household = { pattern = "light" }
stay = [{ place = "48.2, 16.4", first_day = "1 Nov", nights = 14 }]
"""
GIVEN = """
title = "weather handed in"
bank = { chemistry = "agm", volts = 12, amp_hours = 120, location = "outside" }
array = { watts = 350, tilt_deg = 30 }
inverter = { watts = 800 }
household = { pattern = "medium" }

[[stay]]
place = "46.80, -100.78"
elevation_m = 510.0
first_day = "27 Feb"
nights = 6

[[stay]]
place = "44.90, -86.02"
elevation_m = 180.0
first_day = "6 Mar"
nights = 6
"""
TEXTS = {
    "light autumn": LIGHT_AUTUMN,
    "medium cold": MEDIUM_COLD,
    "heavy locked": HEAVY_LOCKED,
    "two stays": TWO_STAYS,
    "spare and wait": SPARE_AND_WAIT,
    "no inverter": NO_INVERTER,
    "ideal store": IDEAL_STORE,
    "given": GIVEN,
}


def invented_weather(members: int, days: int) -> WeatherTable:
    """Hours of an invented cold spring, with some sun at night as a careless table may have."""
    rng = np.random.default_rng(7)
    hour = np.arange(24 * days)
    height = np.maximum(np.sin((hour % 24 - 13.0) / 24.0 * 2.0 * np.pi), -0.02) + 0.02
    dull = np.repeat(rng.uniform(0.05, 1.0, (members, days)), 24, axis=1)
    ghi = 800.0 * height * dull
    dhi = ghi * np.clip(1.1 - dull, 0.1, 1.0)
    air = -6.0 + 8.0 * np.sin(hour / 24.0 * 2.0 * np.pi) + rng.normal(0.0, 3.0, ghi.shape)
    columns = {
        "ghi": ghi,
        "dni": np.clip((ghi - dhi) / np.maximum(height, 0.1), 0.0, 1000.0),
        "dhi": dhi,
        "temp_air": air,
        "wind_speed": rng.uniform(0.0, 9.0, ghi.shape),
    }
    time = np.datetime64("2021-02-26T00", "ns") + hour * np.timedelta64(1, "h")
    data = {name: (("member", "time"), values) for name, values in columns.items()}
    return check_weather(xr.Dataset(data, coords={"time": time}))


@cache
def plan_of(name: str, dtype: Any = np.float64) -> Plan:
    scenario = parse_scenario(TEXTS[name], "test.toml")
    weather = invented_weather(3, 20) if name == "given" else None
    return make_plan(scenario, weather, dtype=dtype)


@cache
def block_of(name: str) -> BlockResult:
    return run_block(plan_of(name), 0, SEED, trace=True)


@cache
def lived_by(name: str, member: int, case: int = 0) -> Lived:
    return live(plan_of(name), member, SEED, case)


def misses(got: Floats, want: Floats, names: tuple[str, ...]) -> list[str]:
    """Every column (last axis) that differs, with its worst difference."""
    same = got == want  # infinities, where a bank never runs flat
    apart = np.where(same, 0.0, got - np.where(same, 0.0, want))
    worst = np.abs(apart) / np.maximum(np.abs(np.where(same, 0.0, want)), UNIT)
    worst = worst.reshape(-1, len(names)).max(axis=0)
    return [f"{n}: {x:.1e}" for n, x in zip(names, worst, strict=True) if not x <= RELATIVE]


def table(rows: list[dict[str, float]], names: Mapping[str, Any] | tuple[str, ...]) -> Floats:
    return np.array([[row[name] for name in names] for row in rows])


def hours_apart(lived: Lived, block: BlockResult, lane: int) -> list[str]:
    got = np.array([dataclasses.astuple(hour) for hour in lived.hours])
    return misses(got, block.trace[:, :, lane], r.TRACE)


def sums_apart(lived: Lived, block: BlockResult, lane: int, case: int) -> list[str]:
    return misses(table(lived.sums, r.SUMS), block.sums[case, lane], r.SUMS) + misses(
        table(lived.extremes, r.EXTREMES), block.extremes[case, lane], tuple(r.EXTREMES)
    )


def test_an_hour_of_the_twin_is_named_like_the_trace() -> None:
    assert tuple(field.name for field in dataclasses.fields(TwinHour)) == r.TRACE


@pytest.mark.parametrize("member", MEMBERS)
@pytest.mark.parametrize("name", TEXTS)
def test_every_hour_agrees(name: str, member: int) -> None:
    assert hours_apart(lived_by(name, member), block_of(name), member) == []


@pytest.mark.parametrize("name", TEXTS)
def test_every_sum_and_extreme_agrees(name: str) -> None:
    for member in MEMBERS:
        for case in (0, len(plan_of(name).cases) - 1):
            lived = lived_by(name, member, case)
            assert sums_apart(lived, block_of(name), member, case) == []
