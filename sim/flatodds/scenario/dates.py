"""Days of the year as people write them, "1 Dec"; the simulated year has 365 days."""

from __future__ import annotations

import re

MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)
LENGTHS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)  # no 29 February
DAYS = sum(LENGTHS)

_DAY_MONTH = re.compile(r"(\d{1,2})(?:st|nd|rd|th)?\s*([a-z]{3,9})\.?", re.ASCII | re.IGNORECASE)
_MONTH_DAY = re.compile(r"([a-z]{3,9})\.?\s*(\d{1,2})(?:st|nd|rd|th)?", re.ASCII | re.IGNORECASE)
_YEAR = re.compile(r"[,\s]*\b(?:19|20)\d\d\b[,\s]*", re.ASCII)
_ISO = re.compile(r"\d{4}[-/.](\d{1,2})[-/.](\d{1,2})(?:[T ].*)?", re.ASCII)
_NUMBERS = re.compile(r"(\d{1,2})\s*[-/.]\s*(\d{1,2})\.?(?:\s*[-/.]\s*\d{2,4})?", re.ASCII)


class DayError(ValueError):
    """A day that cannot be read; holds what is wrong and what to write."""

    def __init__(self, found: str, hint: str) -> None:
        super().__init__(found)
        self.found = found
        self.hint = hint


def parse_day(text: str) -> tuple[int, int]:
    """Month 1 to 12 and day of the month of a text such as ``"1 Dec"`` or ``"Dec 1"``.

    Raises
    ------
    DayError
        If the text is no such day, names a year, or is made of numbers alone.
    """
    plain = text.strip()
    if match := _DAY_MONTH.fullmatch(plain):
        return _checked(match[2], int(match[1]), text)
    if match := _MONTH_DAY.fullmatch(plain):
        return _checked(match[1], int(match[2]), text)
    if match := _ISO.fullmatch(plain):
        raise _with_year(int(match[1]), int(match[2]))
    if match := _NUMBERS.fullmatch(plain):
        raise _numbers_only(text, int(match[1]), int(match[2]))
    if _YEAR.search(plain):
        try:
            month, day = parse_day(_YEAR.sub(" ", plain))
        except DayError:
            pass
        else:
            raise _with_year(month, day)
    raise DayError("is no day of the year", 'Write the day and the month\'s name, as in "20 Sep".')


def day_text(month: int, day: int) -> str:
    """Write a day the short way: ``"1 Dec"``."""
    return f"{day} {MONTHS[month - 1][:3]}"


def day_of_year(month: int, day: int) -> int:
    """Index 0 to 364 of a day in the simulated year."""
    return sum(LENGTHS[: month - 1]) + day - 1


def month_and_day(doy: int) -> tuple[int, int]:
    """Month 1 to 12 and day of the month of an index 0 to 364."""
    left = doy % DAYS
    for month, length in enumerate(LENGTHS, start=1):
        if left < length:
            return month, left + 1
        left -= length
    raise AssertionError("unreachable: the lengths sum to the year")


def _month_named(word: str) -> int | None:
    known = word.lower()
    if known == "sept":
        known = "sep"
    for number, name in enumerate(MONTHS, start=1):
        if name.lower() == known or name[:3].lower() == known:
            return number
    return None


def _checked(word: str, day: int, text: str) -> tuple[int, int]:
    month = _month_named(word)
    if month is None:
        raise DayError("names no month", 'Write months in English, as in "20 Sep".')
    if (month, day) == (2, 29):
        raise DayError(
            "falls only in leap years; the simulated year has 365 days",
            'Write "28 Feb" or "1 Mar".',
        )
    if not 1 <= day <= LENGTHS[month - 1]:
        raise DayError(
            f"does not exist: {MONTHS[month - 1]} has {LENGTHS[month - 1]} days",
            f'Write "1 {MONTHS[month - 1][:3]}" to "{LENGTHS[month - 1]} {MONTHS[month - 1][:3]}".',
        )
    return month, day


def _with_year(month: int, day: int) -> DayError:
    hint = 'Write the day alone, as in "20 Sep".'
    if 1 <= month <= 12 and 1 <= day <= 31:
        hint = f'Write "{day_text(month, day)}".'
    return DayError("names a year, but many years are simulated", hint)


def _numbers_only(text: str, first: int, second: int) -> DayError:
    readings = []
    if 1 <= second <= 12 and 1 <= first <= LENGTHS[second - 1]:
        readings.append((second, first))
    if 1 <= first <= 12 and 1 <= second <= LENGTHS[first - 1] and first != second:
        readings.append((first, second))
    if not readings:
        return DayError("is no day of the year", 'Write the day and the month, as in "20 Sep".')
    long = " or ".join(f"{day} {MONTHS[month - 1]}" for month, day in readings)
    short = " or ".join(f'"{day_text(month, day)}"' for month, day in readings)
    found = f"can be read as {long}" if len(readings) == 2 else "has no month's name"
    return DayError(found, f"Write {short}.")
