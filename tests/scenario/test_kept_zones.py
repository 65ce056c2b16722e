"""Zones kept between runs: the same as those looked up, whatever the file holds."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from types import ModuleType

import pytest
from tzfpy import get_tz

from flatodds.scenario import kept_zones
from flatodds.scenario.kept_zones import FILE, MOST_KEPT, zone_at

PLACES = [(-93.2, 45.1), (-0.1, 51.5), (151.2, -33.9), (-30.0, 20.0)]


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("FLATODDS_CACHE_DIR", str(tmp_path))
    return tmp_path / "tables"


def test_a_kept_zone_is_the_one_looked_up(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    found = [zone_at(*place) for place in PLACES]
    assert found == [get_tz(*place) for place in PLACES]
    unused = ModuleType("tzfpy")  # without get_tz, so that a look-up would fail
    monkeypatch.setitem(sys.modules, "tzfpy", unused)
    monkeypatch.setattr(kept_zones, "_release", lambda: json.loads(_text(folder))["release"])
    assert [zone_at(*place) for place in PLACES] == found


def _text(folder: Path) -> str:
    return (folder / FILE).read_text(encoding="utf-8")


@pytest.mark.parametrize(
    "text",
    [
        "",
        "{",
        "[]",
        "null",
        '{"zones": 3}',
        '{"release": "other", "zones": {"x": "y"}}',
        "[" * 9999,
    ],
)
def test_damage_only_means_looking_up_again(folder: Path, text: str) -> None:
    folder.mkdir()
    (folder / FILE).write_text(text, encoding="utf-8")
    assert zone_at(*PLACES[0]) == get_tz(*PLACES[0])
    assert list(json.loads(_text(folder))["zones"].values()) == [get_tz(*PLACES[0])]


def test_zones_of_another_release_are_not_used(folder: Path) -> None:
    zone_at(*PLACES[0])
    held = json.loads(_text(folder))
    lied = {place: "Mars/Base" for place in held["zones"]}
    (folder / FILE).write_text(json.dumps({"release": "old", "zones": lied}), encoding="utf-8")
    assert zone_at(*PLACES[0]) == get_tz(*PLACES[0])


def test_the_oldest_places_go(folder: Path) -> None:
    zone_at(*PLACES[0])
    held = json.loads(_text(folder))
    held["zones"] = {f"{k}": "x" for k in range(MOST_KEPT)}
    (folder / FILE).write_text(json.dumps(held), encoding="utf-8")
    zone_at(*PLACES[1])
    zones = json.loads(_text(folder))["zones"]
    assert len(zones) == MOST_KEPT
    assert "0" not in zones
    assert zones["-0.1 51.5"] == "Europe/London"


def test_a_folder_that_cannot_be_written_does_no_harm(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("", encoding="utf-8")
    monkeypatch.setenv("FLATODDS_CACHE_DIR", str(blocked))
    assert zone_at(*PLACES[1]) == "Europe/London"


def test_without_a_home_zones_are_looked_up(monkeypatch: pytest.MonkeyPatch) -> None:
    def nowhere() -> Path:
        raise RuntimeError("no home")

    def never(file: Path, zones: dict[str, str]) -> None:
        raise AssertionError("written without a home")

    monkeypatch.setattr(kept_zones, "cache_folder", nowhere)
    monkeypatch.setattr(kept_zones, "_write", never)
    assert [zone_at(*place) for place in PLACES] == [get_tz(*place) for place in PLACES]


def test_a_library_that_is_nowhere_has_no_release(monkeypatch: pytest.MonkeyPatch) -> None:
    assert ".so " in kept_zones._release() or ".pyd " in kept_zones._release()
    monkeypatch.setattr("importlib.util.find_spec", lambda name: None)
    assert kept_zones._release() == ""
