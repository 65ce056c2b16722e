"""Compile the two kernels side by side, each in a process of its own, and keep them on disk.

The compiler holds the interpreter lock, so threads would not help; two processes on two
processors take half the time (measured), while this one reads the weather. If anything
about that fails, the kernels are compiled here when they are first called, as without it.
"""

from __future__ import annotations

import atexit
import os
import subprocess
import sys
from collections.abc import Callable
from typing import Any

import numpy as np

from flatodds.lanes import LANES, kernel_cache

KERNELS = ("live_days", "draw_days")  # the longer first
OPTIMISE = "1"  # as fast a kernel as level 3, the same bits, in a fifth less time (measured)
LONGEST_S = 300.0  # slow machines take minutes; then this process compiles; own choice

_running: list[subprocess.Popen[bytes]] = []
_announce: list[Callable[[], None]] = []


def ready() -> bool:
    """Whether both kernels of this build have been compiled and kept before."""
    folder = kernel_cache()
    return folder is not None and all(any(folder.rglob(f"*.{name}-*.nbc")) for name in KERNELS)


def announce(tell: Callable[[], None]) -> None:
    """Set what is called, once, when there is something to compile and it begins."""
    _announce[:] = [tell]


def begin() -> None:
    """Start compiling in the background, unless it is done, going on, or cannot be kept."""
    if _running or ready():
        return
    while _announce:
        _announce.pop()()
    if kernel_cache() is None or not sys.executable:
        return
    environment = {
        **os.environ,
        "NUMBA_OPT": OPTIMISE,
        "PYTHONPATH": os.pathsep.join(filter(None, sys.path)),
    }
    for name in KERNELS:
        line = f"from flatodds.engine.prepare import compile_kernel; compile_kernel({name!r})"
        try:
            child = subprocess.Popen(  # noqa: S603  (our own line, no shell, no user's text)
                [sys.executable, "-c", line],
                env=environment,
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
            )
        except OSError:
            break
        _running.append(child)
    atexit.register(stop)


def finish() -> None:
    """Wait for what `begin` started; how it ended does not matter."""
    for child in _running:
        try:
            child.wait(timeout=LONGEST_S)
        except subprocess.TimeoutExpired:
            child.kill()
    _running.clear()


def stop() -> None:
    """End what is still running, when this process leaves early."""
    for child in _running:
        child.kill()
    _running.clear()


def compile_kernel(name: str) -> None:
    """Compile one kernel for float32 runs, keep it, and leave at once."""
    import gc

    gc.disable()  # the compiler makes millions of objects and little garbage
    import numba

    from flatodds.engine.quicker import quicken

    quicken()
    from flatodds.engine.block import live_days
    from flatodds.engine.world import draw_days

    function: Any = {"draw_days": draw_days, "live_days": live_days}[name]
    kind: Any = numba.typeof
    function.compile(tuple(kind(value) for value in examples(np.float32)[name]))
    os._exit(0)  # taking the compiler down in order takes half a second


def examples(dtype: Any) -> dict[str, tuple[Any, ...]]:
    """Arguments of each kernel, of the right types and no content.

    Parameters
    ----------
    dtype : float32 or float64
        Number type of the build.
    """
    from flatodds.engine.records import Calendar, Given, Key, Out, Rigs, World
    from flatodds.loads.appliances import Uses
    from flatodds.solar.geometry import Planes
    from flatodds.weather.given import empty_tables
    from flatodds.weather.synthetic import pack

    def real(dimensions: int) -> Any:
        return np.zeros((1,) * dimensions, dtype)

    def whole(dimensions: int, kind: Any = np.int64) -> Any:
        return np.zeros((1,) * dimensions, kind)

    def exact(dimensions: int) -> Any:
        return np.zeros((1,) * dimensions, np.float64)

    calendar = Calendar(whole(2), real(1), real(3), whole(1), real(3))
    number = np.int64(0)
    key = Key(number, np.uint64(0), np.uint64(0))  # type: ignore[arg-type]
    tables = pack(empty_tables(), dtype)
    given = Given(real(3), whole(1), whole(1))
    planes = Planes(real(4), real(2), real(2), whole(2, np.uint8))
    uses = Uses(real(2), whole(2), whole(2, np.uint64), whole(1))
    world = World(real(4), real(4), real(3), real(3))
    out = Out(exact(4), real(3), exact(2), exact(3), real(3))
    rigs = Rigs(real(2), real(2), real(3))
    latent = np.zeros((1, LANES))
    return {
        "draw_days": (calendar, 0, 0, key, tables, given, planes, True, latent, world),
        "live_days": (
            calendar,
            0,
            0,
            key,
            uses,
            real(1),
            rigs,
            world,
            real(3),
            real(3),
            real(2),
            out,
        ),
    }
