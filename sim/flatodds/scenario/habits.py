"""Fills in how people live, and fits the catalogue's appliances to it."""

from __future__ import annotations

import math
from dataclasses import replace

from flatodds.catalog import Window, appliances, parse_window
from flatodds.errors import Problem
from flatodds.scenario.defaults import PRACTICE, Ledger
from flatodds.scenario.lines import Path
from flatodds.scenario.parts import ApplianceUse
from flatodds.scenario.parts_habits import WEEKDAYS, Habits
from flatodds.scenario.problems import Where
from flatodds.scenario.written_habits import WrittenHabits

CATALOGUE_PEOPLE = 2  # whom the catalogue's use per person is for
PEOPLE = (CATALOGUE_PEOPLE, "the catalogue's use per person is for two: " + PRACTICE)
RISE = ("usual", "morning hours as in the catalogue: " + PRACTICE)
RISE_H = {"early": -1.5, "usual": 0.0, "late": 1.5}  # common practice, no source
AWAY_HOURS = ("9-17", "a day out: " + PRACTICE)
MORNING_FROM_H, MORNING_TO_H = 4.0, 11.0  # a window inside these is of the morning: own choice


def resolve_habits(
    written: WrittenHabits, where: Where, ledger: Ledger
) -> tuple[Habits, list[Problem]]:
    """Fill in the habits of a household, and list what is wrong with them."""
    people = ledger.take("household.people", written.people, *PEOPLE)
    rise = ledger.take("household.rise", written.rise, *RISE)
    problems: list[Problem] = []
    weekdays = tuple(WEEKDAYS.index(day) for day in written.away_weekdays or ())
    often = written.away_every_days is not None or bool(weekdays)
    hours: Window | None = None
    if often:
        hours = parse_window(ledger.take("household.away_hours", written.away_hours, *AWAY_HOURS))
    path: Path = ("household", "away_hours")
    if written.away_every_days is not None and weekdays:
        other: Path = ("household", "away_every_days")
        found = f"{where.key(other)} and away_weekdays are both written."
        problems.append(Problem(where.line(other), found, "Keep one of them."))
    if hours is not None and hours[1] > 24.0:
        found = f"{where.key(path)} goes over midnight."
        problems.append(Problem(where.line(path), found, 'Write it as in "9-17" or "0-24".'))
    if written.away_hours is not None and not often:
        found = f"{where.key(path)} is written, but not on which days."
        hint = 'Write also: household.away_weekdays = ["Mon", "Tue", "Wed", "Thu", "Fri"]'
        problems.append(Problem(where.line(path), found, hint))
    habits = Habits(
        people=people,
        rise_h=RISE_H[rise],
        away_every_days=written.away_every_days,
        away_weekdays=tuple(sorted(set(weekdays))),
        away_hours=hours,
    )
    return habits, problems


def as_lived(use: ApplianceUse, habits: Habits) -> ApplianceUse:
    """Fit an appliance of the catalogue or a pattern to a household's number and hours.

    Twice the people make twice the runs; as they act on their own, the spread grows with
    the square root.
    """
    if use.kind != "uses":
        return use
    if use.use is not None and appliances()[use.use].per_person:
        ratio = habits.people / CATALOGUE_PEOPLE
        use = replace(
            use,
            times_a_day=use.times_a_day * ratio,
            times_a_day_weekend=use.times_a_day_weekend * ratio,
            times_sd=use.times_sd * math.sqrt(ratio),
        )
    windows = tuple(
        (start_h + habits.rise_h, end_h + habits.rise_h)
        if start_h >= MORNING_FROM_H and end_h <= MORNING_TO_H
        else (start_h, end_h)
        for start_h, end_h in use.windows
    )
    return replace(use, windows=windows)


def habit_words(habits: Habits) -> str:
    """Tell the habits that differ from usual; empty where none does."""
    many = "1 person" if habits.people == 1 else f"{habits.people} people"
    parts = [] if habits.people == CATALOGUE_PEOPLE else [many]
    if habits.rise_h:
        parts.append("rise early" if habits.rise_h < 0.0 else "rise late")
    if habits.away_hours is not None:
        if habits.away_every_days is not None:
            days = f"one day in {habits.away_every_days}"
        else:
            days = ", ".join(WEEKDAYS[day] for day in habits.away_weekdays)
        start_h, end_h = habits.away_hours
        parts.append(f"away {end_h - start_h:g} h on {days}")
    return ", ".join(parts)
