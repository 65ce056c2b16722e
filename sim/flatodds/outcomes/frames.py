"""The tables people open in a spreadsheet, as pandas DataFrames with the unit in each header."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from flatodds.outcomes.days import date_text, days_of, worst_member
from flatodds.outcomes.odds import mixture_proportion, mixture_range, sample_of
from flatodds.outcomes.record import Record
from flatodds.outcomes.summary import flat_flags

if TYPE_CHECKING:
    import pandas as pd

TableName = Literal["months", "stays", "appliances", "worst_stay_days"]
TABLES: tuple[TableName, ...] = ("months", "stays", "appliances", "worst_stay_days")
OddsBy = Literal["stay", "month", "trip"]
UNIT_WORDS = ("kwh", "w", "frac")

Row = dict[str, Any]


def table_of(record: Record, summary: dict[str, Any], name: TableName) -> pd.DataFrame:
    """Build one table; months, stays and appliances come from the summary.

    ``worst_stay_days`` has the days of the member with most flat hours in each stay, as
    estimated: the worst of all members, not a likely stay.
    """
    import pandas as pd

    if name == "worst_stay_days":
        return pd.DataFrame(worst_rows(record))
    makers = {"months": month_rows, "stays": stay_rows, "appliances": appliance_rows}
    if name not in makers:
        raise ValueError(f"no table {name!r}; there are {', '.join(TABLES)}")
    return pd.DataFrame(makers[name](summary))


def month_rows(summary: dict[str, Any]) -> list[Row]:
    """One row per stay and month."""
    return [
        {"stay": stay["name"], **spread(month)}
        for stay in summary["stays"]
        for month in stay["months"]
    ]


def stay_rows(summary: dict[str, Any]) -> list[Row]:
    """One row per stay, without its lists."""
    left_out = {"appliances", "months"}
    return [
        spread({key: value for key, value in stay.items() if key not in left_out})
        for stay in summary["stays"]
    ]


def appliance_rows(summary: dict[str, Any]) -> list[Row]:
    """One row per stay and appliance."""
    return [
        {"stay": stay["name"], **spread(appliance)}
        for stay in summary["stays"]
        for appliance in stay["appliances"]
    ]


def spread(part: dict[str, Any]) -> Row:
    """Turn nested keys into flat headers that still end in their unit."""
    row: Row = {}
    for key, value in part.items():
        if isinstance(value, dict):
            row.update({header(key, inner): found for inner, found in spread(value).items()})
        else:
            row[key] = value
    return row


def header(key: str, inner: str) -> str:
    """Join two keys, moving the unit of the outer one to the end.

    ``array_kwh`` and ``p90`` give ``array_p90_kwh``.
    """
    stem, _, unit = key.rpartition("_")
    return f"{stem}_{inner}_{unit}" if stem and unit in UNIT_WORDS else f"{key}_{inner}"


def worst_rows(record: Record) -> list[Row]:
    """One row per day of the worst member of each stay."""
    rows: list[Row] = []
    for stay, facts in enumerate(record.facts.stays):
        member = worst_member(record, stay)
        for count, day in enumerate(days_of(record, stay), start=1):
            rows.append(
                {
                    "stay": facts.name,
                    "member": member,
                    "day": count,
                    "date": date_text(int(record.day_doy[day])),
                    "array_kwh": float(record.daily["array_wh"][member, day]) / 1000.0,
                    "demand_kwh": float(record.daily["demand_wh"][member, day]) / 1000.0,
                    "lowest_charge_frac": float(record.daily["min_charge_frac"][member, day]),
                    "dawn_charge_frac": float(record.daily["dawn_charge_frac"][member, day]),
                }
            )
    return rows


def odds_of(record: Record, by: OddsBy) -> pd.DataFrame:
    """Chance of running flat by stay, by stay and month, or for the whole trip.

    Columns ``estimate``, ``low``, ``high`` hold the mixture and its sampling interval,
    ``range_low`` and ``range_high`` sampling and model doubt together.
    """
    import pandas as pd

    names = [stay.name for stay in record.facts.stays]
    if by == "trip":
        labels: list[Row] = [{"trip": record.facts.title}]
        flags = [flat_flags(record)]
    elif by == "stay":
        labels = [{"stay": name} for name in names]
        flags = [flat_flags(record, stay) for stay in range(len(names))]
    elif by == "month":
        labels = [{"stay": names[p.stay], "month": p.month} for p in record.periods]
        hours = record.sums["hours_flat"]
        flags = [hours[:, :, at] > 0.0 for at in range(len(record.periods))]
    else:
        raise ValueError(f"odds by {by!r} are not offered; there are stay, month, trip")
    sample, weights = sample_of(record.members, record.record_years), record.weights
    rows = []
    for label, flag in zip(labels, flags, strict=True):
        band = mixture_range(np.asarray(flag), weights, sample)
        ends = {"range_low": band["low"], "range_high": band["high"]}
        rows.append({**label, **mixture_proportion(flag, weights, sample), **ends})
    return pd.DataFrame(rows)
