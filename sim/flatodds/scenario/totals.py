"""A household's mean day at the battery: a rough sum to judge a scenario by.

The engine finds the real thing hour by hour; this is what `check` prints.
"""

from __future__ import annotations

from flatodds.scenario.parts import ApplianceUse, Inverter

REFERENCE_C = 25.0  # inside temperature of the plausible bands: common practice, no source
REFERENCE_V = 12.8  # volts by which people turn watt-hours to ampere-hours: common practice
BY_WEATHER = ("furnace", "air-heater", "vent")  # kinds that only the weather tells
USUAL_LOAD_FRAC = 0.25  # of the inverter's rating while something runs: judgement


def appliance_wh(use: ApplianceUse, inside_c: float = REFERENCE_C) -> float:
    """Mean energy of one day at the appliance's own plug [Wh]; heaters and vent fans count 0."""
    if use.kind in BY_WEATHER:
        return 0.0
    if use.kind == "fridge" and use.mean_draw is not None:
        return 24.0 * use.duty_frac * use.mean_draw.watts(inside_c)
    return use.watts * use.duty_frac * use.minutes / 60.0 * use.mean_times


def day_wh(
    uses: tuple[ApplianceUse, ...], inverter: Inverter, inside_c: float = REFERENCE_C
) -> float:
    """Mean energy of one day at the battery [Wh], without heating and spare-sun loads."""
    total = inverter.idle_w * inverter.hours_on
    loss = inverter.slope + inverter.bend * USUAL_LOAD_FRAC
    for use in uses:
        if use.need != "spare-sun":
            total += appliance_wh(use, inside_c) * (loss if use.side == "ac" else 1.0)
    return total


def day_ah(wh: float) -> float:
    """Ampere-hours at 12.8 V of an energy [Wh]."""
    return wh / REFERENCE_V
