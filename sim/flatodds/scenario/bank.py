"""Fills in the battery bank: its size in either way of writing it, its chemistry's values."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from flatodds.catalog import Chemistry, chemistries
from flatodds.errors import Problem
from flatodds.scenario import defaults
from flatodds.scenario.defaults import PRACTICE, Ledger
from flatodds.scenario.parts import Bank
from flatodds.scenario.problems import Where
from flatodds.scenario.written_bank import WrittenBank

WHOLE = ("volts", "amp_hours")
UNITS = ("unit_volts", "unit_amp_hours", "units_series", "units_parallel")
SPREAD = 1.09  # labels of one voltage differ: four lithium cells are 12.8 V, not 12; judgement
NOMINAL_V = (12, 24, 48)  # banks as usually wired: common practice, no source

HEATING_PAD_TO_C = (5.0, PRACTICE)
HEATING_PAD_WHEN = ("sun", "charging power goes to the pad first: " + PRACTICE)
WORN_FRAC = 0.2  # capacity lost when a bank counts as worn out: common practice, no source
LEAST_HEALTH_FRAC = 0.4  # what age alone is trusted to have left: judgement, no source


def missing_size(document: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Tell which words are missing for the bank's size, as pydantic tells of missing keys."""
    bank = document.get("bank")
    if not isinstance(bank, Mapping):
        return []
    needed = UNITS[:2] if any(word in bank for word in UNITS) else WHOLE
    return [{"type": "missing", "loc": ("bank", word)} for word in needed if word not in bank]


def resolve_bank(written: WrittenBank, where: Where, ledger: Ledger) -> tuple[Bank, list[Problem]]:
    """Give the complete bank and what is wrong with it."""
    chemistry = chemistries()[written.chemistry]
    volts, amp_hours, problems = _size(written, where, ledger)
    values: dict[str, Any] = {
        name: _from_chemistry(name, getattr(written, name), chemistry, ledger)
        for name in _FROM_CATALOGUE
    }
    age_years, health_frac = _age(written, chemistry, ledger)
    growth = 1.0 + (chemistry.aged_resistance_ratio - 1.0) * max(1.0 - health_frac, 0.0) / WORN_FRAC
    aged = f", grown by age ({chemistry.sources['aged_resistance_ratio']})" if growth > 1.0 else ""
    values["resistance_ohm"] = ledger.take(
        "bank.resistance_ohm",
        written.resistance_ohm,
        chemistry.resistance_ohm_100ah * volts / 12.0 * 100.0 / amp_hours * growth,
        f"{chemistry.name}, by size: {chemistry.sources['resistance_ohm_100ah']}{aged}",
    )
    values["reconnect_frac"] = _reconnect(written, values["cutoff_frac"], chemistry, ledger)
    values |= _fall(written, chemistry)
    rate, twice = _rate_effect(written, chemistry, where, ledger)
    values |= rate
    values |= _cold(written, chemistry, ledger)
    values |= _pad(written, ledger)
    bank = Bank(
        chemistry=written.chemistry,
        volts=volts,
        amp_hours=amp_hours,
        arrival_charge_frac=ledger.take(
            "bank.arrival_charge_frac", written.arrival_charge_frac, *defaults.ARRIVAL_CHARGE_FRAC
        ),
        rest_points=tuple((x, v * volts / 12.0) for x, v in chemistry.rest_points),
        capacity_points=chemistry.capacity_points,
        charge_over_v=chemistry.charge_over_v * volts / 12.0,
        age_years=age_years,
        health_frac=health_frac,
        mass_kg=ledger.take(
            "bank.mass_kg",
            written.mass_kg,
            chemistry.kg_per_kwh * amp_hours * volts / 1000.0,
            f"{chemistry.name}, by size: {chemistry.sources['kg_per_kwh']}",
        ),
        **values,
    )
    return bank, [*problems, *twice, *_disorder(bank, where)]


_FROM_CATALOGUE = (
    "charge_c_rate",
    "discharge_c_rate",
    "charge_efficiency_frac",
    "cutoff_frac",
    "self_discharge_frac_month",
    "acceptance_hours",
    "taper_from_frac",
    "location",
)


def _size(written: WrittenBank, where: Where, ledger: Ledger) -> tuple[int, float, list[Problem]]:
    """Nominal volts and ampere-hours of the whole bank, and what is wrong with them."""
    units = [word for word in UNITS if getattr(written, word) is not None]
    whole = [word for word in WHOLE if getattr(written, word) is not None]
    if not units:
        return int(written.volts or 12), float(written.amp_hours or 100.0), []
    path = ("bank", whole[0] if whole else "unit_volts")
    if whole:
        found = f"{where.key(path)} and {where.key(('bank', units[0]))} are both written."
        hint = "Keep volts and amp_hours of the whole bank, or what its batteries are (unit_...)."
        return 12, 100.0, [Problem(where.line(path), found, hint)]
    if written.unit_volts is None or written.unit_amp_hours is None:
        return 12, 100.0, []  # told of as missing already
    series = ledger.take("bank.units_series", written.units_series, 1, "one, unless written")
    rows = ledger.take("bank.units_parallel", written.units_parallel, 1, "one, unless written")
    total_v = series * written.unit_volts
    amp_hours = rows * written.unit_amp_hours
    for nominal in NOMINAL_V:
        if nominal <= total_v <= nominal * SPREAD:
            return nominal, amp_hours, []
    found = f"{where.key(path)}: {series} x {written.unit_volts:g} V in a row make {total_v:g} V."
    hint = "They must make 12, 24 or 48 V (12.8, 25.6 or 51.2 count as these): see units_series."
    return 12, amp_hours, [Problem(where.line(path), found, hint)]


def _age(written: WrittenBank, chemistry: Chemistry, ledger: Ledger) -> tuple[float, float]:
    """Age [years] and capacity left [1]; age alone takes a fifth of it in the calendar life."""
    age_years = written.age_years or 0.0
    left, why = 1.0, "new, unless written"
    if age_years > 0.0 and chemistry.calendar_years is not None:
        left = max(1.0 - WORN_FRAC * age_years / chemistry.calendar_years, LEAST_HEALTH_FRAC)
        why = (
            f"by age alone, evenly to 80 % in {chemistry.calendar_years:g} years (judgement):"
            f" {chemistry.sources['calendar_years']}"
        )
    return age_years, ledger.take("bank.health_frac", written.health_frac, left, why)


def _fall(written: WrittenBank, chemistry: Chemistry) -> dict[str, float]:
    """How charge efficiency falls near full; a written one is the same at every charge."""
    knee, ratio = chemistry.efficiency_falls_from_frac, chemistry.efficiency_full_ratio
    if written.charge_efficiency_frac is not None or knee is None or ratio is None:
        knee, ratio = 1.0, 1.0
    return {"efficiency_falls_from_frac": knee, "efficiency_full_ratio": ratio}


def _rate_effect(
    written: WrittenBank, chemistry: Chemistry, where: Where, ledger: Ledger
) -> tuple[dict[str, Any], list[Problem]]:
    """Tell what fast discharge costs: by Peukert's exponent, or two wells as written."""
    share, rate = written.available_well_frac, written.well_rate_per_h
    if share is None and rate is None:
        exponent = _from_chemistry("rate_exponent", written.rate_exponent, chemistry, ledger)
        return {"rate_exponent": exponent, "wells": None}, []
    problems = []
    if share is None or rate is None:
        missing = ("bank", "available_well_frac" if share is None else "well_rate_per_h")
        other = ("bank", "well_rate_per_h" if share is None else "available_well_frac")
        found = f"{where.key(missing)} is missing."
        problems.append(Problem(where.line(other), found, "Write both, or rate_exponent."))
    elif written.rate_exponent is not None:
        path, other = ("bank", "rate_exponent"), ("bank", "available_well_frac")
        found = f"{where.key(path)} and {where.key(other)} are both written."
        problems.append(Problem(where.line(path), found, "Keep one of the two."))
    return {"rate_exponent": 1.0, "wells": (share or 1.0, rate or 1.0)}, problems


def _pad(written: WrittenBank, ledger: Ledger) -> dict[str, Any]:
    """Heating pad of the batteries; its details are assumptions only where there is one."""
    watts = written.heating_pad_w or 0.0
    aside = ledger if watts > 0.0 else Ledger()
    to_c = aside.take("bank.heating_pad_to_c", written.heating_pad_to_c, *HEATING_PAD_TO_C)
    when = aside.take("bank.heating_pad_when", written.heating_pad_when, *HEATING_PAD_WHEN)
    return {"heating_pad_w": watts, "heating_pad_to_c": to_c, "heating_pad_when": when}


def _disorder(bank: Bank, where: Where) -> list[Problem]:
    """Problem when loads would come back below the charge at which they are cut off."""
    if bank.cutoff_frac <= bank.reconnect_frac:
        return []
    low, high = ("bank", "cutoff_frac"), ("bank", "reconnect_frac")
    found = (
        f"{where.key(high)} = {bank.reconnect_frac:g} is below"
        f" {where.key(low)} = {bank.cutoff_frac:g}."
    )
    return [Problem(where.line(high), found, "It must be the same or higher.")]


def _from_chemistry(name: str, written: Any, chemistry: Chemistry, ledger: Ledger) -> Any:
    """Return a value as written, or as the catalogue has it for this chemistry."""
    default = getattr(chemistry, name)
    if written is None and default is None:
        return None
    why = f"{chemistry.name}: {chemistry.sources.get(name, '')}"
    return ledger.take(f"bank.{name}", written, default, why)


def _reconnect(
    written: WrittenBank, cutoff_frac: float, chemistry: Chemistry, ledger: Ledger
) -> float:
    why = f"{chemistry.name}: {chemistry.sources['reconnect_frac']}"
    default = chemistry.reconnect_frac
    if default < cutoff_frac:
        default = min(1.0, cutoff_frac + defaults.RECONNECT_ABOVE_CUTOFF_FRAC)
    return ledger.take("bank.reconnect_frac", written.reconnect_frac, default, why)


def _cold(written: WrittenBank, chemistry: Chemistry, ledger: Ledger) -> dict[str, float | None]:
    """Charging gate; a written limit moves the release temperature with it."""
    limit_c = _from_chemistry("charge_cold_limit_c", written.charge_cold_limit_c, chemistry, ledger)
    if limit_c is None:
        return dict.fromkeys(_COLD)
    release_c = _above(limit_c, chemistry, chemistry.charge_cold_release_c)
    full_c = chemistry.charge_cold_full_c
    start_frac = chemistry.charge_cold_start_frac

    def value(name: str, default: float) -> float:
        why = f"{chemistry.name}: {chemistry.sources.get(name, PRACTICE)}"
        return float(ledger.take(f"bank.{name}", getattr(written, name), default, why))

    return {
        "charge_cold_limit_c": limit_c,
        "charge_cold_release_c": max(limit_c, value("charge_cold_release_c", release_c)),
        "charge_cold_full_c": max(
            limit_c, value("charge_cold_full_c", limit_c if full_c is None else full_c)
        ),
        "charge_cold_start_frac": value(
            "charge_cold_start_frac", 1.0 if start_frac is None else start_frac
        ),
    }


def _above(limit_c: float, chemistry: Chemistry, release_c: float | None) -> float:
    """Release temperature as far above a limit as in the catalogue [deg C]."""
    if release_c is None or chemistry.charge_cold_limit_c is None:
        return limit_c + defaults.COLD_RELEASE_ABOVE_LIMIT_C
    return limit_c + release_c - chemistry.charge_cold_limit_c


_COLD = (
    "charge_cold_limit_c",
    "charge_cold_release_c",
    "charge_cold_full_c",
    "charge_cold_start_frac",
)
