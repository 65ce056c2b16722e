"""Plain-Python twin, one hour: the specification of what a household's hour does.

Order of the hour: the cabin warms or cools; the household asks (what must run, what may
wait, what takes spare sun); sun is clipped by the controller and used as it comes; the bank
takes the rest or gives what is missing; what was refused is counted; protection opens when
the charge has run out and closes again once enough has come back.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from flatodds.engine.hour import FLAT_FRAC, FLAT_WH, TIE_FRAC, Design
from flatodds.engine.twin_bank import (
    Exchange,
    Store,
    cold_allowance,
    exchange,
    floor_ah,
    is_locked,
    rest_v,
)
from flatodds.loads.cabin import VENT_C, VENT_FACTOR, Cabin
from flatodds.loads.inverter import PROPORTIONAL, QUADRATIC


@dataclass(frozen=True, slots=True)
class Rig:
    """What one case is made of, beside its panels."""

    store: Store
    design: Design
    cabin: Cabin


@dataclass(slots=True)
class Backlog:
    """Use that can wait, on one side of the inverter, not yet served [Wh]."""

    yesterday_wh: float = 0.0
    today_wh: float = 0.0

    @property
    def total_wh(self) -> float:
        """All that waits."""
        return self.yesterday_wh + self.today_wh

    def work_off(self, served_wh: float) -> None:
        """Take away what was served, yesterday's first."""
        old_wh = min(self.yesterday_wh, served_wh)
        self.yesterday_wh -= old_wh
        self.today_wh -= served_wh - old_wh

    def pass_midnight(self) -> float:
        """Energy gone without: what has waited since yesterday is given up [Wh]."""
        given_up_wh = self.yesterday_wh
        self.yesterday_wh, self.today_wh = self.today_wh, 0.0
        return given_up_wh


@dataclass(slots=True)
class State:
    """What the rig remembers from hour to hour."""

    charge_ah: float
    bank_c: float
    cabin_c: float
    loads_off: bool = False
    charging_locked: bool = False
    dc_backlog: Backlog = field(default_factory=Backlog)
    ac_backlog: Backlog = field(default_factory=Backlog)
    days_since_full: int = 0


@dataclass(frozen=True, slots=True)
class Asked:
    """What surrounds the rig in one hour.

    Attributes
    ----------
    must_dc_w, must_ac_w, wait_dc_w, wait_ac_w, spare_dc_w, spare_ac_w : float
        What appliances ask for at their plugs, by need and side [W].
    outdoor_c, ghi : float
        Air [deg C] and global irradiance [W/m2].
    sun_w : float
        Sun of all panels after the controller's efficiency, before its ampere clip [W].
    switched_on, set_c : float
        Part of the hour the inverter is left on [1], thermostat's setting [deg C].
    """

    must_dc_w: float
    must_ac_w: float
    wait_dc_w: float
    wait_ac_w: float
    spare_dc_w: float
    spare_ac_w: float
    outdoor_c: float
    ghi: float
    sun_w: float
    switched_on: float
    set_c: float


@dataclass(slots=True)
class Wants:
    """Demand of one hour at the battery, and plug powers behind it [W].

    `wait_w` is what may run of all that waits (`wait_dc_w`, `wait_ac_w` at the plugs);
    `wait_asked_w` is what this hour added to it.
    """

    must_w: float
    wait_w: float
    wait_dc_w: float
    wait_ac_w: float
    wait_asked_w: float
    spare_w: float
    fridge_w: float
    blower_w: float


@dataclass(frozen=True, slots=True)
class Happened:
    """Everything the hour did, in watts over the hour unless the name says otherwise."""

    wants: Wants
    bank: Exchange
    offered_w: float
    direct_w: float
    spare_w: float
    refused_w: float
    wait_dc_served_w: float
    wait_ac_served_w: float
    cold_locked_w: float
    flat: bool

    @property
    def taken_w(self) -> float:
        """Sun taken: used as it came, charged, or run on the side."""
        return self.direct_w + self.bank.accepted_w + self.spare_w

    @property
    def served_w(self) -> float:
        """Must-have and can-wait demand served, from sun or bank."""
        return self.direct_w + self.bank.delivered_w

    @property
    def must_share(self) -> float:
        """Share of the must-have demand that was served [1]."""
        return 1.0 - self.refused_w / self.wants.must_w if self.wants.must_w > 0.0 else 1.0

    @property
    def spare_share(self) -> float:
        """Share of what spare-sun loads asked for that they got [1]."""
        return self.spare_w / self.wants.spare_w if self.wants.spare_w > 0.0 else 0.0


def live_hour(rig: Rig, state: State, asked: Asked) -> Happened:
    """Live one hour: changes `state`, and says what happened."""
    store, design = rig.store, rig.design
    charge_before_ah = state.charge_ah
    charge_frac = charge_before_ah / store.capacity_ah
    duty_wanted = warm_cabin(rig.cabin, state, asked)
    wants = ask(rig, state, asked, charge_frac, duty_wanted * rig.cabin.blower_w)

    sun_w = asked.sun_w * design.sun_factor
    offered_w = min(sun_w, design.controller_a * rest_v(store, charge_before_ah))
    load_w = wants.wait_w if state.loads_off else wants.must_w + wants.wait_w
    direct_w = min(offered_w, load_w)
    surplus_w = offered_w - direct_w
    nearly_full = charge_frac >= design.spare_frac
    may_run_w = 0.0 if state.loads_off else wants.spare_w
    spare_w = min(may_run_w, surplus_w) if nearly_full else 0.0

    gate = feel_cold(store, state, asked.outdoor_c)
    floor = floor_ah(store, state.bank_c)
    net_w = surplus_w - spare_w - (load_w - direct_w)
    bank = exchange(store, charge_before_ah, net_w, gate, floor)
    state.charge_ah = bank.charge_ah

    refused_w, served_dc_w, served_ac_w = hand_out(wants, state, direct_w + bank.delivered_w)
    flat = refused_w > max(FLAT_WH, FLAT_FRAC * wants.must_w)
    protect(store, state, floor, flat)

    left_w = max(surplus_w - spare_w - bank.accepted_w, 0.0)
    if not nearly_full:  # charging came first; what the bank left may still be used
        spare_w = min(may_run_w, left_w)
        left_w -= spare_w
    held_w = (1.0 - gate) * store.charge_limit_a * rest_v(store, charge_before_ah)
    room_w = max(store.capacity_ah - state.charge_ah, 0.0) * rest_v(store, charge_before_ah)
    return Happened(
        wants=wants,
        bank=bank,
        offered_w=sun_w,
        direct_w=direct_w,
        spare_w=spare_w,
        refused_w=refused_w,
        wait_dc_served_w=served_dc_w,
        wait_ac_served_w=served_ac_w,
        cold_locked_w=min(left_w, held_w, room_w),
        flat=flat,
    )


def warm_cabin(cabin: Cabin, state: State, asked: Asked) -> float:
    """Move the cabin's temperature on; gives the furnace's share of the hour wanted [1]."""
    resistance, left = cabin.per_ua, cabin.decay
    if state.cabin_c > VENT_C and asked.outdoor_c < state.cabin_c:  # open the windows
        resistance, left = cabin.per_ua / VENT_FACTOR, cabin.decay_vented
    gains_w = cabin.gains_w + cabin.aperture_m2 * asked.ghi
    settles_c = asked.outdoor_c + gains_w * resistance
    unheated_c = settles_c + (state.cabin_c - settles_c) * left
    duty = lift_k = 0.0
    if cabin.heat_w > 0.0:
        lift_k = cabin.heat_w * resistance * (1.0 - left)
        duty = min(max((asked.set_c - unheated_c) / lift_k, 0.0), 1.0)
    state.cabin_c = unheated_c if state.loads_off else unheated_c + duty * lift_k
    return duty


def ask(rig: Rig, state: State, asked: Asked, charge_frac: float, blower_w: float) -> Wants:
    """What the household asks of the battery; the inverter's limit binds must-have first."""
    design, cabin, use = rig.design, rig.cabin, rig.design.use_factor
    warmer_k = state.cabin_c - 15.0
    fridge_dc_w = use * max(cabin.dc_15_w + cabin.dc_per_k * warmer_k, cabin.dc_least_w)
    fridge_ac_w = use * max(cabin.ac_15_w + cabin.ac_per_k * warmer_k, cabin.ac_least_w)
    must_ac_w = min(use * asked.must_ac_w + fridge_ac_w, design.inverter_w)
    must_dc_w = use * asked.must_dc_w + fridge_dc_w + blower_w

    state.dc_backlog.today_wh += use * asked.wait_dc_w
    state.ac_backlog.today_wh += use * asked.wait_ac_w
    wait_dc_w = wait_ac_w = 0.0
    if not state.loads_off and charge_frac > design.caution_frac:
        spare_rating_w = design.inverter_w - must_ac_w
        wait_dc_w = min(state.dc_backlog.total_wh, use * design.wait_cap_dc_w)
        wait_ac_w = min(state.ac_backlog.total_wh, use * design.wait_cap_ac_w, spare_rating_w)
    both_ac_w = must_ac_w + wait_ac_w
    spare_ac_w = min(use * asked.spare_ac_w, design.inverter_w - both_ac_w)

    for_must_w = behind_inverter_w(design, must_ac_w, asked.switched_on)
    for_both_w = behind_inverter_w(design, both_ac_w, asked.switched_on)
    for_all_w = behind_inverter_w(design, both_ac_w + spare_ac_w, asked.switched_on)
    return Wants(
        must_w=must_dc_w + for_must_w,
        wait_w=wait_dc_w + for_both_w - for_must_w,
        wait_dc_w=wait_dc_w,
        wait_ac_w=wait_ac_w,
        wait_asked_w=use * (asked.wait_dc_w + asked.wait_ac_w),
        spare_w=use * asked.spare_dc_w + for_all_w - for_both_w,
        fridge_w=fridge_dc_w + fridge_ac_w,
        blower_w=blower_w,
    )


def behind_inverter_w(design: Design, ac_w: float, switched_on: float) -> float:
    """Battery power for an AC load [W]; a load keeps the inverter on for the whole hour."""
    if ac_w <= 0.0:
        return switched_on * design.idle_w
    loading = ac_w / max(design.inverter_w, 1.0)
    return ac_w * (PROPORTIONAL + QUADRATIC * loading) + design.idle_w


def feel_cold(store: Store, state: State, outdoor_c: float) -> float:
    """Move the bank's temperature on; gives the share of the charge current allowed [1]."""
    around_c = store.inside_frac * state.cabin_c + (1.0 - store.inside_frac) * outdoor_c
    state.bank_c = around_c + (state.bank_c - around_c) * store.lag_decay
    state.charging_locked = is_locked(store, state.bank_c, state.charging_locked)
    return cold_allowance(store, state.bank_c, state.charging_locked)


def hand_out(wants: Wants, state: State, available_w: float) -> tuple[float, float, float]:
    """Must-have demand refused, and can-wait use served at DC and AC plugs [W]."""
    must_w = 0.0 if state.loads_off else min(wants.must_w, available_w)
    share = 0.0
    if wants.wait_w > 0.0:
        share = min((available_w - must_w) / wants.wait_w, 1.0)
    state.dc_backlog.work_off(share * wants.wait_dc_w)
    state.ac_backlog.work_off(share * wants.wait_ac_w)
    return wants.must_w - must_w, share * wants.wait_dc_w, share * wants.wait_ac_w


def protect(store: Store, state: State, floor: float, flat: bool) -> None:
    """Switch the loads off when the charge has run out, and on when enough has come back.

    Charge within TIE_FRAC of a line counts as on it.
    """
    slack_ah = TIE_FRAC * store.capacity_ah
    if flat and state.charge_ah <= floor + slack_ah:
        state.loads_off = True
    if state.charge_ah + slack_ah >= floor + store.reconnect_frac * store.capacity_ah:
        state.loads_off = False
