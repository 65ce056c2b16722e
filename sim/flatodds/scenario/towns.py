"""Places by name: a town, or so many miles or kilometres from one."""

from __future__ import annotations

import re
from math import asin, atan2, cos, degrees, radians, sin

from flatodds.catalog.towns import Town, lies_in, towns_called, towns_like

EARTH_KM = 6371.0  # mean radius (IUGG 1980)
KM_PER_MILE = 1.609344  # exact, by definition of the international mile
FARTHEST_KM = 500.0  # beyond this a direction from a town is hardly meant: judgement
DWARFS = 20.0  # a town so many times larger than any namesake is the one meant: judgement
MOST_SHOWN = 6  # own choice

_POINTS = re.findall(r"\w+", "n nne ne ene e ese se sse s ssw sw wsw w wnw nw nnw")
_FROM = re.compile(
    r"(?P<far>\d+(?:\.\d+)?)\s*(?P<unit>miles?|mi|km|kilomet(?:er|re)s?)\.?\s+"
    r"(?P<way>[a-z]+(?:[\s-][a-z]+)?)\s+(?:of|from)\s+(?P<town>.+)",
    re.IGNORECASE,
)
_WORDS = {"north": "n", "south": "s", "east": "e", "west": "w"}


class TownError(ValueError):
    """No town, or several; `hint` says what to write."""

    def __init__(self, found: str, hint: str) -> None:
        super().__init__(found)
        self.hint = hint


def town_place(text: str) -> tuple[float, float]:
    """Latitude and longitude [degree] of "Moab, UT" or "30 miles S of Moab, UT".

    Raises
    ------
    TownError
        If no town, or more than one, answers to the name, or the direction is unknown.
    """
    offset = _FROM.fullmatch(text.strip())
    if offset is None:
        town = find_town(text)
        return town.latitude, town.longitude
    far_km = float(offset["far"]) * (
        KM_PER_MILE if offset["unit"].lower().startswith("mi") else 1.0
    )
    if far_km > FARTHEST_KM:
        raise TownError(
            "is too far from the town to be meant", "Name a nearer town, or give coordinates."
        )
    return _beyond(find_town(offset["town"]), far_km, _bearing_deg(offset["way"]))


def find_town(text: str) -> Town:
    """Look up the one town of a name, told apart by what follows its commas."""
    name, *where = [part.strip() for part in text.split(",")]
    called = towns_called(name)
    if not called and not where and " " in name:  # "Moab UT"
        name, _, last = name.rpartition(" ")
        called, where = towns_called(name), [last]
    found = [town for town in called if all(lies_in(town, part) for part in where if part)]
    if len(found) == 1 or (found and found[0].people >= DWARFS * found[1].people):
        return found[0]
    if found:
        raise TownError(f"could be any of {len(found)} towns", _tell_apart(found))
    if called:
        raise TownError("is not where that town is", _tell_apart(called))
    near = towns_like(name)
    hint = f"Nearest: {'; '.join(near)}. " if near else ""
    raise TownError(
        "is not in the list of towns",
        hint + 'Small places are missing: give coordinates, as in "44.95, -93.60",'
        ' or "12 miles NW of" a town.',
    )


def _tell_apart(towns: tuple[Town, ...] | list[Town]) -> str:
    """Say each town as it may be written; by coordinates where the name is not enough."""
    labels = [town.label for town in towns]
    shown = [
        town.label
        if labels.count(town.label) == 1
        else f"{town.label} at {town.latitude:.2f}, {town.longitude:.2f}"
        for town in towns[:MOST_SHOWN]
    ]
    more = f"; and {len(towns) - MOST_SHOWN} more" if len(towns) > MOST_SHOWN else ""
    return f"There are: {'; '.join(shown)}{more}."


def _bearing_deg(way: str) -> float:
    """Compass direction of words or letters, clockwise from north [degree]."""
    letters = way.lower().replace("-", " ")
    for word, letter in _WORDS.items():
        letters = letters.replace(word, letter)
    letters = letters.replace(" ", "")
    if letters not in _POINTS:
        raise TownError(
            "has a direction that is not understood",
            "Directions: N, NE, SSW, south-west and so on.",
        )
    return 22.5 * _POINTS.index(letters)


def _beyond(town: Town, far_km: float, bearing_deg: float) -> tuple[float, float]:
    """Point at a distance and bearing from a town, on a sphere."""
    angle, bearing = far_km / EARTH_KM, radians(bearing_deg)
    here, east = radians(town.latitude), radians(town.longitude)
    north = asin(sin(here) * cos(angle) + cos(here) * sin(angle) * cos(bearing))
    east += atan2(sin(bearing) * sin(angle) * cos(here), cos(angle) - sin(here) * sin(north))
    return round(degrees(north), 3), round((degrees(east) + 540.0) % 360.0 - 180.0, 3)
