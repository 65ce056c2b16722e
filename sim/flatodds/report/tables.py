"""The tables as CSV text that a spreadsheet opens without running anything in it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from flatodds.outcomes import TABLES, Outcomes

if TYPE_CHECKING:
    import pandas as pd

FORMULA_STARTS = ("=", "+", "-", "@")  # spreadsheets may run such a cell


def guarded(value: object) -> object:
    """Put an apostrophe before a text that a spreadsheet could take for a formula.

    Control characters, which could break a row or be skipped before a formula, become spaces.
    """
    if not isinstance(value, str):
        return value
    text = "".join(c if c.isprintable() else " " for c in value)
    return f"'{text}" if text.lstrip().startswith(FORMULA_STARTS) else text


def csv_text(frame: pd.DataFrame) -> str:
    """Write a table as CSV: header first, missing values empty, lines ended by a newline."""
    safe = frame.map(guarded).rename(columns=guarded)
    return safe.to_csv(index=False, lineterminator="\n")


def all_tables(outcomes: Outcomes) -> dict[str, str]:
    """Write every table: file name in the result folder to CSV text."""
    return {f"tables/{name}.csv": csv_text(outcomes.table(name)) for name in TABLES}
