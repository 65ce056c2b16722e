"""A compiler that is spared repeated work gives the same results, to the bit."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

LINES = """
import sys

import numba
import numpy as np

if sys.argv[1] == "quick":
    from flatodds.engine.quicker import quicken

    quicken()
from flatodds import lanes


@lanes.outlined
def mixed(s, t, whole, words):
    f = type(s[0])
    for i in range(64):
        a = s[i] * f(0.3) + t[2, i] - f(1.0) / (s[i] + f(2.0))
        b = float(words[i] >> np.uint64(8)) * 0.1 + i % 7 // 2
        low = min(a, f(b)) if (whole[i] & 3) != 1 and not s[i] > a else -abs(f(b))
        s[i] += max(low, f(whole[i]) ** 2 - np.sqrt(abs(a)))
        t[1, i], whole[i] = lanes.exp_neg(abs(low)), whole[i] << 1 | (a < b)
        words[i] ^= lanes.philox(i, 2, 3, 4, words[i] & np.uint64(255), 6)[1]


@numba.njit(error_model="numpy")
def probe(s, t, whole, words):
    for _ in range(5):
        mixed(s, t, whole, words)
    return s[::2].sum() + t[1].max(), whole.sum(), (s[0], t[1, 2], whole[3])


for kind in (np.float32, np.float64):
    rng = np.random.default_rng(1)
    arrays = (
        rng.random(64).astype(kind), rng.random((3, 64)).astype(kind),
        rng.integers(0, 9, 64), rng.integers(0, 9, 64).astype(np.uint64),
    )
    print(probe(*arrays), *(array.tobytes().hex() for array in arrays))
print(sorted(str(one.return_type) for one in probe.nopython_signatures))
"""


def told(how: str) -> str:
    """What the probe prints in a process of its own."""
    room = str(Path(__file__).parents[2] / "sim")
    environment = {**os.environ, "PYTHONPATH": room}
    line = [sys.executable, "-c", LINES, how]
    done = subprocess.run(line, check=True, capture_output=True, text=True, env=environment)  # noqa: S603
    return done.stdout


def test_operators_of_all_kinds_give_the_same_bits() -> None:
    plain = told("plain")
    assert "float32" in plain
    assert "float64" in plain
    assert told("quick") == plain


def test_what_is_changed_is_there_to_be_changed() -> None:
    """In the numba in use; with another one the kernels only compile more slowly."""
    line = (
        "from flatodds.engine.quicker import quicken; from numba.core.targetconfig import "
        "TargetConfig as T; from numba.core.types.functions import BaseFunction as B; "
        "quicken(); print(T.__eq__.__module__, T.__hash__.__module__, B.get_call_type.__module__)"
    )
    room = str(Path(__file__).parents[2] / "sim")
    done = subprocess.run(  # noqa: S603
        [sys.executable, "-c", line],
        check=True,
        capture_output=True,
        text=True,
        env={**os.environ, "PYTHONPATH": room},
    )
    assert done.stdout.split() == ["flatodds.engine.quicker"] * 3
