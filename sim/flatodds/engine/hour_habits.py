"""What habits change within the hour: saving on a low bank, charge lines, peaks at the minute.

Only the most that runs at once is known to the minute; energy stays a matter of the hour. Use
that was put off and is caught up later, fridges and DC use count in peaks with their mean over the
hour. A mains air conditioner cycles: where in its cycle a peak finds it is drawn once an hour, so
that it runs, or starts, during that peak as often as its share of the hour, its starts and the
peak's length say. Each of its starts comes on top of what else runs in the mean of that hour.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from flatodds.battery.bank import Bank, open_circuit_v
from flatodds.engine import rows as r
from flatodds.engine.hour import Design
from flatodds.lanes import LANES, inlined, outlined
from flatodds.loads.cooling import starts_an_hour
from flatodds.loads.inverter import inverter_dc_w, lasting_w

Array = npt.NDArray[np.floating]

LEAST_SPARE_W = 1.0  # spare-sun use of less is what rounding left; judgement
LEAST_SHARE = 1e-6  # of an hour, where an air conditioner's watts are found from its mean
OVER_BY = 1.0001  # exactly the rating is no overload; float32 sums are that exact


@outlined
def adapt(design: Design, x: Array, lean: Array, s: Array) -> None:
    """Copy the hour's inputs to `lean` as this household asks in the state of its bank.

    Below the caution level, those who economise give up part of their comfort use. Spare-sun
    use with a charge line of its own is asked for only above it.
    """
    f = type(s[0])
    zero = f(0.0)
    one = f(1.0)
    for k in range(r.INPUTS * LANES):
        lean[k] = x[k]
    for i in range(LANES):
        frac = s[r.BEFORE_FRAC + i]
        saving = design.economy if frac <= design.caution_frac else zero
        lean[r.MUST_DC + i] = max(x[r.MUST_DC + i] - saving * x[r.SHRINK_DC + i], zero)
        lean[r.MUST_AC + i] = max(x[r.MUST_AC + i] - saving * x[r.SHRINK_AC + i], zero)
        s[r.SAVED + i] += design.use_factor * saving * (x[r.SHRINK_DC + i] + x[r.SHRINK_AC + i])
        above_a = one if frac >= design.line_a else zero
        above_b = one if frac >= design.line_b else zero
        above_c = one if frac >= design.line_c else zero
        dc = above_a * x[r.LINE_A_DC + i] + above_b * x[r.LINE_B_DC + i]
        dc += above_c * x[r.LINE_C_DC + i]
        ac = above_a * x[r.LINE_A_AC + i] + above_b * x[r.LINE_B_AC + i]
        ac += above_c * x[r.LINE_C_AC + i]
        lean[r.SPARE_DC + i] = x[r.SPARE_DC + i] + dc
        lean[r.SPARE_AC + i] = x[r.SPARE_AC + i] + ac
        s[r.FIRST_SPARE_W + i] = dc + ac


@outlined
def before_charging(lean: Array, s: Array) -> None:
    """Turn FIRST_SPARE_W from plug watts to the part of SPARE_WANTED_W that need not wait."""
    f = type(s[0])
    for i in range(LANES):
        plugs_w = max(lean[r.SPARE_DC + i] + lean[r.SPARE_AC + i], f(1e-6))
        s[r.FIRST_SPARE_W + i] *= s[r.SPARE_WANTED_W + i] / plugs_w


@inlined
def drawn_a(power_w: float, rest_v: float, resistance_ohm: float) -> float:
    """Give the current of a power behind a resistance [A]; at most what it lets through."""
    f = type(rest_v)
    left = max(rest_v * rest_v - f(4.0) * resistance_ohm * power_w, f(0.0))
    able_w = min(power_w, most_w(rest_v, resistance_ohm))
    return f(2.0) * able_w / (rest_v + math.sqrt(left))


@inlined
def most_w(rest_v: float, resistance_ohm: float) -> float:
    """Most power that a resistance lets through, at half the rest voltage [W]."""
    f = type(rest_v)
    return rest_v * rest_v * (f(1.0) / max(f(4.0) * resistance_ohm, f(1e-9)))


@outlined
def meet(x: Array, s: Array) -> None:
    """Decide whether an air conditioner runs, and starts, during the hour's peak.

    Of runs as long as its share of the hour and evenly spaced starts, with any phase: a peak of
    some length meets one with the chance share + starts x length, its start with the last term.
    """
    f = type(s[0])
    zero = f(0.0)
    one = f(1.0)
    for i in range(LANES):
        lasts_h = x[r.LASTS_MUST + i]
        lasts_h = x[r.LASTS_WAIT + i] if s[r.WAIT_AC_W + i] > zero else lasts_h
        lasts_h = x[r.LASTS_ALL + i] if s[r.SPARE_W + i] > f(LEAST_SPARE_W) else lasts_h
        share = s[r.COOL_SHARE + i]
        begins = starts_an_hour(share) * lasts_h
        begins = begins if s[r.COOL_START_W + i] > zero else zero
        phase = x[r.COOL_PHASE + i]
        meets = one if phase < share + begins else zero
        s[r.COOL_MEETS + i] = meets if share > zero else zero
        s[r.COOL_BEGINS + i] = one if phase < begins else zero


@outlined
def overload(design: Design, bank: Bank, x: Array, s: Array) -> None:
    """Count an hour in which inverter or bank switches off though there is charge."""
    f = type(s[0])
    zero = f(0.0)
    one = f(1.0)
    use = design.use_factor
    rated = design.inverter_w
    most_start_w = design.surge_w * f(OVER_BY)
    most_a = bank.discharge_limit_a * f(OVER_BY)
    resistance = bank.resistance_ohm
    curve = (design.idle_w, design.ac_slope, design.ac_bend)
    for i in range(LANES):
        waits = s[r.WAIT_AC_W + i] > zero
        spare = s[r.SPARE_W + i] > f(LEAST_SPARE_W)
        peak_w = x[r.PEAK_MUST + i]
        start_w = x[r.START_MUST + i]
        with_wait_w = x[r.PEAK_WAIT + i]
        start_wait_w = x[r.START_WAIT + i]
        with_all_w = x[r.PEAK_ALL + i]
        start_all_w = x[r.START_ALL + i]
        peak_w = with_wait_w if waits else peak_w
        start_w = start_wait_w if waits else start_w
        peak_w = with_all_w if spare else peak_w
        start_w = start_all_w if spare else start_w
        followed_w = use * (x[r.MUST_AC + i] - x[r.SMALL_AC + i])
        cool_w = s[r.COOL_AC_W + i]
        unit_w = cool_w / max(s[r.COOL_SHARE + i], f(LEAST_SHARE))
        others_w = s[r.ASKED_AC_W + i] - cool_w
        rest_w = max(others_w - followed_w, zero)
        beside_w = s[r.COOL_MEETS + i] * unit_w
        runs_w = max(peak_w + beside_w, unit_w) + rest_w
        behind_w = inverter_dc_w(min(runs_w, rated), rated, curve, zero)
        behind_w += s[r.MUST_DC_W + i] + s[r.WAIT_DC_W + i]
        sun_w = s[r.DIRECT_W + i] + s[r.SURPLUS_W + i]
        volts = open_circuit_v(bank, s[r.BEFORE_FRAC + i])
        drawn_w = max(behind_w - sun_w, zero)
        amps = drawn_a(drawn_w, volts, resistance)
        own = one if s[r.HOOKUP_W + i] <= zero else zero
        live = own * (one - s[r.FLAT + i])
        able = lasting_w(rated, design.heat_loss, s[r.CABIN_C + i])
        over = one if runs_w > able * f(OVER_BY) else zero
        over = one if start_w + beside_w + rest_w > most_start_w else over
        begins_w = s[r.COOL_START_W + i]
        others_w = max(others_w, s[r.COOL_BEGINS + i] * (peak_w + rest_w))
        begins_w = begins_w + others_w if begins_w > zero else zero
        over = one if begins_w > most_start_w else over
        over = one if s[r.OVER_W + i] > zero else over
        over = one if amps > most_a else over
        over = one if drawn_w > most_w(volts, resistance) * f(OVER_BY) else over
        s[r.HOURS_OVERLOAD + i] += over * live
        s[r.PEAK_A + i] = max(s[r.PEAK_A + i], amps * live)
