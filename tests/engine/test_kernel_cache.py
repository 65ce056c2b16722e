"""Compiled kernels are kept between runs, and an edit anywhere in their sources is noticed."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[2] / "sim" / "flatodds"

PROBE = """
import numpy as np

from flatodds.lanes import kernel
from flatodds.loads.cabin import fridge_w


@kernel
def probe(x):
    return fridge_w(x, 40.0, 2.0, 5.0)
"""
ASK = """
from flatodds.engine.probe import probe

print(probe(20.0), sum(probe.stats.cache_hits.values()))
"""


@pytest.fixture
def copy(tmp_path: Path) -> Path:
    """Make a copy of the package with a small kernel that uses a helper of another room."""
    target = tmp_path / "sim" / "flatodds"
    shutil.copytree(PACKAGE, target, ignore=shutil.ignore_patterns("__pycache__"))
    (target / "engine" / "probe.py").write_text(PROBE, encoding="utf-8")
    return target


def asked(copy: Path) -> tuple[float, int]:
    """What the kernel gives in a new process, and whether it was found compiled."""
    environment = {
        **os.environ,
        "PYTHONPATH": str(copy.parent),
        "FLATODDS_CACHE_DIR": str(copy.parent.parent / "cache"),
    }
    line = [sys.executable, "-c", ASK]
    done = subprocess.run(line, check=True, capture_output=True, text=True, env=environment)  # noqa: S603
    value, hits = done.stdout.split()
    return float(value), int(hits)


def test_an_edited_helper_is_compiled_anew(copy: Path) -> None:
    assert asked(copy) == (50.0, 0)
    assert asked(copy) == (50.0, 1)
    helper = copy / "loads" / "cabin.py"
    text = helper.read_text(encoding="utf-8")
    old = "return max(at_15_c + per_k * (cabin_c - f(15.0)), least_w)"
    assert old in text
    helper.write_text(text.replace(old, "return max(at_15_c - per_k, least_w)"), encoding="utf-8")
    assert asked(copy) == (38.0, 0)
    helper.write_text(text, encoding="utf-8")
    assert asked(copy) == (50.0, 1)
