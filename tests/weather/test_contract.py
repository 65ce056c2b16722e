"""The gate that user datasets pass: what it takes, and that it names every fault at once."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
import xarray as xr

from flatodds.errors import WeatherError
from flatodds.weather import contract
from flatodds.weather.contract import BOUNDS, NAMES, check_weather


def dataset(members: int = 2, hours: int = 48, **changed: Any) -> xr.Dataset:
    """A plausible dataset with some variables replaced."""
    sun = np.maximum(np.sin((np.arange(hours) % 24 - 6.0) / 12.0 * np.pi), 0.0)
    one = np.ones((members, hours))
    fields: dict[str, Any] = {
        "ghi": 600.0 * sun * one,
        "dni": 500.0 * sun * one,
        "dhi": 150.0 * sun * one,
        "temp_air": 12.0 * one,
        "wind_speed": 3.0 * one,
    }
    fields.update(changed)
    time = np.datetime64("2021-01-01T00", "ns") + np.arange(hours) * np.timedelta64(1, "h")
    return xr.Dataset(
        {name: (("member", "time"), value) for name, value in fields.items()},
        coords={"time": time},
    )


def problems(ds: xr.Dataset) -> str:
    """Everything the gate says about a dataset."""
    with pytest.raises(WeatherError) as caught:
        check_weather(ds)
    return "\n".join(str(problem) for problem in caught.value.problems)


def test_values_are_taken_over_in_the_order_of_the_names() -> None:
    ds = dataset(temp_air=np.arange(96.0).reshape(2, 48) - 40.0)
    table = check_weather(ds.transpose("time", "member"))
    assert table.values.shape == (2, 48, 5)
    assert table.members == 2
    assert table.start == np.datetime64("2021-01-01T00")
    for row, name in enumerate(NAMES):
        np.testing.assert_array_equal(table.values[..., row], ds[name].to_numpy())


def test_rows_are_the_names() -> None:
    rows = (contract.GHI, contract.DNI, contract.DHI, contract.TEMP, contract.WIND)
    assert [NAMES[row] for row in rows] == ["ghi", "dni", "dhi", "temp_air", "wind_speed"]
    assert len(NAMES) == contract.SKY


def test_small_negative_irradiance_at_night_becomes_dark() -> None:
    ds = dataset()
    ds["ghi"][:, 0] = -2.0
    ds["temp_air"][:, 0] = -2.0
    table = check_weather(ds)
    assert (table.values[:, 0, contract.GHI] == 0.0).all()
    assert (table.values[:, 0, contract.TEMP] == -2.0).all()


def test_all_faults_are_named_at_once() -> None:
    ds = dataset(ghi=np.full((2, 48), 5000.0), temp_air=np.full((2, 48), 285.0))
    ds["wind_speed"][0, 3] = np.nan
    said = problems(ds.drop_vars("dni").isel(time=slice(0, 47)))
    for part in ("no dni", "47 hours", "ghi has 94", "temp_air has 94", "wind_speed has 1"):
        assert part in said


@pytest.mark.parametrize("name", NAMES)
def test_bounds_hold_on_both_sides(name: str) -> None:
    for value in (BOUNDS[name].low - 1.0, BOUNDS[name].high + 1.0):
        ds = dataset()
        ds[name][1, 5] = value
        assert f"{name} has 1 values outside" in problems(ds)


@pytest.mark.parametrize("value", [np.nan, np.inf])
def test_missing_values_are_refused(value: float) -> None:
    ds = dataset()
    ds["dhi"][0, 12] = value
    assert "dhi has 1 missing" in problems(ds)


def test_time_with_a_gap_or_off_the_hour_is_refused() -> None:
    ds = dataset(hours=72)
    assert "not hourly" in problems(ds.isel(time=[*range(10), *range(34, 72), *range(10, 34)]))
    shifted = ds.assign_coords(time=ds["time"] + np.timedelta64(30, "m"))
    assert "not on a full hour" in problems(shifted)


def test_time_must_be_plain_dates() -> None:
    ds = dataset()
    assert "not plain dates" in problems(ds.assign_coords(time=np.arange(48)))
    assert "no time coordinate" in problems(ds.drop_vars("time"))


def test_a_member_dimension_is_needed() -> None:
    assert "(time)" in problems(dataset().isel(member=0))


def test_other_units_are_refused_and_known_spellings_taken() -> None:
    ds = dataset()
    ds["ghi"].attrs["units"] = "W m**-2"
    ds["temp_air"].attrs["units"] = "degree_Celsius"
    check_weather(ds)
    ds["temp_air"].attrs["units"] = "K"
    assert "temp_air is in 'K'" in problems(ds)


def test_exchanged_diffuse_and_direct_are_noticed() -> None:
    ds = dataset()
    ds["dhi"] = 1.5 * ds["ghi"]
    assert "Are dni and dhi exchanged?" in problems(ds)
