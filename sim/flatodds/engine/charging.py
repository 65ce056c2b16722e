"""Charging other than sun within the hour: pedestal, driving, generator.

Loads take sun first, then this charging; the bank likewise. What the bank does not take is
not made: it counts neither as spilled sun nor as energy.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from flatodds.battery.bank import Bank, mean_v, open_circuit_v, signed_a
from flatodds.charging.generator import (
    LEAST_MISSING_FRAC,
    Generator,
    charger_w,
    fuel_l,
    hours_to_stop,
    run_of_hour,
    steady_a,
    stored_ah,
)
from flatodds.engine import rows as r
from flatodds.engine.hour import TIE_FRAC
from flatodds.engine.records import (
    DRIVE_A,
    DRIVE_H,
    HOOKUP_A,
    HOOKUP_EFF,
    PEDESTAL_W,
    PERMITTED_H,
    PLUGGED,
)
from flatodds.lanes import LANES, outlined

Array = npt.NDArray[np.floating]

WHOLE_H = 0.9999  # a charger that runs this long runs all hour: the bank's own taper then holds


@outlined
def plug_in(hour: Array, s: Array) -> None:
    """Switch loads that protection has cut off on again when the pedestal carries them."""
    f = type(s[0])
    left_off = f(0.0) if hour[PLUGGED] > f(0.0) else f(1.0)
    for i in range(LANES):
        s[r.OFF + i] *= left_off


@outlined
def _currents(bank: Bank, amps: float, hours: float, row: int, s: Array) -> None:
    """Put into a row the current that, on offer all hour, charges as `amps` does in part of it.

    The mean would do while the bank takes all; in its taper, and beyond its limit, a charger
    that runs for part of the hour brings less than the mean suggests.
    """
    f = type(s[0])
    zero = f(0.0)
    eta = bank.charge_efficiency
    tau_h = bank.acceptance_h
    whole_a = amps if hours >= f(WHOLE_H) else zero
    for i in range(LANES):
        s[row + i] = whole_a
    if zero < hours < f(WHOLE_H):
        for i in range(LANES):
            missing_ah = max(bank.capacity_ah - s[r.CHARGE_AH + i], zero)
            held_a = min(amps, bank.charge_limit_a * s[r.GATE + i])
            taken_a = stored_ah(missing_ah, held_a, eta, tau_h, hours) * (f(1.0) / eta)
            found_a = min(steady_a(missing_ah, taken_a, eta, tau_h), amps)
            s[row + i] = found_a if min(held_a, taken_a) > zero else zero


@outlined
def charge(generator: Generator, bank: Bank, hour: Array, x: Array, s: Array) -> None:
    """Offer what pedestal, driving and generator give, on top of what sun and loads leave.

    `hour` is a row of `Calendar.charging`.
    """
    f = type(s[0])
    zero = f(0.0)
    one = f(1.0)
    plugged = hour[PLUGGED]
    pedestal_w = hour[PEDESTAL_W]
    hookup_eff = hour[HOOKUP_EFF]
    permitted_h = hour[PERMITTED_H]
    resistance = bank.resistance_ohm
    over_v = bank.charge_over_v
    eta = bank.charge_efficiency
    tau_h = bank.acceptance_h
    capacity = bank.capacity_ah
    start_ah = generator.start_frac * capacity - f(TIE_FRAC) * capacity
    stop_missing_ah = max(one - generator.stop_frac, f(LEAST_MISSING_FRAC)) * capacity
    _currents(bank, hour[HOOKUP_A], plugged, r.HOOKUP_W, s)
    _currents(bank, hour[DRIVE_A], hour[DRIVE_H], r.DRIVE_W, s)
    for i in range(LANES):
        net_w = s[r.NET_W + i]
        volts = open_circuit_v(bank, s[r.BEFORE_FRAC + i]) + over_v
        plug_a = s[r.HOOKUP_W + i]
        road_a = s[r.DRIVE_W + i]
        carried_w = min(plugged * max(-net_w, zero), pedestal_w)
        left_w = (pedestal_w - carried_w) * hookup_eff
        hookup_w = carried_w + min(plug_a * (volts + plug_a * resistance), left_w)
        drive_w = road_a * (volts + road_a * resistance)
        s[r.SUN_NET_W + i] = net_w
        s[r.HOOKUP_W + i] = hookup_w
        s[r.DRIVE_W + i] = drive_w
        s[r.NET_W + i] = net_w + hookup_w + drive_w
    for i in range(LANES):
        net_w = s[r.NET_W + i]
        charge_ah = s[r.CHARGE_AH + i]
        volts = open_circuit_v(bank, s[r.BEFORE_FRAC + i])
        most_in_a = bank.charge_limit_a * s[r.GATE + i]
        most_out_a = min(bank.discharge_limit_a, max(charge_ah - s[r.FLOOR_AH + i], zero))
        missing_ah = max(capacity - charge_ah, zero)
        net_a = signed_a(volts + (over_v if net_w > zero else zero), resistance, net_w)
        drift_a = max(net_a, -most_out_a) if net_a < zero else eta * min(net_a, most_in_a)
        able_w = charger_w(generator, x[r.OUTDOOR_C + i])
        charging_v = volts + over_v + generator.charger_a * resistance
        charger_a = min(generator.charger_a, able_w / charging_v)
        amps = min(net_a + charger_a, most_in_a)
        need_h = hours_to_stop(missing_ah, stop_missing_ah, drift_a, amps, eta, tau_h)
        was_on = s[r.GENERATOR_ON + i]
        below = one if charge_ah + drift_a < start_ah else zero
        alone = one if net_w < generator.takes_over_frac * charger_a * charging_v else zero
        wanted = max(was_on, below) * alone
        charging_h, running_h, starts, on, left_h = run_of_hour(
            generator, permitted_h, was_on, s[r.RUN_LEFT_H + i], wanted, need_h
        )
        before_ah = (one - charging_h) * drift_a
        taken_ah = stored_ah(missing_ah - before_ah, amps, eta, tau_h, charging_h)
        taken_ah = taken_ah if amps > zero else max(amps, -most_out_a) * charging_h
        change_ah = before_ah + taken_ah
        mean_a = change_ah / eta if change_ah > zero else change_ah
        mean_volts = mean_v(bank, charge_ah, charge_ah + change_ah)
        mean_a = steady_a(missing_ah, mean_a, eta, tau_h) if mean_a > zero else mean_a
        rises_v = over_v if mean_a > zero else zero
        most_w = charging_h * min(
            charger_a * (mean_volts + over_v + max(amps, zero) * resistance), able_w
        )
        asked_w = max(mean_a * (mean_volts + rises_v + mean_a * resistance) - net_w, zero)
        part_w = min(asked_w, most_w) if amps > zero else most_w
        given_w = part_w if charging_h < f(WHOLE_H) else most_w
        s[r.GENERATOR_W + i] = given_w
        s[r.NET_W + i] = net_w + given_w
        s[r.GENERATOR_ON + i] = on
        s[r.RUN_LEFT_H + i] = left_h
        s[r.GENERATOR_HOURS + i] += running_h
        s[r.GENERATOR_STARTS + i] += starts
        s[r.FUEL_L + i] += fuel_l(generator, running_h, zero)


@outlined
def share_out(generator: Generator, s: Array) -> None:
    """Tell, after the bank has taken its part, what of it came from where.

    Sources beside the sun share what was taken in proportion to what they offered.
    """
    f = type(s[0])
    zero = f(0.0)
    for i in range(LANES):
        sun_net_w = s[r.SUN_NET_W + i]
        offered_w = s[r.HOOKUP_W + i] + s[r.DRIVE_W + i] + s[r.GENERATOR_W + i]
        for_loads_w = min(offered_w, max(-sun_net_w, zero))
        accepted_w = s[r.ACCEPTED_W + i]
        for_bank_w = max(accepted_w - max(sun_net_w, zero), zero)
        for_bank_w = for_bank_w if offered_w > zero else zero
        share = (for_loads_w + for_bank_w) / max(offered_w, f(1e-6))
        hookup_w = s[r.HOOKUP_W + i] * share
        drive_w = s[r.DRIVE_W + i] * share
        generator_w = s[r.GENERATOR_W + i] * share
        s[r.ACCEPTED_W + i] = accepted_w - for_bank_w
        s[r.DELIVERED_W + i] += for_loads_w
        s[r.HOOKUP_W + i] = hookup_w
        s[r.DRIVE_W + i] = drive_w
        s[r.GENERATOR_W + i] = generator_w
        s[r.HOOKUP + i] += hookup_w
        s[r.DRIVE + i] += drive_w
        s[r.GENERATOR + i] += generator_w
        s[r.FUEL_L + i] += fuel_l(generator, zero, generator_w)
