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
    where = f"{year.latitude}, {year.longitude}"
    scenario = home(inside=18.3, mass=1e4, place=where, nights=365, more=BLOWER)
    expected = 53_829.0 * 150.0 / 7000.0 * 0.1
    assert kwh(sq.only(simulate(scenario, of_greensboro()))) == pytest.approx(expected, rel=1e-3)


def of_greensboro(temp_c: np.ndarray | None = None) -> xr.Dataset:
    """Give the file's year, with another temperature of the air if one is given, (8760,)."""
    year = greensboro()
    columns = {name: getattr(year, name).reshape(1, -1) for name in NAMES}
    if temp_c is not None:
        columns["temp_air"] = temp_c.reshape(1, -1)
    return sq.weather(columns, 8760, utc_offset_h=year.utc_offset_h)


def test_degree_days_of_daily_means_as_a_blower_sees_them() -> None:
    """Daily means give 3,876 degree-days below 65 F: 150 W/K take so many kelvin-hours.

    One degree-day Fahrenheit is 24 / 1.8 kelvin-hours; a home that stores no heat, kept at 65 F,
    in air that has each day's mean all day; 0.1 %.
    """
    year = greensboro()
    means = np.repeat(year.temp_air.reshape(365, 24).mean(axis=1), 24)
    where = f"{year.latitude}, {year.longitude}"
    inside_c = (65.0 - 32.0) / 1.8
    scenario = home(inside=inside_c, mass=1e4, place=where, nights=365, more=BLOWER)
    blower_kwh = kwh(sq.only(simulate(scenario, of_greensboro(means))))
    degree_days_f = blower_kwh / 0.1 * 7000.0 / 150.0 * 1.8 / 24.0
    assert degree_days_f == pytest.approx(3_876.0, rel=1e-3)


def test_hours_of_frost_as_a_home_ten_kelvin_warmer_counts_them() -> None:
    """792 hours of the file are below 0 C; with 1,500 W and 150 W/K as many are below 10 C inside.

    No heater, no heat stored; a thousandth of a kelvin more, so that 0.0 C itself is none.
    """
    year = greensboro()
    where = f"{year.latitude}, {year.longitude}"
    scenario = home(heat="none", mass=1e4, place=where, nights=365)
    scenario = scenario.with_changes({"shell.gains_w": 1500.15})
    found = sq.only(simulate(scenario, of_greensboro()))
    assert float(found["cold_hours"].sum()) == pytest.approx(792, abs=1)


COOLER = """
[cooling]
unit = "dc_7000"
watts = 1350
cooling_w = 3956
sensible_frac = 1.0
inside_wet_bulb_c = 17
inside_cool_c = 24
need = "must"
"""


def test_cooling_kelvin_hours_as_an_air_conditioner_sees_them() -> None:
    """5,373 kelvin-hours above 24 C in the file: an air conditioner takes out 50 W for each.

    It holds 24 C in a home of 50 W/K without sun that stores no heat. Its input for a watt of
    heat follows the outdoor air by the published curve, weighed here by the file's own excess
    over 24 C; 0.1 %.
    """
    year = greensboro()
    where = f"{year.latitude}, {year.longitude}"
    scenario = home(heat="none", mass=1e4, place=where, nights=365, more=COOLER)
    scenario = scenario.with_changes({"shell.heat_loss_w_per_k": 50})
    found = sq.only(simulate(scenario, of_greensboro()))
    over_k = np.maximum(year.temp_air - 24.0, 0.0)
    wet, air = 17.0, np.asarray(year.temp_air)
    indoors = 2.287 - 0.1732 * wet + 0.004745 * wet**2
    ratio = indoors + 0.01662 * air + 0.000484 * air**2 - 0.001306 * wet * air
    input_w = 1350.0 / 3956.0 * float((over_k * ratio).sum() / over_k.sum())
    kelvin_hours = float(found["cooling_served_wh"].sum()) / input_w / 50.0
    assert kelvin_hours == pytest.approx(5_373.0, rel=1e-3)


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
