"""Compilation switches, the number of lanes, and counter-based random draws.

A *lane* is one member of a block; the engine steps `LANES` members abreast, so that the
one long dependency chain of the simulation (charge of this hour from charge of the last)
is hidden behind independent work.

Random numbers come from Philox4x32-10 (Salmon, Moraes, Dror and Shaw, "Parallel random
numbers: as easy as 1, 2, 3", SC11, 2011): a bijection from (counter, key) to four words,
so any draw of any member can be made alone and no two draws can share a state.
The counter is (day, stream, member, place); the key is the seed. Designs, threads, blocks
and lanes never enter it.
"""

from __future__ import annotations

import hashlib
import math
import os
import sys
from collections.abc import Callable, Iterable
from functools import cache
from pathlib import Path
from typing import Any, TypeVar, cast

import llvmlite.binding as llvm  # type: ignore[import-untyped]
import numba
import numpy as np
from numba.extending import register_jitable

from flatodds.folders import cache_folder

LANES = 64  # measured best of 8 to 128 on x86-64: see DEVELOPERS.md, "what limits the kernel"

COMPILED_ROOMS = ("weather", "solar", "loads", "battery", "charging", "engine")

Word = int | np.uint64
F = TypeVar("F", bound=Callable[..., Any])


def build_hash(sources: Iterable[Path]) -> str:
    """Hash of files of this package, and of the versions that make machine code of them."""
    digest = hashlib.sha256(f"{numba.__version__} {np.__version__} {sys.version}".encode())
    root = Path(__file__).parent
    for source in sorted(sources):
        digest.update(source.relative_to(root).as_posix().encode() + source.read_bytes())
    return digest.hexdigest()


@cache
def kernel_cache() -> Path | None:
    """Folder that holds this build's compiled kernels, or None if none can be written.

    numba's own on-disk cache does not notice an edit in another module whose function a
    kernel inlines, so the folder's name is a hash of the sources of every room that holds
    compiled code, and of the versions that make machine code.
    """
    root = Path(__file__).parent
    sources = [path for room in COMPILED_ROOMS for path in (root / room).glob("*.py")]
    folder = cache_folder() / "kernels" / build_hash([*sources, Path(__file__)])[:16]
    try:
        folder.mkdir(parents=True, exist_ok=True)
        probe = folder / f".probe-{os.getpid()}"
        probe.touch()
        probe.unlink()
    except OSError:
        return None
    return folder


_FOLDER = kernel_cache()
if _FOLDER is not None:
    setattr(numba.config, "CACHE_DIR", str(_FOLDER))  # noqa: B010  (no such name in its types)


def _use_wide_registers() -> None:
    """Let the compiler use all 512 bits of a processor that has them; the bits are the same.

    By default it keeps to 256, since the first such processors slowed down; here a pass of many
    designs takes a fifth less time (measured). What the user set for numba stays.
    """
    if numba.config.CPU_FEATURES is None:  # type: ignore[attr-defined]
        found = llvm.get_host_cpu_features()
        if found.get("avx512f"):
            setattr(numba.config, "CPU_FEATURES", f"{found.flatten()},-prefer-256-bit")  # noqa: B010


_use_wide_registers()


# No entry from C either, which numba makes for every part unasked (a twentieth of the time).
_PART: dict[str, Any] = {"error_model": "numpy", "no_cfunc_wrapper": True}


def inlined(function: F) -> F:
    """Let a scalar function be compiled into, and always inlined in, what calls it.

    It stays an ordinary function for Python, so no entry point is compiled for it (a fifth
    of the compile time, measured). A helper that the compiler silently leaves out of line
    keeps the caller's loop scalar (up to eight times slower), hence `forceinline`.
    """
    return register_jitable(forceinline=True, **_PART)(function)


def outlined(function: F) -> F:
    """Let a function over a whole block be compiled and called, not inlined.

    Its loop over lanes is inside, so a call costs nothing, while inlining it wherever it is
    used made compiling the weather generator twice as long (measured).
    """
    return register_jitable(**_PART)(function)


def borrowing(function: F) -> F:
    """Like `outlined`, for a function that makes no array and keeps none.

    Without this every slice of an array counts its references, atomically, so that threads
    wait for each other (a tenth of a pass of many designs, measured).
    """
    return register_jitable(_nrt=False, **_PART)(function)


def hourly(function: F) -> F:
    """Like `borrowing`, inlined in what calls it: a part of the hour, told by itself."""
    return register_jitable(forceinline=True, _nrt=False, **_PART)(function)


def kernel(function: F) -> F:
    """Compile a serial kernel that releases the interpreter lock; cached on disk.

    Fast-math stays off: it gained 0 to 15 % and changed results bitwise (measured).
    """
    keep = _FOLDER is not None
    return cast("F", numba.njit(nogil=True, error_model="numpy", cache=keep)(function))


_LOW = np.uint64(0xFFFFFFFF)
_SHIFT = np.uint64(32)
_M0 = np.uint64(0xD2511F53)  # multipliers and key increments: Salmon et al. 2011, section 3.2
_M1 = np.uint64(0xCD9E8D57)
_W0 = np.uint64(0x9E3779B9)
_W1 = np.uint64(0xBB67AE85)


@inlined
def philox(
    c0: Word, c1: Word, c2: Word, c3: Word, k0: Word, k1: Word
) -> tuple[np.uint64, np.uint64, np.uint64, np.uint64]:
    """Four random 32-bit words (held in uint64) for one counter and key.

    Philox4x32 with ten rounds; every argument is a uint64 below 2**32.
    """
    x0, x1, x2, x3 = np.uint64(c0), np.uint64(c1), np.uint64(c2), np.uint64(c3)
    a, b = np.uint64(k0), np.uint64(k1)
    for _ in range(10):
        p0 = _M0 * x0
        p1 = _M1 * x2
        x0 = (p1 >> _SHIFT) ^ x1 ^ a
        x1 = p1 & _LOW
        x2 = (p0 >> _SHIFT) ^ x3 ^ b
        x3 = p0 & _LOW
        a = (a + _W0) & _LOW
        b = (b + _W1) & _LOW
    return x0, x1, x2, x3


@inlined
def uniform(word: np.uint64) -> float:
    """Uniform number strictly inside (0, 1) from the top 24 bits of a word.

    Twenty-four bits are exact in both float32 and float64, so both builds of the kernel
    see the same draws.
    """
    return (float(word >> np.uint64(8)) + 0.5) * 5.9604644775390625e-08  # 2**-24


@inlined
def normal(u: float) -> float:
    """Give the standard normal quantile of u in (0, 1).

    Wichura, "Algorithm AS 241: the percentage points of the normal distribution",
    Applied Statistics 37 (1988), the seven-digit variant PPND7 (coefficients from memory,
    checked in the tests against scipy to 2e-6).
    """
    q = u - 0.5
    if abs(q) <= 0.425:
        r = 0.180625 - q * q
        return (
            q
            * (((59.109374720 * r + 159.29113202) * r + 50.434271938) * r + 3.3871327179)
            / (((67.187563600 * r + 78.757757664) * r + 17.895169469) * r + 1.0)
        )
    r = math.sqrt(-math.log(u if q < 0.0 else 1.0 - u))
    if r <= 5.0:
        r -= 1.6
        z = (((0.17023821103 * r + 1.3067284816) * r + 2.7568153900) * r + 1.4234372777) / (
            (0.12021132975 * r + 0.73700164250) * r + 1.0
        )
    else:
        r -= 5.0
        z = (((0.017337203997 * r + 0.42868294337) * r + 3.0812263860) * r + 6.6579051150) / (
            (0.012258202635 * r + 0.24197894225) * r + 1.0
        )
    return -z if q < 0.0 else z


@inlined
def rough_normal(word: np.uint64) -> float:
    """Approximately standard normal number from one word, cheap enough for every hour.

    Sum of the word's four bytes (Irwin-Hall, excess kurtosis -0.3), centred, scaled and
    bent by a cubic so that variance is 1 and excess kurtosis 0 (own derivation: moments of
    a*x + b*x**3 for the sum of four uniforms). For within-day cloud noise only.
    """
    byte = np.uint64(255)
    total = float(
        (word & byte)
        + ((word >> np.uint64(8)) & byte)
        + ((word >> np.uint64(16)) & byte)
        + (word >> np.uint64(24))
    )
    x = (total - 510.0) * 0.006765875  # sd of the sum: sqrt(4 * (256**2 - 1) / 12)
    return x * (0.949033 + 0.018642 * x * x)


@inlined
def exp_neg(x: float) -> float:
    """exp(-x) for x >= 0 without a library call, so that lane loops stay vectorised.

    Taylor series of exp(-x/16) to degree 13, squared four times; relative error below
    3e-10 in float64. Beyond x = 16 it stays at exp(-16) = 1.1e-7.
    """
    f = type(x)
    t = min(x, f(16.0)) * f(0.0625)
    t2 = t * t
    t4 = t2 * t2
    # Estrin's scheme: short chains of dependent operations.
    a = (f(1.0) - t) + t2 * (f(1.0 / 2.0) - t * f(1.0 / 6.0))
    b = (f(1.0 / 24.0) - t * f(1.0 / 120.0)) + t2 * (f(1.0 / 720.0) - t * f(1.0 / 5040.0))
    c = (f(1.0 / 40320.0) - t * f(1.0 / 362880.0)) + t2 * (
        f(1.0 / 3628800.0) - t * f(1.0 / 39916800.0)
    )
    d = f(1.0 / 479001600.0) - t * f(1.0 / 6227020800.0)
    y = (a + t4 * b) + t4 * t4 * (c + t4 * d)
    y = y * y
    y = y * y
    y = y * y
    return y * y
