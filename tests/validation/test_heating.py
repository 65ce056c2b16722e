"""Heaters' power against steady heat loss and a year's degree-hours, through the main job."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest
import xarray as xr

from flatodds import Scenario, parse_scenario, simulate
from flatodds.studies.live_one import live_one
from flatodds.weather.readers import WeatherYear, read_weather

if TYPE_CHECKING:
    from tests.validation import square_sun as sq
else:
    import square_sun as sq

pytestmark = pytest.mark.validation

NAMES = ("ghi", "dni", "dhi", "temp_air", "wind_speed")
RIG = """
bank = {{ chemistry = "ideal", volts = 12, amp_hours = 20000, arrival_charge_frac = 1.0 }}
array = {{ watts = 10 }}
stay = [{{ place = "{place}", elevation_m = 270, first_day = "1 Jan", nights = {nights} }}]
uncertain = {{ sun_frac = 0.0, use_frac = 0.0 }}

[household]
pattern = "none"
heat = "{heat}"
inside_day_c = {inside}
inside_night_c = {inside}

[shell]
heat_loss_w_per_k = 150
sun_aperture_m2 = 0
gains_w = 0
heat_mass_j_per_k = {mass}
"""


def home(
    heat: str = "gas furnace",
    inside: float = 20.0,
    mass: float = 1.5e6,
    place: str = sq.DESERT,
    nights: int = 7,
    more: str = "",
) -> Scenario:
    """A home of 150 W/K without sun or people in it."""
    words = {"heat": heat, "inside": inside, "mass": mass, "place": place, "nights": nights}
    return parse_scenario(RIG.format(**words) + more, "check.toml")


BLOWER = '\n[[appliance]]\nuse = "furnace_blower"\nwatts = 100\n'


def kwh(found: xr.Dataset) -> float:
    """All energy asked for [kWh]."""
    return float(found["demand_wh"].sum()) / 1000.0


def test_steady_heat_loss() -> None:
    """150 W/K over 20 K with a furnace of 7 kW and a blower of 100 W: duty 0.429, 1.03 kWh a day.

    Own sum, 80 Ah at 12.8 V; 1 %. Without a heater the demand is less by just that, which is
    what a cold day costs a household whose other use is 70 to 100 Ah (common practice).
    """
    weather = sq.weather({"temp_air": 0.0}, 24 * 7)
    heated = kwh(sq.only(simulate(home(more=BLOWER), weather)))
    bare = kwh(sq.only(simulate(home(heat="none"), weather)))
    a_day = (heated - bare) / 7.0
    assert a_day == pytest.approx(0.429 * 0.1 * 24.0, rel=0.01)
    assert a_day * 1000.0 / 12.8 == pytest.approx(80.0, rel=0.01)


@cache
def greensboro() -> WeatherYear:
    import pvlib

    return read_weather(Path(pvlib.__file__).parent / "data" / "723170TYA.CSV")


def test_a_years_degree_hours() -> None:
    """Below 18.3 C a typical year at Greensboro has 53,829 kelvin-hours.

    Summed over the TMY3 file that comes with pvlib; the blower's year is that times 150 W/K over
    7 kW, in a home that stores no heat; 0.1 % of rounding and of capped hours.
    """
    year = greensboro()
    outdoor_c = year.temp_air
    assert np.maximum(18.3 - outdoor_c, 0.0).sum() == pytest.approx(53_829.0, rel=1e-3)
    assert np.maximum(outdoor_c - 24.0, 0.0).sum() == pytest.approx(5_373.0, rel=1e-3)
    assert np.count_nonzero(outdoor_c < 0.0) == pytest.approx(792, abs=1)
    below_65f = np.maximum(65.0 - (outdoor_c.reshape(365, 24).mean(axis=1) * 1.8 + 32.0), 0.0)
    assert below_65f.sum() == pytest.approx(3_876.0, rel=1e-3)
    table = sq.weather(
        {name: getattr(year, name).reshape(1, -1) for name in NAMES},
        8760,
        utc_offset_h=year.utc_offset_h,
    )
    where = f"{year.latitude}, {year.longitude}"
    scenario = home(inside=18.3, mass=1e4, place=where, nights=365, more=BLOWER)
    expected = 53_829.0 * 150.0 / 7000.0 * 0.1
    assert kwh(sq.only(simulate(scenario, table))) == pytest.approx(expected, rel=1e-3)


def test_an_air_heater_takes_its_start_once_a_run() -> None:
    """25 W while it runs, and 120 W for 4 minutes at each start (from memory).

    It is cold from 20 to 8 each night: a start an evening, 12 hours of duty 0.6 between.
    """
    hour = np.arange(24 * 8) % 24
    temp_c = np.where((hour >= 20) | (hour < 8), 4.0, 22.0)
    scenario = home(heat="air heater", mass=1e4, nights=7)  # 4 kW: 150 x 16 / 4000
    found = live_one(scenario, 0, 1, sq.weather({"temp_air": temp_c}, 24 * 8))
    watts = found["demand_w"].to_numpy().reshape(-1, 24)[3]
    assert watts[21:] == pytest.approx(0.6 * 25.0, rel=1e-3)
    assert watts[20] == pytest.approx(0.6 * 25.0 + 95.0 * 4.0 / 60.0, rel=1e-3)
    assert watts[8:20].max() == 0.0
