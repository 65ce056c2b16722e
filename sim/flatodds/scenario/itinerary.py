"""Stays in order of time, without overlap, each with its clock."""

from __future__ import annotations

from collections.abc import Sequence

from flatodds.errors import Problem
from flatodds.scenario import defaults
from flatodds.scenario.arrays import resolve_shade
from flatodds.scenario.dates import DAYS, day_of_year, day_text, month_and_day, parse_day
from flatodds.scenario.defaults import Ledger
from flatodds.scenario.defaults_cooling import SHADE_FRAC
from flatodds.scenario.parts import Stay
from flatodds.scenario.places import clock_at, parse_place, place_named
from flatodds.scenario.problems import Where
from flatodds.scenario.values import SAMPLES
from flatodds.scenario.written import WrittenStay
from flatodds.units import c_from_f, m_from_ft


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
        if entry.coldest_c is not None and entry.coldest_f is not None:
            path = ("stay", index, "coldest_f")
            found = f"{where.key(path)} and coldest_c are both written."
            problems.append(Problem(where.line(path), found, "Keep one of them."))
        problems += _weather_problems(entry, index, where)
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
    if entry.weather is None and entry.monthly_sun_kwh_m2 is None:
        ledger.note(key("weather"), None, defaults.BUILT_IN_WEATHER)
    if entry.weather is not None and entry.years is None and entry.weather not in SAMPLES:
        ledger.note(key("years"), None, defaults.YEARS_BY_COUNT)
    if entry.monthly_wet_days is None:
        ledger.note(key("monthly_wet_days"), None, defaults.WET_BY_SUN)
    if before is not None and entry.arrival_charge_frac is None:
        ledger.note(key("arrival_charge_frac"), None, defaults.AS_BEFORE)
    earliest = before.start_day + before.nights if before else first_doy
    place = place_named(entry.place)
    return Stay(
        name=entry.name or place,
        place=place,
        latitude=latitude,
        longitude=longitude,
        elevation_m=elevation_m,
        first_day=(month, day),
        first_doy=first_doy,
        start_day=earliest + (first_doy - earliest) % DAYS,
        nights=entry.nights,
        weather=_files(entry.weather),
        years=entry.years,
        monthly_sun_kwh_m2=_months(entry.monthly_sun_kwh_m2),
        monthly_temp_c=_months(entry.monthly_temp_c, entry.monthly_temp_f),
        monthly_wet_days=_months(entry.monthly_wet_days),
        source=entry.source or "auto",
        time_zone=time_zone,
        utc_offset_h=utc_offset_h,
        arrival_charge_frac=entry.arrival_charge_frac,
        shade=resolve_shade(entry, key, ledger),
        coldest_c=c_from_f(entry.coldest_f) if entry.coldest_f is not None else entry.coldest_c,
        home_shade_frac=None if entry.home_shade is None else SHADE_FRAC[entry.home_shade],
    )


def _files(weather: str | list[str] | None) -> str | tuple[str, ...] | None:
    """One name, or several that no change can reach."""
    if isinstance(weather, list):
        return weather[0] if len(weather) == 1 else tuple(weather)
    return weather


def _months(
    values: Sequence[float] | None, fahrenheit: Sequence[float] | None = None
) -> tuple[float, ...] | None:
    if values is None and fahrenheit is not None:
        values = [c_from_f(value) for value in fahrenheit]
    return None if values is None else tuple(float(value) for value in values)


def _weather_problems(entry: WrittenStay, index: int, where: Where) -> list[Problem]:
    """Ways of saying the weather that do not go together."""
    pairs = [("monthly_temp_f", "monthly_temp_c")]
    pairs += [
        (name, "weather") for name in ("monthly_sun_kwh_m2", "monthly_temp_c", "monthly_temp_f")
    ]
    problems = []
    for first, second in pairs:
        if getattr(entry, first) is not None and getattr(entry, second) is not None:
            path = ("stay", index, first)
            found = f"{where.key(path)} and {second} are both written."
            problems.append(Problem(where.line(path), found, "Keep one of them."))
    if entry.years is not None and entry.weather is None:
        path = ("stay", index, "years")
        found = f"{where.key(path)} says how real years are lived, but there is no weather file."
        hint = 'Write: weather = "my-years.csv", or leave years out.'
        problems.append(Problem(where.line(path), found, hint))
    return problems


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
