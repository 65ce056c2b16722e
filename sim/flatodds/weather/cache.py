"""Fetched weather kept on disk: whole files or none, found again by place, checked by hash.

A set is two files: the hours in our plain layout, and beside it a JSON note of where they come
from. The hours' name holds their hash and the note is written last, so two processes that fetch
the same set never mix their files, and a set that is cut short is never found.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import shutil
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import asdict
from math import cos, hypot, radians
from pathlib import Path

from flatodds.errors import Problem, WeatherError
from flatodds.weather.cache_note import (
    HASH_SHOWN,
    LAYOUT,
    STEM,
    CachedSet,
    read_note,
    stem,
    weather_folder,
)

NEAR_DEG = 0.1  # a set counts for stays this near, about 11 km north to south; judgement
STALE_S = 24 * 3600.0  # unfinished files this old belong to nobody; judgement
UNFINISHED = ".unfinished-"


def get_command(latitude: float, longitude: float) -> str:
    """Command that fetches weather for a place."""
    return f"flatodds weather get --at {latitude:.3f},{longitude:.3f}"


def cached_sets() -> tuple[list[CachedSet], list[str]]:
    """List the sets whose note can be read, and the names of the notes that cannot."""
    found, damaged = [], []
    try:
        notes = sorted(path for path in weather_folder().glob("*.json") if _is_ours(path))
    except OSError as error:
        raise _unusable(error) from None
    for path in notes:
        note = read_note(path)
        if note is None:
            damaged.append(path.name)
        else:
            found.append(note)
    return found, damaged


def find(
    service: str, latitude: float, longitude: float, years: tuple[int, ...]
) -> CachedSet | None:
    """Look up the set of exactly this request, its file checked by hash."""
    path = weather_folder() / f"{stem(service, latitude, longitude, years)}.json"
    note = read_note(path) if path.is_file() else None
    if note is not None:
        verify(note)
    return note


def cached_path(latitude: float, longitude: float, *, typical: bool = False) -> Path:
    """File of the real years, or the typical year, fetched nearest to a place, checked by hash.

    Of sets equally near the one with more years counts, then the one fetched later.

    Raises
    ------
    WeatherError
        If none lies within 0.1 degree, or the file is not what was fetched; says what to type.
    """
    found, damaged = cached_sets()
    near = [
        one
        for one in found
        if (one.typical if typical else one.years) and _is_near(one, latitude, longitude)
    ]
    if near:
        best = min(near, key=lambda one: _order(one, latitude, longitude))
        verify(best)
        return best.path
    what = f"No weather has been fetched within {NEAR_DEG:g} degree of {_at(latitude, longitude)}."
    if any(_is_near(one, latitude, longitude) for one in found):
        what += (
            " There are real years, but a typical year is wanted."
            if typical
            else ' There is a typical year: weather = "fetched typical".'
        )
    if damaged:
        what += f" {len(damaged)} notes in {weather_folder()} are damaged."
    hint = f"While you have internet: {get_command(latitude, longitude)}"
    hint += " --service pvgis-tmy" if typical else ""
    name = "fetched typical" if typical else "fetched"
    raise WeatherError(Problem(f'weather = "{name}"', what, hint))


def verify(one: CachedSet) -> None:
    """Refuse a set whose file is gone or not, to the byte, what was fetched."""
    again = f"Fetch it again: {get_command(one.latitude, one.longitude)}"
    again += f" --service {one.service}" + (f" --years {one.years_text}" if one.years else "")
    try:
        digest = hashlib.sha256(one.path.read_bytes()).hexdigest()
    except FileNotFoundError:
        raise WeatherError(Problem(str(one.path), "The fetched file is gone.", again)) from None
    except OSError as error:
        what = f"The file cannot be read: {error.strerror}."
        raise WeatherError(Problem(str(one.path), what)) from None
    if digest != one.sha256:
        what = "The file has changed since it was fetched (its SHA-256 differs)."
        raise WeatherError(Problem(str(one.path), what, again))


def state_of(one: CachedSet) -> str:
    """Size of a set's file, or what is wrong with it."""
    try:
        verify(one)
        return f"{one.path.stat().st_size / 1e6:.1f} MB"
    except WeatherError:
        return "damaged: get it again"
    except OSError:
        return "gone"


def keep(one: CachedSet, text: str, check: Callable[[Path], None]) -> CachedSet:
    """Keep a set: the hours once `check` has accepted them, then the note.

    Parameters
    ----------
    one : CachedSet
        Its file and sha256 are filled in here.
    text : str
        The hours.
    check : callable
        Called with the path of the unfinished file; raises when it is unusable.
    """
    data = text.encode()
    sha256 = hashlib.sha256(data).hexdigest()
    name = stem(one.service, one.latitude, one.longitude, one.years)
    made = {**asdict(one), "file": f"{name}_{sha256[:HASH_SHOWN]}.csv", "sha256": sha256}
    kept = CachedSet(**made)
    note = json.dumps({"layout": LAYOUT, **made}, indent=1) + "\n"
    folder = weather_folder()
    try:
        folder.mkdir(parents=True, exist_ok=True)
        _sweep(folder, STALE_S)
        with _unfinished(folder) as beside:
            _write(beside / kept.file, data)
            check(beside / kept.file)
            _write(beside / f"{name}.json", note.encode())
            os.replace(beside / kept.file, folder / kept.file)
            os.replace(beside / f"{name}.json", folder / f"{name}.json")
            _sync_folder(folder)
    except OSError as error:
        raise _unusable(error) from None
    return kept


def clear() -> tuple[int, list[str]]:
    """Delete every fetched set; gives how many files went and what of others was left alone.

    Raises
    ------
    WeatherError
        If the folder is a link to somewhere else.
    """
    folder = weather_folder()
    if folder.is_symlink():
        what = "This is a link to another folder; nothing in it was deleted."
        raise WeatherError(Problem(str(folder), what, "Delete what you do not need by hand."))
    if not folder.is_dir():
        return 0, []
    gone = 0
    try:
        _sweep(folder, 0.0)
        for path in sorted(folder.iterdir()):
            if _is_ours(path) or _is_hours(path):
                path.unlink(missing_ok=True)
                gone += 1
        left = sorted(path.name for path in folder.iterdir())
    except OSError as error:
        raise _unusable(error) from None
    return gone, left


def _is_ours(path: Path) -> bool:
    """Whether a name is that of a note, and the file no folder or link."""
    return path.suffix == ".json" and bool(STEM.fullmatch(path.stem)) and _is_plain_file(path)


def _is_hours(path: Path) -> bool:
    name, _, tail = path.stem.rpartition("_")
    known = path.suffix == ".csv" and STEM.fullmatch(name) and len(tail) == HASH_SHOWN
    return bool(known) and _is_plain_file(path)


def _is_plain_file(path: Path) -> bool:
    return path.is_file() and not path.is_symlink()


def _offsets_deg(one: CachedSet, latitude: float, longitude: float) -> tuple[float, float]:
    east = (one.longitude - longitude + 180.0) % 360.0 - 180.0
    return one.latitude - latitude, east


def _is_near(one: CachedSet, latitude: float, longitude: float) -> bool:
    north, east = _offsets_deg(one, latitude, longitude)
    return max(abs(north), abs(east)) <= NEAR_DEG + 1e-9


def _order(one: CachedSet, latitude: float, longitude: float) -> tuple[float, int, int]:
    """Nearest first, then most years, then newest."""
    north, east = _offsets_deg(one, latitude, longitude)
    away = round(hypot(north, east * cos(radians(latitude))), 4)
    return away, -len(one.years), -int(re.sub(r"\D", "", one.fetched) or 0)


def _at(latitude: float, longitude: float) -> str:
    return f"{latitude:.3f}, {longitude:.3f}"


def _unusable(error: OSError) -> WeatherError:
    what = f"The folder for fetched weather cannot be used: {error.strerror or error}."
    hint = "FLATODDS_CACHE_DIR may name another folder."
    return WeatherError(Problem(str(weather_folder()), what, hint))


@contextmanager
def _unfinished(folder: Path) -> Iterator[Path]:
    """Hidden folder for files that are not whole yet; gone afterwards, whatever happens."""
    beside = Path(tempfile.mkdtemp(prefix=UNFINISHED, dir=folder))
    try:
        yield beside
    finally:
        shutil.rmtree(beside, ignore_errors=True)


def _write(path: Path, data: bytes) -> None:
    with path.open("xb") as stream:
        stream.write(data)
        stream.flush()
        os.fsync(stream.fileno())


def _sync_folder(folder: Path) -> None:
    """Make the new names last; not every system lets folders be synced."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _sweep(folder: Path, older_s: float) -> None:
    """Remove hidden folders that a killed process left."""
    for path in folder.glob(f"{UNFINISHED}*"):
        with suppress(OSError):
            own = path.is_dir() and not path.is_symlink()
            if own and time.time() - path.stat().st_mtime >= older_s:
                shutil.rmtree(path, ignore_errors=True)
