"""Time zones of places asked for before, kept in the user's cache folder.

Finding a zone means unpacking the outlines of all of them, a sixth of the time that `check`
takes, and people ask about the same few places. A missing, damaged or unwritable file only means
that the zone is looked up again.
"""

from __future__ import annotations

import contextlib
import json
import os
from pathlib import Path
from typing import Any

from flatodds.folders import cache_folder

MOST_KEPT = 512  # places; judgement
FILE = "zones.json"


def zone_at(longitude: float, latitude: float) -> str:
    """IANA time zone of a place; empty or ``Etc/`` where it is at sea."""
    file = _file()
    kept = {} if file is None else _read(file)
    place = f"{longitude!r} {latitude!r}"
    if place in kept:
        return kept[place]
    from tzfpy import get_tz

    zone = get_tz(longitude, latitude)
    if file is not None:
        _write(file, {**dict(list(kept.items())[1 - MOST_KEPT :]), place: zone})
    return zone


def _file() -> Path | None:
    """Where zones are kept, or None without a home."""
    try:
        return cache_folder() / "tables" / FILE
    except (OSError, RuntimeError):
        return None


def _release() -> str:
    """Size and time of the library that holds the outlines; asking its version costs more."""
    from importlib.util import find_spec

    spec = find_spec("tzfpy")
    if spec is None or spec.origin is None:
        return ""
    folder = Path(spec.origin).parent
    seen = [(path.name, path.stat()) for path in sorted(folder.iterdir()) if path.is_file()]
    return " ".join(f"{name} {stat.st_size} {stat.st_mtime_ns}" for name, stat in seen)


def _read(file: Path) -> dict[str, str]:
    try:
        held: Any = json.loads(file.read_text(encoding="utf-8"))
        zones = held["zones"] if held["release"] == _release() else {}
        sound = all(isinstance(v, str) and (v == "" or v.isprintable()) for v in zones.values())
        return dict(zones) if sound else {}
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return {}


def _write(file: Path, zones: dict[str, str]) -> None:
    """Write aside, then put in place whole."""
    beside = file.with_name(f".{FILE}.{os.getpid()}.part")
    with contextlib.suppress(OSError):
        file.parent.mkdir(parents=True, exist_ok=True)
        try:
            text = json.dumps({"release": _release(), "zones": zones})
            beside.write_text(text, encoding="utf-8")
            beside.replace(file)
        finally:
            beside.unlink(missing_ok=True)
