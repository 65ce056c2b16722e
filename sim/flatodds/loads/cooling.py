"""An air conditioner in the cabin: how strong it is in this weather, and its share of the hour.

Capacity and input follow indoor wet bulb and outdoor air by the curves of window units measured
at NREL. Part of the capacity dries the air instead of cooling it. The share of the hour it runs
is solved exactly from the one-node cabin, as for the furnace: switching it by whole hours made
the cabin swing by 8 K and invented two hot hours a day (own experiment).
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import numpy.typing as npt

from flatodds.lanes import LANES, inlined, outlined, philox, uniform
from flatodds.loads.cabin import Cabin, airs, unheated_hour

if TYPE_CHECKING:
    from flatodds.scenario import Cooling as CoolingChoice

Array = npt.NDArray[np.floating]

# Laboratory performance testing of residential window air conditioners, NREL 2013 (report number
# from memory: NREL/TP-5500-57617): capacity and energy-input ratio over their ratings,
# bi-quadratic in indoor wet bulb w and outdoor air T: 1, w, w2, T, T2, wT [deg C].
CAPACITY = (0.6405, 0.01568, 0.0004531, 0.001615, -0.0001825, 0.00006614)
INPUT_RATIO = (2.287, -0.1732, 0.004745, 0.01662, 0.000484, -0.001306)
DRY_COIL_C = 15.0  # below this wet bulb the coil stays dry and the curves end: judgement
# Share of the capacity that lowers the temperature: 1 on a dry coil, less with every degree of
# wet bulb; judgement (laboratory values of .60 to .95 span it).
LATENT_PER_C = 0.057
LEAST_SENSIBLE = 0.55
# Starts an hour at a duty of a half, fewer at others by 4 d (1 - d) as thermostats cycle; one at
# least in an hour in which it does not run through: common practice, no source.
MOST_STARTS = 3.0
PHASE_STREAM = (1 << 16) - 1  # where in its cycle it is, by hour
HYSTERESIS_FRAC = 0.02  # of charge, so that it does not switch to and fro: judgement

# Saturation vapour pressure over water [hPa], Magnus form (WMO-No. 8, 2014, annex 4.B), and
# psychrometer coefficient of moving air [1/K] over pressure (from memory: 6.6e-4).
MAGNUS_HPA, MAGNUS_A, MAGNUS_B_C = 6.112, 17.62, 243.12
PSYCHROMETER_PER_C = 6.6e-4
SEA_LEVEL_HPA = 1013.25  # standard atmosphere, ISO 2533
HEIGHT_SCALE, HEIGHT_POWER = 2.25577e-5, 5.2559  # standard atmosphere, ISO 2533
NEWTON_STEPS = 8  # from the right of a convex function: no step overshoots


class Cooling(NamedTuple):
    """The air conditioner and its rule, as scalars.

    Attributes
    ----------
    cooling_w, rated_w : float
        Capacity and input at the rating point; 0 for no air conditioner [W].
    is_dc : float
        1 where it runs on the bank's voltage.
    hold_c : float
        Temperature it keeps [deg C].
    above_frac : float
        Charge above which it may run; -1: always [1].
    by_sun : float
        1 where it takes no more than the sun leaves over.
    sensible_frac : float
        Share of capacity that cools; 0: by humidity [1].
    psychrometer_hpa : float
        Psychrometer coefficient times air pressure [hPa/K].
    wet_c : float
        Wet bulb inside [deg C]; 0: by humidity.
    start_w : float
        What each start takes for a moment [W].
    """

    cooling_w: float
    rated_w: float
    is_dc: float
    hold_c: float
    above_frac: float
    by_sun: float
    sensible_frac: float
    psychrometer_hpa: float
    wet_c: float
    start_w: float


NONE = Cooling(0.0, 0.0, 0.0, 0.0, -1.0, 0.0, 0.0, 0.0, 0.0, 0.0)


@inlined
def pick_cooling(table: Array, first: int) -> Cooling:
    """Scalars out of a row of numbers in the order of `Cooling`, from `first` on."""
    return Cooling(
        table[first],
        table[first + 1],
        table[first + 2],
        table[first + 3],
        table[first + 4],
        table[first + 5],
        table[first + 6],
        table[first + 7],
        table[first + 8],
        table[first + 9],
    )


def cooling_record(choice: CoolingChoice | None, spare_frac: float, elevation_m: float) -> Cooling:
    """Parameters of an air conditioner at a height above the sea."""
    if choice is None:
        return NONE
    lines = {"must": -1.0, "above-charge": choice.only_above_charge_frac, "spare-sun": spare_frac}
    thin = (1.0 - HEIGHT_SCALE * max(elevation_m, 0.0)) ** HEIGHT_POWER
    return Cooling(
        cooling_w=choice.cooling_w,
        rated_w=choice.watts,
        is_dc=1.0 if choice.side == "dc" else 0.0,
        hold_c=choice.hold_c,
        above_frac=lines[choice.need],
        by_sun=1.0 if choice.need == "spare-sun" else 0.0,
        sensible_frac=choice.sensible_frac or 0.0,
        psychrometer_hpa=PSYCHROMETER_PER_C * SEA_LEVEL_HPA * thin,
        wet_c=choice.inside_wet_bulb_c or 0.0,
        start_w=choice.start_w,
    )


@inlined
def wet_bulb_c(dry_c: float, dew_c: float, psychrometer_hpa: float) -> float:
    """Wet bulb of air [deg C] from its temperature and dew point.

    Root of e(w) - e(dew) = k (dry - w) by Newton's method from the dry bulb down.
    """
    vapour = MAGNUS_HPA * math.exp(MAGNUS_A * dew_c / (MAGNUS_B_C + dew_c))
    wet = float(dry_c)
    for _ in range(NEWTON_STEPS):
        over = MAGNUS_B_C + wet
        full = MAGNUS_HPA * math.exp(MAGNUS_A * wet / over)
        miss = full - vapour - psychrometer_hpa * (dry_c - wet)
        wet = wet - miss / (full * MAGNUS_A * MAGNUS_B_C / (over * over) + psychrometer_hpa)
    return wet


@inlined
def sensible_share(wet_c: float) -> float:
    """Share of the capacity that lowers the temperature at a wet bulb inside [1]."""
    f = type(wet_c)
    share = f(1.0) - f(LATENT_PER_C) * (wet_c - f(DRY_COIL_C))
    return min(max(share, f(LEAST_SENSIBLE)), f(1.0))


@inlined
def capacity_ratio(wet_c: float, outdoor_c: float) -> float:
    """Capacity over its rating [1]."""
    f = type(outdoor_c)
    w = max(wet_c, f(DRY_COIL_C))
    t = outdoor_c
    return (f(CAPACITY[0]) + w * (f(CAPACITY[1]) + w * f(CAPACITY[2]))) + t * (
        f(CAPACITY[3]) + t * f(CAPACITY[4]) + w * f(CAPACITY[5])
    )


@inlined
def input_ratio(wet_c: float, outdoor_c: float) -> float:
    """Input for a watt of capacity, over what it is at the rating point [1]."""
    f = type(outdoor_c)
    w = max(wet_c, f(DRY_COIL_C))
    t = outdoor_c
    return (f(INPUT_RATIO[0]) + w * (f(INPUT_RATIO[1]) + w * f(INPUT_RATIO[2]))) + t * (
        f(INPUT_RATIO[3]) + t * f(INPUT_RATIO[4]) + w * f(INPUT_RATIO[5])
    )


@inlined
def most_share(
    cooling: Cooling,
    power_w: float,
    over_sun_w: float,
    charge_frac: float,
    was_granted: float,
    allowed: tuple[float, float, float],
) -> tuple[float, float]:
    """Largest share of the hour that the rule lets it run, and 1 where charge grants it.

    Parameters
    ----------
    power_w : float
        What it draws now, about, behind an inverter or not [W].
    over_sun_w : float
        Sun left over after must-have use, about [W].
    charge_frac, was_granted : float
        Charge as the hour begins [1], and whether the last hour was granted.
    allowed : tuple of float
        Parts of the hour in which it must run, and in which it may; 1 if a pedestal carries it.
    """
    f = type(power_w)
    zero = f(0.0)
    one = f(1.0)
    must, may, plugged = allowed
    line = cooling.above_frac + (zero if was_granted > zero else f(HYSTERESIS_FRAC))
    granted = one if charge_frac > line else zero
    by_sun = min(over_sun_w / max(power_w, f(1e-6)), one)
    share = by_sun if cooling.by_sun > zero else one
    free = one if plugged > zero else granted * share
    return max(must, may * free), granted


@inlined
def cooled_hour(
    cabin: Cabin,
    hold_c: float,
    sensible_w: float,
    most: float,
    air_now: tuple[float, float, float],
    powered: float,
) -> tuple[float, float, float, float, float, float]:
    """One hour of the cabin with an air conditioner, before any heating.

    Windows stand open instead where that alone holds the temperature, or cools more than the
    air conditioner may.

    Parameters
    ----------
    most : float
        Largest share of the hour that it may run [1].
    air_now : tuple of float
        Temperature inside as the hour begins, outdoor air [deg C], sunshine [W/m2].

    Returns
    -------
    tuple of float
        Temperature after the hour [deg C]; share of the hour it ran, and the share it would
        take to hold the temperature; 1 where the windows are open; resistance and what is
        left as in `unheated_hour`.
    """
    temp_c, outdoor_c, ghi = air_now
    f = type(temp_c)
    zero = f(0.0)
    one = f(1.0)
    closed_c, r_closed, l_closed = unheated_hour(cabin, temp_c, outdoor_c, ghi, zero, powered)
    aired_c, r_aired, l_aired = unheated_hour(cabin, temp_c, outdoor_c, ghi, one, powered)
    drop = sensible_w * r_closed * (one - l_closed)
    wanted = min(max((closed_c - hold_c) / max(drop, f(1e-6)), zero), one)
    wanted = wanted if drop > zero else zero
    share = min(wanted, most)
    cooled_c = closed_c - share * drop
    air = airs(temp_c, outdoor_c) if aired_c <= hold_c or aired_c <= cooled_c else zero
    open_ = air > zero
    wanted = zero if open_ and aired_c <= hold_c else wanted
    return (
        aired_c if open_ else cooled_c,
        zero if open_ else share,
        wanted,
        air,
        r_aired if open_ else r_closed,
        l_aired if open_ else l_closed,
    )


@inlined
def starts_an_hour(share: float) -> float:
    """How often it starts in an hour of which it runs a share."""
    f = type(share)
    one = f(1.0)
    return max(f(4.0 * MOST_STARTS) * share * (one - share), one)


@outlined
def cool_phases(day: int, first_member: int, k0: int, k1: int, row: int, inputs: Array) -> None:
    """Draw where in its cycle it is each hour, into a row of (24, rows * LANES) [1]."""
    f = type(inputs[0, 0])
    stream = np.uint64(PHASE_STREAM)
    for h in range(24):
        for i in range(LANES):
            word, _b, _c, _d = philox(
                np.uint64(day), stream, np.uint64(first_member + i), np.uint64(h), k0, k1
            )
            inputs[h, row + i] = f(uniform(word))
