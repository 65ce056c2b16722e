"""A run that is killed at any moment leaves an earlier result, a new one, or none: never half.

FLATODDS_KILLS sets how many runs are killed.
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


def test_killed_runs_leave_nothing_torn(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, str(PROGRAM), str(KILLS), str(SEED), str(tmp_path)],
        capture_output=True,
        text=True,
        timeout=120 + 60 * KILLS,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    counts = json.loads(done.stdout)
    assert counts["torn"] == 0
    assert counts["killed"] + counts["ended_before"] == KILLS
    assert counts["killed"] >= KILLS / 2
    assert counts["left_hidden"] > 0, "no kill met a folder being written: nothing was shown"
