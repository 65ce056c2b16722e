"""One summary of a result, the same for screen, report, JSON and Python.

The keys and their order are a stable contract, described by the JSON Schema in ``schema``.
A quantity carries its unit in its name. A chance is ``{"estimate", "low", "high"}``; an amount is
``{"mean", "p50", "p90", "p99"}`` over possible stays. What a later version will fill is null, with
a line in ``cautions``.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import numpy.typing as npt

from flatodds.engine.holding import parts_of
from flatodds.outcomes.amounts import (
    Amount,
    Floats,
    member_amount,
    mixture_amount,
    mixture_quantiles,
)
from flatodds.outcomes.cautions import cautions_of
from flatodds.outcomes.cooling import cooling_part
from flatodds.outcomes.days import date_text, worst_week
from flatodds.outcomes.odds import (
    Bools,
    Proportion,
    Sample,
    case_shares,
    mixture_proportion,
    mixture_range,
    proportion,
    sample_of,
)
from flatodds.outcomes.record import Record
from flatodds.outcomes.wear import wear_part

IF_CASES = (
    "as_estimated",
    "sun_low",
    "sun_high",
    "use_low",
    "use_high",
    "both_bad",
    "gate_late",
    "economised",
)
LEAST_BARRED_WH = 1.0  # of a stay's month; rounding leaves less; own choice
CHARGE_LEVELS: Mapping[str, float] = {"p01": 0.01, "p05": 0.05, "p50": 0.50}  # own choice
SPILLED_BY: Mapping[str, str] = {
    "bank_full_kwh": "spilled_full_wh",
    "controller_kwh": "spilled_clip_wh",
    "cold_bank_kwh": "cold_locked_wh",
    "charge_current_kwh": "spilled_rate_wh",
}
FIRST_LEVELS: Mapping[str, float] = {"p10": 0.10, "p50": 0.50, "p90": 0.90}  # own choice


def summary_of(record: Record) -> dict[str, Any]:
    """Put a whole result into one dictionary of plain numbers, texts and nulls."""
    facts = record.facts
    sample = sample_of(record.members, record.record_years)
    return {
        "flatodds": facts.version,
        "scenario": {"title": facts.title, "sha256": facts.sha256},
        "seed": record.seed,
        "members": record.members,
        "confidence": sample.confidence,
        "theta_points": int(np.count_nonzero(record.weights)),
        "theta_over": theta_over(record),
        "trip": trip_part(record, sample),
        "weather": weather_part(record),
        "stays": [stay_part(record, sample, stay) for stay in range(len(facts.stays))],
        "energy_balance": {"relative_error": record.balance_error},
        "cautions": cautions_of(record),
    }


def theta_over(record: Record) -> list[str]:
    """Name what the model points differ in, and so what is not known exactly.

    The cold gate counts where cold barred any charge in the run: elsewhere it changes nothing.
    """
    points = [case for case in record.cases if case.weight > 0.0]
    differs = {
        "sun": any(case.sun_factor != 1.0 for case in points),
        "use": any(case.use_factor != 1.0 for case in points),
        "cold_gate": any(case.gate_later_c != 0.0 for case in points) and cold_barred(record),
    }
    return [name for name, does in differs.items() if does]


def cold_barred(record: Record) -> bool:
    """Whether cold kept more than 1 Wh out of the bank in any month and case that was run."""
    key = "cold_locked_wh"
    return record.has(key) and any(
        bool((parts_of(record.sums, key, [at], 2) > LEAST_BARRED_WH).any())
        for at in range(len(record.periods))
    )


def flat_flags(record: Record, stay: int | None = None) -> Bools:
    """Whether the bank runs flat in a stay, or in any stay of the trip, (case, member)."""
    at = list(range(len(record.periods))) if stay is None else record.periods_of(stay)
    flags: Bools = parts_of(record.sums, "hours_flat", at, 2).max(axis=2) > 0.0
    return flags


def trip_part(record: Record, sample: Sample) -> dict[str, Any]:
    """Chance that any stay of the trip runs flat."""
    flags = flat_flags(record)
    return {
        "odds_flat": mixture_proportion(flags, record.weights, sample),
        "odds_flat_range": mixture_range(flags, record.weights, sample),
    }


def weather_part(record: Record) -> list[dict[str, Any]]:
    """Say what the weather of every stay rests on."""
    return [
        {
            "place": stay.place,
            "basis": basis.kind,
            "sources": list(basis.sources),
            "sha256": basis.sha256,
            "typical_error_frac": basis.typical_error_frac,
        }
        for stay, basis in zip(record.facts.stays, record.facts.bases, strict=True)
    ]


def stay_part(record: Record, sample: Sample, stay: int) -> dict[str, Any]:
    """Put one stay into the contract's keys, in their order."""
    facts = record.facts.stays[stay]
    return {
        "name": facts.name,
        "place": facts.place,
        "first_day": date_text(facts.first_doy),
        "nights": facts.nights,
        **odds_part(record, sample, stay),
        **amounts_part(record, stay),
        "cooling": cooling_part(record, stay),
        "worst_week": worst_week(record, stay),
        "lowest_charge_frac": mixture_quantiles(
            record.extreme("min_charge_frac", stay), record.weights, CHARGE_LEVELS
        ),
        "first_flat_day": first_flat_part(record, stay),
        "wear": wear_part(record, stay),
        "appliances": appliances_part(record, stay),
        "months": [month_part(record, sample, at) for at in record.periods_of(stay)],
    }


def odds_part(record: Record, sample: Sample, stay: int) -> dict[str, Any]:
    """Chances of one stay."""
    flags, weights = flat_flags(record, stay), record.weights

    def any_hour(key: str) -> Proportion | None:
        if not record.has(key):
            return None
        return mixture_proportion(record.stay_sum(key, stay) > 0.0, weights, sample)

    return {
        "odds_flat": mixture_proportion(flags, weights, sample),
        "odds_reserve": any_hour("hours_reserve"),
        "odds_overload": any_hour("hours_overload"),
        "odds_generator_needed": any_hour("generator_hours"),
        "odds_flat_range": mixture_range(flags, weights, sample),
        "odds_flat_if": odds_if_part(record, flags, sample),
        "odds_flat_without_generator": odds_if_part(record, flags, sample, ("without_generator",))[
            "without_generator"
        ],
        "interval_basis": sample.basis,
    }


def odds_if_part(
    record: Record, flags: Bools, sample: Sample, cases: Sequence[str] = IF_CASES
) -> dict[str, Proportion | None]:
    """Chance of running flat in each case shown by name; null when it was not run."""
    shares = dict(zip((case.name for case in record.cases), case_shares(flags), strict=True))
    return {
        name: proportion(float(shares[name]), sample) if name in shares else None for name in cases
    }


def amounts_part(record: Record, stay: int) -> dict[str, Any]:
    """Amounts of one stay."""

    def if_any(key: str, scale: float = 1.0) -> Amount | None:
        return total(key, scale) if record.has(key) else None

    def total(key: str, scale: float = 1.0) -> Amount:
        return mixture_amount(record.stay_sum(key, stay) * scale, record.weights)

    def extreme(key: str, scale: float = 1.0) -> Amount:
        return mixture_amount(record.extreme(key, stay) * scale, record.weights)

    days: Floats = record.stay_sum("days", stay)
    full = record.stay_sum("full_days", stay) / days
    return {
        "hours_flat": total("hours_flat"),
        "nights_flat": total("nights_flat"),
        "energy_not_served_kwh": total("energy_not_served_wh", 1e-3),
        "demand_kwh": total("demand_wh", 1e-3),
        "array_kwh": total("array_wh", 1e-3),
        "spilled_kwh": total("spilled_wh", 1e-3),
        "spilled_by_cause": spilled_part(record, stay),
        "best_day_kwh": extreme("best_day_wh", 1e-3),
        "peak_array_w": extreme("peak_array_w"),
        "full_days_frac": mixture_amount(full, record.weights),
        "generator_hours": if_any("generator_hours"),
        "fuel_litres": if_any("fuel_l"),
        "hot_hours": if_any("hot_hours"),
        "cold_hours": total("cold_hours"),
        "cold_locked_kwh": total("cold_locked_wh", 1e-3),
        "heating_pad_kwh": total("heating_pad_wh", 1e-3) if record.has("heating_pad_wh") else None,
        "generator_kwh": if_any("generator_wh", 1e-3),
        "generator_starts": if_any("generator_starts"),
        "drive_kwh": if_any("drive_wh", 1e-3),
        "hookup_kwh": if_any("hookup_wh", 1e-3),
    }


def spilled_part(record: Record, stay: int) -> dict[str, Amount] | None:
    """Sun turned away, by cause; the causes add up to the whole. Null in older results."""
    if not all(record.has(key) for key in SPILLED_BY.values()):
        return None
    return {
        name: mixture_amount(record.stay_sum(key, stay) * 1e-3, record.weights)
        for name, key in SPILLED_BY.items()
    }


def first_flat_part(record: Record, stay: int) -> dict[str, float | None]:
    """Day of the stay, from 1, by which 10, 50 and 90 % have run flat; null where fewer do."""
    days = record.extreme("first_flat_day", stay)
    found = mixture_quantiles(days, record.weights, FIRST_LEVELS)
    return {name: value if np.isfinite(value) else None for name, value in found.items()}


def appliances_part(record: Record, stay: int) -> list[dict[str, Any]]:
    """Energy each appliance wanted and the share it got, in the ``as_estimated`` case.

    ``served_frac`` is over the members that wanted any, and null when none did.
    ``if_economised`` tells the same of those who save below their caution level, what they
    gave up being gone without; null where there is nothing to save.
    """

    def plug(what: str) -> npt.NDArray[np.float64]:
        return parts_of(record.plugs, f"appliance_{what}_wh", [stay], 1)[:, 0]

    def got(ending: str, wanted: npt.NDArray[np.float64], at: int) -> dict[str, Any]:
        served, shifted, gone = (
            plug(what + ending)[:, at] for what in ("served", "shifted", "gone_without")
        )
        asked: npt.NDArray[np.bool_] = wanted > 0.0
        share = member_amount(served[asked] / wanted[asked]) if asked.any() else None
        return {
            "served_frac": share,
            "served_later_kwh": member_amount(np.maximum(shifted, 0.0) * 1e-3),
            "gone_without_kwh": member_amount(np.maximum(gone, 0.0) * 1e-3),
        }

    economised = "appliance_served_economised_wh" in record.plugs
    parts = []
    for at, name in enumerate(record.appliances):
        wanted = plug("wanted")[:, at]
        parts.append(
            {
                "name": name,
                "wanted_kwh": member_amount(wanted * 1e-3),
                **got("", wanted, at),
                "if_economised": got("_economised", wanted, at) if economised else None,
            }
        )
    return parts


def month_part(record: Record, sample: Sample, at: int) -> dict[str, Any]:
    """Put the nights of a stay in one month into the contract's keys."""

    def amount(key: str, scale: float = 1.0) -> Amount:
        found = parts_of(record.sums, key, [at], 2)[:, :, 0]
        return mixture_amount(found * scale, record.weights)

    flags = parts_of(record.sums, "hours_flat", [at], 2)[:, :, 0] > 0.0
    return {
        "month": record.periods[at].month,
        "odds_flat": mixture_proportion(flags, record.weights, sample),
        "hours_flat": amount("hours_flat"),
        "generator_hours": amount("generator_hours") if record.has("generator_hours") else None,
        "array_kwh": amount("array_wh", 1e-3),
        "demand_kwh": amount("demand_wh", 1e-3),
        "spilled_kwh": amount("spilled_wh", 1e-3),
    }
