"""Fills in generator, drives and hookup nights, and checks them against the rig and the stays."""

from __future__ import annotations

from collections.abc import Sequence

from flatodds.catalog import Window, parse_window
from flatodds.catalog.windows import overlapping
from flatodds.errors import Problem
from flatodds.scenario import defaults_charging as defaults
from flatodds.scenario.dates import DAYS, day_of_year, parse_day
from flatodds.scenario.defaults import Ledger
from flatodds.scenario.lines import Path
from flatodds.scenario.parts import Bank, Household, Stay
from flatodds.scenario.parts_charging import Drive, Generator, Hookup
from flatodds.scenario.problems import Where
from flatodds.scenario.written import WrittenScenario, WrittenStay
from flatodds.scenario.written_charging import WrittenDrive, WrittenGenerator, WrittenHookup

Days = tuple[tuple[int, ...], ...]
Other = tuple[Generator | None, Drive | None, Hookup | None]


def resolve_charging(
    written: WrittenScenario,
    bank: Bank,
    household: Household,
    stays: tuple[Stay, ...],
    where: Where,
    ledger: Ledger,
) -> tuple[Other, list[Problem]]:
    """Resolve charging other than sun, and list what is wrong with it."""
    problems: list[Problem] = []
    generator = drive = hookup = None
    entries = written.stay[: len(stays)]  # fewer were resolved when one is out of order
    if written.generator is not None:
        windows = _generator_windows(written.generator, entries, where, ledger, problems)
        generator = _generator(written.generator, bank, household, windows, ledger)
        problems += _generator_problems(generator, where)
    if written.drive is not None:
        days = _days("drive", written.drive, entries, stays, where, problems)
        hours = _hours("drive", written.drive.hours, defaults.DRIVE_HOURS, ledger)
        drive = Drive(amps=float(written.drive.amps), windows=hours, days=days)
        problems += _overlap(("drive", "hours"), hours, where)
    if written.hookup is not None:
        days = _days("hookup", written.hookup, entries, stays, where, problems)
        hours = _hours("hookup", written.hookup.hours, defaults.HOOKUP_HOURS, ledger)
        amps = _charger_amps("hookup", written.hookup.charger_amps, bank, ledger)
        hookup = Hookup(
            charger_amps=amps, windows=hours, days=days, **_pedestal(written.hookup, ledger)
        )
        problems += _overlap(("hookup", "hours"), hours, where)
    problems += _without_table(written, where)
    return (generator, drive, hookup), problems


def _generator(
    written: WrittenGenerator,
    bank: Bank,
    household: Household,
    windows: tuple[tuple[Window, ...], ...],
    ledger: Ledger,
) -> Generator:
    def take(name: str, default: float, why: str) -> float:
        return float(ledger.take(f"generator.{name}", getattr(written, name), default, why))

    above, why = defaults.START_ABOVE_RESERVE_FRAC
    fuel = ledger.take("generator.fuel", written.fuel, *defaults.FUEL)
    fuel = "petrol" if fuel == "gasoline" else fuel
    idle_l_per_h, load_l_per_kwh = defaults.fuel_line(written.watts, fuel)
    return Generator(
        watts=float(written.watts),
        charger_amps=_charger_amps("generator", written.charger_amps, bank, ledger),
        charger_efficiency_frac=take("charger_efficiency_frac", *defaults.CHARGER_EFFICIENCY_FRAC),
        start_frac=take("start_frac", min(household.reserve_frac + above, 0.95), why),
        stop_frac=take("stop_frac", *defaults.STOP_FRAC),
        windows=windows,
        minimum_run_hours=take("minimum_run_hours", *defaults.MINIMUM_RUN_HOURS),
        warm_up_minutes=take("warm_up_minutes", *defaults.WARM_UP_MINUTES),
        sun_takes_over=ledger.take(
            "generator.sun_takes_over", written.sun_takes_over, *defaults.SUN_TAKES_OVER
        ),
        fuel=fuel,
        idle_l_per_h=take("idle_l_per_h", idle_l_per_h, defaults.FUEL_WHY[fuel]),
        load_l_per_kwh=take("load_l_per_kwh", load_l_per_kwh, defaults.FUEL_WHY[fuel]),
        height_loss_frac_per_km=take("height_loss_frac_per_km", *defaults.HEIGHT_LOSS_FRAC_PER_KM),
        heat_loss_frac_per_c=take("heat_loss_frac_per_c", *defaults.HEAT_LOSS_FRAC_PER_C),
        service_hours=take("service_hours", *defaults.SERVICE_HOURS),
    )


def _pedestal(written: WrittenHookup, ledger: Ledger) -> dict[str, float]:
    """Efficiency of the charger, and the pedestal's breaker and volts."""
    amps = ledger.take("hookup.pedestal_amps", written.pedestal_amps, *defaults.PEDESTAL_AMPS)
    two_legs = amps >= defaults.TWO_LEGS_AMPS
    volts = defaults.TWO_LEGS_VOLTS if two_legs else defaults.PEDESTAL_VOLTS
    return {
        "charger_efficiency_frac": float(
            ledger.take(
                "hookup.charger_efficiency_frac",
                written.charger_efficiency_frac,
                *defaults.CHARGER_EFFICIENCY_FRAC,
            )
        ),
        "pedestal_amps": float(amps),
        "pedestal_volts": float(
            ledger.take("hookup.pedestal_volts", written.pedestal_volts, *volts)
        ),
    }


def _charger_amps(table: str, written: float | None, bank: Bank, ledger: Ledger) -> float:
    amps, why = defaults.CHARGER_AMPS_12V
    return float(ledger.take(f"{table}.charger_amps", written, amps * 12.0 / bank.volts, why))


def _hours(
    table: str, written: Sequence[str] | None, default: tuple[str, str], ledger: Ledger
) -> tuple[Window, ...]:
    if written is None:
        ledger.note(f"{table}.hours", *default)
        written = [default[0]]
    return tuple(parse_window(text) for text in written)


def _generator_windows(
    written: WrittenGenerator,
    entries: Sequence[WrittenStay],
    where: Where,
    ledger: Ledger,
    problems: list[Problem],
) -> tuple[tuple[Window, ...], ...]:
    """Hours in which the generator may run, for each stay."""
    usual = _hours("generator", written.hours, defaults.GENERATOR_HOURS, ledger)
    problems += _overlap(("generator", "hours"), usual, where)
    found = []
    for index, entry in enumerate(entries):
        here = usual
        if entry.generator_hours is not None:
            here = tuple(parse_window(text) for text in entry.generator_hours)
            problems += _overlap(("stay", index, "generator_hours"), here, where)
        found.append(here)
    return tuple(found)


def _generator_problems(generator: Generator, where: Where) -> list[Problem]:
    """Charges in the wrong order, and fuel that no engine could do with."""
    problems = []
    if generator.start_frac >= generator.stop_frac:
        problems.append(
            Problem(
                where.line(("generator", "stop_frac")),
                f"generator.stop_frac = {generator.stop_frac:g} is not above generator.start_frac"
                f" = {generator.start_frac:g}.",
                "It must stop at a higher charge than it starts at.",
            )
        )
    least = defaults.LEAST_L_PER_KWH[generator.fuel]
    if generator.full_load_l_per_kwh < least:
        problems.append(
            Problem(
                where.line(("generator", "load_l_per_kwh")),
                f"The generator would make a kilowatt-hour from {generator.full_load_l_per_kwh:.2f}"
                f" litres of {generator.fuel}; no small engine needs less than {least:g}.",
                "Check idle_l_per_h and load_l_per_kwh, or leave them out.",
            )
        )
    return problems


def _days(
    table: str,
    written: WrittenDrive | WrittenHookup,
    entries: Sequence[WrittenStay],
    stays: tuple[Stay, ...],
    where: Where,
    problems: list[Problem],
) -> Days:
    """Days, from 0, on which something happens in each stay."""
    if written.every_days is not None and written.dates is not None:
        problems.append(_both((table, "dates"), f"{table}.every_days", where))
    dates = _doys(written.dates)
    found, said = [], written.every_days is not None or written.dates is not None
    used: set[int] = set()
    for index, (entry, stay) in enumerate(zip(entries, stays, strict=False)):
        every: int | None = getattr(entry, f"{table}_every_days")
        own: list[str] | None = getattr(entry, f"{table}_dates")
        path: Path = ("stay", index, f"{table}_dates")
        said = said or every is not None or own is not None
        if own is not None:
            if every is not None:
                problems.append(_both(path, f"{table}_every_days", where))
            here = _in_stay(_doys(own), stay)
            if len(here) < len(set(_doys(own))):
                problems.append(_outside(path, where))
        elif every is not None:
            here = _every(every, None, stay.nights)
        elif written.dates is not None:
            here = _in_stay(dates, stay)
            used |= {(stay.first_doy + day) % DAYS for day in here}
        else:
            here = _every(written.every_days or 0, written.first, stay.nights)
        found.append(here)
    overridden = any(getattr(e, f"{table}_{w}") is not None for e in entries for w in _OWN)
    if written.dates is not None and not overridden and set(dates) - used:
        problems.append(_outside((table, "dates"), where))
    if not said:
        problems.append(
            Problem(
                where.line((table,)),
                f"{table} does not say on which days.",
                f'Write: {table}.every_days = 5, or {table}.dates = ["3 Nov", "9 Nov"]',
            )
        )
    return tuple(found)


_OWN = ("every_days", "dates")


def _every(every_days: int, first: int | None, nights: int) -> tuple[int, ...]:
    """Every so many days of a stay from its day `first` (from 1) on; 0: none."""
    if every_days == 0:
        return ()
    return tuple(range((every_days if first is None else first) - 1, nights, every_days))


def _doys(dates: Sequence[str] | None) -> list[int]:
    return [day_of_year(*parse_day(text)) for text in dates or ()]


def _in_stay(doys: Sequence[int], stay: Stay) -> tuple[int, ...]:
    """Days of a stay, from 0, that fall on the given days of the year."""
    days = {(doy - stay.first_doy) % DAYS for doy in doys}
    return tuple(sorted(day for day in days if day < stay.nights))


def _both(path: Path, other: str, where: Where) -> Problem:
    found = f"{where.key(path)} and {other} are both written."
    return Problem(where.line(path), found, "Keep one of them.")


def _outside(path: Path, where: Where) -> Problem:
    found = f"{where.key(path)} names a day on which nobody stays there."
    return Problem(where.line(path), found, "Name days between the first and the last night.")


def _overlap(path: Path, windows: tuple[Window, ...], where: Where) -> list[Problem]:
    if not overlapping(windows):
        return []
    found = f"{where.key(path)} lists hours that overlap."
    return [Problem(where.line(path), found, 'Write each hour once, as in ["8-10", "16-19"].')]


def _without_table(written: WrittenScenario, where: Where) -> list[Problem]:
    """Words of a stay about something that the rig does not have."""
    problems = []
    for index, entry in enumerate(written.stay):
        for word, table in _STAY_WORDS.items():
            if getattr(entry, word) is None or getattr(written, table) is not None:
                continue
            path: Path = ("stay", index, word)
            hint = f"Add a table [{table}], or take this line out."
            found = f"{where.key(path)} is written, but there is no {table}."
            problems.append(Problem(where.line(path), found, hint))
    return problems


_STAY_WORDS = {
    "generator_hours": "generator",
    "drive_every_days": "drive",
    "drive_dates": "drive",
    "hookup_every_days": "hookup",
    "hookup_dates": "hookup",
}
