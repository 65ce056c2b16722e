"""The note beside a fetched weather file: where its hours come from, read back with care."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from math import isfinite
from pathlib import Path
from typing import Any

from flatodds.folders import cache_folder

LAYOUT = 1
MAX_NOTE_BYTES = 64 * 1024  # own choice
STEM = re.compile(
    r"[a-z][a-z-]{1,19}_-?\d{1,2}\.\d{3}_-?\d{1,3}\.\d{3}_(tmy|\d{4}-\d{4})", re.ASCII
)
HASH = re.compile(r"[0-9a-f]{64}", re.ASCII)
HASH_SHOWN = 12  # digits of the hash in a file's name


@dataclass(frozen=True, slots=True)
class CachedSet:
    """One set of fetched weather.

    Attributes
    ----------
    service : str
        Name of the service, as `fetch.SERVICES` has it.
    latitude, longitude : float
        Place asked for, north and east [degree].
    years : tuple of int
        Calendar years; empty for a typical year.
    file : str
        Name of the file with the hours.
    sha256 : str
        Of that file.
    fetched : str
        Date, as in "2026-11-25".
    url : str
        Address asked, without key.
    origin : str
        Data behind the service's answer, in its own words.
    """

    service: str
    latitude: float
    longitude: float
    years: tuple[int, ...]
    file: str
    sha256: str
    fetched: str
    url: str
    origin: str

    @property
    def typical(self) -> bool:
        """Whether it is a typical year rather than real ones."""
        return not self.years

    @property
    def path(self) -> Path:
        """Where the hours lie."""
        return weather_folder() / self.file

    @property
    def years_text(self) -> str:
        """Years as people write them."""
        return f"{self.years[0]}-{self.years[-1]}" if self.years else "typical"


def weather_folder() -> Path:
    """Folder that fetched weather is kept in; FLATODDS_CACHE_DIR moves it."""
    return cache_folder() / "weather"


def stem(service: str, latitude: float, longitude: float, years: tuple[int, ...]) -> str:
    """Name that the files of a set begin with."""
    span = f"{years[0]}-{years[-1]}" if years else "tmy"
    return f"{service}_{latitude:.3f}_{longitude:.3f}_{span}"


def read_note(path: Path) -> CachedSet | None:
    """Read one note; None when anything in it is not as we write it."""
    try:
        with path.open("rb") as stream:
            data = stream.read(MAX_NOTE_BYTES + 1)
        note = json.loads(data.decode()) if len(data) <= MAX_NOTE_BYTES else None
    except (OSError, ValueError, RecursionError):
        return None
    if not isinstance(note, dict) or note.pop("layout", None) != LAYOUT:
        return None
    return _checked_note(note, path.stem)


def _checked_note(note: dict[str, Any], name: str) -> CachedSet | None:
    """Build the set of a note if every entry is of its kind and belongs to its name."""
    kinds = {"latitude": (int, float), "longitude": (int, float), "years": (list,)}
    keys = CachedSet.__dataclass_fields__.keys()
    if note.keys() != keys or any(
        not isinstance(note[key], kinds.get(key, (str,))) or isinstance(note[key], bool)
        for key in keys
    ):
        return None
    years = note["years"]
    if any(not isinstance(year, int) for year in years):
        return None
    if years and years != list(range(years[0], years[0] + len(years))):
        return None
    one = CachedSet(**{**note, "years": tuple(years)})
    finite = isfinite(one.latitude) and isfinite(one.longitude)
    if not finite or name != stem(one.service, one.latitude, one.longitude, one.years):
        return None
    right = HASH.fullmatch(one.sha256) and one.file == f"{name}_{one.sha256[:HASH_SHOWN]}.csv"
    return one if right else None
