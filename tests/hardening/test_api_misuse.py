"""The Python interface used wrongly gives our errors, which name the argument."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
import xarray as xr

from flatodds import FlatoddsError, Scenario, UsageError, WeatherError, parse_scenario, simulate
from flatodds.outcomes import open_result
from flatodds.studies.live_one import live_one, simulate_then_look

TEXT = """
bank.chemistry = "lithium"
bank.volts = 12
bank.amp_hours = 100
array.watts = 200
household.pattern = "none"
household.heat = "none"

[[stay]]
place = "36.10, -79.95"
elevation_m = 270
first_day = "1 Jul"
nights = 2
"""
HOURS = 24 * 365
UNITS = {"ghi": "W/m2", "dni": "W/m2", "dhi": "W/m2", "temp_air": "degC", "wind_speed": "m/s"}


@pytest.fixture(scope="module")
def scenario() -> Scenario:
    return parse_scenario(TEXT, "x.toml")


def weather(members: int = 1) -> xr.Dataset:
    shape = (members, HOURS)
    usual = {"ghi": 100.0, "dni": 0.0, "dhi": 100.0, "temp_air": 15.0, "wind_speed": 2.0}
    time = pd.date_range("2001-01-01", periods=HOURS, freq="h").as_unit("ns")
    data = {
        name: (("member", "time"), np.full(shape, value), {"units": UNITS[name]})
        for name, value in usual.items()
    }
    return xr.Dataset(data, coords={"time": time})


def changed(name: str, **more: Any) -> xr.Dataset:
    table = weather()
    return table.assign({name: table[name].assign_attrs(**more)})


def with_values(name: str, at: int, value: float) -> xr.Dataset:
    table = weather()
    table[name][0, at] = value
    return table


def with_time(time: Any) -> xr.Dataset:
    return weather().isel(time=slice(0, len(time))).assign_coords(time=("time", time))


DAY = pd.date_range("2001-01-01", periods=HOURS, freq="h")
WRONG_WEATHER: dict[str, Any] = {
    "no ghi": lambda: weather().drop_vars("ghi"),
    "nothing": xr.Dataset,
    "no member": lambda: weather().isel(member=0),
    "empty members": lambda: weather().isel(member=slice(0, 0)),
    "another dimension": lambda: weather().rename(member="year"),
    "a third dimension": lambda: weather().expand_dims("place"),
    "no time": lambda: weather().drop_vars("time"),
    "not a number": lambda: with_values("temp_air", 5, np.nan),
    "infinite": lambda: with_values("ghi", 5, np.inf),
    "too cold": lambda: with_values("temp_air", 5, -120.0),
    "too bright": lambda: with_values("ghi", 5, 5000.0),
    "kelvin": lambda: changed("temp_air", units="K"),
    "kelvin untold": lambda: weather().assign(temp_air=weather()["temp_air"] + 273.15),
    "kilowatts": lambda: changed("ghi", units="kW/m2"),
    "feet": lambda: changed("wind_speed", units="ft/s"),
    "units of another type": lambda: changed("ghi", units=5),
    "text": lambda: weather().assign(ghi=weather()["ghi"].astype(str) + "x"),
    "objects": lambda: weather().assign(ghi=weather()["ghi"].astype(object)),
    "complex": lambda: weather().assign(ghi=weather()["ghi"] + 1j),
    "truths": lambda: weather().assign(ghi=weather()["ghi"] > 0),
    "dates": lambda: weather().assign(ghi=weather()["ghi"].astype("datetime64[ns]")),
    "a time zone": lambda: with_time(np.array(DAY.tz_localize("UTC"), dtype=object)),
    "times as text": lambda: with_time(DAY.strftime("%Y-%m-%d %H:%M").to_numpy(dtype=object)),
    "times as numbers": lambda: with_time(np.arange(HOURS)),
    "half hours": lambda: with_time(pd.date_range("2001-01-01", periods=HOURS, freq="30min")),
    "past the hour": lambda: with_time(DAY + pd.Timedelta(minutes=10)),
    "backwards": lambda: with_time(DAY[::-1]),
    "twice": lambda: with_time(np.repeat(DAY, 2)[:HOURS]),
    "a gap": lambda: weather().isel(time=[*range(100), *range(124, HOURS)]),
    "no end of the day": lambda: weather().isel(time=slice(0, 47)),
    "too short": lambda: weather().isel(time=slice(0, 24)),
    "empty": lambda: weather().isel(time=slice(0, 0)),
    "an empty time": lambda: with_time(np.where(np.arange(HOURS) == 7, np.datetime64("NaT"), DAY)),
    "swapped": lambda: weather().assign(ghi=weather()["dni"] + 60.0, dhi=weather()["ghi"] * 3),
}


@pytest.mark.parametrize("name", WRONG_WEATHER)
def test_weather_that_is_none(name: str, scenario: Scenario) -> None:
    with pytest.raises(WeatherError) as caught:
        simulate(scenario, WRONG_WEATHER[name](), members=1)
    assert caught.value.problems
    assert len(str(caught.value)) < 5000


@pytest.mark.parametrize("table", [5, "weather.csv", [1, 2], pd.DataFrame({"ghi": [1.0]}), {}])
def test_weather_of_another_kind(table: Any, scenario: Scenario) -> None:
    with pytest.raises(WeatherError, match="Dataset"):
        simulate(scenario, table)
    with pytest.raises(WeatherError, match="Dataset"):
        live_one(scenario, 0, 1, table)


NO_COUNT: list[Any] = [0, -1, 10**9, 1.5, 64.0, float("nan"), True, False, "64", "many", [64], b"1"]
NO_SEED: list[Any] = [-1, 2**64, 1.5, 1.0, float("inf"), True, "1", None, [1]]
NO_THREADS: list[Any] = [0, -1, 10**6, 1.5, 2.0, True, "2", [2]]
WRONG_NUMBERS = [
    *(("members", value) for value in [*NO_COUNT, None]),
    *(("seed", value) for value in NO_SEED),
    *(("threads", value) for value in NO_THREADS),
]


@pytest.mark.parametrize(("name", "value"), WRONG_NUMBERS)
def test_numbers_that_are_none(name: str, value: Any, scenario: Scenario) -> None:
    words: Any = {name: value}
    for job in (simulate, simulate_then_look):
        with pytest.raises(UsageError, match=name):
            job(scenario, **words)
    if name == "seed":
        with pytest.raises(UsageError, match=name):
            live_one(scenario, 0, value)


@pytest.mark.parametrize("value", [-1, 10**9, 1.0, True, "1", None])
def test_members_that_are_none(value: Any, scenario: Scenario) -> None:
    with pytest.raises(UsageError, match="member"):
        live_one(scenario, value)


def test_whole_numbers_of_numpy_are_numbers(scenario: Scenario) -> None:
    words: Any = {"members": np.int64(64), "seed": np.uint64(3), "threads": np.int32(1)}
    one = simulate(scenario, **words)
    assert one.summary() == simulate(scenario, members=64, seed=3).summary()


@pytest.mark.parametrize("value", [None, 5, "my.toml", Path("my.toml"), {}, TEXT])
def test_something_else_instead_of_a_scenario(value: Any) -> None:
    for job in (simulate, simulate_then_look):
        with pytest.raises(UsageError, match=r"(?s)scenario.*load_scenario"):
            job(value, members=64)
    with pytest.raises(UsageError, match=r"(?s)scenario.*load_scenario"):
        live_one(value, 0)


@pytest.mark.parametrize("changes", [{"bank.amphours": 1}, {"": 1}, {"bank": 1}, {"stay.9.x": 1}])
def test_changes_that_are_none(changes: Any, scenario: Scenario) -> None:
    with pytest.raises(FlatoddsError):
        scenario.with_changes(changes)


def test_nothing_to_open(tmp_path: Path) -> None:
    for path in (tmp_path, tmp_path / "none", "", "no\x00name", "x" * 5000):
        with pytest.raises(UsageError):
            open_result(path)
