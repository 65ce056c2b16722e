"""How a chance is said: rounding, verdicts, the sentences that answer.

A chance is said as so many of 100, or of 1,000 when it is small, without decimals. It is never
called 0 or 100 %, and nothing is ever called safe. These words stand with the results so that a
result answers by itself; how the rest is told is the report's.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any, Literal

Rounding = Literal["nearest", "down", "up"]

# Verdict limits: own judgement of what these words mean to people, no source.
VERY_UNLIKELY_HIGH = 0.02  # the whole range lies below this
UNSURE_LOW, UNSURE_HIGH = 0.02, 0.50  # a range this wide answers nothing
UNLIKELY, REAL_CHANCE, SOME_TROUBLE = 0.05, 0.20, 0.60  # upper limits of the estimate

MOSTLY = 0.5  # a range from here to nearly all is "so many or more": own judgement
CANNOT_TELL = "we cannot tell yet"
TOO_ROUGH = "sun and use are too uncertain"
UNKNOWN = {"sun": "sun", "use": "use", "cold_gate": "the battery's cold lock"}
LEAST_BARRED_KWH = 1e-3  # in the mean stay, from which a cold lock is worth a word: own judgement


def of_100(chance: float, rounding: Rounding = "nearest") -> str:
    """Say a chance as a whole number of 100, of 1,000 when small, never none and never all.

    Parameters
    ----------
    chance : float
        0 to 1.
    rounding : {"nearest", "down", "up"}
        Ends of a range are rounded outwards, so that rounding never narrows it.
    """
    thousand = rounded(chance * 1000.0, rounding)
    if thousand < 1:
        return "fewer than 1 of 1,000"
    if thousand < 10:
        return f"{thousand} of 1,000"
    hundred = rounded(chance * 100.0, rounding)
    if hundred > 99:
        return "more than 99 of 100"
    return f"{max(hundred, 1)} of 100"


def about_of_100(chance: float) -> str:
    """Say a chance within a sentence: ``"about 5 of 100"``, ``"more than 99 of 100"``."""
    said = of_100(chance)
    return f"about {said}" if said[0].isdigit() else said


def rounded(value: float, rounding: Rounding) -> int:
    """Round to a whole number, forgiving the last digits of floating point."""
    if rounding == "down":
        return math.floor(value + 1e-9)
    if rounding == "up":
        return math.ceil(value - 1e-9)
    return math.floor(value + 0.5)


def counted(members: int, record_years: int | None, many: str = "simulated stays") -> str:
    """Say what a chance was counted in: simulated stays, or the real years behind them."""
    if record_years is None:
        return f"{members:,} {many}" if members != 1 else f"1 {many.removesuffix('s')}"
    return f"{record_years:,} real year" + ("s" if record_years != 1 else "")


def seen(chance: float, units: str) -> str:
    """Say a chance, or that it was never or always seen in so many `units`.

    Nothing seen in 40 stays is not "fewer than 1 of 1,000".
    """
    if chance in (0.0, 1.0):
        return f"{'all' if chance else 'none'} of {units}"
    return of_100(chance)


def range_words(band: Mapping[str, float]) -> str:
    """Say both ends of a range, rounded outwards."""
    low, high = of_100(band["low"], "down"), of_100(band["high"], "up")
    if low == high:
        return low
    if rounded(band["low"] * 1000.0, "down") < 1:
        return f"anything up to {high}" if high.startswith("more than") else f"up to {high}"
    if high.startswith("more than") and band["low"] >= MOSTLY:
        return f"{low} or more"
    if low.endswith(" of 100") and high.endswith(" of 100") and high[0].isdigit():
        low = low.removesuffix(" of 100")
    return f"{low} to {high}"


def verdict(chance: Mapping[str, float], band: Mapping[str, float]) -> str:
    """Choose the words for a chance of running flat and its range."""
    if band["high"] <= VERY_UNLIKELY_HIGH:
        return "very unlikely"
    if band["low"] <= UNSURE_LOW and band["high"] >= UNSURE_HIGH:
        return CANNOT_TELL
    if chance["estimate"] < UNLIKELY:
        return "unlikely"
    if chance["estimate"] < REAL_CHANCE:
        return "a real chance"
    return "expect some trouble" if chance["estimate"] < SOME_TROUBLE else "expect to run flat"


def answer_sentence(
    chance: Mapping[str, float], *, members: int, record_years: int | None, many: str = "stays"
) -> str:
    """Answer in one sentence how often the battery runs flat.

    Parameters
    ----------
    chance : mapping
        ``estimate``, ``low`` and ``high`` [1].
    members : int
        Simulated stays.
    record_years : int or None
        Distinct real years behind them, when the interval counts those.
    many : str
        What is counted: ``"stays"`` or ``"trips"``.
    """
    units = counted(members, record_years, f"simulated {many}")
    if chance["estimate"] <= 0.0:
        limit = of_100(chance["high"], "up")
        return f"The battery ran flat in none of {units}; we cannot rule out {limit}."
    if chance["estimate"] >= 1.0:
        spared = of_100(1.0 - chance["low"], "up")
        return f"The battery ran flat in all of {units}; we cannot rule out that {spared} do not."
    return f"The battery runs flat in {about_of_100(chance['estimate'])} such {many}."


def cold_bars(stay: Mapping[str, Any]) -> bool:
    """Whether cold kept charge out of the bank in a stay of a summary, enough to speak of."""
    return bool(stay["cold_locked_kwh"]["mean"] > LEAST_BARRED_KWH)


def unknown_in(summary: Mapping[str, Any], part: Mapping[str, Any]) -> list[str]:
    """Name what is not known exactly of a stay or the trip of a summary, a word or words each.

    A battery's cold lock is named only where cold barred charge: of a stay, in it; of a trip,
    with the count of its stays where it did, unless that is all.
    """
    stays = summary["stays"] if part is summary["trip"] else [part]
    barred = sum(cold_bars(stay) for stay in stays)
    names = [name for name in summary["theta_over"] if name != "cold_gate" or barred]
    in_some = f" (in {barred} of {len(stays)} stays)" if barred < len(stays) else ""
    return [UNKNOWN[name] + in_some * (name == "cold_gate") for name in names]


def range_sentence(band: Mapping[str, float], unknown: Sequence[str]) -> str:
    """Say the range, and what it counts that is not known: sun, use, a battery's cold lock."""
    if unknown:
        words = " and ".join(filter(None, [", ".join(unknown[:-1]), unknown[-1]]))
        are = "is" if len(unknown) == 1 else "are"
        known = f"{words[0].upper()}{words[1:]} {are} not known exactly"
        return f"{known}; with that, {range_words(band)}."
    return f"Were sun and use known exactly, {range_words(band)}."


def verdict_sentence(part: Mapping[str, Any]) -> str:
    """Say the verdict on a stay or trip of a summary as a sentence: ``"A real chance."``."""
    words = verdict(part["odds_flat"], part["odds_flat_range"])
    if words == CANNOT_TELL:
        words += f"; {TOO_ROUGH}"
    return f"{words[0].upper()}{words[1:]}."


def answer_of(summary: Mapping[str, Any], record_years: int | None, stay: int | None) -> str:
    """Answer for one stay of a summary, or for the whole trip: verdict, chance and range."""
    stays = summary["stays"]
    at = 0 if stay is None and len(stays) == 1 else stay
    part, many = (summary["trip"], "trips") if at is None else (stays[at], "stays")
    chance = answer_sentence(
        part["odds_flat"], members=summary["members"], record_years=record_years, many=many
    )
    band = range_sentence(part["odds_flat_range"], unknown_in(summary, part))
    return f"{verdict_sentence(part)} {chance} {band}"
