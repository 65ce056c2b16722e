"""Kinds of value a scenario file may hold: checked here, one by one, in our own words."""

from __future__ import annotations

from typing import Annotated

from pydantic import AfterValidator, BeforeValidator, Field
from pydantic_core import PydanticCustomError

from flatodds.catalog import appliances, panels, parse_window
from flatodds.scenario.dates import DayError, parse_day
from flatodds.scenario.places import PlaceError, clock_at, parse_place

MOST_FILES = 100  # weather files of one stay
LONGEST_NAME = 1000  # characters of a file's name
SAMPLES = ("sample:greensboro", "sample:sand-point")


def problem(found: str, hint: str = "") -> PydanticCustomError:
    """Error of a validator: what is wrong with the value, and what to write instead."""
    return PydanticCustomError("flatodds", "{found}", {"found": found, "hint": hint})


def _day(text: str) -> str:
    try:
        parse_day(text)
    except DayError as error:
        raise problem(error.found, error.hint) from None
    return text


def _place(text: str) -> str:
    try:
        clock_at(*parse_place(text))
    except PlaceError as error:
        raise problem(error.found, error.hint) from None
    return text


def _window(text: str) -> str:
    try:
        parse_window(text)
    except ValueError as error:
        raise problem(f"is no window of the day: {error}", 'Write it as in "17-19:30".') from None
    return text


def _use(name: str) -> str:
    if name not in appliances():
        from difflib import get_close_matches

        near = get_close_matches(name, appliances(), n=3, cutoff=0.5)
        hint = "All names: flatodds new --list appliances."
        if near:
            hint = "Nearest: " + ", ".join(near) + ". " + hint
        raise problem("is not in the catalogue of appliances", hint)
    return name


def _panel(name: str) -> str:
    if name not in panels():
        raise problem("is not in the catalogue of panels", f"There are: {', '.join(panels())}.")
    return name


def _weather(entry: object) -> object:
    """Check a weather file's name, or a list of them, before pydantic sees which it is."""
    listed = entry if isinstance(entry, list) else [entry]
    names = [text for text in listed if isinstance(text, str)]
    if not names or len(names) < len(listed):
        raise problem(
            "should be a weather file in quotes, or a list of them",
            'Write: weather = "my-years.csv", or weather = ["2019.csv", "2020.csv"]',
        )
    if len(names) > MOST_FILES:
        raise problem(f"lists more than {MOST_FILES} files", "Join years into one file.")
    for text in names:
        if not 1 <= len(text) <= LONGEST_NAME:
            raise problem("should be text of ordinary length", "Give the name of a file.")
        if text.startswith("sample:") and text not in SAMPLES:
            raise problem("is no packaged sample", "There are: " + ", ".join(SAMPLES) + ".")
    return entry


Text = Annotated[str, Field(min_length=1, max_length=200)]
Fraction = Annotated[float, Field(ge=0.0, le=1.0)]
DayText = Annotated[str, Field(max_length=200), AfterValidator(_day)]
PlaceText = Annotated[str, Field(max_length=200), AfterValidator(_place)]
WindowText = Annotated[str, Field(max_length=200), AfterValidator(_window)]
PanelText = Annotated[str, Field(max_length=200), AfterValidator(_panel)]
UseText = Annotated[str, Field(max_length=200), AfterValidator(_use)]
WeatherFiles = Annotated[str | list[str], BeforeValidator(_weather)]
MonthsOfSun = Annotated[
    list[Annotated[float, Field(ge=0.0, le=15.0)]], Field(min_length=12, max_length=12)
]
MonthsOfWetDays = Annotated[
    list[Annotated[float, Field(ge=0.0, le=31.0)]], Field(min_length=12, max_length=12)
]
MonthsOfCelsius = Annotated[
    list[Annotated[float, Field(ge=-60.0, le=45.0)]], Field(min_length=12, max_length=12)
]
MonthsOfFahrenheit = Annotated[
    list[Annotated[float, Field(ge=-76.0, le=113.0)]], Field(min_length=12, max_length=12)
]
