"""Plain-Python twin, charging other than sun: pedestal, driving and generator in one hour.

The generator is wanted when the charge would otherwise end the hour below its start, and
from then on until the stop charge is reached, but not while the sun alone brings half of
what its charger would. It runs for the part of the hour after which the hour ends at the
stop charge; at least for its shortest run; and never outside permitted hours.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from flatodds.battery.bank import Bank
from flatodds.charging.generator import (
    HOT_C,
    LEAST_HEAT_FRAC,
    LEAST_MISSING_FRAC,
    LEAST_SLOPE,
    NEWTON_STEPS,
    Generator,
)
from flatodds.engine.charging import WHOLE_H
from flatodds.engine.hour import TIE_FRAC
from flatodds.engine.twin_bank import (
    MOST_TIME_CONSTANTS,
    Exchange,
    current_a,
    mean_rest_v,
    rest_v,
)

LEAST_LEFT_H = 1e-6  # less of a shortest run than this is over; own choice


@dataclass(frozen=True, slots=True)
class Around:
    """What else can charge in one hour.

    Attributes
    ----------
    permitted_h, plugged, drive_h : float
        Part of the hour in which a generator may run, part plugged in, and part driving.
    hookup_a, drive_a : float
        Currents of the pedestal's charger and of driving while they last [A].
    pedestal_w, hookup_eff : float
        Mean power that the pedestal can give [W], and efficiency of its charger [1].
    """

    permitted_h: float
    plugged: float
    hookup_a: float
    drive_a: float
    drive_h: float
    pedestal_w: float
    hookup_eff: float


@dataclass(slots=True)
class Engine:
    """What a generator remembers: whether it runs on, and what is left of its shortest run."""

    on: bool = False
    left_h: float = 0.0


@dataclass(frozen=True, slots=True)
class Charging:
    """Power from pedestal, driving and generator, on offer or taken [W]; how it ran."""

    hookup_w: float = 0.0
    drive_w: float = 0.0
    generator_w: float = 0.0
    running_h: float = 0.0
    starts: int = 0
    fuel_l: float = 0.0

    @property
    def total_w(self) -> float:
        """All of it."""
        return self.hookup_w + self.drive_w + self.generator_w


@dataclass(frozen=True, slots=True)
class Limits:
    """What the bank allows in this hour: most current in and out [A]."""

    into_a: float
    out_a: float


def offered(
    generator: Generator,
    engine: Engine,
    bank: Bank,
    charge_ah: float,
    around: Around,
    sky: tuple[float, float, float, float],
) -> Charging:
    """Find what is on offer in this hour beside the sun; changes the generator's memory.

    `sky` holds what sun and loads leave [W], the cold's share of the charge current, the
    charge that cannot be drawn [Ah], and the outdoor temperature.
    """
    net_w, gate, floor, outdoor_c = sky
    volts, ohm = rest_v(bank, charge_ah) + bank.charge_over_v, bank.resistance_ohm
    most_out_a = min(bank.discharge_limit_a, max(charge_ah - floor, 0.0))
    limits = Limits(gate * bank.charge_limit_a, most_out_a)
    plug_a = _in_part_a(bank, charge_ah, around.hookup_a, limits, around.plugged)
    road_a = _in_part_a(bank, charge_ah, around.drive_a, limits, around.drive_h)
    carried_w = min(max(-net_w, 0.0) * around.plugged, around.pedestal_w)
    left_w = around.hookup_eff * (around.pedestal_w - carried_w)
    hookup_w = carried_w + min(plug_a * (volts + plug_a * ohm), left_w)
    drive_w = road_a * (volts + road_a * ohm)
    net_w += hookup_w + drive_w
    hours, running_h, starts, amps, able = _run(
        generator, engine, bank, charge_ah, around.permitted_h, (net_w, outdoor_c), limits
    )
    drift = _drift_ah(bank, _net_a(bank, charge_ah, net_w), limits)
    ends_ah = charge_ah + (1.0 - hours) * drift
    if amps > 0.0:
        ends_ah += _stored_ah(bank, ends_ah, amps, hours)
    else:  # loads take more than the charger gives; the bank gives no more than it can
        ends_ah += hours * max(amps, -limits.out_a)
    charger_a, able_w = able
    volts = mean_rest_v(bank, charge_ah, ends_ah)
    on_charge_v = volts + bank.charge_over_v
    most_w = hours * min(charger_a * (on_charge_v + max(amps, 0.0) * ohm), able_w)
    mean_a = ends_ah - charge_ah
    if mean_a > 0.0:
        mean_a = _steady_a(bank, charge_ah, mean_a / bank.charge_efficiency)
    terminal_v = (on_charge_v if mean_a > 0.0 else volts) + mean_a * ohm
    asked_w = max(mean_a * terminal_v - net_w, 0.0)
    whole = hours >= WHOLE_H or amps <= 0.0
    return Charging(
        hookup_w=hookup_w,
        drive_w=drive_w,
        generator_w=most_w if whole else min(asked_w, most_w),
        running_h=running_h,
        starts=starts,
    )


def _run(
    generator: Generator,
    engine: Engine,
    bank: Bank,
    charge_ah: float,
    permitted_h: float,
    hour: tuple[float, float],
    limits: Limits,
) -> tuple[float, float, int, float, tuple[float, float]]:
    """Decide how long the generator runs.

    Gives its time with the charger and in all, whether it was started, the current into the
    bank meanwhile, and what the charger can give [A, W].
    """
    net_w, outdoor_c = hour
    volts = rest_v(bank, charge_ah) + bank.charge_over_v
    heat = max(1.0 - generator.heat_loss_per_c * max(outdoor_c - HOT_C, 0.0), LEAST_HEAT_FRAC)
    able_w = generator.watts * heat * generator.efficiency
    charging_v = volts + generator.charger_a * bank.resistance_ohm
    charger_a = min(generator.charger_a, able_w / charging_v)
    net_a = _net_a(bank, charge_ah, net_w)
    amps = min(net_a + charger_a, limits.into_a)
    drift = _drift_ah(bank, net_a, limits)
    below = charge_ah + drift < (generator.start_frac - TIE_FRAC) * bank.capacity_ah
    sunny = net_w >= generator.takes_over_frac * charger_a * charging_v
    wanted = (engine.on or below) and not sunny
    was_on, left_h = engine.on, engine.left_h
    if not was_on:
        left_h = generator.minimum_h if wanted else 0.0
    engine.on, engine.left_h = False, 0.0
    if permitted_h <= 0.0 or not (wanted or left_h > 0.0):
        return 0.0, 0.0, 0, amps, (charger_a, able_w)
    warm_h = 0.0 if was_on else generator.warm_up_h
    room_h = max(permitted_h - warm_h, 0.0)
    need_h = _need_h(generator, bank, charge_ah, drift, amps) if wanted else 0.0
    hours = max(min(max(need_h, left_h - warm_h), room_h), 0.0)
    running_h = min(hours + warm_h, permitted_h)
    left_h = max(left_h - running_h, 0.0)
    if need_h > room_h or left_h > LEAST_LEFT_H:
        engine.on, engine.left_h = True, left_h
    return hours, running_h, int(not was_on), amps, (charger_a, able_w)


def _net_a(bank: Bank, charge_ah: float, net_w: float) -> float:
    """Find the current that a power makes at the hour's first voltage [A]."""
    over_v = bank.charge_over_v if net_w > 0.0 else 0.0
    return current_a(bank, rest_v(bank, charge_ah) + over_v, net_w)


def _drift_ah(bank: Bank, net_a: float, limits: Limits) -> float:
    """Change of the charge in an hour of sun and loads alone [Ah]."""
    if net_a < 0.0:
        return max(net_a, -limits.out_a)
    return bank.charge_efficiency * min(net_a, limits.into_a)


def _need_h(
    generator: Generator, bank: Bank, charge_ah: float, drift_ah: float, amps: float
) -> float:
    """Time with the charger after which the hour ends at the stop charge [h].

    Drift first, then constant current down to the knee (or the stop charge), then the taper.
    """
    if amps <= 1e-6:
        return math.inf
    eta, tau_h = bank.charge_efficiency, bank.acceptance_h
    missing_ah = bank.capacity_ah - charge_ah
    stop_ah = max(1.0 - generator.stop_frac, LEAST_MISSING_FRAC) * bank.capacity_ah
    knee_ah = max(amps * tau_h, stop_ah)
    first_ah = min(max(missing_ah, stop_ah), knee_ah)
    taper_h = tau_h / eta * math.log(first_ah / stop_ah)
    bulk_ah = missing_ah - first_ah - (1.0 - taper_h) * drift_ah
    return taper_h + max(bulk_ah / max(eta * amps - drift_ah, 1e-9), 0.0)


def _stored_ah(bank: Bank, charge_ah: float, amps: float, hours: float) -> float:
    """Charge stored in so much time with so much current on offer [Ah]."""
    eta, tau_h = bank.charge_efficiency, bank.acceptance_h
    missing_ah = max(bank.capacity_ah - charge_ah, 0.0)
    bulk_h = min(max((missing_ah / amps - tau_h) / eta, 0.0), hours)
    bulk_ah = eta * amps * bulk_h
    taper_ah = max(min(missing_ah - bulk_ah, amps * tau_h), 0.0)
    constants = min((hours - bulk_h) * eta / tau_h, MOST_TIME_CONSTANTS)
    return min(bulk_ah + taper_ah * -math.expm1(-constants), missing_ah)


def _in_part_a(bank: Bank, charge_ah: float, amps: float, limits: Limits, hours: float) -> float:
    """Find the current that, on offer all hour, charges as much as `amps` in part of it [A]."""
    if hours <= 0.0:
        return 0.0
    if hours >= WHOLE_H:
        return amps
    held_a = min(amps, limits.into_a)
    taken_ah = _stored_ah(bank, charge_ah, held_a, hours) if held_a > 0.0 else 0.0
    if taken_ah <= 0.0:
        return 0.0
    return min(_steady_a(bank, charge_ah, taken_ah / bank.charge_efficiency), amps)


def _steady_a(bank: Bank, charge_ah: float, taken_a: float) -> float:
    """Find the current that, on offer all hour, makes the bank take a mean current [A].

    Few steps of Newton's method, from below: the bank takes less of each further ampere.
    """
    eta, tau_h = bank.charge_efficiency, bank.acceptance_h
    missing_ah = max(bank.capacity_ah - charge_ah, 0.0)
    current = taken_a
    for _ in range(NEWTON_STEPS):
        bulk_h = min(max((missing_ah / current - tau_h) / eta, 0.0), 1.0)
        constants = min((1.0 - bulk_h) * eta / tau_h, MOST_TIME_CONSTANTS)
        faded = -math.expm1(-constants)
        takes_a = current * (bulk_h + tau_h / eta * faded)
        slope = (takes_a - missing_ah / eta * faded) / current
        current += max(taken_a - takes_a, 0.0) / max(slope, LEAST_SLOPE)
    return current


def shared_out(
    generator: Generator, on_offer: Charging, sun_net_w: float, passed: Exchange
) -> tuple[Charging, Exchange]:
    """Tell what was taken of all that was on offer, and what is left to the sun and the bank.

    Loads and bank take sun first; the others share the rest by what they offered.
    """
    total_w = on_offer.total_w
    for_loads_w = min(total_w, max(-sun_net_w, 0.0))
    for_bank_w = max(passed.accepted_w - max(sun_net_w, 0.0), 0.0) if total_w > 0.0 else 0.0
    share = (for_loads_w + for_bank_w) / max(total_w, 1e-6)
    made_kwh = share * on_offer.generator_w / generator.efficiency / 1000.0
    taken = replace(
        on_offer,
        hookup_w=share * on_offer.hookup_w,
        drive_w=share * on_offer.drive_w,
        generator_w=share * on_offer.generator_w,
        fuel_l=generator.idle_l_per_h * on_offer.running_h + generator.load_l_per_kwh * made_kwh,
    )
    passed = replace(
        passed,
        accepted_w=passed.accepted_w - for_bank_w,
        delivered_w=passed.delivered_w + for_loads_w,
    )
    return taken, passed
