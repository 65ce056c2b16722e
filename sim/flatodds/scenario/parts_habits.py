"""How people live, resolved."""

from __future__ import annotations

from dataclasses import dataclass

from flatodds.catalog import Window

WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


@dataclass(frozen=True, slots=True)
class Habits:
    """How many people there are, when they rise, and when nobody is home.

    Attributes
    ----------
    people : int
        The catalogue's use per person is for two.
    rise_h : float
        Hours by which the catalogue's morning windows are moved.
    away_every_days : int or None
        Away on one day in so many; which of them is left to chance.
    away_weekdays : tuple of int
        Away on these days of the week, 0 is Monday.
    away_hours : tuple of (start, end) or None
        Local hours away on such a day; None: never away.
    """

    people: int
    rise_h: float
    away_every_days: int | None
    away_weekdays: tuple[int, ...]
    away_hours: Window | None
