"""Rigs and weather for checks against outside values, handed to the main job.

The *square-sun* route: a cloud day has no light; on a sun day diffuse light alone of fixed
strength falls on a flat, lossless array for six hours, in which the whole daily load runs as
well. Net energy then has one sign in a day, and the bank is a store of whole days of load.
The six hours follow noon, so that nights (counted noon to noon) and days are the same.

One day's load is 192 W x 6 h = 96 Ah at the ideal bank's 12 V: the hourly steps are 16 A, a
power of two, and exact in float32.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd
import xarray as xr

from flatodds import Outcomes, Scenario, parse_scenario, simulate

Floats = npt.NDArray[np.float64]
Units = npt.NDArray[np.int64]

UTC_OFFSET_H = -7  # Arizona keeps standard time all year, so load and sun never part
DESERT = "33.45, -112.07"
LOAD_W = 192.0
LOAD_H = 6
UNIT_WH = LOAD_W * LOAD_H
UNIT_AH = UNIT_WH / 12.0
UNIT_W_M2 = 31.25  # light that gives one unit: 32 units are 1,000 W/m2
ARRAY_W = LOAD_W / (UNIT_W_M2 / 1000.0)
FIRST_HOUR = 12
SIGMAS = 3.29  # two-sided false alarm of 0.1 %

CHECK_RIG = """
[bank]
chemistry = "ideal"
volts = 12
amp_hours = {amp_hours!r}
arrival_charge_frac = {arrival_charge_frac!r}

[[array]]
watts = {watts!r}
tilt_deg = {tilt_deg!r}
azimuth_deg = {azimuth_deg!r}
loss_frac = {loss_frac!r}
shade_frac = 0.0
dust_per_day_frac = 0.0
snow_cover = false
incidence_loss = {incidence_loss}
temp_coefficient_frac_per_c = {temp_coefficient!r}
mount = "{mount}"

[controller]
efficiency_frac = 1.0

[household]
pattern = "none"
heat = "none"

[[stay]]
place = "{place}"
elevation_m = {elevation_m!r}
first_day = "{first_day}"
nights = {nights}

[uncertain]
sun_frac = 0.0
use_frac = 0.0
"""


@dataclass(frozen=True, slots=True)
class Rig:
    """A flat lossless array without temperature effects, and an ideal bank; no loads."""

    amp_hours: float = 20_000.0
    arrival_charge_frac: float = 0.0
    watts: float = 100.0
    tilt_deg: float = 0.0
    azimuth_deg: float = 180.0
    loss_frac: float = 0.0
    incidence_loss: bool = False
    temp_coefficient: float = 0.0
    mount: str = "open"
    place: str = DESERT
    elevation_m: float = 340.0
    first_day: str = "1 Jan"
    nights: int = 30
    more: str = ""

    def scenario(self) -> Scenario:
        """Give the scenario of this rig."""
        words = {name: getattr(self, name) for name in self.__slots__ if name != "more"}
        words["incidence_loss"] = str(self.incidence_loss).lower()
        return parse_scenario(CHECK_RIG.format(**words) + self.more, "check.toml")


def steady(watts: float) -> str:
    """Scenario lines of a load that never stops."""
    return f'\n[[appliance]]\nname = "load"\nwatts = {watts!r}\nside = "dc"\nkind = "steady"\n'


SIX_HOURS = f"""
[[appliance]]
name = "load"
watts = {LOAD_W!r}
side = "dc"
minutes = {60.0 * LOAD_H!r}
times_a_day = 1.0
times_sd = 0.0
window = ["{FIRST_HOUR}-{FIRST_HOUR + LOAD_H}"]
"""


def weather(
    columns: Mapping[str, npt.ArrayLike],
    hours: int,
    members: int = 1,
    utc_offset_h: int = UTC_OFFSET_H,
    first: str = "2001-01-01",
) -> xr.Dataset:
    """Hourly Dataset from local midnight of `first`; what is not given is 20 C, else 0.

    Parameters
    ----------
    columns : mapping
        Any of ghi, dni, dhi [W/m2], temp_air [deg C], wind_speed [m/s], broadcast to
        (members, hours).
    hours, members : int
        Shape of the table.
    utc_offset_h : int
        Hours the place's clock is ahead of UTC.
    first : str
        Local date of the first hour.
    """
    time = pd.date_range(first, periods=hours, freq="h") - pd.Timedelta(hours=utc_offset_h)
    usual = {"ghi": 0.0, "dni": 0.0, "dhi": 0.0, "temp_air": 20.0, "wind_speed": 0.0}
    data = {
        name: (
            ("member", "time"),
            np.broadcast_to(np.asarray(columns.get(name, value), np.float32), (members, hours)),
        )
        for name, value in usual.items()
    }
    return xr.Dataset(data, coords={"time": time.as_unit("ns")})


def square_weather(units: Units) -> xr.Dataset:
    """Weather whose days yield so many days' load each, (member, day)."""
    members, days = units.shape
    light = np.zeros((members, days, 24), dtype=np.float32)
    light[:, :, FIRST_HOUR : FIRST_HOUR + LOAD_H] = (UNIT_W_M2 * units)[:, :, None]
    flat = light.reshape(members, 24 * days)
    return weather({"ghi": flat, "dhi": flat}, 24 * days, members)


def run_square(units: Units, bank_days: int) -> xr.Dataset:
    """Simulate a bank of so many days' load, full on arrival; gives the result's Dataset."""
    rig = Rig(
        amp_hours=UNIT_AH * bank_days,
        arrival_charge_frac=1.0,
        watts=ARRAY_W,
        nights=units.shape[1],
        more=SIX_HOURS,
    )
    return simulate(rig.scenario(), square_weather(units)).dataset


def flat_by(result: xr.Dataset, day: int) -> float:
    """Share of members with their first flat hour on or before this day of the stay."""
    return float((result["first_flat_day"].sel(case="as_estimated") <= day).mean())


def sampling(p: float, members: int) -> float:
    """Tolerance of a chance p seen in independent members."""
    return float(SIGMAS * np.sqrt(p * (1.0 - p) / members))


def mean_and_tolerance(values: npt.ArrayLike) -> tuple[float, float]:
    """Mean over independent members, and 3.29 of its standard errors."""
    x = np.asarray(values, dtype=np.float64)
    return float(x.mean()), float(SIGMAS * x.std(ddof=1) / np.sqrt(x.size))


def per_day(result: xr.Dataset, name: str, first_month: int) -> Floats:
    """Sum over the months from `first_month` on, for each day of them, (member,)."""
    chosen = result["period_month"].to_numpy() >= first_month
    days = result["period_nights"].to_numpy()[chosen].sum()
    sums = result[name].sel(case="as_estimated").to_numpy()[:, chosen].sum(axis=1)
    return np.asarray(sums / days, dtype=np.float64)


def only(outcomes: Outcomes) -> xr.Dataset:
    """Give the Dataset of a run with a single case, that case picked."""
    return outcomes.dataset.sel(case="as_estimated")
