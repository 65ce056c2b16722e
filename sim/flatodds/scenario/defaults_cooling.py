"""Values used where a scenario says nothing of cooling, shade and comfort, with sources."""

from __future__ import annotations

from collections.abc import Mapping

PRACTICE = "common practice, no source"

# value, why
SOFT_START = (False, PRACTICE)
HOLD_C = (26.0, "79 F: " + PRACTICE)
NEED = ("above-charge", "so that cooling does not run the battery flat: " + PRACTICE)
ONLY_ABOVE_CHARGE_FRAC = (0.5, PRACTICE)
ALL_DAY = ("0-24", "day and night")
COMFORT_HIGH_C = (29.0, "84 F: " + PRACTICE)
SHADE = ("none", "standing in the open")
HOT_INPUT_RATIO = 1.14  # input at 45 degrees outside over that at 35: curves of loads/cooling
HOTTEST_C = 45.0  # outdoor air by which an inverter is judged: a hot desert's afternoon, judgement

# Share of the sun kept off walls, windows and roof: judgement. Half of it halves the aperture of
# a trailer, as shade trees do in the morning or the afternoon.
SHADE_FRAC: Mapping[str, float] = {"none": 0.0, "awning": 0.25, "half": 0.5, "deep": 0.8}

# Absorptance over surface coefficient of a dark and a light roof [m2 K/W]: 0.052 and 0.026,
# ASHRAE Fundamentals, sol-air temperature (from memory).
ROOF_M2K_W: Mapping[str, float] = {"dark": 0.052, "light": 0.026}
