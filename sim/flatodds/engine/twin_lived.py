"""Plain-Python twin: what a member has lived through, and what an hour adds to it."""

from __future__ import annotations

from dataclasses import dataclass, field

from flatodds.engine.twin_parts import Happened, State
from flatodds.engine.twin_sky import Moisture, SkyHour

Sums = dict[str, float]


@dataclass(frozen=True, slots=True)
class TwinHour:
    """One hour as it was lived; names, units and meanings of `rows.TRACE`."""

    ghi: float
    temp_air: float
    array_offered_w: float
    array_w: float
    demand_w: float
    served_w: float
    spare_w: float
    charge_frac: float
    bank_temp_c: float
    cabin_temp_c: float
    charge_a: float
    discharge_a: float
    loads_off: float
    generator_w: float
    drive_w: float
    hookup_w: float
    cooling_w: float


@dataclass(slots=True)
class Lived:
    """What one member lived through.

    Attributes
    ----------
    sums : list of dict
        Sums over each period, by the names of `rows.SUMS`.
    extremes : list of dict
        Extremes of each stay, by the names of `rows.EXTREMES`.
    daily : list of dict
        Days of all stays in order, by the names of `rows.DAILY`.
    wanted_wh : list of list of float
        Plug energy of each appliance in each stay.
    served_wh : list of list of list of float
        Of it served, of that served later than asked for, and gone without.
    hours : list of TwinHour
    moisture : list of Moisture
        Of every day.
    """

    sums: list[Sums]
    extremes: list[Sums] = field(default_factory=list)
    daily: list[Sums] = field(default_factory=list)
    wanted_wh: list[list[float]] = field(default_factory=list)
    served_wh: list[list[list[float]]] = field(default_factory=list)
    hours: list[TwinHour] = field(default_factory=list)
    moisture: list[Moisture] = field(default_factory=list)


def hour_of(sky: SkyHour, happened: Happened, state: State, charge_frac: float) -> TwinHour:
    """Record one hour; `state` is that at its end."""
    climate = happened.wants.climate
    return TwinHour(
        ghi=sky.ghi,
        temp_air=sky.temp_air,
        array_offered_w=happened.offered_w,
        array_w=happened.taken_w,
        demand_w=happened.demand_w,
        served_w=happened.served_w,
        spare_w=happened.spare_w,
        charge_frac=charge_frac,
        bank_temp_c=state.bank_c,
        cabin_temp_c=state.cabin_c,
        charge_a=happened.passed.into_a,
        discharge_a=happened.passed.out_a,
        loads_off=float(state.loads_off),
        generator_w=happened.other.generator_w,
        drive_w=happened.other.drive_w,
        hookup_w=happened.other.hookup_w,
        cooling_w=climate.cool_ac_w + climate.cool_dc_w,
    )


def hour_sums(happened: Happened) -> Sums:
    """Give what one hour adds to the sums of flows."""
    wants, passed, other = happened.wants, happened.passed, happened.other
    climate, served = happened.wants.climate, happened.must_share
    return {
        "hours_flat": float(happened.flat),
        "saved_wh": happened.saved_w,
        "hours_overload": float(happened.overload),
        "energy_not_served_wh": happened.refused_w + wants.over_w,
        "demand_wh": happened.demand_w,
        "served_wh": happened.served_w + happened.spare_w,
        "array_wh": happened.taken_w,
        "spilled_wh": max(happened.offered_w - happened.taken_w, 0.0),
        "bank_loss_wh": passed.loss_w,
        "spare_served_wh": happened.spare_w,
        "cold_locked_wh": happened.cold_locked_w,
        "spilled_clip_wh": happened.clipped_w,
        "spilled_rate_wh": happened.rate_limited_w,
        "discharge_ah": passed.out_a,
        "generator_wh": other.generator_w,
        "generator_hours": other.running_h,
        "generator_starts": float(other.starts),
        "fuel_l": other.fuel_l,
        "drive_wh": other.drive_w,
        "hookup_wh": other.hookup_w,
        "heating_pad_wh": happened.pad_w,
        "wait_wanted_wh": wants.wait_asked_w,
        "wait_served_wh": happened.wait_dc_served_w + happened.wait_ac_served_w,
        "fridge_wanted_wh": wants.fridge_w,
        "fridge_served_wh": wants.fridge_w * served,
        "blower_wanted_wh": climate.blower_w,
        "blower_served_wh": climate.blower_w * served,
        "vent_wanted_wh": climate.fan_w,
        "vent_served_wh": climate.fan_w * served,
        "hot_hours_uncooled": float(climate.bare_hot),
        "cooling_hours": climate.cool_share * served,
        "cooling_wanted_wh": climate.cool_wanted_w,
        "cooling_served_wh": (climate.cool_ac_w + climate.cool_dc_w) * served,
    }
