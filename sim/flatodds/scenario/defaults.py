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
SURGE_RATIO = (1.5, "for seconds, 1.5 to 2: from memory")
CAUTION_ABOVE_RESERVE_FRAC = (0.15, "the reserve and 0.15 more: " + PRACTICE)
INSIDE_DAY_C = (18.0, PRACTICE)
INSIDE_NIGHT_C = (14.0, PRACTICE)
HEAT = ("gas furnace", PRACTICE)
USE_FRAC = (0.15, "judgement: how far people's own estimates are off, no source")
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
