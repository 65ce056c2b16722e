"""A home on a large, ideal bank that never runs flat, for checks of what people ask for.

The cabin is held at the air's temperature (no heat of its own, no sun), so that fridges see
the temperature stated.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt
import xarray as xr

from flatodds import Outcomes, parse_scenario, simulate

if TYPE_CHECKING:
    from tests.validation import square_sun as sq
else:
    import square_sun as sq

Floats = npt.NDArray[np.float64]
MEMBERS = 128

HOME = """
bank = {{ chemistry = "ideal", volts = 12, amp_hours = 19000, arrival_charge_frac = 1.0{bank} }}
array = {{ watts = 1 }}
inverter = {{ watts = {inverter_w}, idle_w = {idle_w}{inverter} }}
household = {{ pattern = "{pattern}", heat = "none"{habits} }}
shell = {{ gains_w = 0, sun_aperture_m2 = 0 }}
uncertain = {{ sun_frac = 0, use_frac = 0 }}
stay = [{{ place = "33.45, -112.07", first_day = "1 Mar", nights = {nights} }}]
"""


def held_at(celsius: float, nights: int) -> xr.Dataset:
    """Dark weather of one temperature, one member."""
    return sq.weather({"temp_air": celsius}, 24 * nights, first="2021-03-01")


def some_sun(nights: int) -> xr.Dataset:
    """Days of six hours of light, every other day a quarter of the last, at 25 C."""
    light = np.zeros((nights, 24))
    light[0::2, 10:16], light[1::2, 10:16] = 200.0, 800.0
    hours = light.ravel()
    return sq.weather(
        {"ghi": hours, "dhi": hours, "temp_air": 25.0}, 24 * nights, first="2021-03-01"
    )


@cache
def lived(
    pattern: str = "none",
    *,
    celsius: float = 25.0,
    nights: int = 10,
    members: int = MEMBERS,
    more: str = "",
    **words: Any,
) -> Outcomes:
    fields = {
        "inverter_w": 3000.0,
        "idle_w": 0.0,
        "inverter": "",
        "habits": "",
        "bank": "",
        **words,
    }
    text = HOME.format(pattern=pattern, nights=nights, **fields) + more
    return simulate(
        parse_scenario(text, "home.toml"), held_at(celsius, nights), members=members, seed=5
    )


def daily_wh(outcomes: Outcomes) -> Floats:
    """Demand of the whole days, (member, day) [Wh]."""
    return outcomes.dataset["daily_demand_wh"].to_numpy().astype(float)


def appliance(name: str, watts: float, minutes: float, window: str, **more: Any) -> str:
    words = {"side": "ac", "times_a_day": 1, "times_sd": 0, **more}
    lines = [f"{key} = {value!r}" for key, value in words.items()]
    return (
        f'\n[[appliance]]\nname = "{name}"\nwatts = {watts}\nminutes = {minutes}\n'
        f'window = ["{window}"]\n' + "\n".join(lines)
    )


def steady(watts: float, side: str = "ac") -> str:
    return f'\n[[appliance]]\nname = "steady"\nwatts = {watts}\nside = "{side}"\nkind = "steady"\n'
