"""Values used where a scenario says nothing, each with where it comes from."""

from __future__ import annotations

from typing import TypeVar

from flatodds.scenario.parts import Assumed

T = TypeVar("T")

PRACTICE = "common practice, no source"

# value, why
HOME = ("trailer", PRACTICE)
ARRIVAL_CHARGE_FRAC = (0.8, PRACTICE)
INVERTER_WATTS = (0.0, "no inverter written")
IDLE_W = (28.0, "clamp-meter audit of a motorhome by its owner (2.2 A)")
# What an inverter draws for P watts beside idling, P (slope + bend P / rating). Least squares of
# relative power, with 28 W of idling on 2,000 W, to the median of the 33 inverters with input
# below 70 V in the CEC list (table shipped with pvlib, 2019-03-05) at 5, 10, 20, 30, 50, 75 and
# 100 % load: .782 .865 .911 .924 .921 .918 .909; the fit: .774 .865 .914 .926 .928 .918 .905.
INVERTER_LOSSES = (1.0075, 0.0840)
INVERTER_SOURCE = "median of 33 low-voltage inverters in the CEC list"
SURGE_RATIO = (1.5, "for seconds, 1.5 to 2: from memory")
HOT_INVERTER = (0.0056, "2,400 W at 25 C are about 2,200 at 40: from memory")
CAUTION_ABOVE_RESERVE_FRAC = (0.15, "the reserve and 0.15 more: " + PRACTICE)
INSIDE_DAY_C = (18.0, PRACTICE)
INSIDE_NIGHT_C = (14.0, PRACTICE)
HEAT = ("gas furnace", PRACTICE)
USE_FRAC = (0.15, "judgement: how far people's own estimates are off, no source")
COLD_GATE_C = (1.5, "locks are seen at -4 to 0 C, releases at 0 to 5; as a spread: judgement")
NO_COLD_GATE_C = (0.0, "sun and use are taken as certain")
# What a household fridge uses in homes for L kWh a year on its label: 0.94 L - 85, of 209 units
# (LBNL). The study's kitchens are not known; as warm as this over a year: judgement.
LABEL_TO_FIELD = (0.94, -85.0)
KITCHEN_C = 22.0
HOURS_A_YEAR = 8760.0  # definition
TIMES_SPREAD = (0.3, "spread of 0.3 of the mean: " + PRACTICE)
RECONNECT_ABOVE_CUTOFF_FRAC = 0.05  # common practice, no source
COLD_RELEASE_ABOVE_LIMIT_C = 2.0  # common practice, no source

TERRAIN = "to be looked up from the terrain"
BUILT_IN_WEATHER = "built-in estimate for the place"
YEARS_BY_COUNT = "as they were from ten real years on, shuffled from five, else invented"
WET_BY_SUN = "judged by how dull each month is"
AS_WEATHER = "typical error of the weather used"
AS_BEFORE = "as the stay before left it"


class Ledger:
    """Fills in values and keeps a list of all that were not written."""

    def __init__(self) -> None:
        self.entries: list[Assumed] = []

    def take(self, key: str, written: T | None, default: T, why: str) -> T:
        """Return what was written, or else the default, noted with its reason."""
        if written is not None:
            return written
        self.note(key, default, why)
        return default

    def note(self, key: str, value: object, why: str) -> None:
        """Note a value that was filled in."""
        kept = value if isinstance(value, float | int | str) or value is None else str(value)
        self.entries.append(Assumed(key, kept, why))
