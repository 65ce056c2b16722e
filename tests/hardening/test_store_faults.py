"""Kept blocks of a study: damage on disk is as good as missing, a full disk is told."""

from __future__ import annotations

import errno
import os
import random
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from flatodds.errors import StudyIncomplete
from flatodds.studies.store import FileStore, forget

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
