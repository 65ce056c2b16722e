"""What `weather show` is pointed at: a file, a scenario's stays, or a place."""

from __future__ import annotations

import contextlib
import os
from pathlib import Path
from typing import TYPE_CHECKING

from flatodds.cli.plain import plain
from flatodds.errors import UsageError

if TYPE_CHECKING:
    from flatodds.scenario.parts import Stay
    from flatodds.weather.spells import DailyWeather, Dullness

PICTURES = (".svg", ".png")
NAME = 40  # characters of a town as it was asked for
FILE_KINDS = (".csv", ".epw", ".json", ".tm2", ".txt")


def days_of(target: str) -> list[DailyWeather]:
    """Days of everything the target names: one, or one for each different stay."""
    path = Path(target)
    if path.suffix.lower() == ".toml":
        return _days_of_scenario(path)
    if path.exists():
        from flatodds.weather.daily import days_of_files

        return [days_of_files([path], path.name)]
    if path.suffix.lower() in FILE_KINDS:
        raise UsageError(
            f"There is no file {plain(target)[:60]}.\n"
            '  Give a weather file, a scenario, or a place as in "44.9,-93.6" or "Moab, UT".'
        )
    latitude, longitude = place_of(target, "The place")
    return [_days_of_place(latitude, longitude, target)]


def place_of(text: str, what: str) -> tuple[float, float]:
    """Coordinates of a text, or our error."""
    from flatodds.scenario.places import PlaceError, parse_place

    try:
        return parse_place(text)
    except PlaceError as error:
        message = f"{what} {plain(text)[:60]} {error.found}.\n  {error.hint}"
        raise UsageError(message) from None


def _days_of_scenario(path: Path) -> list[DailyWeather]:
    """Days of each different weather among the stays, in their order."""
    from flatodds.scenario import load_scenario

    stays: dict[object, Stay] = {}
    for stay in load_scenario(path).stays:
        where = (stay.latitude, stay.longitude, stay.weather)
        stays.setdefault((*where, stay.monthly_sun_kwh_m2, stay.monthly_temp_c), stay)
    return [_days_of_stay(stay, path.parent) for stay in stays.values()]


def _days_of_stay(stay: Stay, folder: Path) -> DailyWeather:
    from flatodds.weather.daily import days_of_files, days_of_place
    from flatodds.weather.own_years import weather_files

    if stay.weather is None:
        return days_of_place(stay, stay.utc_offset_h, stay.name)
    names = (stay.weather,) if isinstance(stay.weather, str) else stay.weather
    return days_of_files(weather_files(stay, names, folder), stay.name)


def _days_of_place(latitude: float, longitude: float, asked: str) -> DailyWeather:
    from flatodds.scenario.places import PlaceError, clock_at, names_a_town, place_text
    from flatodds.weather.daily import Spot, days_of_place

    name = place_text(latitude, longitude)
    if names_a_town(asked):
        name = f"{plain(asked)[:NAME]} ({name})"
    try:
        _, utc_offset_h = clock_at(latitude, longitude)
    except PlaceError as error:
        raise UsageError(f"The place {error.found}.\n  {error.hint}") from None
    return days_of_place(Spot(latitude, longitude), utc_offset_h, name)


def check_picture(path: Path, looks: int, *, force: bool) -> None:
    """Refuse, before anything is worked out, a picture that cannot be written."""
    if path.suffix.lower() not in PICTURES:
        raise UsageError(f"A picture is {' or '.join(PICTURES)}, not {plain(path.name)}.")
    if looks > 1:
        raise UsageError(
            f"The scenario has {looks} different weathers; a picture shows one.\n"
            "  Show a place or a weather file."
        )
    if path.exists() and not force:
        raise UsageError(f"{path} exists already.\n  Give another name, or add --force.")


def write_picture(daily: DailyWeather, dull: Dullness, path: Path) -> None:
    """Draw the calendar and put it at its name in one step."""
    from flatodds.report.weather_figure import weather_picture

    data = weather_picture(daily, dull, path.suffix.lower().removeprefix("."))
    beside = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        beside.write_bytes(data)
        beside.replace(path)
    except OSError as error:
        with contextlib.suppress(OSError):
            beside.unlink(missing_ok=True)
        raise UsageError(f"{path} cannot be written: {error.strerror}.") from None
