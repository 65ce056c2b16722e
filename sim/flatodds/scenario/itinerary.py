"""Stays in order of time, without overlap, each with its clock."""

from __future__ import annotations

from collections.abc import Sequence

from flatodds.errors import Problem
from flatodds.scenario import defaults
from flatodds.scenario.dates import DAYS, day_of_year, day_text, month_and_day, parse_day
from flatodds.scenario.defaults import Ledger
from flatodds.scenario.parts import Stay
from flatodds.scenario.places import clock_at, parse_place
from flatodds.scenario.problems import Where
from flatodds.scenario.written import WrittenStay
from flatodds.units import m_from_ft


def resolve_stays(
    written: Sequence[WrittenStay], where: Where, ledger: Ledger
) -> tuple[tuple[Stay, ...], list[Problem]]:
    """Resolve stays as written, and list what is wrong among them."""
    stays: list[Stay] = []
    problems: list[Problem] = []
    for index, entry in enumerate(written):
        if entry.elevation_m is not None and entry.elevation_ft is not None:
            path = ("stay", index, "elevation_ft")
            problems.append(
                Problem(
                    where.line(path),
                    f"{where.key(path)} and elevation_m are both written.",
                    "Keep one of them.",
                )
            )
        stay = _stay(entry, index, stays[-1] if stays else None, where, ledger)
        stays.append(stay)
        end = stay.start_day + stay.nights
        if index and end - stays[0].start_day > DAYS:
            problems.append(_out_of_order(stays, where))
            break
    return tuple(stays), problems


def _stay(
    entry: WrittenStay, index: int, before: Stay | None, where: Where, ledger: Ledger
) -> Stay:
    def key(name: str) -> str:
        return where.key(("stay", index, name))

    latitude, longitude = parse_place(entry.place)
    time_zone, utc_offset_h = clock_at(latitude, longitude)
    month, day = parse_day(entry.first_day)
    first_doy = day_of_year(month, day)
    elevation_m = entry.elevation_m
    if entry.elevation_ft is not None:
        elevation_m = m_from_ft(entry.elevation_ft)
    if elevation_m is None:
        ledger.note(key("elevation_m"), None, defaults.TERRAIN)
    if entry.weather is None:
        ledger.note(key("weather"), None, defaults.BUILT_IN_WEATHER)
    if before is not None and entry.arrival_charge_frac is None:
        ledger.note(key("arrival_charge_frac"), None, defaults.AS_BEFORE)
    earliest = before.start_day + before.nights if before else first_doy
    return Stay(
        name=entry.name or entry.place,
        place=entry.place,
        latitude=latitude,
        longitude=longitude,
        elevation_m=elevation_m,
        first_day=(month, day),
        first_doy=first_doy,
        start_day=earliest + (first_doy - earliest) % DAYS,
        nights=entry.nights,
        weather=entry.weather,
        source=entry.source or "auto",
        time_zone=time_zone,
        utc_offset_h=utc_offset_h,
        arrival_charge_frac=entry.arrival_charge_frac,
    )


def _out_of_order(stays: Sequence[Stay], where: Where) -> Problem:
    """Problem of the last stay: it cannot follow the others within a year."""
    before, stay = stays[-2], stays[-1]
    path = ("stay", len(stays) - 1, "first_day")
    free = day_text(*month_and_day(before.start_day + before.nights))
    return Problem(
        where.line(path),
        f"{where.key(path)} {day_text(*stay.first_day)} for {stay.nights} nights does not fit:"
        f" the stay before lasts until {free}, and all stays lie within one year.",
        f'List stays in order of time; this one may begin on "{free}" or later.',
    )
