"""Finished blocks of a long study on disk, so that an interrupted one goes on where it stopped.

A block file is written under a hidden name, synced, and renamed, so that whatever bears a final
name is whole. Files lie in a folder named by a hash of all that bears on their content; another
question never finds them. A file that cannot be read is as good as missing.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import re
import secrets
import shutil
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from flatodds.errors import StudyIncomplete

if TYPE_CHECKING:
    from flatodds.engine.many import Kept
    from flatodds.engine.passes import Pass

MANIFEST = "manifest.json"
NAMES = "names_kept"  # of a block: what else its file holds


def study_hash(passes: Sequence[Pass], seed: int) -> str:
    """Hash of everything that bears on the blocks of a study, the program included.

    Variants of one pass differ in nothing but their tables of designs, so the first one's
    scenario and those tables tell of all; a hash of every scenario took longer. Weather handed
    in is told by its values and not by its date, a known start of the weather not at all:
    studies of these are not to be stored.
    """
    parts: list[Any] = [_program(), [_described(one) for one in passes], seed]
    return hashlib.sha256(json.dumps(parts).encode()).hexdigest()


@cache
def _program() -> str:
    """Hash of the package's sources and catalogues, and of what computes with them.

    The name of the kernels' folder would not do: it knows the compiled rooms alone, and where no
    folder can be written there is none.
    """
    from flatodds.lanes import build_hash

    root = Path(__file__).parents[1]
    return build_hash(path for kind in ("*.py", "*.toml") for path in root.rglob(kind))


def _described(one: Pass) -> list[Any]:
    """Name what a pass lives: its first scenario, weather, shape, and all its designs.

    The bytes of the designs' tables also tell the kernel's number type, which they have.
    """
    plan = one.plan
    designs = hashlib.sha256(plan.bank.tobytes())
    for stay in plan.stays:
        for table in stay.rigs:
            designs.update(table.tobytes())
    return [
        plan.scenario.sha256,
        [stay.basis.sha256 for stay in plan.stays],
        [one.variants, len(plan.cases), len(plan.periods)],
        designs.hexdigest(),
    ]


class FileStore:
    """Blocks of one study in a folder.

    Parameters
    ----------
    folder : Path
        Made when the first block is kept.
    key : str
        From `study_hash`.
    """

    def __init__(self, folder: Path, key: str) -> None:
        self.folder = folder
        self._inner = folder / key[:16]
        self._key = key

    def _path(self, number: int, first_member: int) -> Path:
        return self._inner / f"pass{number:04d}-member{first_member:08d}.npz"

    def load(self, number: int, first_member: int) -> Kept | None:
        """Give a block that was kept whole, or None."""
        path = self._path(number, first_member)
        try:
            with path.open("rb") as file, np.load(file, allow_pickle=False) as found:
                held = dict(found.items())
            # A list of contents cut short by one flipped bit reads like a smaller, whole file.
            whole = str(held.pop(NAMES)) == "\n".join(sorted(held))
            return held if whole else None
        except Exception:  # a damaged file makes its readers fail in every way
            return None

    def save(self, number: int, first_member: int, kept: Kept) -> None:
        """Keep a block, whole or not at all.

        Raises
        ------
        StudyIncomplete
            The disk does not take it.
        """
        path = self._path(number, first_member)
        hidden = path.with_name(f".{path.name}.{secrets.token_hex(4)}.tmp")
        try:
            self._inner.mkdir(parents=True, exist_ok=True)
            with hidden.open("wb") as file:
                names = np.array("\n".join(sorted(kept)))
                np.savez(file, allow_pickle=False, **{NAMES: names}, **kept)
                file.flush()
                os.fsync(file.fileno())
            hidden.replace(path)
        except OSError as error:
            raise self._unwritten(error) from error
        finally:
            with contextlib.suppress(OSError):
                hidden.unlink(missing_ok=True)

    def complete(self, blocks: int) -> None:
        """Write the manifest, the last file of a whole study.

        Raises
        ------
        StudyIncomplete
            The disk does not take it.
        """
        text = json.dumps({"study": self._key, "blocks": blocks}) + "\n"
        hidden = self._inner / f".{MANIFEST}.{secrets.token_hex(4)}.tmp"
        try:
            self._inner.mkdir(parents=True, exist_ok=True)
            hidden.write_text(text, encoding="utf-8")
            with hidden.open("rb+") as file:
                os.fsync(file.fileno())
            hidden.replace(self._inner / MANIFEST)
        except OSError as error:
            raise self._unwritten(error) from error
        finally:
            with contextlib.suppress(OSError):
                hidden.unlink(missing_ok=True)

    def _unwritten(self, error: OSError) -> StudyIncomplete:
        return StudyIncomplete(
            f"{self.folder} cannot be written ({error.strerror or error}).\n"
            "  Make room and give the same command again: it goes on where it stopped."
        )

    def count(self) -> int:
        """Blocks kept so far."""
        with contextlib.suppress(OSError):  # another process may clear it meanwhile
            return sum(1 for _ in self._inner.glob("pass*.npz"))
        return 0


def forget(folder: Path) -> None:
    """Delete a store whose result has been written, and nothing that is not a store's.

    Another process may keep or clear blocks there meanwhile; what cannot be deleted stays.
    """
    with contextlib.suppress(OSError):
        for inner in list(folder.iterdir()):
            if inner.is_dir() and re.fullmatch(r"[0-9a-f]{16}", inner.name):
                shutil.rmtree(inner, ignore_errors=True)
        folder.rmdir()  # refused while anything else lies there
