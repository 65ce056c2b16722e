from __future__ import annotations

import csv
import io
import re

import pandas as pd
import pytest

from flatodds.outcomes import TABLES, Outcomes
from flatodds.report.tables import all_tables, csv_text


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t=", "\r\n+", " @"])
def test_no_text_cell_starts_a_formula(start: str) -> None:
    frame = pd.DataFrame({"name": [f"{start}cmd", "plain"], "loss_kwh": [-1.5, None]})
    rows = list(csv.reader(io.StringIO(csv_text(frame), newline="")))
    seen = re.sub(r"\s", " ", f"'{start}cmd")
    assert rows == [["name", "loss_kwh"], [seen, "-1.5"], ["plain", ""]]


def test_control_characters_cannot_break_a_row() -> None:
    frame = pd.DataFrame({"name": ['a\r\n"b",c\x00\x1b']})
    assert list(csv.reader(io.StringIO(csv_text(frame), newline=""))) == [
        ["name"],
        ['a  "b",c  '],
    ]


def test_all_tables_read_back_with_the_same_numbers(one_stay: Outcomes) -> None:
    texts = all_tables(one_stay)
    assert list(texts) == [f"tables/{name}.csv" for name in TABLES]
    for name in TABLES:
        frame = one_stay.table(name)
        read = pd.read_csv(io.StringIO(texts[f"tables/{name}.csv"]))
        assert list(read.columns) == list(frame.columns)
        for column in frame.select_dtypes("number"):
            assert read[column].tolist() == pytest.approx(frame[column].tolist(), rel=1e-15)


def test_a_hostile_appliance_name_is_disarmed(one_stay: Outcomes) -> None:
    rows = csv.DictReader(io.StringIO(all_tables(one_stay)["tables/appliances.csv"]))
    assert [row["name"] for row in rows] == ["fridge", "'=lamp"]
