"""What people who live off panels know, held against the simulation."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import pytest
import xarray as xr

from flatodds import simulate
from flatodds.studies.live_one import live_one

if TYPE_CHECKING:
    from tests.validation import square_sun as sq
else:
    import square_sun as sq

pytestmark = pytest.mark.validation

PLACE, LATITUDE, LONGITUDE, ELEVATION_M = "34.0, -112.0", 34.0, -112.0, 300.0


def clear_days(first: str, days: int) -> xr.Dataset:
    """Cloudless days by Ineichen's model with turbidity 3, 10 C and 1 m/s of wind."""
    from pvlib import atmosphere, clearsky, irradiance, solarposition

    middle = pd.date_range(f"{first}T00:30", periods=24 * days, freq="h", tz="Etc/GMT+7")
    sun = solarposition.spa_python(middle, LATITUDE, LONGITUDE, ELEVATION_M)
    zenith = sun["apparent_zenith"].to_numpy()
    airmass = atmosphere.get_relative_airmass(zenith)
    with np.errstate(divide="ignore", invalid="ignore"):  # hours of night
        sky = clearsky.ineichen(
            zenith,
            atmosphere.get_absolute_airmass(airmass, atmosphere.alt2pres(ELEVATION_M)),
            linke_turbidity=3.0,
            altitude=ELEVATION_M,
            dni_extra=irradiance.get_extra_radiation(middle.day_of_year.to_numpy()),
        )
    columns = {name: np.asarray(sky[name]) for name in ("ghi", "dni", "dhi")}
    return sq.weather(
        {**columns, "temp_air": 10.0, "wind_speed": 1.0}, 24 * days, utc_offset_h=-7, first=first
    )


def flat_roof(first_day: str, nights: int) -> sq.Rig:
    """1,200 W lying on a roof with 14 % losses in all."""
    return sq.Rig(
        place=PLACE,
        elevation_m=ELEVATION_M,
        watts=1200.0,
        loss_frac=0.14,
        incidence_loss=True,
        temp_coefficient=-0.0037,
        mount="roof",
        first_day=first_day,
        nights=nights,
    )


def test_three_kilowatt_hours_on_a_clear_winter_day() -> None:
    """1,200 W flat at 34 N give about 3 kWh a clear winter day (common practice, no source).

    Held to 2.7 to 3.3 kWh from 1 December to 15 January. pvlib, clear sky, close mount, 14 %
    losses: 2.81 on 21 December and 2.98 on 10 January; 4 % for unstated air and wind.
    """
    result = sq.only(simulate(flat_roof("1 Dec", 46).scenario(), clear_days("2001-12-01", 46)))
    assert float(result["spilled_wh"].sum()) == pytest.approx(0.0, abs=1.0)
    kwh = result["daily_array_wh"].to_numpy()[0] / 1000.0
    assert kwh.min() >= 2.7
    assert kwh.max() <= 3.3
    assert kwh[20] == pytest.approx(2.81, rel=0.04)
    assert kwh[40] == pytest.approx(2.98, rel=0.04)


@pytest.mark.parametrize(
    ("first_day", "date", "low", "high"),
    [
        ("21 Dec", "2001-12-21", 495.0, 580.0),
        ("14 Feb", "2001-02-14", 610.0, 730.0),
        ("15 Mar", "2001-03-15", 720.0, 850.0),
    ],
)
def test_noon_power_of_a_flat_array(first_day: str, date: str, low: float, high: float) -> None:
    """Clear noon of the same array (pvlib, turbidity 2 to 3, with losses), and the day's
    energy over its peak: 5.5 to 6.6 hours in winter (21 December to mid February).
    """
    result = sq.only(simulate(flat_roof(first_day, 1).scenario(), clear_days(date, 1)))
    peak_w = result["peak_array_w"].item()
    assert low <= peak_w <= high
    if first_day != "15 Mar":
        assert 5.5 <= result["array_wh"].item() / peak_w <= 6.6


def test_a_nearly_full_bank_takes_its_load_and_what_it_lacks() -> None:
    """Three kilowatt-hours and a peak of 838 W on one day go together only where the bank fills:
    then harvest is the load and what was missing, and the rest is spilled.

    A clear 14 February of the same array, first with a bank that never fills, then one that lacks
    2,400 Wh of 6,000 at midnight under 30 W. Exact but for float32.
    """
    table = clear_days("2001-02-14", 1)
    roof = flat_roof("14 Feb", 1)
    free = sq.only(simulate(roof.scenario(), table))
    small = replace(roof, amp_hours=500.0, arrival_charge_frac=0.6, more=sq.steady(30.0))
    hours = live_one(small.scenario(), 0, weather=table)
    held = sq.only(simulate(small.scenario(), table))
    harvest, offered = float(held["array_wh"].sum()), float(free["array_wh"].sum())
    sunset = int(np.flatnonzero(hours["array_offered_w"].to_numpy() > 30.0)[-1]) + 1
    assert hours["charge_frac"].to_numpy()[sunset - 1] == pytest.approx(1.0, abs=1e-4)
    lacked_wh = 0.4 * 6000.0
    assert harvest == pytest.approx(lacked_wh + 30.0 * sunset, abs=30.0)  # dusk gives a little
    end_wh = (1.0 - held["end_ah"].item() / 500.0) * 6000.0
    assert harvest == pytest.approx(30.0 * 24.0 + lacked_wh - end_wh, rel=1e-4)
    assert float(held["spilled_full_wh"].sum()) == pytest.approx(offered - harvest, rel=1e-4)
    peak_w = float(held["peak_array_w"].item())
    assert peak_w > 0.99 * float(free["peak_array_w"].item())  # seen before it was full
    assert 5.5 <= offered / float(free["peak_array_w"].item()) <= 6.6
    assert 2.7e3 < harvest < 3.3e3
    assert harvest / peak_w < 5.0


def in_the_dark(amp_hours_a_day: float, nights: int) -> xr.Dataset:
    """810 Ah without sun. Charge is counted in ampere-hours and the ideal bank keeps 12 V,
    so a load of so many Ah a day is 12 V times that, at 12.8 V or any other voltage."""
    rig = sq.Rig(
        amp_hours=810.0,
        arrival_charge_frac=1.0,
        nights=nights,
        more=sq.steady(amp_hours_a_day * 12.0 / 24.0),
    )
    return sq.only(simulate(rig.scenario(), sq.weather({}, 24 * nights)))


def test_eight_days_without_sun() -> None:
    """810 Ah at 12.8 V with 70 to 100 Ah a day had 30 % left after eight days (practice).

    0.7 x 810 / 8 = 70.9 Ah a day leaves 30 +- 1 %; 100 Ah a day leaves 1.2 % (+- 0.1) and is
    flat at 8.1 days, that is in hour 195 = 8 x 24 + 3.
    """
    assert in_the_dark(70.9, 8)["end_ah"].item() / 810.0 == pytest.approx(0.30, abs=0.01)
    assert in_the_dark(100.0, 8)["end_ah"].item() / 810.0 == pytest.approx(0.012, abs=0.001)
    result = in_the_dark(100.0, 10)
    lasted_h = 240.0 - float(np.sum(result["hours_flat"]))
    assert lasted_h == 194.0  # 194.4 h: the hour it runs out in is flat
    assert result["first_flat_day"].item() == 9.0
