"""How weather is told on the screen: twelve months, dull spells, one finding."""

from __future__ import annotations

import textwrap

from flatodds.errors import WARNING
from flatodds.report.words import SPELLED
from flatodds.weather.spells import SPELLS, DailyWeather, Dullness, Months, Spread

COLUMNS = 80  # of a plain terminal: common practice
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
WEEK = SPELLS[-1]
MARK = 16  # digits of a hash that people compare


def weather_text(daily: DailyWeather, months: Months, dull: Dullness) -> str:
    """Tables and sentences, at most 80 columns, ASCII apart from names."""
    lines = [f"Weather: {daily.place}", "", *_month_lines(daily, months), ""]
    lines += _spell_lines(dull)
    lines += ["", *_wrapped(finding(dull)), ""]
    basis = daily.basis.translate(SPELLED).replace(f" {WARNING}", f"\n{WARNING}")
    lines += [line for text in basis.split("\n") for line in _wrapped(text)]
    if daily.sha256:
        lines += ["", f"Weather's own mark (sha256): {daily.sha256[:MARK]}"]
    return "\n".join(lines)


def quarter_text(dull: Dullness) -> str:
    """Name the dullest quarter: "Nov to Jan"."""
    return f"{MONTHS[dull.first_month]} to {MONTHS[(dull.first_month + 2) % 12]}"


def finding(dull: Dullness) -> str:
    """Say the one thing to remember."""
    week = dull.worst_kwh_m2[WEEK]
    low = week.worst if week.tenth is None else week.tenth
    share = f"{low / dull.sun_kwh_m2:.0%}".replace("%", " %") if dull.sun_kwh_m2 > 0 else "none"
    if week.tenth is None:
        times = "the one season" if dull.seasons == 1 else f"{dull.seasons} seasons"
        brought = f"{low:.2f} kWh/m2 a day, {share} of the season's mean"
        return f"The dullest week of {times} {quarter_text(dull)} brought {brought}."
    brings = f"{low:.2f} kWh/m2 a day or less, {share} of the season's mean"
    return f"In 1 season {quarter_text(dull)} of 10, the dullest week brings {brings}."


def _month_lines(daily: DailyWeather, months: Months) -> list[str]:
    rare = "1 in 10" if daily.years >= 10 else f"worst of {daily.years}"
    fahrenheit = months.temp_c * 1.8 + 32.0
    return [
        "Sun on level ground, kWh/m2 a day, and mean air temperature",
        _row("", MONTHS),
        _row("sun", [f"{value:.2f}" for value in months.sun_kwh_m2]),
        _row(f"sun, {rare}", [f"{value:.2f}" for value in months.dull_kwh_m2]),
        _row("air C", [_degrees(value) for value in months.temp_c]),
        _row("air F", [_degrees(value) for value in fahrenheit]),
    ]


def _degrees(value: float) -> str:
    text = f"{value:.0f}"
    return "0" if text == "-0" else text


def _row(name: str, cells: tuple[str, ...] | list[str]) -> str:
    return f"{name:<14}" + "".join(f"{cell:>5}" for cell in cells)


def _spell_lines(dull: Dullness) -> list[str]:
    rare = "worst" if dull.longest_days.tenth is None else "1 in 10"
    lines = [
        f"Dull spells in {quarter_text(dull)} ({dull.sun_kwh_m2:.2f} kWh/m2 a day on average;"
        f" {dull.seasons:,} seasons)",
        f"{'':<46}{'mean':>9}{rare:>9}",
        _spell_row("longest run of days under half the month's sun", dull.longest_days, ".1f"),
    ]
    for length, spread in dull.worst_kwh_m2.items():
        lines.append(_spell_row(f"dullest {length} days in a row, kWh/m2 a day", spread, ".2f"))
    return lines


def _spell_row(name: str, spread: Spread, how: str) -> str:
    rare = spread.worst if spread.tenth is None else spread.tenth
    return f"{name:<46}{format(spread.mean, how):>9}{format(rare, how):>9}"


def _wrapped(text: str) -> list[str]:
    return textwrap.wrap(text, COLUMNS, break_on_hyphens=False)
