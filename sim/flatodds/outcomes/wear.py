"""What a stay does to the bank: cycles, days without a full charge, years until it is worn."""

from __future__ import annotations

from typing import Any

import numpy as np

from flatodds.battery.wear import years_by_cycles
from flatodds.catalog import Chemistry, chemistries
from flatodds.engine.holding import parts_of
from flatodds.outcomes.amounts import Floats, member_amount, mixture_amount
from flatodds.outcomes.record import Record

MOST_MEMBERS = 256  # cycles are counted in so many members: enough for a mean, quick enough
HUNGRY_DAYS = 14.0  # lead should be full once a fortnight at least: common practice, no source


def wear_part(record: Record, stay: int) -> dict[str, Any]:
    """Full cycles, longest time since full, and years until 80 % of a new bank is left.

    Full cycles are all the charge that was drawn over the rated capacity, within hours too.
    Years by cycles live every day as these, cycle after cycle by its depth (rainflow count
    of daily extremes, ``as_estimated``); by calendar it is the chemistry's shelf life. The
    shorter of the two rules.
    """
    cycles = record.stay_sum("discharge_ah", stay) / record.facts.bank_ah
    waits = record.extreme("longest_days_since_full", stay)
    kind = chemistry_of(record)
    years = None if kind is None else cycle_years(record, kind, stay)
    return {
        "full_cycles": mixture_amount(cycles, record.weights),
        "longest_days_since_full": mixture_amount(waits, record.weights),
        "years_to_80pct": {
            "by_cycles": None if years is None else member_amount(years),
            "by_calendar": None if kind is None else kind.calendar_years,
        },
    }


def chemistry_of(record: Record) -> Chemistry | None:
    """Catalogue entry of the bank, or None if this version does not know it."""
    return chemistries().get(record.facts.chemistry)


def cycle_years(record: Record, kind: Chemistry, stay: int) -> Floats | None:
    """Years to 80 % by cycles for the first members, (member,); None where none are counted."""
    if kind.cycle_life is None or "max_charge_frac" not in record.daily:
        return None
    here = np.flatnonzero(record.day_stay == stay)
    lows, highs = (
        parts_of(record.daily, name, here, 1)[:MOST_MEMBERS].astype(np.float64)
        for name in ("min_charge_frac", "max_charge_frac")
    )
    return years_by_cycles(kind, lows, highs)


def wear_cautions(record: Record) -> list[str]:
    """Warn of lead that is hardly ever full; cycle and calendar life do not show it."""
    kind = chemistry_of(record)
    if kind is None or kind.acceptance_hours is None or kind.cycle_life is None:
        return []
    waits = record.extremes["longest_days_since_full"].mean(axis=1)
    longest = float((record.weights @ waits).max())
    if longest < HUNGRY_DAYS:
        return []
    return [
        f"The {kind.label} bank goes {longest:.0f} days without being full in a typical stay. "
        "Lead that is rarely full loses capacity for good (sulfation), often long before its "
        "cycles or years are used up, and this program does not count that loss."
    ]
