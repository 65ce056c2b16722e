"""Fills in what a scenario left out, converts to SI, and checks its parts against each other."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from flatodds.catalog import appliances, chemistries, homes
from flatodds.errors import Problem
from flatodds.scenario import defaults
from flatodds.scenario.appliances import HEATERS, resolve_appliances
from flatodds.scenario.arrays import resolve_arrays, resolve_controllers
from flatodds.scenario.bank import resolve_bank
from flatodds.scenario.cautions import (
    bank_cautions,
    bank_too_large,
    gap_cautions,
    household_cautions,
    place_cautions,
)
from flatodds.scenario.charging import resolve_charging
from flatodds.scenario.charging_cautions import charging_cautions
from flatodds.scenario.cooling import (
    comfort_high_c,
    resolve_cooling,
    shade_frac,
    sun_aperture_m2,
)
from flatodds.scenario.cooling_cautions import cooling_cautions
from flatodds.scenario.defaults import Ledger
from flatodds.scenario.habits import resolve_habits
from flatodds.scenario.inverter import resolve_inverter
from flatodds.scenario.inverter_cautions import inverter_cautions
from flatodds.scenario.itinerary import resolve_stays
from flatodds.scenario.limits import array_limits, roof_cautions
from flatodds.scenario.limits_bank import limit_cautions
from flatodds.scenario.model import Scenario
from flatodds.scenario.parts import (
    ApplianceUse,
    Bank,
    Household,
    Inverter,
    Shell,
    Uncertain,
)
from flatodds.scenario.parts_arrays import Array
from flatodds.scenario.parts_cooling import Cooling
from flatodds.scenario.places import units_printed
from flatodds.scenario.problems import Where, shown
from flatodds.scenario.totals import day_wh
from flatodds.scenario.written import (
    WrittenHousehold,
    WrittenScenario,
    WrittenShell,
)
from flatodds.units import c_from_f


@dataclass(frozen=True, slots=True)
class Origin:
    """Where a document comes from, for messages and for files beside it."""

    name: str
    folder: Path | None
    title: str


def resolve(
    written: WrittenScenario, where: Where, document: Mapping[str, Any], origin: Origin
) -> tuple[Scenario, list[Problem]]:
    """Give the complete scenario and every problem between its parts (none: it is valid)."""
    ledger = Ledger()
    title = ledger.take("title", written.title, origin.title, "name of the file")
    home = ledger.take("home", written.home, *defaults.HOME)
    bank, problems = resolve_bank(written.bank, where, ledger)
    controllers, unnamed = resolve_controllers(written.controller, where, ledger)
    arrays, wired = resolve_arrays(written, controllers, float(bank.volts), where, ledger)
    inverter, lossy = resolve_inverter(written.inverter, written.household.pattern, where, ledger)
    household, more = _household(written.household, bank.chemistry, where, ledger)
    shell = _shell(written.shell, home, arrays, where, ledger, problems)
    cooling, wrongly = resolve_cooling(written.cooling, household, where, ledger)
    uses, wrong = resolve_appliances(written, household, where, ledger)
    stays, late = resolve_stays(written.stay, where, ledger)
    other, unfit = resolve_charging(written, bank, household, stays, where, ledger)
    generator, drive, hookup = other
    problems += [*unnamed, *wired, *more, *wrong, *late, *unfit, *wrongly, *lossy]
    problems += _mains(uses, cooling, inverter, where)
    if absurd := bank_too_large(bank, home, where):
        problems.append(absurd)
    us = units_printed(written.units, stays[0].time_zone if stays else "") == "us"
    refused, looked_at = array_limits(arrays, controllers, bank, stays, where, us=us)
    problems += refused
    uncertain = _uncertain(written, bank, ledger)
    mean_wh = day_wh(uses, inverter)
    cautions = (
        *household_cautions(uses, written.appliance, household.pattern, mean_wh, where),
        *inverter_cautions(uses, inverter, where),
        *bank_cautions(bank, home, where, us=us),
        *looked_at,
        *limit_cautions(bank, arrays, controllers, inverter, other[0], where),
        *roof_cautions(arrays, home, written.roof_m2, where),
        *place_cautions(stays, written.units, where),
        *gap_cautions(stays, where),
        *charging_cautions(other, bank, household.reserve_frac, mean_wh, where),
        *cooling_cautions(cooling, uses, bank, inverter, stays, where, us=us),
    )
    scenario = Scenario(
        title=title,
        home=home,
        units=written.units,
        bank=bank,
        arrays=arrays,
        controllers=controllers,
        roof_m2=written.roof_m2,
        inverter=inverter,
        generator=generator,
        drive=drive,
        hookup=hookup,
        cooling=cooling,
        household=household,
        shell=shell,
        appliances=uses,
        stays=stays,
        uncertain=uncertain,
        assumed=tuple(ledger.entries),
        cautions=cautions,
        folder=origin.folder,
        source_name=origin.name,
        _document=document,
    )
    return scenario, problems


def _household(
    written: WrittenHousehold, chemistry: str, where: Where, ledger: Ledger
) -> tuple[Household, list[Problem]]:
    kind = chemistries()[chemistry]
    problems: list[Problem] = []
    reserve_frac = ledger.take(
        "household.reserve_frac",
        written.reserve_frac,
        kind.reserve_frac,
        f"{chemistry}: {kind.sources['reserve_frac']}",
    )
    above, why = defaults.CAUTION_ABOVE_RESERVE_FRAC
    caution_frac = ledger.take(
        "household.caution_frac", written.caution_frac, min(1.0, reserve_frac + above), why
    )
    problems += _below(
        where,
        ("household", "reserve_frac"),
        reserve_frac,
        ("household", "caution_frac"),
        caution_frac,
    )
    inside = {}
    for part, default in (("day", defaults.INSIDE_DAY_C), ("night", defaults.INSIDE_NIGHT_C)):
        in_c = getattr(written, f"inside_{part}_c")
        in_f = getattr(written, f"inside_{part}_f")
        if in_c is not None and in_f is not None:
            path = ("household", f"inside_{part}_f")
            found = f"{where.key(path)} and inside_{part}_c are both written."
            problems.append(Problem(where.line(path), found, "Keep one of them."))
        in_c = c_from_f(in_f) if in_c is None and in_f is not None else in_c
        inside[part] = ledger.take(f"household.inside_{part}_c", in_c, *default)
    heat = ledger.take("household.heat", written.heat, *defaults.HEAT)
    habits, wrong = resolve_habits(written, where, ledger)
    problems += wrong
    output_w = 0.0
    if heat in HEATERS:
        heater = appliances()[HEATERS[heat]]
        output_w = ledger.take(
            "household.heat_output_w",
            written.heat_output_w,
            heater.heat_w,
            heater.sources["heat_w"],
        )
    household = Household(
        pattern=written.pattern,
        reserve_frac=reserve_frac,
        caution_frac=caution_frac,
        inside_day_c=inside["day"],
        inside_night_c=inside["night"],
        heat=heat,
        heat_output_w=float(output_w),
        comfort_high_c=comfort_high_c(written, where, ledger, problems),
        habits=habits,
    )
    return household, problems


def _shell(
    written: WrittenShell,
    home: str,
    arrays: tuple[Array, ...],
    where: Where,
    ledger: Ledger,
    problems: list[Problem],
) -> Shell:
    usual = homes()[home]

    def value(name: str) -> float:
        default, why = getattr(usual, name), f"{home}: {usual.sources[name]}"
        return float(ledger.take(f"shell.{name}", getattr(written, name), default, why))

    return Shell(
        heat_loss_w_per_k=value("heat_loss_w_per_k"),
        sun_aperture_m2=sun_aperture_m2(written, home, arrays, where, ledger, problems),
        heat_mass_j_per_k=value("heat_mass_j_per_k"),
        gains_w=value("gains_w"),
        shade_frac=shade_frac(written, ledger),
    )


def _uncertain(written: WrittenScenario, bank: Bank, ledger: Ledger) -> Uncertain:
    sun_frac = written.uncertain.sun_frac
    if sun_frac is None:
        ledger.note("uncertain.sun_frac", None, defaults.AS_WEATHER)
    use_frac = ledger.take("uncertain.use_frac", written.uncertain.use_frac, *defaults.USE_FRAC)
    cold_gate_c = 0.0
    if bank.charge_cold_limit_c is not None:
        certain = sun_frac == 0.0 and use_frac == 0.0
        default, why = defaults.NO_COLD_GATE_C if certain else defaults.COLD_GATE_C
        cold_gate_c = ledger.take(
            "uncertain.cold_gate_c", written.uncertain.cold_gate_c, default, why
        )
    return Uncertain(sun_frac=sun_frac, use_frac=use_frac, cold_gate_c=cold_gate_c)


def _below(
    where: Where,
    low_path: tuple[str, str],
    low: float,
    high_path: tuple[str, str],
    high: float,
) -> list[Problem]:
    """Problem when a value that must not be above another is."""
    if low <= high:
        return []
    found = f"{where.key(high_path)} = {high:g} is below {where.key(low_path)} = {low:g}."
    return [Problem(where.line(high_path), found, "It must be the same or higher.")]


def _mains(
    uses: tuple[ApplianceUse, ...], cooling: Cooling | None, inverter: Inverter, where: Where
) -> list[Problem]:
    """Problem when something needs mains voltage and there is no inverter."""
    names = [shown(use.name) for use in uses if use.side == "ac"]
    if cooling is not None and cooling.side == "ac":
        names.append("the air conditioner")
    if not names or inverter.watts > 0.0:
        return []
    listed = ", ".join(names[:3]) + (f" and {len(names) - 3} more" if len(names) > 3 else "")
    return [
        Problem(
            where.line(("inverter", "watts")),
            f"There is no inverter, but {listed} {'needs' if len(names) == 1 else 'need'} one.",
            "Write inverter.watts = 2000, or remove them with times_a_day = 0.",
        )
    ]
