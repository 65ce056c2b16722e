"""Tables kept between runs: the same bits, made again whenever anything about them changes."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import pytest

from flatodds import parse_scenario
from flatodds.engine import kept as kept_room
from flatodds.engine.kept import kept
from flatodds.engine.plan import make_plan
from flatodds.lanes import kernel_cache

QUESTION = """
bank.chemistry = "ideal"
bank.volts = 12
bank.amp_hours = 100
array.watts = 300
household.pattern = "light"
inverter.watts = 0
[[stay]]
place = "45.1, -93.2"
first_day = "3 May"
nights = 3
"""


class Table(NamedTuple):
    values: np.ndarray[Any, Any]


@dataclass(frozen=True)
class Place:
    name: str
    table: Table
    notes: tuple[str, ...]
    height_m: float | None


class Maker:
    """A function that counts its calls."""

    def __init__(self) -> None:
        self.__qualname__ = "maker"
        self.calls = 0

    def __call__(self, name: str, scale: float = 1.0) -> Place:
        self.calls += 1
        return Place(name, Table(np.arange(6.0).reshape(2, 3) * scale), ("a", "ö"), None)


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    inner = tmp_path / "0123456789abcdef"
    inner.mkdir()
    monkeypatch.setattr(kept_room, "_folder", lambda: inner)
    return inner


def found(make: Maker, name: str = "x", key: object = None, **named: float) -> Place:
    return kept(make, name, key=key, types=(Place, Table), **named)


def same(one: Place, other: Place) -> bool:
    return (one.name, one.notes, one.height_m) == (other.name, other.notes, other.height_m) and (
        np.array_equal(one.table.values, other.table.values)
        and one.table.values.dtype == other.table.values.dtype
    )


def test_made_once_and_read_back_as_it_was(folder: Path) -> None:
    make = Maker()
    first, again = found(make), found(make)
    assert make.calls == 1
    assert same(first, again)
    assert len(list(folder.iterdir())) == 1


def test_any_change_of_the_arguments_makes_it_again(folder: Path) -> None:
    make = Maker()
    found(make)
    found(make, "y")
    found(make, scale=2.0)
    found(make, key=np.array([1.0, 2.0]))
    found(make, key=np.array([1.0, 2.5]))
    found(make, key=[b"contents"])
    assert make.calls == 6
    assert len(list(folder.iterdir())) == 6


@pytest.mark.parametrize("damage", ["flip", "cut", "empty", "text"])
def test_a_damaged_file_is_made_again_and_never_believed(folder: Path, damage: str) -> None:
    make = Maker()
    first = found(make)
    (path,) = folder.iterdir()
    data = bytearray(path.read_bytes())
    at = data.index(np.arange(6.0).tobytes())
    if damage == "flip":
        data[at + 13] ^= 4
    path.write_bytes(
        {"cut": bytes(data[: at + 9]), "empty": b"", "text": b"hello"}.get(damage, bytes(data))
    )
    assert same(found(make), first)
    assert make.calls == 2
    assert same(found(make), first)
    assert make.calls == 2


def test_what_cannot_be_kept_is_simply_given(folder: Path) -> None:
    make = Maker()
    for _ in range(2):
        kept(make, "x", types=(Place,))  # its Table is not among the types
    assert make.calls == 2
    assert list(folder.iterdir()) == []


def test_faults_are_not_kept(folder: Path) -> None:
    def fails() -> Place:
        raise ValueError("no")

    for _ in range(2):
        with pytest.raises(ValueError, match="no"):
            kept(fails, types=())
    assert list(folder.iterdir()) == []


def test_only_the_lately_used_stay(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    stale, recent, foreign = (
        folder.with_name(name) for name in ("00" * 8, "11" * 8, "my own tables")
    )
    for other in (stale, recent, foreign):
        other.mkdir()
        (other / "x.npz").write_bytes(b"old")
    for other in (stale, foreign):
        os.utime(other, (0.0, 0.0))
    monkeypatch.setattr(kept_room, "MOST_KEPT", 3)
    make = Maker()
    for name in "abcde":
        found(make, name)
    assert len(list(folder.iterdir())) == 3
    assert not stale.exists()
    assert (recent / "x.npz").exists()
    assert (foreign / "x.npz").exists()
    found(make, "e")
    assert make.calls == 5, "the last one made is still kept"


def test_a_plan_from_kept_tables_is_the_plan(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    scenario = parse_scenario(QUESTION, "kept.toml")
    monkeypatch.setattr(kept_room, "_folder", lambda: None)
    plain = make_plan(scenario, base_dir=Path())
    monkeypatch.setattr(kept_room, "_folder", lambda: tmp_path)
    make_plan(scenario, base_dir=Path())
    assert len(list(tmp_path.iterdir())) == 2
    again = make_plan(scenario, base_dir=Path())
    for name in ("tables", "sky", "planes"):
        one, other = getattr(plain.stays[0], name), getattr(again.stays[0], name)
        for field in one._fields:
            np.testing.assert_array_equal(getattr(other, field), getattr(one, field), field)
    assert again.stays[0].basis == plain.stays[0].basis
    assert again.stays[0].elevation_m == plain.stays[0].elevation_m


def test_another_weather_file_of_the_same_name_is_another_weather(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from pvlib import __file__ as pvlib_file

    sample = (Path(pvlib_file).parent / "data" / "723170TYA.CSV").read_text(encoding="utf-8")
    kept_folder, home = tmp_path / "kept", tmp_path / "home"
    kept_folder.mkdir()
    home.mkdir()
    monkeypatch.setattr(kept_room, "_folder", lambda: kept_folder)
    question = QUESTION.replace("45.1, -93.2", "36.1, -79.95") + 'weather = "year.csv"\n'
    scenario = parse_scenario(question, "kept.toml")
    (home / "year.csv").write_text(sample, encoding="utf-8")
    one = make_plan(scenario, base_dir=home)
    (home / "year.csv").write_text(sample.replace(",10.0,", ",11.0,"), encoding="utf-8")
    other = make_plan(scenario, base_dir=home)
    assert one.stays[0].basis.sha256 != other.stays[0].basis.sha256


def test_the_folder_lies_beside_the_kernels() -> None:
    if kernel_cache() is None:
        pytest.skip("no cache folder can be written")
    folder = kept_room._folder()
    assert folder is not None
    assert folder.name == kept_room.program_hash()
