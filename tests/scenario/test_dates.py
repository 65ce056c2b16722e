"""Days of the year as people write them."""

from __future__ import annotations

import calendar

import pytest
from hypothesis import given
from hypothesis import strategies as st

from flatodds.scenario.dates import (
    LENGTHS,
    MONTHS,
    DayError,
    day_of_year,
    day_text,
    month_and_day,
    parse_day,
)


@pytest.mark.parametrize(
    "text",
    ["1 Dec", "Dec 1", "1 December", "december 1st", "1st dec.", " 01 DEC ", "Dec. 1", "1Dec"],
)
def test_reads_common_forms(text: str) -> None:
    assert parse_day(text) == (12, 1)


def test_reads_four_letter_september() -> None:
    assert parse_day("20 Sept") == (9, 20)


@pytest.mark.parametrize(
    ("text", "found", "hint"),
    [
        ("12-01", "can be read as 12 January or 1 December", 'Write "12 Jan" or "1 Dec".'),
        ("1/12", "can be read as 1 December or 12 January", 'Write "1 Dec" or "12 Jan".'),
        ("20-09", "has no month's name", 'Write "20 Sep".'),
        ("9/20", "has no month's name", 'Write "20 Sep".'),
        ("5.5.", "has no month's name", 'Write "5 May".'),
        ("1/1", "has no month's name", 'Write "1 Jan".'),
        ("2/1", "can be read as 2 January or 1 February", 'Write "2 Jan" or "1 Feb".'),
        ("12/12", "has no month's name", 'Write "12 Dec".'),
        ("31/1", "has no month's name", 'Write "31 Jan".'),
        ("13-13", "is no day of the year", 'as in "20 Sep"'),
        ("0/5", "is no day of the year", 'as in "20 Sep"'),
        ("30/2", "is no day of the year", 'as in "20 Sep"'),
        ("99-99", "is no day of the year", 'as in "20 Sep"'),
        ("2026-12-01", "names a year", 'Write "1 Dec".'),
        ("2026-12-31", "names a year", 'Write "31 Dec".'),
        ("2026-01-01", "names a year", 'Write "1 Jan".'),
        ("2026-13-01", "names a year", 'as in "20 Sep"'),
        ("1 Dec 2026", "names a year", 'Write "1 Dec".'),
        ("Dec 1, 2026", "names a year", 'Write "1 Dec".'),
        ("29 Feb", "falls only in leap years", '"28 Feb" or "1 Mar"'),
        ("31 Apr", "April has 30 days", '"1 Apr" to "30 Apr"'),
        ("0 May", "May has 31 days", '"1 May"'),
        ("1 Dezember", "names no month", "English"),
        ("soon", "is no day of the year", "20 Sep"),
        ("", "is no day of the year", "20 Sep"),
        ("١ Dec", "is no day of the year", "20 Sep"),
    ],
)
def test_refuses_with_a_way_out(text: str, found: str, hint: str) -> None:
    with pytest.raises(DayError) as caught:
        parse_day(text)
    assert found in caught.value.found
    assert hint in caught.value.hint


def test_the_year_is_that_of_the_standard_library() -> None:
    expected = [calendar.monthrange(2001, month)[1] for month in range(1, 13)]
    assert list(LENGTHS) == expected
    assert list(MONTHS) == list(calendar.month_name)[1:]


@pytest.mark.law
@given(st.integers(0, 364))
def test_index_and_text_go_round(doy: int) -> None:
    month, day = month_and_day(doy)
    assert day_of_year(month, day) == doy
    assert parse_day(day_text(month, day)) == (month, day)
