"""How it is said how long the charge lasts: one sentence, a table of nights, what not to use."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from flatodds.catalog.called import called
from flatodds.outcomes.said import counted, of_100, rounded, seen
from flatodds.report.compare_words import ENDS, difference_words, no_difference_words, shows
from flatodds.report.words import nights_text, weather_lines, wrapped

COLUMNS = 80  # of a plain terminal: common practice
ROWS = (1, 2, 3, 4, 5, 7, 10, 14, 21, 30, 45, 60, 90, 120)  # nights the table shows
NOT_A_FORECAST = "Not a forecast: these days as they are in many years."
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def lasts_sentence(lasts: Mapping[str, int | None], ahead: int) -> str:
    """Say how many nights the charge lasts: half the time, 1 time in 10, 9 times in 10."""
    few, half, many = lasts["p10"], lasts["p50"], lasts["p90"]
    if few is None:
        return f"More than 9 times in 10 it lasts all {nights_text(ahead)} looked ahead."
    if half is None:
        return (
            f"Most often it lasts the {nights_text(ahead)} looked ahead; 1 time in 10 only {few}."
        )
    tail = "more than were looked ahead" if many is None else f"{many} or more"
    if half == 0:
        return "More often than not it runs flat before the first night is over."
    return (
        f"Half the time it lasts {nights_text(half)} or more; 1 time in 10 only {few}; "
        f"1 time in 10, {tail}."
    )


def known_sentence(summary: Mapping[str, Any]) -> str:
    """Say what is known of the weather of the last days."""
    known = summary["known_of_the_weather"]
    if not known:
        return "Nothing is known of the weather of the last days; --lately dull tells it."
    return f"Known: {known}."


def without_sentence(row: Mapping[str, Any], summary: Mapping[str, Any]) -> str:
    """Say what leaving one appliance out changes."""
    before, after = summary["lasts_nights"]["p50"], row["lasts_nights"]["p50"]
    ahead = nights_text(summary["nights"])
    if shows(row["difference"]):
        words = difference_words(row["difference"], f"spells of {ahead}")
    else:
        words = no_difference_words(
            row["difference"], summary["members"], summary["record_years"], f"spells of {ahead}"
        )
    if before != after:
        then = f"half the time {ahead if after is None else nights_text(after)} or more"
        then += f" instead of {before}" if before is not None else ""
        words = f"{then}; by the end {words}"
    return f"Without {called(row['name'])}: {words}."


def heading(summary: Mapping[str, Any]) -> str:
    """Title, day, charge and place in one line."""
    month, day = summary["first_day"]
    charge = round(100 * summary["charge_frac"])
    title, place = summary["scenario"]["title"], summary["place"]
    return f"{title}: {charge} % as {day} {MONTHS[month - 1]} begins, {place}"


def days_left_text(summary: Mapping[str, Any]) -> str:
    """Write the answer for a terminal, at most 80 columns."""
    lines = [*wrapped(heading(summary)), ""]
    lines += wrapped(lasts_sentence(summary["lasts_nights"], summary["nights"]))
    lines += wrapped(f"{known_sentence(summary)} {NOT_A_FORECAST}", COLUMNS, "  ")
    lines += ["", *table_lines(summary), ""]
    for row in summary["without"]:
        lines += wrapped(without_sentence(row, summary))
    lines += weather_lines(summary)
    units = counted(summary["members"], summary["record_years"], "simulated spells")
    lines += wrapped(f"{units}, seed {summary['seed']}. Odds, not a promise.")
    return "\n".join(lines)


def table_lines(summary: Mapping[str, Any]) -> list[str]:
    """Rows of nights: the chance to get through all of them, and charge left at dawn."""
    dawn = summary["dawn_charge_frac"]
    units = counted(summary["members"], summary["record_years"], "simulated spells")
    nights = [n for n in ROWS if n <= summary["nights"]]
    cells = [chance_cell(summary["through"][n - 1], units) for n in nights]
    wide = max(28, *map(len, cells))
    title = f"{'chance to get through them':<{wide}}"
    lines = [f"  {'nights':>6}  {title}  charge at dawn, 8 of 10 times"]
    for night, words in zip(nights, cells, strict=True):
        ends = [round(100 * dawn[key][night - 1]) for key in ("p10", "p90")]
        charge = " to ".join(f"{end}" for end in dict.fromkeys(ends))
        lines.append(f"  {night:>6}  {words:<{wide}}  {charge} %")
    return lines


def chance_cell(chance: Mapping[str, float], units: str) -> str:
    """Write a chance with its interval, rounded outwards and never to none or all."""
    if chance["estimate"] in (0.0, 1.0):
        return seen(chance["estimate"], units)
    words = of_100(chance["estimate"])
    if words.endswith("of 1,000"):
        thousands = [rounded(1000 * chance[key], way) for key, way in ENDS]
        return f"{words} ({max(thousands[0], 1) if thousands[0] else '<1'} to {thousands[1]})"
    low, high = rounded(100 * chance["low"], "down"), rounded(100 * chance["high"], "up")
    ends = f"{max(low, 1) if low else '<1'} to {high if high < 100 else '>99'}"
    return f"{words} ({ends})"
