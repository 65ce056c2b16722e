"""Plain-Python twin, the cabin's hour: heater, open windows, fan and air conditioner.

The cabin drifts towards where heat gains and losses balance. Above 24 degrees and with cooler
air outside people open the windows. With an air conditioner they keep them shut when it holds
the temperature better; it may run by the clock and by the charge as the hour begins, and runs
for just the part of the hour after which the temperature to hold is met. A heater likewise.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from flatodds.engine.hour import Design
from flatodds.engine.twin_habits import able_w
from flatodds.loads import cooling as c
from flatodds.loads.cabin import VENT_C, Cabin
from flatodds.loads.cooling import Cooling

HALVINGS = 60  # of an interval of tens of degrees: to the last digit


@dataclass(slots=True)
class Climate:
    """What the home remembers: heater and cooling of the last hour, hot hours of today.

    `uncooled_c` is the temperature of a second cabin that has no air conditioner.
    """

    heater_ran: bool = False
    granted: bool = False
    uncooled_c: float = 0.0
    hot_today: bool = False
    bare_hot_today: bool = False
    ran_through: bool = False


@dataclass(frozen=True, slots=True)
class Weather:
    """What surrounds the home in one hour.

    `wet_c` is the wet bulb at the temperature held; `sensible` the share of the air
    conditioner's work that cools.
    """

    outdoor_c: float
    ghi: float
    set_c: float
    must: float
    may: float
    wet_c: float
    sensible: float


@dataclass(frozen=True, slots=True)
class Supply:
    """What the rig offers the air conditioner: charge, sun left over [W], power, pedestal."""

    charge_frac: float
    left_w: float
    powered: bool
    plugged: bool


@dataclass(frozen=True, slots=True)
class Conditioned:
    """What the hour's climate takes, means over the hour at the plugs [W]; a start's moment."""

    blower_w: float = 0.0
    fan_w: float = 0.0
    cool_ac_w: float = 0.0
    cool_dc_w: float = 0.0
    cool_share: float = 0.0
    cool_wanted_w: float = 0.0
    bare_hot: bool = False
    cool_start_w: float = 0.0


@dataclass(frozen=True, slots=True)
class Drift:
    """An hour without heater and air conditioner: where it ends, and kelvin for each watt."""

    ends_c: float
    k_per_w: float


def humid(cooling: Cooling, dew_c: float) -> tuple[float, float]:
    """Wet bulb at the temperature held, and share of the work that cools, on a day's moisture."""
    wet_c = cooling.wet_c
    if wet_c <= 0.0:
        wet_c = wet_bulb_c(cooling.hold_c, min(dew_c, cooling.hold_c), cooling.psychrometer_hpa)
    if cooling.sensible_frac > 0.0:
        return wet_c, cooling.sensible_frac
    share = 1.0 - c.LATENT_PER_C * (wet_c - c.DRY_COIL_C)
    return wet_c, min(max(share, c.LEAST_SENSIBLE), 1.0)


def full_hpa(air_c: float) -> float:
    """Vapour pressure of saturated air [hPa]."""
    return c.MAGNUS_HPA * math.exp(c.MAGNUS_A * air_c / (c.MAGNUS_B_C + air_c))


def wet_bulb_c(dry_c: float, dew_c: float, psychrometer_hpa: float) -> float:
    """Temperature at which evaporation and warmth balance, by halving [deg C]."""
    low_c, high_c = dew_c, dry_c
    for _ in range(HALVINGS):
        middle_c = 0.5 * (low_c + high_c)
        if full_hpa(middle_c) - full_hpa(dew_c) > psychrometer_hpa * (dry_c - middle_c):
            high_c = middle_c
        else:
            low_c = middle_c
    return 0.5 * (low_c + high_c)


def curve(terms: tuple[float, ...], wet_c: float, outdoor_c: float) -> float:
    """Value of a measured curve; a dry coil knows no drier air."""
    w, t = max(wet_c, c.DRY_COIL_C), outdoor_c
    return sum(a * b for a, b in zip(terms, (1.0, w, w * w, t, t * t, w * t), strict=True))


def drift(cabin: Cabin, inside_c: float, around: Weather, *, aired: bool, powered: bool) -> Drift:
    """Let the cabin be for an hour, windows open or shut."""
    share, left = 1.0, cabin.decay
    if aired:
        share, left = cabin.vent_share, cabin.decay_vented
        if powered:
            share, left = cabin.fan_share, cabin.fan_decay
    k_per_w = cabin.per_ua * share
    settles_c = around.outdoor_c + k_per_w * (cabin.gains_w + cabin.aperture_m2 * around.ghi)
    return Drift(settles_c + left * (inside_c - settles_c), k_per_w * (1.0 - left))


def would_air(inside_c: float, outdoor_c: float) -> bool:
    """Whether people would open the windows."""
    return inside_c > VENT_C and outdoor_c < inside_c


def heat(cabin: Cabin, free: Drift, set_c: float, *, powered: bool) -> tuple[float, float]:
    """Temperature after the hour with the heater, and the share of it that the heater wants."""
    if cabin.heat_w <= 0.0:
        return free.ends_c, 0.0
    most_k = cabin.heat_w * free.k_per_w
    wanted = min(max((set_c - free.ends_c) / most_k, 0.0), 1.0)
    return free.ends_c + (wanted * most_k if powered else 0.0), wanted


def without_cooling(
    cabin: Cabin, inside_c: float, around: Weather, *, powered: bool
) -> tuple[float, float, bool]:
    """Temperature after the hour, heater's share wanted, and whether windows were open."""
    aired = would_air(inside_c, around.outdoor_c)
    free = drift(cabin, inside_c, around, aired=aired, powered=powered)
    warm_c, wanted = heat(cabin, free, around.set_c, powered=powered)
    return warm_c, wanted, aired


def heater_w(cabin: Cabin, wanted: float, memory: Climate, *, powered: bool) -> float:
    """Mean power of the heater's fan, a start included; remembers whether it ran."""
    starts = wanted > 0.0 and not memory.heater_ran
    memory.heater_ran = wanted > 0.0 and powered
    return wanted * cabin.blower_w + (cabin.start_wh if starts else 0.0)


def share_allowed(
    cooling: Cooling, memory: Climate, supply: Supply, around: Weather, drawn_w: float
) -> float:
    """Largest part of the hour that clock, charge and sun let the air conditioner run."""
    line = cooling.above_frac if memory.granted else cooling.above_frac + c.HYSTERESIS_FRAC
    memory.granted = supply.charge_frac > line
    of_sun = 1.0
    if cooling.by_sun > 0.0:
        of_sun = min(supply.left_w / drawn_w, 1.0)
    may = around.may if supply.plugged else around.may * of_sun * memory.granted
    return max(around.must, may)


def pass_hour(
    cabin: Cabin,
    cooling: Cooling,
    design: Design,
    memory: Climate,
    inside_c: float,
    around: Weather,
    supply: Supply,
) -> tuple[float, Conditioned]:
    """Live the cabin's hour: temperature at its end, and what the climate took."""
    powered = supply.powered
    if cooling.rated_w <= 0.0:
        inside_c, wanted, aired = without_cooling(cabin, inside_c, around, powered=powered)
        blower_w = heater_w(cabin, wanted, memory, powered=powered)
        return inside_c, Conditioned(blower_w, cabin.fan_w if aired else 0.0)
    capacity = curve(c.CAPACITY, around.wet_c, around.outdoor_c)
    unit_w = cooling.rated_w * capacity * curve(c.INPUT_RATIO, around.wet_c, around.outdoor_c)
    most = share_allowed(cooling, memory, supply, around, design.ac_slope * unit_w)
    dc = cooling.is_dc > 0.0
    if not powered or (unit_w > able_w(design, inside_c) and not dc):
        most = 0.0
    shut = drift(cabin, inside_c, around, aired=False, powered=powered)
    airy = drift(cabin, inside_c, around, aired=True, powered=powered)
    full_k = cooling.cooling_w * capacity * around.sensible * shut.k_per_w
    wanted = min(max((shut.ends_c - cooling.hold_c) / full_k, 0.0), 1.0)
    share = min(wanted, most)
    cooled_c = shut.ends_c - share * full_k
    free, holds = Drift(cooled_c, shut.k_per_w), airy.ends_c <= cooling.hold_c
    opened = would_air(inside_c, around.outdoor_c) and (holds or airy.ends_c <= cooled_c)
    if opened:
        free, share, wanted = airy, 0.0, 0.0 if holds else wanted
    inside_c, heat_wanted = heat(cabin, free, around.set_c, powered=powered)
    memory.uncooled_c = without_cooling(cabin, memory.uncooled_c, around, powered=powered)[0]
    bare_hot = memory.uncooled_c > cabin.hot_c
    starts = share > 0.0 and not (share >= 1.0 and memory.ran_through)
    memory.ran_through = share >= 1.0
    memory.hot_today = memory.hot_today or inside_c > cabin.hot_c
    memory.bare_hot_today = memory.bare_hot_today or bare_hot
    return inside_c, Conditioned(
        blower_w=heater_w(cabin, heat_wanted, memory, powered=powered),
        fan_w=cabin.fan_w if opened else 0.0,
        cool_ac_w=0.0 if dc else share * unit_w,
        cool_dc_w=share * unit_w if dc else 0.0,
        cool_share=share,
        cool_wanted_w=wanted * unit_w,
        bare_hot=bare_hot,
        cool_start_w=cooling.start_w if starts and not dc else 0.0,
    )
