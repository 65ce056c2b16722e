"""One thermal node for the cabin: its temperature, heater, open windows and fridge.

T_f = T_out + gains / UA is where the cabin would settle; within an hour it moves there
exponentially, and the heater's share of the hour is solved exactly, since switching it by
whole hours would invent swings of several kelvin.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from flatodds.lanes import LANES, inlined, outlined, philox, rough_normal

Array = npt.NDArray[np.floating]

VENT_C = 24.0  # windows open above this when it is cooler outside: common practice, no source
VENT_FACTOR = 5.0  # heat exchange with windows open over closed: common practice, no source
# Day-to-day spread of what fridges draw in one room, by doors and warm food: common practice, no
# source. One number a day for all fridges of a household, on a stream that no appliance has.
FRIDGE_SD = 0.1
FRIDGE_STREAM = 1 << 16
COLD_C = 10.0  # a cabin colder than this counts as a cold hour: common practice, no source


class Cabin(NamedTuple):
    """The cabin and the appliances that follow its temperature, as scalars.

    Attributes
    ----------
    per_ua, aperture_m2, gains_w : float
        Reciprocal heat loss, solar aperture and gains from people [K/W], [m2], [W].
    decay, decay_vented : float
        Share of the distance to the settling temperature left after one hour with windows
        closed and open [1].
    heat_w, blower_w : float
        Heater's output and its power; zero without a heater [W].
    dc_15_w, dc_per_k, dc_least_w, ac_15_w, ac_per_k, ac_least_w : float
        Fridges on either side: watts at 15 deg C, watts per kelvin, least watts.
    vent_share : float
        Resistance to heat with windows open over closed [1].
    fan_share, fan_decay, fan_w : float
        The same with the vent fan running, what is then left after an hour [1], and the
        fan's power [W]; without a fan those of open windows, and 0.
    start_wh : float
        What starting the heater takes beside its power [Wh].
    hot_c : float
        Temperature above which an hour counts as hot [deg C].
    """

    per_ua: float
    aperture_m2: float
    gains_w: float
    decay: float
    decay_vented: float
    heat_w: float
    blower_w: float
    dc_15_w: float
    dc_per_k: float
    dc_least_w: float
    ac_15_w: float
    ac_per_k: float
    ac_least_w: float
    vent_share: float
    fan_share: float
    fan_decay: float
    fan_w: float
    start_wh: float
    hot_c: float


CABIN_FIELDS = 19  # the air conditioner's follow in the same row


@inlined
def pick_cabin(table: Array) -> Cabin:
    """Scalars out of a row of numbers in the order of `Cabin`."""
    return Cabin(
        table[0],
        table[1],
        table[2],
        table[3],
        table[4],
        table[5],
        table[6],
        table[7],
        table[8],
        table[9],
        table[10],
        table[11],
        table[12],
        table[13],
        table[14],
        table[15],
        table[16],
        table[17],
        table[18],
    )


@inlined
def unheated_hour(
    cabin: Cabin, temp_c: float, outdoor_c: float, ghi: float, air: float, powered: float
) -> tuple[float, float, float]:
    """Temperature after an hour without heater or air conditioner, and how heat acts in it.

    Parameters
    ----------
    air, powered : float
        1 where the windows are open, and 1 while the loads have power (a fan then helps).

    Returns
    -------
    tuple of float
        Temperature [deg C]; resistance to heat [K/W]; share of the distance to the settling
        temperature that is left after the hour [1].
    """
    f = type(temp_c)
    zero = f(0.0)
    gains = cabin.gains_w + cabin.aperture_m2 * ghi
    open_share = cabin.fan_share if powered > zero else cabin.vent_share
    open_left = cabin.fan_decay if powered > zero else cabin.decay_vented
    left = open_left if air > zero else cabin.decay
    resistance = cabin.per_ua * (open_share if air > zero else f(1.0))
    settle = outdoor_c + gains * resistance
    return settle + (temp_c - settle) * left, resistance, left


@inlined
def airs(temp_c: float, outdoor_c: float) -> float:
    """1 where people would open windows: warm inside, and cooler outside."""
    f = type(temp_c)
    return f(1.0) if temp_c > f(VENT_C) and outdoor_c < temp_c else f(0.0)


@inlined
def heated_hour(
    cabin: Cabin, unheated: float, resistance: float, left: float, set_c: float, powered: float
) -> tuple[float, float]:
    """Temperature after the hour with the heater [deg C], and the share of the hour it wants.

    `powered` is 0 while the loads are off, so the blower stands still and the cabin cools.
    """
    f = type(unheated)
    lift = cabin.heat_w * resistance * (f(1.0) - left)
    wanted = min(max((set_c - unheated) / max(lift, f(1e-6)), f(0.0)), f(1.0))
    wanted = wanted if cabin.heat_w > f(0.0) else f(0.0)
    return unheated + wanted * powered * lift, wanted


@inlined
def cabin_hour(
    cabin: Cabin, temp_c: float, outdoor_c: float, ghi: float, set_c: float, powered: float
) -> tuple[float, float, float]:
    """Temperature after an hour without air conditioner [deg C], and what was done.

    Second comes the share of the hour that the heater wants, then 1 where windows are open.
    """
    air = airs(temp_c, outdoor_c)
    unheated, resistance, left = unheated_hour(cabin, temp_c, outdoor_c, ghi, air, powered)
    heated, wanted = heated_hour(cabin, unheated, resistance, left, set_c, powered)
    return heated, wanted, air


@inlined
def heater_w(cabin: Cabin, wanted: float, ran_before: float) -> float:
    """Mean power of the heater's blower over the hour, a start included [W]."""
    f = type(wanted)
    starts = f(1.0) - ran_before if wanted > f(0.0) else f(0.0)
    return wanted * cabin.blower_w + starts * cabin.start_wh


@inlined
def fridge_w(cabin_c: float, at_15_c: float, per_k: float, least_w: float) -> float:
    """Mean fridge power [W]: rises linearly with cabin temperature, with a floor."""
    f = type(cabin_c)
    return max(at_15_c + per_k * (cabin_c - f(15.0)), least_w)


@outlined
def fridge_days(day: int, first_member: int, k0: int, k1: int, row: int, inputs: Array) -> None:
    """Draw how much harder fridges work this day, into a row of (24, rows * LANES) [1]."""
    f = type(inputs[0, 0])
    stream = np.uint64(FRIDGE_STREAM)
    for i in range(LANES):
        word, _b, _c, _d = philox(
            np.uint64(day), stream, np.uint64(first_member + i), np.uint64(0), k0, k1
        )
        inputs[0, row + i] = f(1.0) + f(FRIDGE_SD) * f(rough_normal(word))
    for h in range(1, 24):
        for i in range(LANES):
            inputs[h, row + i] = inputs[0, row + i]
