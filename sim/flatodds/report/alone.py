"""Keeps two runs from replacing results in one folder at the same time."""

from __future__ import annotations

import os
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from flatodds.errors import Problem, UsageError

PATIENCE_S = 60.0  # writing a result takes about a second; judgement
PAUSE_S = 0.05  # between two looks; own choice


@contextmanager
def alone(folder: Path, patience_s: float | None = None) -> Iterator[bool]:
    """Hold a folder while results in it are replaced; gives whether it could be held.

    The lock is the system's own and ends with the process, however that ends. Where the
    system or the disk offers none, nothing is held.

    Raises
    ------
    UsageError
        If another process holds the folder for longer than `patience_s`.
    """
    try:
        import fcntl
    except ImportError:
        yield False
        return
    patience_s = PATIENCE_S if patience_s is None else patience_s
    handle = os.open(folder, os.O_RDONLY)
    try:
        until = time.monotonic() + patience_s
        held = False
        while not held:
            try:
                fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
                held = True
            except BlockingIOError:
                if time.monotonic() > until:
                    raise UsageError(_busy(folder)) from None
                time.sleep(PAUSE_S)
            except OSError:
                break
        yield held
    finally:
        os.close(handle)


def _busy(folder: Path) -> Problem:
    found = "is being written to by another run."
    return Problem(str(folder), found, "Wait for it to end, or choose another folder with --out.")
