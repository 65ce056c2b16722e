"""Kept blocks of a study: damage on disk is as good as missing, a full disk is told."""

from __future__ import annotations

import errno
import multiprocessing
import os
import random
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from flatodds.errors import StudyIncomplete
from flatodds.studies import store
from flatodds.studies.store import FileStore, forget, study_hash

FLIPS = 20 * int(os.environ.get("FLATODDS_FLIPS", "16"))
SEED = 20261125
KEY = "a" * 64


@pytest.fixture
def kept() -> Any:
    rng = np.random.default_rng(SEED)
    return {"sums": rng.random((2, 64, 3)), "extremes": rng.random((2, 64, 1)), "n": np.array(7)}


def only(folder: Path) -> Path:
    (path,) = folder.rglob("pass*.npz")
    return path


def same_or_missing(store: FileStore, kept: Any) -> str:
    found: Any = store.load(3, 64)
    if found is None:
        return "missing"
    assert found.keys() == kept.keys()
    for name, values in kept.items():
        np.testing.assert_array_equal(found[name], values)
    return "same"


def test_flipped_bits_and_cuts_are_as_good_as_missing(tmp_path: Path, kept: Any) -> None:
    store = FileStore(tmp_path / "s", KEY)
    store.save(3, 64, kept)
    path, chance = only(tmp_path), random.Random(SEED)
    whole = path.read_bytes()
    assert same_or_missing(store, kept) == "same"
    seen = []
    for _ in range(FLIPS):
        bad = bytearray(whole)
        bad[chance.randrange(len(bad))] ^= 1 << chance.randrange(8)
        path.write_bytes(bytes(bad))
        seen.append(same_or_missing(store, kept))
    assert seen.count("missing") > FLIPS / 2
    for share in (0.0, 0.01, 0.5, 0.99):
        path.write_bytes(whole[: int(share * len(whole))])
        assert same_or_missing(store, kept) == "missing"
    store.save(3, 64, kept)
    assert same_or_missing(store, kept) == "same"


@pytest.mark.parametrize(
    "owner", [(Path, "mkdir"), (Path, "open"), (os, "fsync"), (Path, "replace")]
)
@pytest.mark.parametrize("number", [errno.ENOSPC, errno.EACCES])
def test_a_full_disk_is_told_and_leaves_nothing(
    owner: tuple[Any, str], number: int, tmp_path: Path, kept: Any
) -> None:
    store = FileStore(tmp_path / "s", KEY)
    store.save(0, 0, kept)

    def fail(*_: object, **__: object) -> None:
        raise OSError(number, os.strerror(number))

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(*owner, fail)
        with pytest.raises(StudyIncomplete, match=os.strerror(number)):
            store.save(3, 64, kept)
        with pytest.raises(StudyIncomplete, match=os.strerror(number)):
            store.complete(2)
    assert [path.name for path in tmp_path.rglob("*") if path.is_file()] == [only(tmp_path).name]
    assert store.count() == 1
    forget(tmp_path / "s")
    assert not list(tmp_path.iterdir())


def test_what_is_no_store_is_left_alone(tmp_path: Path, kept: Any) -> None:
    forget(tmp_path / "none")
    store = FileStore(tmp_path / "s", KEY)
    assert store.count() == 0
    store.save(0, 0, kept)
    mine = tmp_path / "s" / "mine"
    mine.mkdir()
    (tmp_path / "s" / ("b" * 16)).write_text("a file, no folder", encoding="utf-8")
    forget(tmp_path / "s")
    assert sorted(path.name for path in (tmp_path / "s").iterdir()) == ["b" * 16, "mine"]


def test_a_store_cleared_while_it_is_counted(tmp_path: Path, kept: Any) -> None:
    store = FileStore(tmp_path / "s", KEY)
    store.save(0, 0, kept)

    def gone(*_: object) -> None:
        raise FileNotFoundError

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Path, "glob", gone)
        assert store.count() == 0
    assert store.count() == 1


def test_any_change_of_a_study_changes_its_hash() -> None:
    def study(
        sha: str = "a",
        seed: int = 1,
        weather: str = "w",
        cases: int = 2,
        bank: float = 0.0,
        watts: float = 1.0,
    ) -> str:
        rigs = (np.full((2, 3), bank), np.zeros((2, 3)), np.full((3, 1, 2), watts))
        plan = SimpleNamespace(
            scenario=SimpleNamespace(sha256=sha),
            stays=[SimpleNamespace(basis=SimpleNamespace(sha256=weather), rigs=rigs)],
            cases=[0] * cases,
            periods=[0],
            bank=rigs[0],
        )
        one: Any = SimpleNamespace(plan=plan, variants=[0])
        return study_hash([one], seed)

    assert study() == study()
    others = [study(sha="b"), study(seed=2), study(weather="x"), study(cases=3)]
    hashes = {study(), *others, study(bank=1.0), study(watts=2.0)}
    assert len(hashes) == 7
    assert all(len(found) == 64 for found in hashes)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(store, "_program", lambda: "an edited program")
        assert study() not in hashes


def test_a_block_that_lost_one_of_its_parts_is_missing(tmp_path: Path, kept: Any) -> None:
    """A bit flipped in a file's list of contents can hide a part and leave the rest readable."""
    store = FileStore(tmp_path / "s", KEY)
    store.save(3, 64, kept)
    path = only(tmp_path)
    with np.load(path) as found:
        whole = dict(found.items())
    for lost in kept:
        np.savez(path, **{name: values for name, values in whole.items() if name != lost})
        assert store.load(3, 64) is None
    np.savez(path, **whole)
    assert same_or_missing(store, kept) == "same"


def _work_through(folder: Path, kept: Any, times: int) -> None:
    """Keep, read and count blocks of one study, end it and clear up, again and again."""
    for _ in range(times):
        store = FileStore(folder, KEY)
        try:
            for first in (0, 64, 128):
                found: Any = store.load(3, first)
                if found is not None:
                    assert all(np.array_equal(found[name], kept[name]) for name in kept)
                    assert found.keys() == kept.keys()
                store.save(3, first, kept)
            store.complete(store.count())
        except StudyIncomplete:  # the other one cleared up meanwhile: its own result is there
            continue
        forget(folder)


@pytest.mark.skipif(not hasattr(os, "fork"), reason="forks")
def test_two_processes_on_one_store(tmp_path: Path, kept: Any) -> None:
    """Every block read is whole, whoever wrote it; neither falls over what the other cleared."""
    folder = tmp_path / "s"
    fork = multiprocessing.get_context("fork")
    both = [fork.Process(target=_work_through, args=(folder, kept, 60)) for _ in range(2)]
    for process in both:
        process.start()
    for process in both:
        process.join(120)
        assert process.exitcode == 0
    forget(folder)
    assert not list(tmp_path.iterdir())
