"""Where a stay is: coordinates in any common form or a town, and the clock kept there."""

from __future__ import annotations

import re
from datetime import datetime
from functools import lru_cache
from math import floor, isfinite
from zoneinfo import ZoneInfo

from flatodds.scenario.kept_zones import zone_at
from flatodds.scenario.towns import TownError, find_town, town_place

SHOW = 'Give coordinates, as in "44.95, -93.60" or "44.95 N 93.60 W", or a town.'

# Zones of the United States in the IANA database (zone1970.tab, 2025), to choose the units
# that are printed; zones are prefixes where a state has several.
_US_ZONES = (
    "America/New_York",
    "America/Detroit",
    "America/Kentucky",
    "America/Indiana",
    "America/Chicago",
    "America/Menominee",
    "America/North_Dakota",
    "America/Denver",
    "America/Boise",
    "America/Phoenix",
    "America/Los_Angeles",
    "America/Anchorage",
    "America/Juneau",
    "America/Sitka",
    "America/Metlakatla",
    "America/Yakutat",
    "America/Nome",
    "America/Adak",
    "Pacific/Honolulu",
)

_WORDS = {"north": "N", "south": "S", "east": "E", "west": "W"}
_WORD = re.compile("|".join(_WORDS), re.IGNORECASE)
_IGNORED = re.compile(r"\b(?:latitude|longitude|lat|long|lng|lon|geo|degrees|deg)\b[:=.]?", re.I)
_TOKEN = re.compile(r"[+-]?\d+(?:\.\d*)?|[NSEWnsew]|[,;/]|[°d*'\":()\[\]\s]", re.ASCII)
_PRIMES = str.maketrans(
    {"−": "-", "–": "-", "º": "°", "˚": "°", "′": "'", "’": "'", "″": '"', "”": '"', "“": '"'}
)


class PlaceError(ValueError):
    """A place that cannot be used; holds what is wrong and what to write."""

    def __init__(self, found: str, hint: str = SHOW) -> None:
        super().__init__(found)
        self.found = found
        self.hint = hint


def parse_place(text: str) -> tuple[float, float]:
    """Latitude and longitude [degree, north and east positive] of a text.

    Understood are decimal degrees, degrees and minutes, and degrees, minutes and seconds,
    with signs or with the letters N, S, E, W before or after the numbers; and towns of the
    packaged list, as in "Moab, UT" or "30 miles S of Moab, UT".

    Raises
    ------
    PlaceError
        If the text is neither, names several towns, or lies off the globe.
    """
    if names_a_town(text):
        try:
            return town_place(text)
        except TownError as error:
            raise PlaceError(str(error), error.hint) from None
    if not any(mark in "0123456789" for mark in text):
        raise PlaceError("is neither coordinates nor a town", SHOW)
    pieces = _pieces(text)
    letters = [piece for piece in pieces if piece in "NSEW"]
    if letters:
        first, second = _by_letters(pieces, letters)
    else:
        first, second = _by_commas(pieces)
    latitude, longitude = first[0], second[0]
    if first[1] in ("E", "W"):
        latitude, longitude = longitude, latitude
    if abs(latitude) > 90.0 and abs(longitude) <= 90.0 and not letters:
        raise PlaceError(
            "has a latitude beyond 90 degrees", "Latitude comes first: swap the two numbers."
        )
    if abs(latitude) > 90.0 or abs(longitude) > 180.0:
        raise PlaceError("is off the globe: latitude goes to 90, longitude to 180 degrees")
    return latitude, longitude


def place_named(text: str) -> str:
    """Name a place as it was written; a town alone with its state or country: "Moab, UT"."""
    if "," in text or not names_a_town(text):
        return text
    try:
        return find_town(text).label
    except TownError:  # so many miles from a town
        return text


def names_a_town(text: str) -> bool:
    """Whether a text holds a word that no pair of coordinates has, so that it means a town."""
    plain = _IGNORED.sub(" ", _WORD.sub(" ", text))
    return any(len(word) > 2 for word in re.findall(r"[^\W\d_]+", plain)) or (
        " of " in f" {plain} "
    )


def _pieces(text: str) -> list[str]:
    """Numbers, hemisphere letters and separators of a text, nothing else allowed."""
    plain = _WORD.sub(lambda m: _WORDS[m[0].lower()], text.translate(_PRIMES))
    plain = _IGNORED.sub(" ", plain)
    pieces, at = [], 0
    while at < len(plain):
        match = _TOKEN.match(plain, at)
        if match is None:
            raise PlaceError("is not a pair of coordinates", SHOW)
        if match[0] in "NSEWnsew" or match[0] in ",;/" or match[0][-1] in "0123456789.":
            pieces.append(match[0].upper())
        at = match.end()
    return pieces


def _by_letters(pieces: list[str], letters: list[str]) -> tuple[tuple[float, str], ...]:
    """Both angles with their hemisphere letter, in the order written."""
    if len(letters) != 2 or (letters[0] in "NS") == (letters[1] in "NS"):
        raise PlaceError("needs one of N or S and one of E or W")
    words = [piece for piece in pieces if piece not in ",;/"]
    before = words[0] in "NSEW"
    if before == (words[-1] in "NSEW"):
        raise PlaceError("has its letters N, S, E, W on different sides of the numbers")
    cut = words.index(letters[1], 1) if before else words.index(letters[0])
    groups = (words[1:cut], words[cut + 1 :]) if before else (words[:cut], words[cut + 1 : -1])
    angles = []
    for group, letter in zip(groups, letters, strict=True):
        if any(part[0] in "+-" for part in group):
            raise PlaceError("has both a sign and a letter; one is enough")
        angles.append((_angle(group) * (-1.0 if letter in "SW" else 1.0), letter))
    return tuple(angles)


def _by_commas(pieces: list[str]) -> tuple[tuple[float, str], ...]:
    """Both angles of a text without letters, latitude first."""
    marks = [index for index, piece in enumerate(pieces) if piece in ",;/"]
    if len(marks) == 1:
        groups = (pieces[: marks[0]], pieces[marks[0] + 1 :])
    elif not marks and len(pieces) in (2, 4, 6):
        groups = (pieces[: len(pieces) // 2], pieces[len(pieces) // 2 :])
    elif len(marks) == 3:
        raise PlaceError("has too many commas", "Write decimals with a point. " + SHOW)
    else:
        raise PlaceError("is not a pair of coordinates", SHOW)
    return ((_angle(groups[0]), ""), (_angle(groups[1]), ""))


def _angle(parts: list[str]) -> float:
    """Degrees of one to three numbers: degrees, minutes, seconds; only the last has decimals."""
    if not 1 <= len(parts) <= 3:
        raise PlaceError("is not a pair of coordinates")
    numbers = [abs(float(part)) for part in parts]
    if any("." in part for part in parts[:-1]) or any(part[0] in "+-" for part in parts[1:]):
        raise PlaceError("has a fraction or a sign inside an angle")
    if any(number >= 60.0 for number in numbers[1:]):
        raise PlaceError("has 60 or more minutes or seconds in an angle")
    degrees = sum(number / 60.0**power for power, number in enumerate(numbers))
    return -degrees if parts[0].startswith("-") else degrees


def place_text(latitude: float, longitude: float) -> str:
    """Coordinates as people read them: ``"44.90 N 93.60 W"``."""
    north = "N" if latitude >= 0.0 else "S"
    east = "E" if longitude >= 0.0 else "W"
    return f"{abs(latitude):.2f} {north} {abs(longitude):.2f} {east}"


@lru_cache(maxsize=1024)
def clock_at(latitude: float, longitude: float) -> tuple[str, int]:
    """IANA time zone of a place, and whole hours its standard clock is ahead of UTC.

    Standard time is the smaller of the offsets of January and July 2025; offsets of half
    hours are rounded up to whole hours.

    Raises
    ------
    PlaceError
        If the place is at sea.
    """
    if not (isfinite(latitude) and isfinite(longitude)):
        raise PlaceError("is not on the globe")
    zone = zone_at(longitude, latitude)
    if not zone or zone.startswith("Etc/"):
        raise PlaceError(
            f"({place_text(latitude, longitude)}) is at sea",
            "Check the signs: west longitudes and south latitudes are negative.",
        )
    offsets = [datetime(2025, m, 1, tzinfo=ZoneInfo(zone)).utcoffset() for m in (1, 7)]
    hours = min(offset.total_seconds() for offset in offsets if offset is not None) / 3600.0
    return zone, floor(hours + 0.5)


def in_united_states(time_zone: str) -> bool:
    """Whether a time zone is kept in the United States."""
    return any(time_zone == zone or time_zone.startswith(zone + "/") for zone in _US_ZONES)


def units_printed(written: str | None, time_zone: str) -> str:
    """Units to print, "us" or "si": as written, else by the country of the first stay."""
    return written or ("us" if in_united_states(time_zone) else "si")


def sign_forgotten(latitude: float, longitude: float) -> bool:
    """Whether a place in Asia mirrors one in North America, so that a minus may be missing.

    The bands hold the United States and southern Canada: 24 to 55 N, 66 to 125 W.
    """
    if not (24.0 <= latitude <= 55.0 and 66.0 <= longitude <= 125.0):
        return False
    here, mirrored = zone_at(longitude, latitude), zone_at(-longitude, latitude)
    return bool(here.startswith("Asia/") and mirrored.startswith("America/"))
