"""The kernels against their own source rewritten mechanically as whole numpy arrays.

Rewritten and compiled code agree only if neither the compiler nor the order of lanes changes what
the source says; the rewriting is also the numpy side of the speed benchmark.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from flatodds.engine.plan import make_plan
from flatodds.engine.rows import SUMS
from flatodds.engine.run import run_block
from flatodds.lanes import LANES
from flatodds.scenario import load_scenario
from flatodds.studies.live_one import first_case

ROOT = Path(__file__).parents[2]


@pytest.mark.parametrize("name", ["piedmont-winter", "desert-summer"])
def test_every_member_is_the_same(name: str, tmp_path: Path) -> None:
    """Sums and days within float32 rounding; a tipped hour would be off by far more."""
    nights, out = 4, tmp_path / "out.npz"
    file = ROOT / "scenarios" / f"{name}.toml"
    script = ROOT / "benchmarks" / "whole_arrays.py"
    environment = {key: value for key, value in os.environ.items() if key != "PYTHONPATH"}
    line = [sys.executable, str(script), str(file), str(nights), str(out), str(LANES)]
    subprocess.run(line, check=True, env=environment)  # noqa: S603
    scenario = load_scenario(file).with_changes({"stay.nights": nights})
    block = run_block(first_case(make_plan(scenario, base_dir=file.parent)), 0, 1)
    with np.load(out) as found:
        for key in ("sums", "daily"):
            ours, theirs = getattr(block, key), found[key]
            scale = np.abs(ours).reshape(-1, ours.shape[-1]).max(axis=0) + 1e-6
            if key == "sums":  # what is refused is the small difference of what is asked and had
                scale[SUMS.index("energy_not_served_wh")] = scale[SUMS.index("demand_wh")]
            assert np.abs((theirs - ours) / scale).max() < 1e-4, key
