"""An air conditioner, resolved: every value filled in."""

from __future__ import annotations

from dataclasses import dataclass

from flatodds.catalog import Window


@dataclass(frozen=True, slots=True)
class Cooling:
    """An air conditioner and the rule by which it runs.

    Attributes
    ----------
    watts, cooling_w : float
        Drawn at its plug, and heat taken out, at the rating point (35 degrees Celsius outside).
    start_w : float
        Drawn for a moment at each start.
    hold_c : float
        Temperature it keeps.
    need : str
        "must", "above-charge" or "spare-sun".
    only_above_charge_frac : float
        For "above-charge": it rests at or below this charge.
    windows, must_windows : tuple of (start, end)
        Local hours in which it may run, and in which it runs whatever the charge.
    sensible_frac : float or None
        Share of its work that cools; None: by humidity.
    inside_wet_bulb_c : float or None
        Wet bulb of the air it draws in; None: by humidity.
    """

    unit: str
    watts: float
    cooling_w: float
    side: str
    soft_start: bool
    start_w: float
    hold_c: float
    need: str
    only_above_charge_frac: float
    windows: tuple[Window, ...]
    must_windows: tuple[Window, ...]
    sensible_frac: float | None
    inside_wet_bulb_c: float | None
