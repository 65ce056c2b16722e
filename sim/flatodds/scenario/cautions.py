"""What a scenario may say but should be looked at twice, safety first."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

from flatodds.catalog import patterns
from flatodds.catalog.called import called
from flatodds.errors import Problem, ScenarioError
from flatodds.scenario.lines import Path
from flatodds.scenario.parts import ApplianceUse, Bank, Stay
from flatodds.scenario.places import place_text, sign_forgotten
from flatodds.scenario.problems import Where, shown
from flatodds.scenario.totals import day_ah
from flatodds.scenario.written import WrittenAppliance
from flatodds.units import degrees_text

if TYPE_CHECKING:
    from flatodds.scenario.model import Scenario

LONGEST_GAP_DAYS = 3  # between stays, from which charging in between is likely: judgement
NOMINAL_V_PER_12 = 12.8  # rest voltage by which 12 V banks are labelled: common practice
# Energy of a bank [kWh] above which ampere-hours may be watt-hours: common practice, no source.
LARGE_KWH = {"trailer": 20.0, "van": 20.0, "cabin": 100.0}
ABSURD_KWH = {"trailer": 50.0, "van": 50.0, "cabin": 1e9}
LEAD = ("agm", "gel", "flooded")
HEALTH = "Someone's health depends on"


def bank_too_large(bank: Bank, home: str, where: Where) -> Problem | None:
    """Refuse a bank no trailer or van could carry: watt-hours in place of ampere-hours."""
    if bank.chemistry == "ideal" or _kwh(bank) <= ABSURD_KWH[home]:
        return None
    return _watt_hours(bank, home, where, "more than a {home} can carry")


def bank_cautions(bank: Bank, home: str, where: Where, *, us: bool) -> list[Problem]:
    """Cautions about the bank's size, place and cold limit."""
    found = []
    if bank.chemistry != "ideal" and _kwh(bank) > LARGE_KWH[home]:
        found.append(_watt_hours(bank, home, where, "a lot for a {home}"))
    if bank.chemistry in LEAD and bank.location == "inside":
        found.append(
            Problem(
                where.line(("bank", "location")),
                "Lead batteries inside the living space can give off explosive hydrogen.",
                "Seal their box from the inside and vent it outdoors.",
            )
        )
    if bank.chemistry == "lithium" and (bank.charge_cold_limit_c or 0.0) < 0.0:
        limit = degrees_text(bank.charge_cold_limit_c or 0.0, us=us)
        found.append(
            Problem(
                where.line(("bank", "charge_cold_limit_c")),
                f"Charging at {limit} harms lithium cells for good and can make them dangerous.",
                "Keep 0 unless the maker of the battery states otherwise in writing.",
            )
        )
    return found


def refuse_sure_estimate(scenario: Scenario) -> None:
    """Refuse to have no doubt of sun that is known from the worldwide estimate alone.

    Called where it is known that no other weather will be lived: hourly weather may be handed
    to a scenario that names none.

    Raises
    ------
    ScenarioError
        Names a stay without weather of its own.
    """
    guessed = [s for s in scenario.stays if s.weather is None and s.monthly_sun_kwh_m2 is None]
    if scenario.uncertain.sun_frac != 0.0 or not guessed:
        return
    place = place_text(guessed[0].latitude, guessed[0].longitude)
    raise ScenarioError(
        Problem(
            scenario.source_name,
            f"uncertain.sun_frac = 0 takes the worldwide estimate of the sun at {place} for exact; "
            "no odds are told without its doubt.",
            "Leave sun_frac out, or give that stay its own weather or monthly_sun_kwh_m2.",
        )
    )


def _kwh(bank: Bank) -> float:
    return bank.amp_hours * bank.volts / 12.0 * NOMINAL_V_PER_12 / 1000.0


def _watt_hours(bank: Bank, home: str, where: Where, words: str) -> Problem:
    path = ("bank", "amp_hours")
    guess = round(bank.amp_hours / (bank.volts / 12.0 * NOMINAL_V_PER_12))
    return Problem(
        where.line(path),
        f"{where.key(path)} = {bank.amp_hours:g} at {bank.volts} V is {_kwh(bank):.0f} kWh,"
        f" {words.format(home=home)}.",
        f"If that number is watt-hours, write: bank.amp_hours = {guess}",
    )


def household_cautions(
    uses: tuple[ApplianceUse, ...],
    written: Sequence[WrittenAppliance],
    pattern: str,
    mean_wh: float,
    where: Where,
) -> list[Problem]:
    """Cautions about medical appliances and an unlikely daily use."""
    found = []
    places = {entry.name or entry.use: index for index, entry in enumerate(written)}
    for use in uses:
        if use.medical:
            listed = use.name in places
            path: Path = ("appliance", places[use.name]) if listed else ("household",)
            found.append(
                Problem(
                    where.line(path),
                    f"{HEALTH} {shown(called(use.name))}.",
                    "Odds are not a guarantee: keep a backup that needs nothing of this rig.",
                )
            )
    low, high = patterns()[pattern].band_ah
    if not low <= day_ah(mean_wh) <= high:
        path = ("household", "pattern")
        found.append(
            Problem(
                where.line(path),
                f"These appliances use about {day_ah(mean_wh):.0f} Ah a day at 12.8 V;"
                f' "{pattern}" households use {low:.0f} to {high:.0f}.',
                "Fine if you measured it.",
            )
        )
    return found


def gap_cautions(stays: Sequence[Stay], where: Where) -> list[Problem]:
    """Caution where a stay begins long after the last with what charge that one left."""
    found = []
    for index, (before, stay) in enumerate(pairwise(stays), start=1):
        gap_days = stay.start_day - before.start_day - before.nights
        if stay.arrival_charge_frac is None and gap_days > LONGEST_GAP_DAYS:
            day = ("stay", index, "first_day")
            found.append(
                Problem(
                    where.line(day),
                    f"{where.key(day)} is {gap_days} days after the stay before, whose last charge "
                    "it begins with; the days between are not lived.",
                    "If you charge in between, write: arrival_charge_frac = 1",
                )
            )
    return found


def place_cautions(stays: tuple[Stay, ...], units: str | None, where: Where) -> list[Problem]:
    """Caution where a minus before the longitude may be missing; none with units = "si"."""
    found = []
    for index, stay in enumerate(stays):
        if units != "si" and sign_forgotten(stay.latitude, stay.longitude):
            place = ("stay", index, "place")
            here = place_text(stay.latitude, stay.longitude)
            found.append(
                Problem(
                    where.line(place),
                    f"{where.key(place)} is {here}, in Asia ({stay.time_zone}).",
                    f'If west was meant, write "{stay.latitude:g}, {-stay.longitude:g}".',
                )
            )
    return found
