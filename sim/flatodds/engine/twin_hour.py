"""Plain-Python twin, one hour: the specification of what a household's hour does.

Order of the hour: the cabin warms or cools; the household asks (what must run, what may
wait, what takes spare sun); sun is kept within the controllers' limits and used as it comes;
the bank takes the rest or gives what is missing; what was refused is counted; protection
opens when the charge has run out and closes again once enough has come back.
"""

from __future__ import annotations

from dataclasses import replace

from flatodds.battery.bank import FULL_FRAC, Bank
from flatodds.engine.hour import FLAT_FRAC, FLAT_WH, TIE_FRAC, Design
from flatodds.engine.hour_habits import LEAST_SHARE, OVER_BY
from flatodds.engine.hour_sun import AT_LIMIT_FRAC
from flatodds.engine.records import NO_LIMIT
from flatodds.engine.twin_bank import (
    Exchange,
    cold_allowance,
    exchange,
    floor_ah,
    is_locked,
    rest_v,
    seems_ah,
    terminal_v,
)
from flatodds.engine.twin_charging import Charging, offered, shared_out
from flatodds.engine.twin_climate import Conditioned, Supply, pass_hour
from flatodds.engine.twin_habits import (
    Moment,
    able_w,
    current_a,
    let_through_w,
    lines_of,
    overloaded,
    peak_ac_w,
)
from flatodds.engine.twin_parts import LEAST_W, Asked, Happened, Rig, State, SunSplit, Wants


def live_hour(rig: Rig, state: State, asked: Asked) -> Happened:
    """Live one hour: changes `state`, and says what happened."""
    bank, before_ah = rig.bank, state.charge_ah
    if asked.around is not None and asked.around.plugged > 0.0:
        state.loads_off = False  # the pedestal carries them
    sun_w = sun_in_limits(rig, state, asked)
    saves = rig.design.economy > 0.0 and before_ah / bank.capacity_ah <= rig.design.caution_frac
    asked, saved_w, above = adapted(rig, state, asked, saves=saves)
    wants = ask(rig, state, asked, warm_cabin(rig, state, asked, sun_w[1]))
    outdoor_c = asked.weather.outdoor_c
    pad_w = ask_for_heat(bank, state, outdoor_c)
    if bank.pad_always:
        wants.must_w += pad_w
    wants.first_spare_w = above * wants.spare_w
    sun = split_sun(rig, state, sun_w, wants)
    other = Charging()
    if asked.around is not None:
        sky = (sun.net_w, *without_heat(bank, state, outdoor_c), outdoor_c)
        other = offered(rig.generator, state.engine, bank, before_ah, asked.around, sky)
    net_w = sun.net_w + other.total_w
    pad_w = pad_w if bank.pad_always else min(pad_w, max(net_w, 0.0))
    aside_w = 0.0 if bank.pad_always else pad_w  # taken out of the charging power
    gate = feel_cold(bank, state, outdoor_c, pad_w)
    floor = floor_ah(bank, state.bank_c)
    passed = exchange(bank, before_ah, state.available_ah, net_w - aside_w, (gate, floor))
    state.charge_ah, state.available_ah = passed.charge_ah, passed.available_ah
    passed = replace(passed, accepted_w=passed.accepted_w + aside_w, loss_w=passed.loss_w + aside_w)
    other, passed = shared_out(rig.generator, other, sun.net_w, passed)
    unused_w = max(sun.surplus_w - sun.early_w - passed.accepted_w, 0.0)
    late_w = 0.0  # below the spare-sun line charging comes first
    if not sun.nearly_full and not state.loads_off:
        late_w = min(wants.spare_w - sun.early_w, unused_w)
    refused_w, dc_w, ac_w = hand_out(wants, state, sun.direct_w + passed.delivered_w)
    flat = refused_w > max(FLAT_WH, FLAT_FRAC * wants.must_w)
    protect(bank, state, floor, flat)
    climate = wants.climate
    moment = Moment(
        asked_ac_w=wants.asked_ac_w,
        clock_ac_w=rig.design.use_factor * asked.must_ac_w,
        dc_w=wants.must_dc_w + wants.wait_dc_w,
        wait_ac_w=wants.wait_ac_w,
        spare_w=sun.early_w + late_w,
        cool_ac_w=climate.cool_ac_w,
        cooler_w=climate.cool_ac_w / max(climate.cool_share, LEAST_SHARE),
        cooler_share=climate.cool_share,
        cooler_start_w=climate.cool_start_w,
        sun_w=sun.direct_w + sun.surplus_w,
    )
    peak = peak_ac_w(rig.design, asked.manners, moment)
    behind_w = behind_inverter_w(rig.design, min(peak[0], rig.design.inverter_w), 0.0)
    drawn_w = max(behind_w + moment.dc_w - moment.sun_w, 0.0)
    peak_a = current_a(bank, before_ah, drawn_w)
    live = not flat and other.hookup_w <= 0.0
    over = wants.over_w > 0.0 or overloaded(rig.design, bank, peak, peak_a, state.cabin_c)
    over = over or drawn_w > let_through_w(bank, before_ah) * OVER_BY
    cold_w, rate_w = barred_w(bank, before_ah, passed, gate, unused_w - late_w)
    return Happened(
        wants=wants,
        passed=passed,
        offered_w=sun.offered_w,
        direct_w=sun.direct_w,
        spare_w=sun.early_w + late_w,
        refused_w=refused_w,
        wait_dc_served_w=dc_w,
        wait_ac_served_w=ac_w,
        clipped_w=sun.offered_w - sun.within_w,
        cold_locked_w=cold_w,
        rate_limited_w=rate_w,
        flat=flat,
        other=other,
        pad_w=pad_w,
        saved_w=saved_w,
        saves=saves,
        overload=live and over,
        peak_a=peak_a if live else 0.0,
    )


def adapted(rig: Rig, state: State, asked: Asked, *, saves: bool) -> tuple[Asked, float, float]:
    """Fit what is asked for to the bank's charge.

    Below the caution level those who economise give up part of their comfort use; spare-sun
    use with a charge line is asked for above it only. Also gives the power given up [W], and
    the part of all spare-sun use that has a line [1].
    """
    frac, manners = state.charge_ah / rig.bank.capacity_ah, asked.manners
    met = [frac >= line for line in lines_of(rig.design)]
    dc_w = sum(w for w, is_met in zip(manners.above_dc_w, met, strict=True) if is_met)
    ac_w = sum(w for w, is_met in zip(manners.above_ac_w, met, strict=True) if is_met)
    less_dc_w, less_ac_w = (manners.shrink_dc_w, manners.shrink_ac_w) if saves else (0.0, 0.0)
    found = replace(
        asked,
        must_dc_w=max(asked.must_dc_w - less_dc_w, 0.0),
        must_ac_w=max(asked.must_ac_w - less_ac_w, 0.0),
        spare_dc_w=asked.spare_dc_w + dc_w,
        spare_ac_w=asked.spare_ac_w + ac_w,
    )
    all_w = max(found.spare_dc_w + found.spare_ac_w, LEAST_W)
    saved_w = rig.design.use_factor * (less_dc_w + less_ac_w)
    return found, saved_w, (dc_w + ac_w) / all_w


def warm_cabin(rig: Rig, state: State, asked: Asked, sun_w: float) -> Conditioned:
    """Move the cabin's temperature on; gives what heater, fan and air conditioner want."""
    design = rig.design
    must_w = design.use_factor * (asked.must_dc_w + design.ac_slope * asked.must_ac_w)
    supply = Supply(
        charge_frac=state.charge_ah / rig.bank.capacity_ah,
        left_w=max(sun_w - must_w, 0.0),
        powered=not state.loads_off,
        plugged=asked.around is not None and asked.around.plugged > 0.0,
    )
    state.cabin_c, climate = pass_hour(
        *(rig.cabin, rig.cooling, design, state.climate, state.cabin_c, asked.weather, supply)
    )
    return climate


def ask(rig: Rig, state: State, asked: Asked, climate: Conditioned) -> Wants:
    """Ask of the battery what the household wants; the inverter's limit binds must-have first."""
    design, cabin, use = rig.design, rig.cabin, rig.design.use_factor
    warmer_k, today = state.cabin_c - 15.0, use * asked.fridge_day
    fridge_dc_w = today * max(cabin.dc_15_w + cabin.dc_per_k * warmer_k, cabin.dc_least_w)
    fridge_ac_w = today * max(cabin.ac_15_w + cabin.ac_per_k * warmer_k, cabin.ac_least_w)
    asked_ac_w = use * asked.must_ac_w + fridge_ac_w + climate.cool_ac_w
    climate_dc_w = climate.blower_w + climate.fan_w + climate.cool_dc_w
    most_ac_w = able_w(design, state.cabin_c)
    must_ac_w = min(asked_ac_w, most_ac_w)
    wait_dc_w, wait_ac_w = what_may_run(rig, state, asked, most_ac_w - must_ac_w)
    both_ac_w = must_ac_w + wait_ac_w
    spare_ac_w = min(use * asked.spare_ac_w, most_ac_w - both_ac_w)

    for_must_w = behind_inverter_w(design, must_ac_w, asked.switched_on)
    for_both_w = behind_inverter_w(design, both_ac_w, asked.switched_on)
    for_all_w = behind_inverter_w(design, both_ac_w + spare_ac_w, asked.switched_on)
    return Wants(
        over_w=asked_ac_w - must_ac_w,
        must_w=use * asked.must_dc_w + fridge_dc_w + climate_dc_w + for_must_w,
        wait_w=wait_dc_w + for_both_w - for_must_w,
        wait_dc_w=wait_dc_w,
        wait_ac_w=wait_ac_w,
        wait_asked_w=use * (asked.wait_dc_w + asked.wait_ac_w),
        spare_w=use * asked.spare_dc_w + for_all_w - for_both_w,
        fridge_w=fridge_dc_w + fridge_ac_w,
        climate=climate,
        asked_ac_w=asked_ac_w,
        must_dc_w=use * asked.must_dc_w + fridge_dc_w + climate_dc_w,
        first_spare_w=0.0,
    )


def what_may_run(
    rig: Rig, state: State, asked: Asked, free_inverter_w: float
) -> tuple[float, float]:
    """Add what was asked to what waits, and give how much of it may run now, DC and AC [W]."""
    design, use = rig.design, rig.design.use_factor
    state.dc_backlog.today_wh += use * asked.wait_dc_w
    state.ac_backlog.today_wh += use * asked.wait_ac_w
    if state.loads_off or state.charge_ah / rig.bank.capacity_ah <= design.caution_frac:
        return 0.0, 0.0
    return (
        min(state.dc_backlog.total_wh, use * design.wait_cap_dc_w),
        min(state.ac_backlog.total_wh, use * design.wait_cap_ac_w, free_inverter_w),
    )


def behind_inverter_w(design: Design, ac_w: float, switched_on: float) -> float:
    """Battery power for an AC load [W]; a load keeps the inverter on for the whole hour."""
    if ac_w <= 0.0:
        return switched_on * design.idle_w
    loading = ac_w / max(design.inverter_w, 1.0)
    return ac_w * (design.ac_slope + design.ac_bend * loading) + design.idle_w


def sun_in_limits(rig: Rig, state: State, asked: Asked) -> tuple[float, float]:
    """Sun of all controllers before and after their limits [W].

    Their amperes flow at the voltage of a bank that is charged with about that sun, less
    what appliances must have; to find it the sun is first counted at the rest voltage.
    """
    volts = rest_v(rig.bank, state.charge_ah)
    sun_w = at_volts(rig, asked.suns, volts)
    free = all(c.most_a in (0.0, NO_LIMIT) and not c.at_bank_v for c in rig.controllers)
    if free:
        return sun_w
    load_w = 0.0
    if not state.loads_off:
        load_w = rig.design.use_factor * (asked.must_dc_w + rig.design.ac_slope * asked.must_ac_w)
    return at_volts(rig, asked.suns, terminal_v(rig.bank, state.charge_ah, sun_w[1] - load_w))


def at_volts(rig: Rig, suns: tuple[float, ...], volts: float) -> tuple[float, float]:
    """Sun before and after the controllers' limits [W], the bank's terminals at a voltage."""
    potential_w = within_w = 0.0
    for controller, sun in zip(rig.controllers, suns, strict=True):
        power_w = sun * rig.design.sun_factor * (volts if controller.at_bank_v else 1.0)
        potential_w += power_w
        within_w += min(power_w, controller.most_a * volts, controller.most_w)
    return potential_w, within_w


def split_sun(rig: Rig, state: State, sun_w: tuple[float, float], wants: Wants) -> SunSplit:
    """Share out the sun within the limits: loads take it first, then early spare use."""
    design = rig.design
    potential_w, taken_w = sun_w
    load_w = wants.wait_w if state.loads_off else wants.must_w + wants.wait_w
    direct_w = min(taken_w, load_w)
    surplus_w = taken_w - direct_w
    nearly_full = state.charge_ah / rig.bank.capacity_ah >= design.spare_frac
    early_w = 0.0
    if not state.loads_off:
        early_w = min(wants.spare_w if nearly_full else wants.first_spare_w, surplus_w)
    return SunSplit(
        offered_w=potential_w,
        within_w=taken_w,
        direct_w=direct_w,
        surplus_w=surplus_w,
        early_w=early_w,
        net_w=surplus_w - early_w - (load_w - direct_w),
        nearly_full=nearly_full,
    )


def cooled_c(bank: Bank, state: State, outdoor_c: float) -> float:
    """Bank temperature after the hour without its heating pad [deg C]."""
    around_c = bank.inside_frac * state.cabin_c + (1.0 - bank.inside_frac) * outdoor_c
    return around_c + (state.bank_c - around_c) * bank.lag_decay


def ask_for_heat(bank: Bank, state: State, outdoor_c: float) -> float:
    """Find the power with which the heating pad would end the hour at its setting [W].

    A pad that runs on charging power alone rests while there is nothing to charge; one that
    may run at any time needs loads to be switched on.
    """
    if bank.pad_w == 0.0:
        return 0.0
    full = state.charge_ah / bank.capacity_ah >= FULL_FRAC
    if (bank.pad_always and state.loads_off) or (not bank.pad_always and full):
        return 0.0
    lacking_k = bank.pad_set_c - cooled_c(bank, state, outdoor_c)
    return min(max(lacking_k / bank.pad_lift_k_per_w, 0.0), bank.pad_w)


def without_heat(bank: Bank, state: State, outdoor_c: float) -> tuple[float, float]:
    """Share of the charge current, and charge that cannot be drawn [Ah], if nothing heats.

    Who decides about charging before the pad has run goes by these.
    """
    cold_c = cooled_c(bank, state, outdoor_c)
    locked = is_locked(bank, cold_c, state.charging_locked)
    return cold_allowance(bank, cold_c, locked), floor_ah(bank, cold_c)


def feel_cold(bank: Bank, state: State, outdoor_c: float, pad_w: float) -> float:
    """Move the bank's temperature on; gives the share of the charge current allowed [1]."""
    state.bank_c = cooled_c(bank, state, outdoor_c) + pad_w * bank.pad_lift_k_per_w
    state.charging_locked = is_locked(bank, state.bank_c, state.charging_locked)
    return cold_allowance(bank, state.bank_c, state.charging_locked)


def barred_w(
    bank: Bank, before_ah: float, passed: Exchange, gate: float, left_w: float
) -> tuple[float, float]:
    """Sun turned away because of cold, and because of the bank's charge current limit [W].

    Cold bars no more than it held back; the limit bars the rest when all the current allowed
    was taken. Neither bars more than there was room for.
    """
    volts = rest_v(bank, before_ah)
    held_w = (1.0 - gate) * bank.charge_limit_a * volts
    room_w = max(bank.capacity_ah - passed.charge_ah, 0.0) * volts
    cold_w = min(left_w, held_w, room_w)
    at_limit = passed.into_a >= gate * bank.charge_limit_a * (1.0 - AT_LIMIT_FRAC)
    return cold_w, min(left_w, room_w) - cold_w if at_limit else 0.0


def hand_out(wants: Wants, state: State, available_w: float) -> tuple[float, float, float]:
    """Must-have demand refused, and can-wait use served at DC and AC plugs [W]."""
    must_w = 0.0 if state.loads_off else min(wants.must_w, available_w)
    share = min((available_w - must_w) / max(wants.wait_w, LEAST_W), 1.0)
    if share > 1.0 - FLAT_FRAC:  # the bank's powers are that exact
        share = 1.0
    state.dc_backlog.work_off(share * wants.wait_dc_w)
    state.ac_backlog.work_off(share * wants.wait_ac_w)
    return wants.must_w - must_w, share * wants.wait_dc_w, share * wants.wait_ac_w


def protect(bank: Bank, state: State, floor: float, flat: bool) -> None:
    """Switch the loads off when the charge has run out, and on when enough has come back.

    Charge within TIE_FRAC of a line counts as on it.
    """
    slack_ah = TIE_FRAC * bank.capacity_ah
    level_ah = seems_ah(bank, state.charge_ah, state.available_ah)
    if flat and level_ah <= floor + slack_ah:
        state.loads_off = True
    margin_ah = max(bank.reconnect_frac - bank.cutoff_frac, 0.0) * bank.capacity_ah
    if level_ah + slack_ah >= floor + margin_ah:
        state.loads_off = False
