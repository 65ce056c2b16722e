"""Values for panels and controllers where a scenario says nothing, with where they come from."""

from __future__ import annotations

from flatodds.scenario.defaults import PRACTICE

# value, why
TILT_DEG = (0.0, "lying on the roof: " + PRACTICE)
TEMP_COEFFICIENT_FRAC_PER_C = (-0.0037, "crystalline silicon of today: " + PRACTICE)
LOSS_FRAC = (
    0.0682,
    "PVWatts version 5 (NREL/TP-6A20-62641, 2014), losses without soiling, shading, availability",
)
DUST_PER_DAY_FRAC = (0.002, "trade article quoting a study in California: 0.2 % a dry day")
DUST_PER_DAY_FRAC_GROUND = (0.0, "wiped when set up")
SNOW_COVER = (True, "snow stays until brushed off, melted or slid")
SNOW_COVER_GROUND = (False, "cleared when set up")
BRUSH = ("noon", "someone is at home: judgement")
STOWED_DAYS_FRAC = (0.0, "someone is always there")
SHADE_FRAC = (0.03, "shade of things on one's own roof: " + PRACTICE)
SHADE_FRAC_GROUND = (0.0, "out on the ground")
INCIDENCE_LOSS = (True, "glass reflects slanting sun")
MOUNT_FLAT = ("roof", "lying close to the roof: " + PRACTICE)
MOUNT_TILTED = ("open", "tilted, air on both sides: " + PRACTICE)
AIM_ERROR_DEG = (10.0, "judgement")
AIMED_TILT_DEG = 45.0  # stands for "tilted" in words; how they lie is computed; own choice
STOW_WIND_M_S = (11.0, "laid down in a strong breeze (Beaufort 6): " + PRACTICE)
UNDER_TREES = (True, "as all of the stay")
UNDER_TREES_GROUND = (False, "set up out of the shade, on a cord: " + PRACTICE)
CONTROLLER_KIND = ("mppt", PRACTICE)
EFFICIENCY_FRAC = {
    "mppt": (0.97, "95 to 98 %: " + PRACTICE),
    "pwm": (0.99, "what it uses itself: judgement"),
}
# A panel made for a 12 V bank gives its most power at some 18 V: medians of 18.4 and 18.7 V
# over modules of 36 cells in the California Energy Commission's list of modules (2019-03-05,
# as shipped with pvlib), own computation.
VMP_PER_12_V = 18.5
# What a square metre of panel gives at most and weighs: common practice, no source.
W_PER_M2 = 200.0
KG_PER_M2 = 11.0

TREE_SKY_OVER_SUN = 0.65  # trees take 30 to 80 % of the beam, 20 to 50 % of the sky: from memory
TREE_SKY = f"{TREE_SKY_OVER_SUN} of tree_shade_frac, from memory"
# Crowns without leaves still let only about half of the sun through: from memory.
BARE_SHADE_FRAC = (0.45, "bare crowns: from memory")

ALL_DAY = "out whenever there is sun"
NO_LIMIT = "no limit"
EQUATOR = "towards the equator"
FOR_THE_BANK = "panels made for the bank's volts, 18.5 V at most power for each 12 V"
EVERGREEN = "trees in leaf all year"
