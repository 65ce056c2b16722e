"""The cabin within the hour: heating, open windows, and an air conditioner where there is one.

An air conditioner asks first what charge and clock let it do; then the cabin's hour is solved.
Beside the cabin a second one is lived without air conditioner, for what cooling is worth.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from flatodds.engine import rows as r
from flatodds.engine.hour import Design
from flatodds.engine.records import COOL_MAY, COOL_MUST, SET_C
from flatodds.lanes import LANES, outlined
from flatodds.loads.cabin import COLD_C, Cabin, cabin_hour, heated_hour, heater_w
from flatodds.loads.cooling import (
    Cooling,
    capacity_ratio,
    cooled_hour,
    input_ratio,
    most_share,
    sensible_share,
    wet_bulb_c,
)
from flatodds.loads.inverter import lasting_w
from flatodds.weather.moisture import DEW_C

Array = npt.NDArray[np.floating]


@outlined
def warm(cabin: Cabin, set_c: float, x: Array, s: Array) -> None:
    """Stage 1a without air conditioner: the cabin's temperature and its heater."""
    f = type(s[0])
    zero = f(0.0)
    one = f(1.0)
    for i in range(LANES):
        on = one - s[r.OFF + i]
        cabin_c, heat_wanted, air = cabin_hour(
            cabin, s[r.CABIN_C + i], x[r.OUTDOOR_C + i], x[r.SUNSHINE + i], set_c, on
        )
        s[r.CABIN_C + i] = cabin_c
        s[r.COLD_HOURS + i] += one if cabin_c < f(COLD_C) else zero
        s[r.HOT_HOURS + i] += one if cabin_c > cabin.hot_c else zero
        s[r.BLOWER_W + i] = heater_w(cabin, heat_wanted, s[r.HEATER_ON + i])
        s[r.HEATER_ON + i] = on if heat_wanted > zero else zero
        s[r.FAN_W + i] = air * cabin.fan_w


@outlined
def cool_inputs(cooling: Cooling, moist: Array, inputs: Array) -> None:
    """Add the day's wet bulb at the temperature held, and the share of capacity that cools.

    Moisture inside is taken as outside.
    """
    f = type(inputs[0, 0])
    for i in range(LANES):
        dew_c = min(moist[DEW_C, i], cooling.hold_c)
        wet_c = f(wet_bulb_c(cooling.hold_c, dew_c, cooling.psychrometer_hpa))
        wet_c = cooling.wet_c if cooling.wet_c > f(0.0) else wet_c
        share = cooling.sensible_frac
        share = share if share > f(0.0) else sensible_share(wet_c)
        for h in range(24):
            inputs[h, r.WET_C + i] = wet_c
            inputs[h, r.SENSIBLE + i] = share


@outlined
def condition(
    design: Design,
    cabin: Cabin,
    cooling: Cooling,
    clock: Array,
    plugged: float,
    x: Array,
    s: Array,
) -> None:
    """Stage 1a with air conditioner: what it may do, and the cabin with and without it.

    `clock` is the hour's row of `Calendar.clock`, `plugged` its part on a pedestal.
    """
    f = type(s[0])
    zero = f(0.0)
    one = f(1.0)
    set_c = clock[SET_C]
    allowed = (clock[COOL_MUST], clock[COOL_MAY], plugged)
    use = design.use_factor
    for i in range(LANES):
        outdoor_c = x[r.OUTDOOR_C + i]
        capacity = capacity_ratio(x[r.WET_C + i], outdoor_c)
        unit_w = cooling.rated_w * capacity * input_ratio(x[r.WET_C + i], outdoor_c)
        must_w = use * (x[r.MUST_DC + i] + design.ac_slope * x[r.MUST_AC + i])
        left_w = max(s[r.SUN_W + i] - must_w, zero)
        drawn_w = design.ac_slope * unit_w
        most, granted = most_share(
            cooling, drawn_w, left_w, s[r.BEFORE_FRAC + i], s[r.COOL_ON + i], allowed
        )
        lasts_w = lasting_w(design.inverter_w, design.heat_loss, s[r.CABIN_C + i])
        able = one if unit_w <= lasts_w else cooling.is_dc
        s[r.COOL_ON + i] = granted
        s[r.UNIT_W + i] = unit_w
        s[r.COOL_MOST + i] = most * able * (one - s[r.OFF + i])
        s[r.SENSIBLE_W + i] = cooling.cooling_w * capacity * x[r.SENSIBLE + i]
    for i in range(LANES):
        on = one - s[r.OFF + i]
        now = (s[r.CABIN_C + i], x[r.OUTDOOR_C + i], x[r.SUNSHINE + i])
        cooled_c, share, wanted, air, resistance, left = cooled_hour(
            cabin, cooling.hold_c, s[r.SENSIBLE_W + i], s[r.COOL_MOST + i], now, on
        )
        cabin_c, heat_wanted = heated_hour(cabin, cooled_c, resistance, left, set_c, on)
        s[r.CABIN_C + i] = cabin_c
        s[r.COLD_HOURS + i] += one if cabin_c < f(COLD_C) else zero
        s[r.BLOWER_W + i] = heater_w(cabin, heat_wanted, s[r.HEATER_ON + i])
        s[r.HEATER_ON + i] = on if heat_wanted > zero else zero
        s[r.FAN_W + i] = air * cabin.fan_w
        cool_w = share * s[r.UNIT_W + i]
        ran_on = one if min(share, s[r.COOL_SHARE + i]) >= one else zero
        start_w = cooling.start_w * (one - ran_on) * (one - cooling.is_dc)
        s[r.COOL_START_W + i] = start_w if share > zero else zero
        s[r.COOL_SHARE + i] = share
        s[r.COOL_AC_W + i] = cool_w * (one - cooling.is_dc)
        s[r.COOL_DC_W + i] = cool_w * cooling.is_dc
        s[r.COOLING_WANTED + i] += wanted * s[r.UNIT_W + i]
    for i in range(LANES):
        bare_c, _wanted, _air = cabin_hour(
            cabin,
            s[r.UNCOOLED_C + i],
            x[r.OUTDOOR_C + i],
            x[r.SUNSHINE + i],
            set_c,
            one - s[r.OFF + i],
        )
        s[r.UNCOOLED_C + i] = bare_c
        hot = one if s[r.CABIN_C + i] > cabin.hot_c else zero
        bare_hot = one if bare_c > cabin.hot_c else zero
        s[r.HOT_HOURS + i] += hot
        s[r.HOT_UNCOOLED + i] += bare_hot
        s[r.HOT_TODAY + i] = max(s[r.HOT_TODAY + i], hot)
        s[r.HOT_BARE_TODAY + i] = max(s[r.HOT_BARE_TODAY + i], bare_hot)


@outlined
def count_cooling(s: Array) -> None:
    """Count, once the hour has been served, what the air conditioner got of what it drew."""
    f = type(s[0])
    for i in range(LANES):
        asked_w = s[r.MUST_W + i] + s[r.OVER_W + i]
        served = (s[r.MUST_W + i] - s[r.REFUSED_W + i]) / max(asked_w, f(1e-6))
        s[r.COOLING_HOURS + i] += s[r.COOL_SHARE + i] * served
        s[r.COOLING_SERVED + i] += (s[r.COOL_AC_W + i] + s[r.COOL_DC_W + i]) * served


@outlined
def end_hot_day(s: Array) -> None:
    """Midnight: count a day that would have been hot, and whether it was held."""
    f = type(s[0])
    for i in range(LANES):
        bare_hot = s[r.HOT_BARE_TODAY + i]
        s[r.HOT_DAYS + i] += bare_hot
        s[r.DAYS_HELD + i] += bare_hot * (f(1.0) - s[r.HOT_TODAY + i])
        s[r.HOT_TODAY + i] = f(0.0)
        s[r.HOT_BARE_TODAY + i] = f(0.0)
