"""Light on panels, heat of cells, controllers' limits and cover, through the main job."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt
import pandas as pd
import pytest
import xarray as xr

from flatodds import simulate
from flatodds.sun import sun_table

if TYPE_CHECKING:
    from tests.validation import square_sun as sq
else:
    import square_sun as sq

pytestmark = pytest.mark.validation

Floats = npt.NDArray[np.float64]
CAUSES = ("spilled_full_wh", "spilled_clip_wh", "spilled_rate_wh", "cold_locked_wh")


def run(rig: sq.Rig, table: xr.Dataset, changes: dict[str, Any] | None = None) -> xr.Dataset:
    return sq.only(simulate(rig.scenario().with_changes(changes or {}), table))


def offered_wh(rig: sq.Rig, table: xr.Dataset, changes: dict[str, Any] | None = None) -> float:
    result = run(rig, table, changes)
    return float((result["array_wh"] + result["spilled_wh"]).sum())


def one_hour(hour: int, **columns: float) -> xr.Dataset:
    """A day of which one hour has light."""
    lit = np.zeros(24)
    lit[hour] = 1.0
    given = {k: v if k in ("temp_air", "wind_speed") else v * lit for k, v in columns.items()}
    return sq.weather(given, 24)


def test_transposition_of_one_hour() -> None:
    """Hay-Davies against pvlib 0.16.1: DNI 800, GHI 500, DHI 100 W/m2, albedo 0.2; tilts 0
    to 90 degrees. The reference value for zenith 60 degrees, sun in the plane's normal and
    1,400 W/m2 outside the air is 971.43 W/m2; here sun and distance are those of the hour.
    """
    from pvlib.irradiance import get_total_irradiance

    sun = sun_table(33.45, -112.07, 340.0, sq.UTC_OFFSET_H)
    hour = 14
    for tilt in (0.0, 30.0, 60.0, 90.0):
        want = get_total_irradiance(
            tilt,
            200.0,
            sun.zenith_deg[0, hour],
            sun.azimuth_deg[0, hour],
            dni=800.0,
            ghi=500.0,
            dhi=100.0,
            dni_extra=sun.dni_extra[0, hour],
            albedo=0.2,
            model="haydavies",
        )["poa_global"]
        rig = sq.Rig(tilt_deg=tilt, azimuth_deg=200.0, nights=1)
        got = 10.0 * offered_wh(rig, one_hour(hour, dni=800.0, ghi=500.0, dhi=100.0))
        assert got == pytest.approx(want, abs=0.1)


def test_transposition_of_the_reference_hour() -> None:
    """The reference value itself: zenith 60 degrees, sun due south in the normal of a plane of 60
    degrees, 1,400 W/m2 outside the air: 971.43 W/m2, and 500.00 lying flat; 0.1.

    At 48.275 N, 109.010 W the middle of the hour from 12 at UTC-7 of 17 February has that sun,
    and 1,399.8 W/m2.
    """
    there = sq.Rig(place="48.27498, -109.00970", first_day="17 Feb", nights=1)
    lit = np.zeros(24)
    lit[12] = 1.0
    columns = {"dni": 800.0 * lit, "ghi": 500.0 * lit, "dhi": 100.0 * lit}
    table = sq.weather(columns, 24, first="2001-02-17")
    for tilt, want in ((60.0, 971.43), (0.0, 500.0)):
        got = 10.0 * offered_wh(replace(there, tilt_deg=tilt), table)
        assert got == pytest.approx(want, abs=0.1)


@pytest.mark.parametrize(
    ("light", "air_c", "wind", "cell_c"), [(800.0, 20.0, 1.0, 45.13), (1000.0, 25.0, 1.0, 56.41)]
)
def test_cells_warm_as_faiman_says(light: float, air_c: float, wind: float, cell_c: float) -> None:
    """Faiman, u0 25, u1 6.84 (pvlib 0.16.1): read from the power at -0.5 % per kelvin."""
    rig = sq.Rig(temp_coefficient=-0.005, nights=1)
    table = one_hour(13, ghi=light, dhi=light, temp_air=air_c, wind_speed=wind)
    share = offered_wh(rig, table) / (rig.watts * light / 1000.0)
    assert 25.0 + (share - 1.0) / -0.005 == pytest.approx(cell_c, abs=0.05)


@pytest.mark.parametrize(
    ("light", "air_c", "cell_c"), [(800.0, 20.0, 45.0), (1000.0, 20.0, 51.25), (500.0, -5.0, 10.63)]
)
def test_cells_are_as_warm_as_their_data_sheet_says(
    light: float, air_c: float, cell_c: float
) -> None:
    """NOCT of 45 C (IEC 61215, from memory: 800 W/m2, 20 C, 1 m/s): arithmetic; within 0.05 K."""
    rig = sq.Rig(temp_coefficient=-0.005, nights=1)
    table = one_hour(13, ghi=light, dhi=light, temp_air=air_c, wind_speed=1.0)
    share = offered_wh(rig, table, {"array.noct_c": 45.0}) / (rig.watts * light / 1000.0)
    assert 25.0 + (share - 1.0) / -0.005 == pytest.approx(cell_c, abs=0.05)


def test_system_losses_multiply() -> None:
    """PVWatts version 5 (Dobos 2014): soiling 2, shading 3, mismatch 2, wiring 2, connections
    0.5, light-induced 1.5, nameplate 1, availability 3 % are 14.08 % (not the sum, 15), and
    8.68 % without shading and availability.

    Left to itself an array loses all but soiling, shading and availability, which have words
    of their own here; written out as one loss it loses what is written.
    """
    light = one_hour(13, ghi=800.0, dhi=800.0)
    whole = offered_wh(sq.Rig(nights=1), light)
    by_default = offered_wh(sq.Rig(nights=1), light, {"array.loss_frac": None}) / whole
    assert 1.0 - by_default * 0.98 == pytest.approx(0.0868, abs=1e-4)
    assert 1.0 - by_default * 0.98 * 0.97 * 0.97 == pytest.approx(0.1408, abs=1e-4)
    written = offered_wh(sq.Rig(nights=1), light, {"array.loss_frac": 0.1408}) / whole
    assert written == pytest.approx(1.0 - 0.1408, abs=1e-5)


@pytest.mark.parametrize(
    ("light", "cell_c", "watts"),
    [(1000.0, 65.0, 1022.4), (800.0, 45.0, 889.0), (500.0, 5.0, 644.4)],
)
def test_power_falls_with_heat(light: float, cell_c: float, watts: float) -> None:
    """PVWatts version 5: 1,200 W, -0.37 % per kelvin; air set so that cells are that warm."""
    air_c = cell_c - light / (25.0 + 6.84)
    rig = sq.Rig(watts=1200.0, temp_coefficient=-0.0037, nights=1)
    table = one_hour(13, ghi=light, dhi=light, temp_air=air_c, wind_speed=1.0)
    assert offered_wh(rig, table) == pytest.approx(watts, abs=0.1)


# Clear-sky irradiation of a south-facing plane [kWh/m2/day]: Ineichen, Linke turbidity 3,
# 200 m, Hay-Davies, albedo 0.2, no incidence loss (pvlib). By latitude and date: flat, 60 deg.
CLEAR = {
    (30, "12-21"): (3.62, 6.70),
    (35, "12-21"): (2.94, 6.17),
    (40, "12-21"): (2.28, 5.49),
    (45, "12-21"): (1.64, 4.64),
    (50, "12-21"): (1.05, 3.60),
    (30, "06-21"): (8.38, 4.46),
    (35, "06-21"): (8.45, 5.03),
    (40, "06-21"): (8.46, 5.56),
    (45, "06-21"): (8.41, 6.06),
    (50, "06-21"): (8.32, 6.51),
}
# The same, flat only, on 21 January and 20 February.
CLEAR_FLAT = {
    (30, "01-21"): 4.10,
    (35, "01-21"): 3.45,
    (40, "01-21"): 2.78,
    (45, "01-21"): 2.13,
    (50, "01-21"): 1.49,
    (30, "02-20"): 5.27,
    (35, "02-20"): 4.69,
    (40, "02-20"): 4.08,
    (45, "02-20"): 3.44,
    (50, "02-20"): 2.79,
}
MONTHS = {"12": "Dec", "06": "Jun", "01": "Jan", "02": "Feb"}


@cache
def clear_day(latitude: int, date: str) -> xr.Dataset:
    """Cloudless day at 97 W; hourly means of six instants an hour."""
    from pvlib import atmosphere, clearsky, irradiance, solarposition

    times = pd.date_range(f"2001-{date}T00:05", periods=144, freq="10min", tz="Etc/GMT+6")
    sun = solarposition.spa_python(times, latitude, -97.0, 200.0)
    zenith = sun["apparent_zenith"].to_numpy()
    with np.errstate(divide="ignore", invalid="ignore"):  # hours of night
        sky = clearsky.ineichen(
            zenith,
            atmosphere.get_absolute_airmass(
                atmosphere.get_relative_airmass(zenith), atmosphere.alt2pres(200.0)
            ),
            linke_turbidity=3.0,
            altitude=200.0,
            dni_extra=irradiance.get_extra_radiation(times.day_of_year.to_numpy()),
        )
    hourly = {k: np.asarray(sky[k]).reshape(24, 6).mean(axis=1) for k in ("ghi", "dni", "dhi")}
    return sq.weather(hourly, 24, utc_offset_h=-6, first=f"2001-{date}")


def clear_kwh(latitude: int, date: str, tilt_deg: float) -> float:
    """What 1 kWp would yield on a clear day [kWh]."""
    month, day = date.split("-")
    rig = sq.Rig(
        place=f"{latitude}.0, -97.0",
        elevation_m=200.0,
        tilt_deg=tilt_deg,
        first_day=f"{day} {MONTHS[month]}",
        nights=1,
    )
    return offered_wh(rig, clear_day(latitude, date)) / 100.0


@pytest.mark.parametrize(("latitude", "date"), CLEAR)
def test_clear_days_flat_and_tilted(latitude: int, date: str) -> None:
    """Table above, 4 %."""
    flat, tilted = (clear_kwh(latitude, date, tilt) for tilt in (0.0, 60.0))
    assert (flat, tilted) == pytest.approx(CLEAR[latitude, date], rel=0.04)
    if date == "06-21":
        assert flat > tilted  # in June flat beats 60 degrees everywhere
    elif latitude in (30, 50):  # what tilting wins in December: 1.85 to 3.44 times as much
        assert tilted / flat == pytest.approx({30: 1.85, 50: 3.44}[latitude], rel=0.04)


@pytest.mark.parametrize(("latitude", "date"), CLEAR_FLAT)
def test_clear_winter_days_flat(latitude: int, date: str) -> None:
    """Table above, 4 %."""
    assert clear_kwh(latitude, date, 0.0) == pytest.approx(CLEAR_FLAT[latitude, date], rel=0.04)


def noon_light(days: int = 1, watts_m2: float = 1000.0, temp_c: float = 20.0) -> xr.Dataset:
    """Six hours of even diffuse light about noon on each day."""
    light = np.zeros((days, 24))
    light[:, 10:16] = watts_m2
    flat = light.ravel()
    return sq.weather({"ghi": flat, "dhi": flat, "temp_air": temp_c}, 24 * days)


@pytest.mark.parametrize("volts", [12, 24, 48])
def test_amperes_clip_at_the_banks_volts(volts: int) -> None:
    """60 A into 12, 24 and 48 V: 720, 1,440 and 2,880 W (amperes times volts, exact)."""
    rig = sq.Rig(watts=4000.0, nights=1)
    result = run(rig, noon_light(), {"controller.amps": 60.0, "bank.volts": volts})
    assert result["peak_array_w"].item() == pytest.approx(60.0 * volts, rel=1e-6)
    assert result["spilled_clip_wh"].item() == pytest.approx(6 * (4000.0 - 60.0 * volts), rel=1e-5)


def test_watts_clip_too() -> None:
    result = run(sq.Rig(watts=4000.0, nights=1), noon_light(), {"controller.watts": 900.0})
    assert result["peak_array_w"].item() == pytest.approx(900.0, rel=1e-6)


def test_pwm_passes_current_at_the_banks_volts() -> None:
    """I_mp G / 1000 into the bank: 10.72 A x 0.5 x 12 V x 6 h, whatever the panel's volts."""
    plate = {
        "array.panel": "glass-200",
        "array.watts": None,
        "array.count": 1,
        "controller.kind": "pwm",
    }
    result = run(sq.Rig(nights=1), noon_light(watts_m2=500.0, temp_c=25.0 - 500 / 25.0), plate)
    assert result["array_wh"].item() == pytest.approx(10.72 * 0.5 * 12.0 * 6.0, rel=1e-4)
    twice = {**plate, "array.count": 2, "array.in_series": 2}
    result = run(sq.Rig(nights=1), noon_light(watts_m2=500.0, temp_c=25.0 - 500 / 25.0), twice)
    assert result["array_wh"].item() == pytest.approx(10.72 * 0.5 * 12.0 * 6.0, rel=1e-4)


def test_a_full_bank_is_the_cause() -> None:
    rig = sq.Rig(amp_hours=100.0, arrival_charge_frac=1.0, watts=400.0, nights=1)
    result = run(rig, noon_light())
    assert result["spilled_full_wh"].item() == pytest.approx(2400.0, rel=1e-5)


LITHIUM = """
bank = {{ chemistry = "lithium", volts = 12, amp_hours = 200, arrival_charge_frac = {charge},
         location = "outside" }}
array = {{ watts = 1000, loss_frac = 0.0, shade_frac = 0.0, incidence_loss = false,
          temp_coefficient_frac_per_c = 0.0, dust_per_day_frac = 0.0, snow_cover = false }}
controller = {{ efficiency_frac = 1.0, amps = 70 }}
household = {{ pattern = "none", heat = "none" }}
uncertain = {{ sun_frac = 0.0, use_frac = 0.0 }}
stay = [{{ place = "{place}", elevation_m = 340, first_day = "1 Jan", nights = 3 }}]
"""


def lithium(charge: float, temp_c: float) -> xr.Dataset:
    from flatodds import parse_scenario

    text = LITHIUM.format(charge=charge, place=sq.DESERT).replace(",\n         ", ", ")
    text = text.replace(",\n          ", ", ")
    return sq.only(simulate(parse_scenario(text, "check.toml"), noon_light(3, temp_c=temp_c)))


@pytest.mark.parametrize(
    ("charge", "temp_c", "causes"),
    [
        (0.2, 25.0, {"spilled_clip_wh", "spilled_rate_wh", "spilled_full_wh"}),
        (0.2, -5.0, {"spilled_clip_wh", "cold_locked_wh", "spilled_rate_wh"}),
        (1.0, 25.0, {"spilled_clip_wh", "spilled_full_wh"}),
    ],
)
def test_what_is_spilled_has_causes_that_add_up(
    charge: float, temp_c: float, causes: set[str]
) -> None:
    """70 A of 1,000 W of panels at 0.3 C: warm, cold and full; definition of the causes."""
    result = lithium(charge, temp_c)
    sums = {name: float(result[name].sum()) for name in CAUSES}
    assert sum(sums.values()) == pytest.approx(float(result["spilled_wh"].sum()), rel=1e-5)
    assert {name for name, wh in sums.items() if wh > 20.0} == causes


def test_dust_grows_by_the_dry_day() -> None:
    """Dry days at 1 % a day: 0.99, 0.98, ... of the light, wiped on every fifth day."""
    days = 40
    changes = {"array.dust_per_day_frac": 0.01, "array.wipe_every_days": 5.0}
    result = run(sq.Rig(nights=days), noon_light(days, temp_c=20.0), changes)
    dust = 1.0 - result["daily_array_wh"].to_numpy()[0] / 600.0
    step = np.diff(dust)
    grows = np.isclose(step, 0.01, atol=1e-5)
    clean = np.isclose(dust[1:], 0.0, atol=1e-5) | np.isclose(dust[1:], 0.01, atol=1e-5)
    assert (grows | clean).all()  # a dry day more, or rain or a cloth since
    assert grows.sum() > days / 2
    assert dust.max() == pytest.approx(0.05, abs=0.01 + 1e-5)
    never = run(sq.Rig(nights=days), noon_light(days, temp_c=20.0), {"array.dust_per_day_frac": 0})
    assert never["daily_array_wh"].to_numpy()[0] == pytest.approx(600.0, rel=1e-5)
