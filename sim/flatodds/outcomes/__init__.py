"""From the engine's arrays to odds with intervals, one summary, and a labelled Dataset."""

from __future__ import annotations

from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from flatodds.errors import Problem, UsageError
from flatodds.outcomes.dataset import dataset_of, load_record, save_dataset
from flatodds.outcomes.days import dawn_charge
from flatodds.outcomes.frames import TABLES, OddsBy, TableName, odds_of, table_of
from flatodds.outcomes.odds import Proportion, paired_difference, wilson
from flatodds.outcomes.record import Facts, Record, record_of
from flatodds.outcomes.said import answer_of
from flatodds.outcomes.schema import summary_schema
from flatodds.outcomes.schema_studies import study_schema
from flatodds.outcomes.summary import summary_of

if TYPE_CHECKING:
    import pandas as pd
    import xarray as xr

    from flatodds.engine.results import Results

__all__ = [
    "RESULT_FILE",
    "TABLES",
    "Facts",
    "Outcomes",
    "Proportion",
    "Record",
    "open_result",
    "paired_difference",
    "study_schema",
    "summary_schema",
    "wilson",
]

RESULT_FILE = "result.nc"


class Outcomes:
    """What a run found: odds, amounts, tables, and the arrays they come from.

    Made by :meth:`from_results` after a run, or by :func:`open_result` from a saved folder;
    both answer the same.
    """

    def __init__(self, record: Record) -> None:
        self._record = record

    @classmethod
    def from_results(cls, results: Results) -> Outcomes:
        """Take over the arrays of a run; refuses numbers that are not finite."""
        return cls(record_of(results))

    @property
    def facts(self) -> Facts:
        """What of the scenario people need beside the summary."""
        return self._record.facts

    @cached_property
    def dataset(self) -> xr.Dataset:
        """All arrays, by case, member, stay, period, day and appliance, with units."""
        return dataset_of(self._record)

    @cached_property
    def unread_dataset(self) -> xr.Dataset:
        """The same, with arrays read when they are asked for and not kept, to spare memory."""
        return dataset_of(self._record, later=True)

    def odds(self, by: OddsBy = "stay") -> pd.DataFrame:
        """Chance of running flat with interval and range, by stay, month or trip."""
        return odds_of(self._record, by)

    def answer(self, stay: int | None = None) -> str:
        """Answer in three sentences: the verdict, the chance of running flat, and its range.

        Parameters
        ----------
        stay : int, optional
            Which stay, counted from 0; the only one, or the whole trip, unless given.

        Raises
        ------
        UsageError
            If there is no such stay.
        """
        count = len(self.facts.stays)
        if stay is not None and not 0 <= stay < count:
            found = f"is no stay of this result, which has {count}."
            raise UsageError(Problem(f"stay {stay}", found, f"Stays count from 0 to {count - 1}."))
        return answer_of(self.summary(), self.facts.record_years, stay)

    def summary(self) -> dict[str, Any]:
        """Everything people are told, as plain numbers; the content of ``summary.json``."""
        return summary_of(self._record)

    def dawn_charge(self) -> list[dict[str, float]]:
        """Charge left at dawn in each stay: 10, 50 and 90 % of mornings, as estimated [1]."""
        return [dawn_charge(self._record, stay) for stay in range(len(self.facts.stays))]

    def table(self, name: TableName) -> pd.DataFrame:
        """One of the tables ``months``, ``stays``, ``appliances``, ``worst_stay_days``."""
        return table_of(self._record, self.summary(), name)

    def to_netcdf(self, path: str | Path) -> None:
        """Write the Dataset to a file, whole or not at all."""
        save_dataset(self.unread_dataset, Path(path))


def open_result(folder: str | Path) -> Outcomes:
    """Open the result folder of an earlier run, or its ``result.nc``.

    Raises
    ------
    UsageError
        If there is no result, or it cannot be read.
    """
    path = Path(folder)
    try:
        inside = path / RESULT_FILE if path.is_dir() else path
    except (OSError, ValueError):  # a name that no folder can have
        inside = path
    return Outcomes(load_record(inside))
