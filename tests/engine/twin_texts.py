"""Scenarios that between them reach every rule that kernel and twin both state."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tests.engine import twin_texts_home as home
    from tests.engine import twin_texts_rig as rig
else:
    import twin_texts_home as home
    import twin_texts_rig as rig

TEXTS = {
    "light autumn": home.LIGHT_AUTUMN,
    "medium cold": home.MEDIUM_COLD,
    "heavy locked": rig.HEAVY_LOCKED,
    "two stays": home.TWO_STAYS,
    "spare and wait": home.SPARE_AND_WAIT,
    "no inverter": home.NO_INVERTER,
    "ideal store": rig.IDEAL_STORE,
    "weak bank": rig.WEAK_BANK,
    "generator trip": rig.GENERATOR_TRIP,
    "generator cold": rig.GENERATOR_COLD,
    "generator ideal": rig.GENERATOR_IDEAL,
    "cooled half": home.COOLED_HALF,
    "cooled spare": home.COOLED_SPARE,
    "habits": home.HABITS,
    "given": home.GIVEN,
    "two controllers": rig.TWO_CONTROLLERS,
    "flooded fast": rig.FLOODED_FAST,
    "pad in the sun": rig.PAD_IN_THE_SUN,
    "pad at any time": rig.PAD_AT_ANY_TIME,
    "sodium bay": rig.SODIUM_BAY,
    "under snow": rig.UNDER_SNOW,
    "hot inverter": home.HOT_INVERTER,
}

BOTH_BUILDS = (
    "generator trip",
    "light autumn",
    "medium cold",
    "spare and wait",
    "heavy locked",
    "flooded fast",
    "pad in the sun",
)
