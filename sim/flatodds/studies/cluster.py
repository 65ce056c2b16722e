"""Blocks lived by the workers of a dask scheduler instead of this machine's threads.

A block is a pure function of its pass, the seed and its first member, so it does not matter
who lives it. A pass is sent to every worker once. Workers must have the same version installed.
Schedulers and workers run whatever they are sent: use none but your own, in a network you trust.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from flatodds.errors import Problem, UsageError

if TYPE_CHECKING:
    from flatodds.engine.many import Kept
    from flatodds.engine.passes import Pass

CONNECT_S = "10s"  # to reach the scheduler; own choice
WORKER_S = 30.0  # for its first worker to be there; own choice
INSTALL = "Install the extra here and on the workers: pip install 'flatodds[cluster]'"


class Cluster:
    """A dask client as helpers of a study.

    Parameters
    ----------
    client : distributed.Client
        Connected to the scheduler.
    """

    def __init__(self, client: Any) -> None:
        self._client = client

    def blocks(self, one: Pass, firsts: Sequence[int], seed: int) -> Iterator[tuple[int, Kept]]:
        """Give first member and what is kept of each block, as they finish."""
        distributed = _distributed()

        if not firsts:
            return
        sent = self._client.scatter(one, broadcast=True, hash=False)
        futures = {
            self._client.submit(kept_block, sent, first, seed, pure=False): first
            for first in firsts
        }
        try:
            for future in distributed.as_completed(futures, loop=self._client.loop):
                yield futures[future], future.result()
                future.release()
        finally:
            self._client.cancel(list(futures))


def kept_block(one: Pass, first: int, seed: int) -> Kept:
    """Live one block and keep of it what decisions need; runs on a worker."""
    from flatodds.engine.many import cut_down
    from flatodds.engine.run import run_block

    return cut_down(one, run_block(one.plan, first, seed))


def worker_version() -> str:
    """Version of this program on a worker."""
    from importlib.metadata import PackageNotFoundError, version

    try:
        return version("flatodds")
    except PackageNotFoundError:
        return "unknown"


@contextmanager
def connected(address: str | None) -> Iterator[Cluster | None]:
    """Reach the scheduler at an address, and let go of it in the end; None without one.

    Raises
    ------
    UsageError
        dask.distributed is not installed, nobody answers, there are no workers, or they have
        another version.
    """
    if address is None:
        yield None
        return
    try:
        client = _distributed().Client(address, timeout=CONNECT_S, set_as_default=False)
    except (OSError, ValueError) as error:
        found = f"Nobody answers at {address[:80]!r} ({type(error).__name__})."
        hint = "Write the scheduler's own address, as in tcp://10.0.0.1:8786."
        raise UsageError(Problem("cluster", found, hint)) from None
    try:
        _check_workers(client)
        yield Cluster(client)
    finally:
        client.close()


def _distributed() -> Any:
    """Import dask.distributed, or say how to get it."""
    try:
        import distributed
    except ImportError:
        raise UsageError(Problem("cluster", "dask.distributed is missing.", INSTALL)) from None
    return distributed


def _check_workers(client: Any) -> None:
    try:
        client.wait_for_workers(1, timeout=WORKER_S)
    except TimeoutError:
        hint = "Start some with: dask worker ADDRESS"
        raise UsageError(Problem("cluster", "The scheduler has no workers.", hint)) from None
    try:
        versions = set(client.run(worker_version).values())
    except ImportError:
        raise UsageError(Problem("cluster", "A worker lacks flatodds.", INSTALL)) from None
    if versions != {worker_version()}:
        found = f"Workers have other versions of flatodds: {', '.join(sorted(versions))}."
        raise UsageError(Problem("cluster", found, f"Install {worker_version()} on all of them."))
