"""The result folder: built aside, then put in place whole, or not at all."""

from __future__ import annotations

import glob
import json
import os
import re
import secrets
import shutil
import time
import unicodedata
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Any

from flatodds.errors import Problem, UsageError
from flatodds.outcomes import RESULT_FILE, Outcomes
from flatodds.report.alone import alone
from flatodds.report.tables import all_tables

SUMMARY_FILE = "summary.json"
REPORT_FILE = "report.html"
SLUG_LENGTH = 64  # letters of a folder's name; own choice
STALE_S = 3600.0  # a hidden folder this old was left by a killed run; own judgement
CLUTTER = frozenset({"desktop.ini", "Thumbs.db"})  # put into folders by file managers
OURS = frozenset({SUMMARY_FILE, RESULT_FILE, REPORT_FILE, "tables", "figures"})

OTHER_HINT = "Choose another folder with --out, or make room."

Content = str | bytes | Callable[[Path], None]


@dataclass(frozen=True, slots=True)
class Written:
    """Where a result went: the folder and the names of the files in it."""

    folder: Path
    files: tuple[str, ...]


def slug(title: str) -> str:
    """Turn a title into a folder name of 1 to 64 characters from a-z, 0-9 and the hyphen."""
    bare = unicodedata.normalize("NFKD", title).encode("ascii", "ignore").decode().lower()
    kept = re.sub(r"[^a-z0-9]+", "-", bare).strip("-")[:SLUG_LENGTH].rstrip("-")
    return kept or "scenario"


def summary_json(summary: Mapping[str, Any]) -> str:
    """Write the summary as JSON text; the same text goes to a file and to the screen."""
    return json.dumps(summary, indent=2, allow_nan=False) + "\n"


def write_result(
    outcomes: Outcomes, base: Path, extra: Mapping[str, Content] | None = None
) -> Written:
    """Write the result folder of a run.

    Parameters
    ----------
    outcomes : Outcomes
        What to write: summary, Dataset and tables.
    base : Path
        Folder in which the result folder is put; made when missing.
    extra : mapping, optional
        Further files by relative name: text, bytes, or a function that writes to a path.

    Raises
    ------
    UsageError
        If something that is not an earlier result stands in the way, or the folder cannot be
        written. Nothing is changed then.
    """
    contents: dict[str, Content] = {
        SUMMARY_FILE: summary_json(outcomes.summary()),
        RESULT_FILE: outcomes.to_netcdf,
        **all_tables(outcomes),
        **(extra or {}),
    }
    folder = result_folder(outcomes.facts.title, base)
    write_folder(folder, contents)
    return Written(folder, tuple(contents))


def result_folder(title: str, base: Path) -> Path:
    """Name the folder that the result of a scenario of this title goes to."""
    return base / f"{slug(title)}-result"


def write_folder(folder: Path, contents: Mapping[str, Content]) -> None:
    """Build a folder beside its final place and move it there in one step.

    Raises
    ------
    UsageError
        As for :func:`write_result`.
    """
    check_names(contents)
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        with alone(folder.parent) as held:
            recover(folder, held=held)
            refuse_foreign(folder)
            hidden = hidden_name(folder)
            try:
                build(hidden, contents)
                put_in_place(hidden, folder)
            finally:
                shutil.rmtree(hidden, ignore_errors=True)
    except OSError as error:
        raise _unusable(folder, error) from error


def hidden_name(folder: Path) -> Path:
    """Name beside a folder that no one else uses, and that marks what may be swept away."""
    return folder.with_name(f".{folder.name.lstrip('.')}.{secrets.token_hex(4)}.tmp")


def check_names(contents: Mapping[str, Content]) -> None:
    """Refuse a file name that could lead out of the folder; names are the program's own."""
    for name in contents:
        path = PurePosixPath(name)
        if path.is_absolute() or ".." in path.parts or "\\" in name or "\0" in name:
            raise ValueError(f"{name!r} is not a name inside the result folder")


def refuse_foreign(folder: Path) -> None:
    """Refuse to replace anything but an earlier result that nobody added files to.

    Raises
    ------
    UsageError
        If there is something else, or what is there cannot be looked at.
    """
    above = next((one for one in folder.absolute().parents if one.exists()), folder.parent)
    if not above.is_dir():
        raise UsageError(Problem(str(above), "is a file, not a folder.", OTHER_HINT))
    try:
        if folder.is_symlink() or (folder.exists() and not is_result(folder)):
            raise UsageError(
                Problem(str(folder), "is there already and is not a flatodds result.", OTHER_HINT)
            )
        inside = [path.name for path in folder.iterdir()] if folder.exists() else []
    except OSError as error:
        raise _unusable(folder, error) from error
    added = sorted(
        name for name in inside if not name.startswith(".") and name not in OURS | CLUTTER
    )
    if added:
        found = f"holds {added[0]!r}, which is not from flatodds and would be lost."
        raise UsageError(Problem(str(folder), found, "Move it elsewhere, or use --out."))


def is_result(folder: Path) -> bool:
    """Tell an earlier result by its summary, which names the program's version."""
    try:
        summary = json.loads((folder / SUMMARY_FILE).read_text(encoding="utf-8"))
    except (FileNotFoundError, NotADirectoryError, IsADirectoryError, ValueError, RecursionError):
        return False
    return isinstance(summary, dict) and "flatodds" in summary


def _unusable(folder: Path, error: OSError) -> UsageError:
    words = f"cannot be written ({error.strerror or error})."
    return UsageError(Problem(str(folder), words, OTHER_HINT))


def build(hidden: Path, contents: Mapping[str, Content]) -> None:
    """Write all files into a new folder and wait until the disk has them."""
    hidden.mkdir()
    for name, content in contents.items():
        path = hidden / name
        path.parent.mkdir(parents=True, exist_ok=True)
        if isinstance(content, str):
            path.write_text(content, encoding="utf-8", newline="")
        elif isinstance(content, bytes):
            path.write_bytes(content)
        else:
            content(path)
        sync_file(path)
    for inner in sorted({(hidden / name).parent for name in contents} | {hidden}):
        sync_folder(inner)


def put_in_place(hidden: Path, folder: Path) -> None:
    """Move the finished folder to its place; the earlier result comes back on failure.

    Replacing a folder takes two renames. A run killed between them leaves the earlier result
    under a hidden name, from which the next run brings it back.
    """
    old = folder.with_name(f".{folder.name}.old")
    if folder.exists():
        discard(old)
        folder.rename(old)
    try:
        hidden.rename(folder)
    except OSError:
        if old.exists():
            old.rename(folder)
        raise
    sync_folder(folder.parent)
    discard(old)


def discard(old: Path) -> None:
    """Remove an earlier result under a name from which a half of it is never brought back."""
    if old.exists():
        gone = hidden_name(old)
        old.rename(gone)
        shutil.rmtree(gone, ignore_errors=True)


def recover(folder: Path, *, held: bool = False) -> None:
    """Bring back a result that a killed run left hidden, and sweep what it left behind.

    `held` says that no other run is writing here, so that all that is hidden is left over.
    """
    old = folder.with_name(f".{folder.name}.old")
    if old.exists() and not folder.exists():
        old.rename(folder)
    discard(old)
    for left in folder.parent.glob(f".{glob.escape(folder.name)}.*.tmp"):
        if held or time.time() - left.stat().st_mtime > STALE_S:
            shutil.rmtree(left, ignore_errors=True)


def sync_file(path: Path) -> None:
    """Wait until the disk has a file."""
    with path.open("rb+") as file:
        os.fsync(file.fileno())


def sync_folder(path: Path) -> None:
    """Wait until the disk has a folder's entries, where the system can do that."""
    if os.name == "nt":
        return
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
