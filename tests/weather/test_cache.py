"""Fetched sets on disk: found by place, whole or absent, and nothing else is ever deleted."""

from __future__ import annotations

import json
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from flatodds.errors import WeatherError
from flatodds.weather import cache
from flatodds.weather.cache import cached_path, cached_sets, clear, keep, state_of
from flatodds.weather.cache_note import CachedSet

BLANK = CachedSet("pvgis", 44.0, -93.0, (2015,), "", "", "2026-11-25", "https://x.example/", "made")


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("FLATODDS_CACHE_DIR", str(tmp_path))
    return tmp_path / "weather"


def put(text: str = "hours\n", **more: object) -> CachedSet:
    return keep(replace(BLANK, **more), text, lambda path: None)  # type: ignore[arg-type]


def tree(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.rglob("*")) if folder.exists() else []


def test_nearest_then_most_years_then_newest() -> None:
    put("typical", years=(), service="pvgis-tmy")
    put("far", latitude=44.09)
    near = put("near", latitude=44.04)
    assert cached_path(44.0, -93.0) == near.path
    put("same place, older", service="power", fetched="2025-01-01", latitude=44.04)
    assert cached_path(44.0, -93.0) == near.path
    longer = put("longer", service="nsrdb", years=(2015, 2016), latitude=44.04)
    assert cached_path(44.0, -93.0) == longer.path
    assert cached_path(44.04, -93.1) == longer.path


def test_nothing_near_says_what_to_type() -> None:
    put(latitude=44.2)
    put(years=(), service="pvgis-tmy")
    with pytest.raises(WeatherError) as caught:
        cached_path(44.0, -93.0)
    assert caught.value.exit_code == 4
    words = str(caught.value)
    assert "within 0.1 degree of 44.000, -93.000" in words
    assert 'There is a typical year: weather = "fetched typical".' in words
    assert "flatodds weather get --at 44.000,-93.000" in words


def test_across_the_date_line() -> None:
    kept = put(longitude=179.98, latitude=-17.0)
    assert cached_path(-17.0, -179.97) == kept.path
    with pytest.raises(WeatherError):
        cached_path(-17.0, -179.9)


def test_a_check_that_fails_leaves_no_trace(folder: Path) -> None:
    def refuse(path: Path) -> None:
        assert path.read_text() == "bad"
        raise WeatherError("no weather")

    with pytest.raises(WeatherError, match="no weather"):
        keep(BLANK, "bad", refuse)
    assert tree(folder) == []


def test_killed_in_the_middle_nothing_is_found(folder: Path, tmp_path: Path) -> None:
    code = (
        "import os, signal\n"
        "from flatodds.weather.cache import CachedSet, keep\n"
        f"one = {BLANK!r}\n"
        "keep(one, 'hours', lambda path: os.kill(os.getpid(), signal.SIGKILL))\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, check=False)  # noqa: S603
    assert done.returncode != 0
    assert cached_sets() == ([], [])
    left = [name for name in tree(folder) if name.startswith(".unfinished-")]
    assert len(left) == 1
    put()
    assert left[0] in tree(folder)  # it may be another process at work
    gone, others = clear()
    assert (gone, others) == (2, [])
    assert tree(folder) == []


def test_two_processes_never_mix(folder: Path) -> None:
    code = (
        "import sys\n"
        "from flatodds.weather.cache import CachedSet, keep\n"
        f"one = {BLANK!r}\n"
        "for turn in range(60):\n"
        "    keep(one, f'{sys.argv[1]} {turn % 3}\\n' * 5000, lambda path: None)\n"
    )
    both = [subprocess.Popen([sys.executable, "-c", code, name]) for name in "ab"]  # noqa: S603
    seen = set()
    while any(process.poll() is None for process in both):
        found, damaged = cached_sets()
        assert damaged == []
        for one in found:
            cache.verify(one)
            seen.add(one.sha256)
    assert [process.wait() for process in both] == [0, 0]
    assert len(seen) >= 2
    assert len(tree(folder)) == 7  # one note; six different files of hours
    assert cached_path(44.0, -93.0).is_file()


def note_of(folder: Path) -> Path:
    return next(folder.glob("*.json"))


@pytest.mark.parametrize(
    "change",
    [
        {"file": "../../secrets.csv"},
        {"file": "/etc/passwd"},
        {"sha256": "0" * 63},
        {"sha256": 5},
        {"latitude": "44"},
        {"latitude": True},
        {"latitude": 45.0},
        {"longitude": 1e400},
        {"years": "2015"},
        {"years": [2015, 2017]},
        {"years": [2015.0]},
        {"years": [[2015]]},
        {"layout": 2},
        {"service": "power"},
        {"more": 1},
        {"origin": None},
    ],
)
def test_damaged_notes_are_named_and_never_followed(
    folder: Path, change: dict[str, object]
) -> None:
    put()
    path = note_of(folder)
    note = {**json.loads(path.read_text()), **change}
    path.write_text(json.dumps(note))
    assert cached_sets() == ([], [path.name])
    with pytest.raises(WeatherError, match=r"1 notes in .* are damaged"):
        cached_path(44.0, -93.0)


@pytest.mark.parametrize("data", [b"", b"\xff\xfe", b"[" * 5000, b"null", b" " * 70000, b"{}"])
def test_notes_that_are_no_notes(folder: Path, data: bytes) -> None:
    put()
    note_of(folder).write_bytes(data)
    assert cached_sets() == ([], [note_of(folder).name])


def test_states() -> None:
    kept = put("x" * 100_000)
    assert state_of(kept) == "0.1 MB"
    kept.path.write_text("y" * 100_000)
    assert state_of(kept) == "damaged: get it again"


def test_clear_takes_only_what_is_ours(folder: Path, tmp_path: Path) -> None:
    put()
    put(latitude=45.0)
    mine = {
        "my.csv": "mine",
        "notes.json": "mine",
        "holiday_0123456789ab.csv": "mine",
        "pvgis_44.000_-93.000_2015-2015_short.csv": "mine",
    }
    for name, text in mine.items():
        (folder / name).write_text(text)
    outside = tmp_path / "outside.csv"
    outside.write_text("outside")
    (folder / "power_44.000_-93.000_2015-2015_0123456789ab.csv").symlink_to(outside)
    (folder / "pvgis_1.000_1.000_2015-2015.json").mkdir()
    gone, left = clear()
    assert gone == 4
    assert len(left) == 6
    assert all((folder / name).read_text() == text for name, text in mine.items())
    assert outside.read_text() == "outside"


def test_clear_does_not_follow_a_link(folder: Path, tmp_path: Path) -> None:
    kept = put()
    elsewhere = tmp_path / "elsewhere"
    folder.rename(elsewhere)
    folder.symlink_to(elsewhere, target_is_directory=True)
    with pytest.raises(WeatherError, match="link to another folder"):
        clear()
    assert (elsewhere / kept.file).is_file()


def test_a_folder_that_cannot_be_made(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "file").write_text("")
    monkeypatch.setenv("FLATODDS_CACHE_DIR", str(tmp_path / "file"))
    with pytest.raises(WeatherError, match="FLATODDS_CACHE_DIR may name another folder"):
        put()
    assert clear() == (0, [])
    assert cached_sets() == ([], [])
