"""Lives the passes of a study and keeps, of every variant, what decisions need.

A block's results are cut down as soon as it is finished, so that memory hardly grows with the
number of variants: yes or no for each case and member, and amounts averaged over the cases.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from math import lcm
from typing import TYPE_CHECKING, Protocol

import numpy as np
import numpy.typing as npt

from flatodds.engine import prepare
from flatodds.engine import rows as r
from flatodds.engine.passes import Pass
from flatodds.engine.run import BlockResult, balance_error, blocks_in_pool
from flatodds.errors import FlatoddsError
from flatodds.lanes import LANES

if TYPE_CHECKING:
    from flatodds.engine.results import Case, Period
    from flatodds.weather.source import WeatherBasis

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Kept = dict[str, npt.NDArray[np.generic]]

WANTED = (
    "hours_flat",
    "nights_flat",
    "energy_not_served_wh",
    "gone_without_wh",
    "spare_served_wh",
    "demand_wh",
    "array_wh",
    "spilled_wh",
    "generator_hours",
    "fuel_l",
    "drive_wh",
)
AMOUNTS = tuple(name for name in WANTED if name in r.SUMS)


class Store(Protocol):
    """Where finished blocks are kept, so that an interrupted study can go on."""

    def load(self, number: int, first_member: int) -> Kept | None:
        """Give what was kept of a block of a pass, or None."""
        ...

    def save(self, number: int, first_member: int, kept: Kept) -> None:
        """Keep a block of a pass, whole or not at all."""
        ...


class Helpers(Protocol):
    """Other machines that live blocks."""

    def blocks(self, one: Pass, firsts: Sequence[int], seed: int) -> Iterator[tuple[int, Kept]]:
        """Give first member and what is kept of each block, as they finish."""
        ...


@dataclass(frozen=True, slots=True)
class Lived:
    """What one variant lived through.

    Attributes
    ----------
    flat, reserve : Bools
        Whether a stay had an hour without must-have power; an hour below the household's
        reserve, (case, member, stay).
    nights : Bools
        Whether a night was flat, (case, member, period); periods are days or months.
    amounts : dict of str to Floats
        Weighted means over the cases, (member, stay); units in the last word of the name.
    dawn : ndarray of float32
        Charge at dawn in the ``as_estimated`` case, (member, day) [1]; only of the first
        variant of a pass, else of no days.
    balance : float
        Largest energy imbalance as a share of what went through [1].
    """

    cases: tuple[Case, ...]
    periods: tuple[Period, ...]
    bases: tuple[WeatherBasis, ...]
    record_years: int | None
    members: int
    seed: int
    flat: Bools
    reserve: Bools
    nights: Bools
    amounts: dict[str, Floats]
    dawn: npt.NDArray[np.float32]
    balance: float


def members_of(passes: Sequence[Pass], members: int) -> int:
    """Members rounded up so that in every pass each real year is lived equally often."""
    multiple = lcm(*(one.plan.multiple for one in passes))
    return members + -members % multiple


def live(
    passes: Sequence[Pass],
    members: int,
    seed: int,
    *,
    threads: int | None = None,
    progress: Callable[[int, int], None] | None = None,
    store: Store | None = None,
    helpers: Helpers | None = None,
) -> list[Lived]:
    """Live all variants; gives one record each, in the order of the study.

    Parameters
    ----------
    passes : sequence of Pass
        From `plan_passes`.
    members, seed, threads
        As for `run_plan`; all passes live the same members.
    progress : callable, optional
        Called with the blocks finished, and their number in all.
    store : Store, optional
        Blocks found there are not lived again.
    helpers : Helpers, optional
        Who lives the blocks instead of this machine's threads; the results are the same.

    Raises
    ------
    FlatoddsError
        A result is not a finite number.
    """
    members = members_of(passes, members)
    if helpers is None:
        prepare.finish()
    firsts = list(range(0, members, LANES))
    found: dict[int, Lived] = {}
    done = 0
    for number, one in enumerate(passes):
        blocks: dict[int, Kept] = {}
        for first, kept in _blocks(one, number, firsts, seed, threads, store, helpers):
            blocks[first] = kept
            done += 1
            if progress is not None:
                progress(done, len(firsts) * len(passes))
        ordered = [blocks[first] for first in firsts]
        for k, variant in enumerate(one.variants):
            found[variant] = _gathered(one, k, ordered, members, seed)
    return [found[k] for k in range(len(found))]


def _blocks(
    one: Pass,
    number: int,
    firsts: Sequence[int],
    seed: int,
    threads: int | None,
    store: Store | None,
    helpers: Helpers | None,
) -> Iterator[tuple[int, Kept]]:
    """First member and results of each block, as found in the store or as they finish."""
    missing = []
    for first in firsts:
        kept = store.load(number, first) if store is not None else None
        if kept is None:
            missing.append(first)
        else:
            yield first, kept
    for first, kept in (
        _here(one, missing, seed, threads or os.cpu_count() or 1)
        if helpers is None
        else helpers.blocks(one, missing, seed)
    ):
        if store is not None:
            store.save(number, first, kept)
        yield first, kept


def _here(one: Pass, firsts: Sequence[int], seed: int, threads: int) -> Iterator[tuple[int, Kept]]:
    """Live blocks in this machine's threads."""
    for at, block in blocks_in_pool(one.plan, firsts, seed, threads):
        yield firsts[at], cut_down(one, block)


def cut_down(one: Pass, block: BlockResult) -> Kept:
    """Keep of a block what decisions need, for every variant of the pass.

    Returns
    -------
    dict
        flat, reserve (variant, case, LANES, stay) bool; nights (variant, case, LANES, period)
        bool; each amount (variant, LANES, stay) float64; dawn (LANES, day) float32;
        balance (1,).
    """
    plan, sums = one.plan, block.sums
    if not (np.isfinite(sums).all() and np.isfinite(block.daily).all()):
        raise FlatoddsError("The simulation produced a value that is not a number. Please report.")
    cases = len(plan.cases)
    weight = np.array([case.weight for case in plan.cases])
    shape = (len(one.variants), cases, *sums.shape[1:])
    by_name = dict(zip(r.SUMS, np.moveaxis(sums.reshape(shape), -1, 0), strict=True))
    edges = _first_periods(plan.periods)
    kept: Kept = {
        "flat": _by_stay(by_name["hours_flat"], edges) > 0.0,
        "reserve": _by_stay(by_name["hours_reserve"], edges) > 0.0,
        "nights": by_name["nights_flat"] > 0.0,
        "dawn": block.daily[:, :, r.DAILY.index("dawn_charge_frac")],
        "balance": np.array([_balance(one, block)]),
    }
    for name in AMOUNTS:
        kept[name] = np.einsum("vclp,c->vlp", _by_stay(by_name[name], edges), weight)
    return kept


def _first_periods(periods: Sequence[Period]) -> list[int]:
    """Index of the first period of every stay."""
    return [k for k, p in enumerate(periods) if k == 0 or periods[k - 1].stay != p.stay]


def _by_stay(values: Floats, edges: list[int]) -> Floats:
    """Sum the last axis, periods, to stays."""
    return np.add.reduceat(values, edges, axis=-1)


def _balance(one: Pass, block: BlockResult) -> float:
    by_name = {name: block.sums[..., k] for k, name in enumerate(r.SUMS)}
    by_extreme = {name: block.extremes[..., k] for k, name in enumerate(r.EXTREMES)}
    return balance_error(one.plan, by_name, by_extreme)


def _gathered(one: Pass, k: int, blocks: Sequence[Kept], members: int, seed: int) -> Lived:
    """Put the blocks of variant `k` of a pass together, in member order."""
    plan = one.plan

    def joined(name: str) -> npt.NDArray[np.generic]:
        axis = blocks[0][name].ndim - 3
        whole = np.concatenate([block[name][k] for block in blocks], axis=axis)
        return whole[:members] if axis == 0 else whole[:, :members]

    dawn = np.concatenate([block["dawn"] for block in blocks], axis=0)[:members]
    return Lived(
        cases=plan.cases,
        periods=plan.periods,
        bases=tuple(stay.basis for stay in plan.stays),
        record_years=plan.record_years,
        members=members,
        seed=seed,
        flat=joined("flat").astype(np.bool_),
        reserve=joined("reserve").astype(np.bool_),
        nights=joined("nights").astype(np.bool_),
        amounts={name: joined(name).astype(np.float64) for name in AMOUNTS},
        dawn=dawn.astype(np.float32) if k == 0 else np.empty((members, 0), np.float32),
        balance=max(float(block["balance"].max()) for block in blocks),
    )
