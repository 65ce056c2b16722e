"""How it is said how much cooling a rig holds: one sentence, a table of ways, a table of months."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from flatodds.outcomes.said import counted, of_100, seen
from flatodds.report.compare_words import chance_cell, in_columns
from flatodds.report.heat_words import held_text
from flatodds.report.words import number, plain_ascii, weather_lines, wrapped
from flatodds.units import degrees_text

COLUMNS = 80  # of a plain terminal: common practice
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
CAREFUL = (
    "Safety: heat kills children, pets, old and ill people first. Never let one of them depend "
    "on an air conditioner that runs from a battery."
)

Part = Mapping[str, Any]


def way_of(summary: Part, rule: str, *, generator: bool) -> Part | None:
    """Find a way to cool; None where it was not lived."""
    for way in summary["ways"]:
        if way["rule"] == rule and way["generator"] is generator:
            return dict(way)
    return None


def cooling_sentence(summary: Part, *, us: bool) -> str:
    """Answer in one sentence what the rig holds by its own rule, and what a generator adds.

    `us` puts degrees Fahrenheit first.
    """
    units = counted(summary["members"], summary["record_years"], "simulated stays")
    alone = way_of(summary, "as written", generator=False)
    helped = way_of(summary, "as written", generator=True)
    assert alone is not None and helped is not None  # noqa: S101, PT018  (always lived)
    if not alone["hot_days"]:
        limit = degrees_text(summary["comfort_high_c"], us=us)
        return f"No day would be hotter than {limit} inside, so there is nothing to cool."
    ran, held = number(alone["cooling_hours_day"]), held_text(alone["held_frac"])
    odds = seen(alone["odds_flat"]["estimate"], units)
    machine, hours = f"{summary['generator_watts']:,.0f} W", number(helped["generator_hours_day"])
    more = (
        f"with a generator of {machine} it runs {number(helped['cooling_hours_day'])} hours and "
        f"holds {held_text(helped['held_frac'])}, for {hours} generator hours a day"
    )
    return (
        f"Without a generator cooling runs {ran} hours a day, holds {held}, and the battery "
        f"runs flat in {odds}; {more}."
    )


def must_sentence(summary: Part) -> str:
    """Say what it takes to cool whenever it is hot; empty where that is the rule anyway."""
    alone = way_of(summary, "whenever hot", generator=False)
    if alone is None or not alone["hot_days"]:
        return ""
    units = counted(summary["members"], summary["record_years"], "simulated stays")
    odds = seen(alone["odds_flat"]["estimate"], units)
    return (
        f"Run whenever it is hot, without a generator, it holds {held_text(alone['held_frac'])}, "
        f"and the battery runs flat in {odds}."
    )


def season_sentence(summary: Part) -> str:
    """Say which months the rig holds best and worst by its own rule; empty for one month."""
    alone = way_of(summary, "as written", generator=False)
    months = [row for row in (alone or {}).get("months", ()) if row["held_frac"] is not None]
    if len(months) < 2:
        return ""
    worst, best = (pick(months, key=lambda row: row["held_frac"]) for pick in (min, max))
    if worst["held_frac"] == best["held_frac"]:
        return ""
    names = [MONTHS[row["month"] - 1] for row in (best, worst)]
    return (
        f"By its rule alone it holds {held_text(best['held_frac'])} in {names[0]}, "
        f"{held_text(worst['held_frac'])} in {names[1]}."
    )


def idle_sentence(summary: Part) -> str:
    """Say that the generator starts too late to feed cooling; empty where it does not."""
    start, line = summary["generator_start_frac"], summary["only_above_charge_frac"]
    if start >= line or summary["need"] != "above-charge":
        return ""
    return (
        f"Cooling rests at {100 * line:.0f} % charge and the generator starts at "
        f"{100 * start:.0f} %, so by this rule it hardly helps: raise generator.start_frac."
    )


def cooling_text(summary: Part, heading: str, *, us: bool) -> str:
    """Write the answer for a terminal, at most 80 columns."""
    lines = [plain_ascii(heading, COLUMNS), "", *wrapped(cooling_sentence(summary, us=us))]
    for sentence in (season_sentence(summary), must_sentence(summary), idle_sentence(summary)):
        lines += wrapped(sentence)
    lines += ["", *ways_lines(summary)]
    for way in summary["ways"][1:3]:
        lines += ["", *month_lines(way)]
    hot, keep = (degrees_text(summary[key], us=us) for key in ("comfort_high_c", "hold_c"))
    lines += ["", *wrapped(f"Hot: warmer than {hot} inside. The unit keeps {keep}.")]
    lines += wrapped(CAREFUL)
    lines += weather_lines(summary)
    units = counted(summary["members"], summary["record_years"], "simulated stays")
    lines += wrapped(f"{units}, seed {summary['seed']}; all ways lived the same weather.")
    return "\n".join(lines)


def ways_lines(summary: Part) -> list[str]:
    """Rows of ways to cool, hours as means a day."""
    ways = summary["ways"]
    columns = [
        ("of 100", [chance_cell(way["odds_flat"]) for way in ways]),
        ("hot h", [number(way["hot_hours_day"]) for way in ways]),
        ("runs h", [_cell(way["cooling_hours_day"]) for way in ways]),
        ("days held", [held_cell(way["held_frac"]) for way in ways]),
        ("gen h", [number(way["generator_hours_day"]) for way in ways]),
    ]
    return [
        "  Stays of 100 that run flat; hours are those of a mean day.",
        *in_columns([way["name"] for way in ways], columns),
    ]


def month_lines(way: Part) -> list[str]:
    """Rows of months of one way."""
    months = way["months"]
    names = [f"{MONTHS[row['month'] - 1]}" for row in months]
    columns = [
        ("of 100 flat", [chance_cell(row["odds_flat"]) for row in months]),
        ("hot h", [number(row["hot_hours_day"]) for row in months]),
        ("held h", [_cell(row["held_hours_day"]) for row in months]),
        ("runs h", [_cell(row["cooling_hours_day"]) for row in months]),
        ("days held", [held_cell(row["held_frac"]) for row in months]),
        ("gen h", [number(row["generator_hours_day"]) for row in months]),
    ]
    return [
        plain_ascii(f"  Cooling {way['name']}, by month:", COLUMNS),
        *in_columns(names, columns),
    ]


def held_cell(held: float | None) -> str:
    """Write the share of hot days held, short."""
    if held is None:
        return "-"
    if held in (0.0, 1.0):
        return "all" if held else "none"
    return of_100(held)


def _cell(value: float | None) -> str:
    return "-" if value is None else number(value)
