"""A run that is killed at any moment leaves an earlier result, a new one, or none: never half.

A sweep goes on from the blocks it kept. FLATODDS_KILLS sets how many of each are killed.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

KILLS = int(os.environ.get("FLATODDS_KILLS", "20"))
SEED = 20261125
PROGRAM = Path(__file__).parent / "kill_runs.py"

pytestmark = [
    pytest.mark.end,
    pytest.mark.skipif(not hasattr(os, "fork"), reason="kills forks of one process"),
]


def killed(kind: str, folder: Path) -> dict[str, int]:
    """Counts of what so many kills left."""
    done = subprocess.run(
        [sys.executable, str(PROGRAM), kind, str(KILLS), str(SEED), str(folder)],
        capture_output=True,
        text=True,
        timeout=120 + 60 * KILLS,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    counts: dict[str, int] = json.loads(done.stdout)
    assert counts["killed"] + counts["ended_before"] == KILLS
    assert counts["killed"] >= KILLS / 2
    return counts


def test_killed_runs_leave_nothing_torn(tmp_path: Path) -> None:
    counts = killed("run", tmp_path)
    assert counts["torn"] == 0
    assert counts["left_hidden"] > 0, "no kill met a folder being written: nothing was shown"


def test_killed_reports_leave_nothing_torn(tmp_path: Path) -> None:
    counts = killed("report", tmp_path)
    assert counts["torn"] == 0
    assert counts["left_hidden"] > 0, "no kill met a folder being written: nothing was shown"
    assert counts["while_drawn"] > 0, "no kill came while the page was drawn: nothing was shown"


def test_killed_sweeps_go_on_and_end_the_same(tmp_path: Path) -> None:
    counts = killed("sweep", tmp_path)
    assert counts["torn"] == 0
    assert counts["kept_blocks"] > 0, "no kill came after a finished block: nothing was shown"
