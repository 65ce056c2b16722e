"""Kinds of value a scenario file may hold: checked here, one by one, in our own words."""

from __future__ import annotations

from typing import Annotated

from pydantic import AfterValidator, Field
from pydantic_core import PydanticCustomError

from flatodds.catalog import appliances, parse_window
from flatodds.scenario.dates import DayError, parse_day
from flatodds.scenario.places import PlaceError, clock_at, parse_place

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


def _weather(text: str) -> str:
    if text.startswith("sample:") and text not in SAMPLES:
        raise problem("is no packaged sample", "There are: " + ", ".join(SAMPLES) + ".")
    return text


Text = Annotated[str, Field(min_length=1, max_length=200)]
Fraction = Annotated[float, Field(ge=0.0, le=1.0)]
DayText = Annotated[str, Field(max_length=200), AfterValidator(_day)]
PlaceText = Annotated[str, Field(max_length=200), AfterValidator(_place)]
WindowText = Annotated[str, Field(max_length=200), AfterValidator(_window)]
UseText = Annotated[str, Field(max_length=200), AfterValidator(_use)]
WeatherText = Annotated[str, Field(min_length=1, max_length=1000), AfterValidator(_weather)]
