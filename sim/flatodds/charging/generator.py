"""A generator that charges the bank through a charger when charge runs low.

It starts when the charge would otherwise end the hour below `start`, and runs for just the
part of the hour that brings the bank to `stop` at its end: running whole hours overstated
running time by 9 to 37 % in three of four rigs (own experiment). It runs a shortest time
once started, warms up before the charger is switched in, keeps to permitted hours, and rests
while the sun alone charges about as well.

The charger gives constant current until the bank's acceptance (missing ampere-hours over a
time constant, Woodbridge 1935) falls below it, and what is accepted from then on; both are
integrated exactly over part of an hour, so that the last hours of charging take long.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import numpy.typing as npt

from flatodds.charging.hours import share_of_hours
from flatodds.lanes import exp_neg, inlined

if TYPE_CHECKING:
    from flatodds.scenario import Generator as GeneratorChoice

Array = npt.NDArray[np.floating]
Floats = npt.NDArray[np.float64]

HOT_C = 40.0  # air above which it gives less (a generator's manual)
LEAST_HEAT_FRAC = 0.5  # own choice: no manual goes further
LEAST_HEIGHT_FRAC = 0.3  # own choice, beyond any road
TAKES_OVER_FRAC = 0.5  # of the charger's power, from the sun alone after the loads: judgement
NEVER_H = 1e6  # longer than any stay
NEWTON_STEPS = 4  # enough for the current to settle; own choice
LEAST_SLOPE = 0.05  # keeps a step finite where the bank would take no more at any current
LEAST_MISSING_FRAC = 1e-3  # "full" is approached for ever; closer than this is full; judgement


class Generator(NamedTuple):
    """Scalars of one design's generator; rows of a table outside the kernel.

    Attributes
    ----------
    watts : float
        What it gives at the stay's height in air below 40 deg C [W]; 0 for none.
    charger_a : float
        Most current of its charger [A].
    efficiency : float
        Of the charger [1].
    start_frac, stop_frac : float
        Charge below which it is wanted, and at which it has done its work [1].
    minimum_h, warm_up_h : float
        Shortest run, warm-up included, and warm-up before the charger works [h].
    takes_over_frac : float
        Sun left after the loads, as a share of the charger's power, at which it rests [1].
    idle_l_per_h, load_l_per_kwh : float
        Fuel line.
    heat_loss_per_c : float
        Share of the watts lost with each degree above `HOT_C` [1/K].
    """

    watts: float
    charger_a: float
    efficiency: float
    start_frac: float
    stop_frac: float
    minimum_h: float
    warm_up_h: float
    takes_over_frac: float
    idle_l_per_h: float
    load_l_per_kwh: float
    heat_loss_per_c: float


NONE = Generator(0.0, 0.0, 1.0, 0.0, 1.0, 0.0, 0.0, NEVER_H, 0.0, 0.0, 0.0)


@inlined
def pick_generator(table: Array, first: int, design: int) -> Generator:
    """Scalars of one design out of a table (row, design), from row `first` on."""
    return Generator(
        table[first, design],
        table[first + 1, design],
        table[first + 2, design],
        table[first + 3, design],
        table[first + 4, design],
        table[first + 5, design],
        table[first + 6, design],
        table[first + 7, design],
        table[first + 8, design],
        table[first + 9, design],
        table[first + 10, design],
    )


def generator_record(choice: GeneratorChoice | None, elevation_m: float) -> Generator:
    """Parameters of a generator at a height above the sea."""
    if choice is None:
        return NONE
    thin_frac = choice.height_loss_frac_per_km * max(elevation_m, 0.0) / 1000.0
    return Generator(
        watts=choice.watts * max(1.0 - thin_frac, LEAST_HEIGHT_FRAC),
        charger_a=choice.charger_amps,
        efficiency=choice.charger_efficiency_frac,
        start_frac=choice.start_frac,
        stop_frac=choice.stop_frac,
        minimum_h=choice.minimum_run_hours,
        warm_up_h=choice.warm_up_minutes / 60.0,
        takes_over_frac=TAKES_OVER_FRAC if choice.sun_takes_over else NEVER_H,
        idle_l_per_h=choice.idle_l_per_h,
        load_l_per_kwh=choice.load_l_per_kwh,
        heat_loss_per_c=choice.heat_loss_frac_per_c,
    )


def permitted_share(
    choice: GeneratorChoice | None, stay: int, shift_h: npt.NDArray[np.floating]
) -> Floats:
    """Part of every hour of a stay in which it may run, (day, 24) [1]."""
    count = len(shift_h)
    if choice is None:
        return np.zeros((count, 24))
    return share_of_hours(range(-1, count + 1), choice.windows[stay], shift_h)


@inlined
def charger_w(generator: Generator, outdoor_c: float) -> float:
    """Most power that the generator lets the charger put out [W]."""
    f = type(outdoor_c)
    hotter = max(outdoor_c - f(HOT_C), f(0.0))
    left = max(f(1.0) - generator.heat_loss_per_c * hotter, f(LEAST_HEAT_FRAC))
    return generator.watts * left * generator.efficiency


@inlined
def log_of(x: float) -> float:
    """Natural logarithm of 1 or more, without a library call.

    The logarithm of the sixteenth root, by the series of the inverse hyperbolic tangent:
    relative error below 1e-9 up to x = 1,000.
    """
    f = type(x)
    root = f(math.sqrt(f(math.sqrt(f(math.sqrt(f(math.sqrt(x))))))))
    z = (root - f(1.0)) / (root + f(1.0))
    square = z * z
    series = f(1.0 / 9.0) + square * f(1.0 / 11.0)
    series = f(1.0 / 5.0) + square * (f(1.0 / 7.0) + square * series)
    return f(32.0) * z * (f(1.0) + square * (f(1.0 / 3.0) + square * series))


@inlined
def stored_ah(missing_ah: float, amps: float, eta: float, tau_h: float, hours: float) -> float:
    """Charge stored in part of an hour with a charger on a bank that tapers [Ah].

    Parameters
    ----------
    missing_ah : float
        To full, at the start [Ah].
    amps : float
        Current on offer to the bank [A].
    eta : float
        Ampere-hours stored for each that goes in [1].
    tau_h : float
        The bank takes at most its missing charge over this [h].
    hours : float
        How long, 0 to 1 [h].
    """
    f = type(missing_ah)
    current = max(amps, f(1e-9))
    missing = max(missing_ah, f(0.0))
    bulk_h = min(max((missing / current - tau_h) / eta, f(0.0)), hours)
    tail_ah = min(missing - eta * current * bulk_h, current * tau_h)
    tail_ah = max(tail_ah, f(0.0))
    tail = tail_ah * (f(1.0) - exp_neg((hours - bulk_h) * (eta / tau_h)))
    return min(eta * current * bulk_h + tail, missing)


@inlined
def steady_a(missing_ah: float, taken_a: float, eta: float, tau_h: float) -> float:
    """Find the current that, on offer all hour, makes a tapering bank take a mean current [A].

    A bank that took its charge in part of an hour, while it would have taken more, must not
    be held to its taper a second time. Newton's method on the exact mean of an hour; four
    steps leave less than 0.1 % in the worst case.

    Parameters
    ----------
    missing_ah : float
        To full, at the start [Ah].
    taken_a : float
        Mean current to be taken [A].
    eta, tau_h : float
        As for `stored_ah`.
    """
    f = type(missing_ah)
    one = f(1.0)
    current = max(taken_a, f(1e-9))
    for _ in range(NEWTON_STEPS):
        bulk_h = min(max((missing_ah / current - tau_h) / eta, f(0.0)), one)
        full = one - exp_neg((one - bulk_h) * (eta / tau_h))
        mean_a = current * (bulk_h + full * (tau_h / eta))
        slope = mean_a / current - full * missing_ah / (eta * current)
        current += max(taken_a - mean_a, f(0.0)) / max(slope, f(LEAST_SLOPE))
    return current


@inlined
def hours_to_stop(
    missing_ah: float, stop_missing_ah: float, drift_a: float, amps: float, eta: float, tau_h: float
) -> float:
    """Part of the hour that the charger must run for the hour to end at the stop charge [h].

    Before it runs, the charge drifts with what sun and loads make of it. More than 1 when
    the hour is too short; the drift of an hour begun in the taper is counted at full current.

    Parameters
    ----------
    missing_ah, stop_missing_ah : float
        To full, now and at the stop charge [Ah].
    drift_a : float
        Change of the charge without the charger [Ah/h].
    amps : float
        Current into the bank with the charger on, before the bank tapers [A].
    eta, tau_h : float
        As for `stored_ah`.
    """
    f = type(missing_ah)
    knee_ah = max(amps * tau_h, stop_missing_ah)
    first_ah = min(max(missing_ah, stop_missing_ah), knee_ah)
    tail_h = (tau_h / eta) * log_of(first_ah / stop_missing_ah)
    rate_a = max(eta * amps - drift_a, f(1e-9))
    bulk_h = (missing_ah - first_ah - (f(1.0) - tail_h) * drift_a) / rate_a
    hours = min(tail_h + max(bulk_h, f(0.0)), f(NEVER_H))
    return hours if amps > f(1e-6) else f(NEVER_H)


@inlined
def run_of_hour(
    generator: Generator,
    permitted_h: float,
    was_on: float,
    left_h: float,
    wanted: float,
    need_h: float,
) -> tuple[float, float, float, float, float]:
    """Decide how long it runs in an hour.

    Parameters
    ----------
    permitted_h : float
        Part of the hour in which it may run [h].
    was_on : float
        1 if it was running when the last hour ended.
    left_h : float
        What is left of its shortest run [h].
    wanted : float
        1 if it should run for the charge's sake.
    need_h : float
        Time with the charger that would do [h].

    Returns
    -------
    charging_h, running_h, starts, on, left_h : float
        Hours with the charger, hours in all, 1 if it was started, 1 if it runs on, and
        what is then left of the shortest run.
    """
    f = type(permitted_h)
    zero = f(0.0)
    one = f(1.0)
    left = left_h if was_on > zero else generator.minimum_h * wanted
    active = one if max(wanted, left) > zero else zero
    active = active if permitted_h > zero else zero
    starts = active * (one - was_on)
    warm_h = starts * generator.warm_up_h
    room_h = max(permitted_h - warm_h, zero)
    asked_h = wanted * need_h
    charging_h = active * min(max(asked_h, left - warm_h), room_h)
    charging_h = max(charging_h, zero)
    running_h = active * min(charging_h + warm_h, permitted_h)
    after_h = max(left - running_h, zero)
    unfinished = one if max(asked_h - room_h, after_h - f(1e-6)) > zero else zero
    on = active * unfinished
    return charging_h, running_h, starts, on, on * after_h


@inlined
def fuel_l(generator: Generator, running_h: float, charger_out_w: float) -> float:
    """Fuel of an hour with so much running time and so much mean power out of the charger [l]."""
    made_kwh = charger_out_w / (generator.efficiency * type(charger_out_w)(1000.0))
    return generator.idle_l_per_h * running_h + generator.load_l_per_kwh * made_kwh
