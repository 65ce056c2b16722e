"""One thermal node for the cabin: its temperature, furnace blower and fridge.

T_f = T_out + gains / UA is where the cabin would settle; within an hour it moves there
exponentially, and the furnace's share of the hour is solved exactly, since switching it by
whole hours would invent swings of several kelvin.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from flatodds.lanes import inlined

Array = npt.NDArray[np.floating]

VENT_C = 24.0  # windows open above this when it is cooler outside: common practice, no source
VENT_FACTOR = 5.0  # heat exchange with windows open over closed: common practice, no source
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
        Furnace output and blower power; zero without a furnace [W].
    dc_15_w, dc_per_k, dc_least_w, ac_15_w, ac_per_k, ac_least_w : float
        Fridges on either side: watts at 15 deg C, watts per kelvin, least watts.
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
    )


@inlined
def cabin_hour(
    cabin: Cabin, temp_c: float, outdoor_c: float, ghi: float, set_c: float, powered: float
) -> tuple[float, float, float]:
    """Temperature after one hour [deg C], furnace share of the hour and the share wanted.

    `powered` is 0 while the loads are off, so the blower stands still and the cabin cools.
    """
    f = type(temp_c)
    gains = cabin.gains_w + cabin.aperture_m2 * ghi
    open_windows = temp_c > f(VENT_C) and outdoor_c < temp_c
    left = cabin.decay_vented if open_windows else cabin.decay
    resistance = cabin.per_ua * (f(1.0 / VENT_FACTOR) if open_windows else f(1.0))
    settle = outdoor_c + gains * resistance
    unheated = settle + (temp_c - settle) * left
    lift = cabin.heat_w * resistance * (f(1.0) - left)
    wanted = min(max((set_c - unheated) / max(lift, f(1e-6)), f(0.0)), f(1.0))
    wanted = wanted if cabin.heat_w > f(0.0) else f(0.0)
    share = wanted * powered
    return unheated + share * lift, share, wanted


@inlined
def fridge_w(cabin_c: float, at_15_c: float, per_k: float, least_w: float) -> float:
    """Mean fridge power [W]: rises linearly with cabin temperature, with a floor."""
    f = type(cabin_c)
    return max(at_15_c + per_k * (cabin_c - f(15.0)), least_w)
