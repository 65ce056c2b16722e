"""Unit suffixes a name may end in, their CF unit strings, and exact conversions.

Inside flatodds every number is SI; people's own units are converted once, at the door.
Factors are exact by definition: NIST Special Publication 811 (2008), appendix B.
"""

from __future__ import annotations

FOOT_M = 0.3048  # exact, NIST SP 811 appendix B.8
US_GALLON_L = 3.785411784  # exact (231 cubic inches), NIST SP 811 appendix B.8
FAHRENHEIT_STEP_C = 5.0 / 9.0  # exact, NIST SP 811 appendix B.8
FREEZING_F = 32.0  # exact, NIST SP 811 appendix B.8

# Last word (or words) of a name -> unit string as the CF conventions (UDUNITS-2) write it.
CF_UNITS: dict[str, str] = {
    "a": "A",
    "ah": "A h",
    "c": "degC",
    "days": "day",
    "deg": "degree",
    "f": "degF",
    "frac": "1",
    "ft": "foot",
    "gal": "US_liquid_gallon",
    "h": "h",
    "hours": "h",
    "j_per_k": "J K-1",
    "kw": "kW",
    "kwh": "kW h",
    "l": "litre",
    "l_per_h": "litre h-1",
    "l_per_kwh": "litre (kW h)-1",
    "litres": "litre",
    "m": "m",
    "m2": "m2",
    "m_s": "m s-1",
    "min": "min",
    "minutes": "min",
    "nights": "day",
    "ohm": "ohm",
    "per_c": "degC-1",
    "v": "V",
    "w": "W",
    "w_m2": "W m-2",
    "w_per_k": "W K-1",
    "watts": "W",
    "wh": "W h",
    "wh_m2": "W h m-2",
}


def unit_of(name: str) -> str | None:
    """CF unit string told by the last words of a name; None when it tells none.

    The longest suffix wins: ``ghi_w_m2`` is in W m-2, not in m2.
    """
    words = name.split("_")
    for start in range(1, len(words)):
        unit = CF_UNITS.get("_".join(words[start:]))
        if unit is not None:
            return unit
    return None


def c_from_f(temperature_f: float) -> float:
    """Degrees Celsius from degrees Fahrenheit."""
    return (temperature_f - FREEZING_F) * FAHRENHEIT_STEP_C


def f_from_c(temperature_c: float) -> float:
    """Degrees Fahrenheit from degrees Celsius."""
    return temperature_c / FAHRENHEIT_STEP_C + FREEZING_F


def degrees_text(temperature_c: float, *, us: bool, degree: str = "") -> str:
    """Write a temperature in both scales, the reader's own first: ``"84 F (29 C)"``.

    `degree` is the mark to set before the letter.
    """
    celsius = f"{round(temperature_c)} {degree}C"
    fahrenheit = f"{round(f_from_c(temperature_c))} {degree}F"
    return f"{fahrenheit} ({celsius})" if us else f"{celsius} ({fahrenheit})"


def m_from_ft(length_ft: float) -> float:
    """Metres from international feet."""
    return length_ft * FOOT_M


def ft_from_m(length_m: float) -> float:
    """International feet from metres."""
    return length_m / FOOT_M


def l_from_gal(volume_gal: float) -> float:
    """Litres from US liquid gallons."""
    return volume_gal * US_GALLON_L


def gal_from_l(volume_l: float) -> float:
    """US liquid gallons from litres."""
    return volume_l / US_GALLON_L
