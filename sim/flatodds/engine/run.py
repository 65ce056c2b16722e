"""Run a plan: blocks of members over a pool of threads, results in member order.

A block is a pure function of the plan, the seed and its first member, so results are
bitwise the same for any number of threads and any order of blocks.
"""

from __future__ import annotations

import os
import threading
from collections.abc import Callable, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from flatodds.battery.bank import Bank, stored_wh
from flatodds.engine import prepare
from flatodds.engine import rows as r
from flatodds.engine.block import live_days
from flatodds.engine.holding import Groups, Holding
from flatodds.engine.hour import START_FRAC
from flatodds.engine.memory import refuse_too_many
from flatodds.engine.notes import PARTS
from flatodds.engine.plan import Plan
from flatodds.engine.plan_charging import drop_unused
from flatodds.engine.plugs import by_appliance, plugged
from flatodds.engine.records import FIRST_DAY, SET_C, SPIN_DAYS, Given, Key, Out, World
from flatodds.engine.results import Results
from flatodds.engine.world import draw_days
from flatodds.errors import FlatoddsError
from flatodds.lanes import LANES
from flatodds.loads.appliances import ENERGY_ROWS, NEVER_H, NOTED
from flatodds.solar.cover import COVER
from flatodds.weather.given import with_scores
from flatodds.weather.moisture import MOIST
from flatodds.weather.synthetic import STATE as LATENT_ROWS
from flatodds.weather.travel import travel

Floats = npt.NDArray[np.float64]

CHUNK_DAYS = 6  # days drawn before they are lived: what they hold stays in the cache (measured)


@dataclass(frozen=True, slots=True)
class BlockResult:
    """What one block of members lived through.

    Attributes
    ----------
    first_member : int
    sums : Floats
        (design, LANES, period, sum).
    extremes : Floats
        (design, LANES, stay, extreme).
    daily : ndarray of float32
        (LANES, day, DAILY).
    wanted : Floats
        (stay, appliance, LANES) [Wh].
    served : Floats
        Served, of it later than asked for, gone without, as planned and then economised,
        (stay, appliance, 6, LANES) [Wh].
    trace : ndarray
        (hour, TRACE, LANES), or no hours.
    """

    first_member: int
    sums: Floats
    extremes: Floats
    daily: npt.NDArray[np.float32]
    wanted: Floats
    served: Floats
    trace: npt.NDArray[Any]


def seed_words(seed: int) -> tuple[np.uint64, np.uint64]:
    """Split into 32-bit words a seed between 0 and 2**64 - 1."""
    return np.uint64(seed & 0xFFFFFFFF), np.uint64((seed >> 32) & 0xFFFFFFFF)


class Stopped(Exception):  # noqa: N818  (not a fault: nobody waits for the block any more)
    """A block was left unfinished because its run was given up."""


def run_block(
    plan: Plan,
    first_member: int,
    seed: int,
    *,
    trace: bool = False,
    stop: threading.Event | None = None,
) -> BlockResult:
    """Let the members from `first_member` to `first_member + LANES - 1` live all stays.

    Raises
    ------
    Stopped
        When `stop` is set before the block is finished.
    """
    designs = plan.bank.shape[1]
    appliances = len(plan.appliances)
    days = plan.day_stay.shape[0]
    k0, k1 = seed_words(seed)
    key = Key(np.int64(first_member), k0, k1)  # type: ignore[arg-type]
    latent = np.zeros((LATENT_ROWS, LANES))
    energy = np.zeros((appliances, ENERGY_ROWS, LANES), plan.dtype)
    runs = np.full((4, len(plan.stays[0].uses.slots), LANES), NEVER_H, plan.dtype)
    state = np.zeros((designs, r.ROWS * LANES), plan.dtype)
    rows = state.reshape(designs, r.ROWS, LANES)
    sums = np.zeros((designs, len(plan.periods), len(r.SUMS), LANES))
    daily = np.zeros((LANES, days, len(r.DAILY)), plan.dtype)
    shape = (24 * days if trace else 0, len(r.TRACE), LANES)
    traced = np.zeros(shape, plan.dtype)
    extremes = np.empty((designs, LANES, len(plan.stays), len(r.EXTREMES)))
    wanted = np.zeros((len(plan.stays), appliances, LANES))
    served = np.zeros((len(plan.stays), appliances, PARTS * NOTED, LANES))
    world = World(
        np.empty((CHUNK_DAYS, 5, 24, LANES), plan.dtype),
        np.empty((CHUNK_DAYS, len(plan.stays[0].planes.groups), 24, LANES), plan.dtype),
        np.empty((CHUNK_DAYS, MOIST, LANES), plan.dtype),
        np.zeros((len(plan.stays[0].planes.groups), COVER, LANES), plan.dtype),
    )
    begun = plan.start is not None  # whether any weather has been drawn
    if plan.start is not None:
        latent[:] = plan.start.states(first_member + np.arange(LANES), (k0, k1))
    for n, stay in enumerate(plan.stays):
        given = weather_of_block(plan, n, first_member, (k0, k1))
        if begun:
            where = stay.calendar.stay
            arrival = int(where[FIRST_DAY] - where[SPIN_DAYS])
            travel(latent, stay.weather_kept, arrival, first_member, (k0, k1))
        _arrive(plan, n, rows)
        out = Out(sums, daily, wanted[n], served[n], traced)
        for at in range(0, len(stay.calendar.days), CHUNK_DAYS):
            if stop is not None and stop.is_set():
                raise Stopped
            count = min(CHUNK_DAYS, len(stay.calendar.days) - at)
            draw_days(
                stay.calendar,
                at,
                count,
                key,
                stay.sky,
                given,
                stay.planes,
                not begun,
                latent,
                world,
            )
            live_days(
                stay.calendar,
                at,
                count,
                key,
                stay.uses,
                stay.cabin,
                stay.rigs,
                world,
                energy,
                runs,
                state,
                out,
            )
        begun = begun or given.values.shape[0] == 0
        for k, row in enumerate(r.EXTREMES.values()):
            extremes[:, :, n, k] = rows[:, row // LANES]
    by_lane = np.moveaxis(sums, -1, 1)
    return BlockResult(
        first_member, by_lane, extremes, daily.astype(np.float32), wanted, served, traced
    )


def weather_of_block(
    plan: Plan, n: int, first_member: int, key: tuple[np.uint64, np.uint64]
) -> Given:
    """Weather of stay `n` that is not drawn, with the row that each lane lives."""
    stay = plan.stays[n]
    members = first_member + np.arange(LANES, dtype=np.int64)
    if stay.years is not None:
        first_day, days = int(stay.calendar.stay[FIRST_DAY]), len(stay.calendar.days)
        hours = stay.years.hours(first_day, days, members, key)
        hours = with_scores(hours, stay.years.scores(first_day, days, members, key))
        values = np.ascontiguousarray(hours, dtype=plan.dtype)
        return Given(values, np.arange(LANES, dtype=np.int64), np.zeros(1, dtype=np.int64))
    if stay.given.values.shape[0] > 0:
        return stay.given._replace(row=members % stay.given.values.shape[0])
    return stay.given


def _arrive(plan: Plan, n: int, rows: npt.NDArray[Any]) -> None:
    """Set the state that a stay starts with; later stays continue where the last ended."""
    stay = plan.stays[n]
    start = stay.rigs.design[START_FRAC]
    fields: list[Any] = list(stay.rigs.bank)
    bank = Bank(*fields)
    capacity = np.asarray(bank.capacity_ah)
    if n == 0:
        rows[:, r.BANK_C // LANES] = stay.outdoor_start_c
        rows[:, r.CABIN_C // LANES] = max(
            float(stay.calendar.clock[0, 0, SET_C]), stay.outdoor_start_c
        )
        inside = np.asarray(bank.inside_frac)[:, None]
        rows[:, r.BANK_C // LANES] = (
            inside * rows[:, r.CABIN_C // LANES] + (1 - inside) * stay.outdoor_start_c
        )
        rows[:, r.UNCOOLED_C // LANES] = rows[:, r.CABIN_C // LANES]
    fresh = ~np.isnan(start)
    rows[fresh, r.CHARGE_AH // LANES] = (start * capacity)[fresh, None]
    available = np.asarray(bank.available_frac)
    rows[fresh, r.AVAILABLE_AH // LANES] = (start * capacity * available)[fresh, None]  # rested
    rows[fresh, r.OFF // LANES] = 0.0
    rows[:, r.LOWEST // LANES] = rows[:, r.CHARGE_AH // LANES] / capacity[:, None]
    rows[:, r.FIRST_FLAT // LANES] = np.inf
    rows[:, r.BEST_DAY // LANES] = 0.0
    rows[:, r.PEAK_W // LANES] = 0.0
    rows[:, r.PEAK_A // LANES] = 0.0
    rows[:, r.LONGEST // LANES] = 0.0
    rows[:, r.START_AH // LANES] = rows[:, r.CHARGE_AH // LANES]


def run_plan(
    plan: Plan,
    members: int,
    seed: int,
    *,
    threads: int | None = None,
    progress: Callable[[int], None] | None = None,
    more: Callable[[Results], int] | None = None,
) -> Results:
    """Simulate all members.

    Parameters
    ----------
    plan : Plan
        What to run.
    members : int
        Simulated years; rounded up so that every real year is lived equally often.
    seed : int
        Key of all random draws, 0 to 2**64 - 1.
    threads : int, optional
        Worker threads; all processors by default.
    progress : callable, optional
        Called with the number of finished members after each block.
    more : callable, optional
        Asked, with the results so far, how many members there shall be; the run goes on
        until it asks for no more. The members lived before stay the same.

    Raises
    ------
    FlatoddsError
        A result is not a finite number (never hidden in an average).
    UsageError
        More members than this machine has memory for.
    """
    prepare.finish()
    holding = Holding()
    lived: list[Floats] = []  # energy imbalance of each member, by block
    while True:
        members += -members % plan.multiple
        refuse_too_many(plan, members)
        before = len(lived)
        firsts = range(before * LANES, members, LANES)
        lived += [_NOTHING] * len(firsts)
        pool = blocks_in_pool(plan, list(firsts), seed, threads or os.cpu_count() or 1)
        for done, (number, block) in enumerate(pool, 1):
            groups, lived[before + number] = _groups(plan, block)
            holding.put(before + number, groups)
            if progress is not None:
                progress(min((before + done) * LANES, members))
        results = _results(plan, holding, lived, members, seed)
        wanted = members if more is None else more(results)
        if wanted <= members:
            return results
        members = wanted


_NOTHING: Floats = np.zeros(0)


def blocks_in_pool(plan: Plan, firsts: Sequence[int], seed: int, threads: int) -> Any:
    """Yield (number, block result) as blocks finish; left early, it ends within a few days."""
    waiting = list(enumerate(firsts))[::-1]
    running: dict[Future[BlockResult], int] = {}
    stop = threading.Event()
    pool = ThreadPoolExecutor(max_workers=threads, thread_name_prefix="flatodds")
    try:
        while waiting or running:
            while waiting and len(running) < threads + 1:
                number, first = waiting.pop()
                running[pool.submit(run_block, plan, first, seed, stop=stop)] = number
            finished, _ = wait(running, timeout=0.2, return_when=FIRST_COMPLETED)
            for future in finished:
                yield running.pop(future), future.result()
    finally:
        stop.set()
        pool.shutdown(wait=False, cancel_futures=True)


def _groups(plan: Plan, block: BlockResult) -> tuple[Groups, Floats]:
    """Find what is kept of a block, by group and name, and each member's energy imbalance."""
    if not (np.isfinite(block.sums).all() and np.isfinite(block.daily).all()):
        raise FlatoddsError("The simulation produced a value that is not a number. Please report.")
    by_name = {name: block.sums[..., k] for k, name in enumerate(r.SUMS)}
    by_extreme = {name: block.extremes[..., k] for k, name in enumerate(r.EXTREMES)}
    imbalance = imbalances(plan, by_name, by_extreme)
    plugs = by_appliance(plan, by_name, block.wanted, block.served)
    causes = by_name["cold_locked_wh"] + by_name["spilled_clip_wh"] + by_name["spilled_rate_wh"]
    by_name["spilled_full_wh"] = np.maximum(by_name["spilled_wh"] - causes, 0.0)
    for internal in r.SUMS[r.SUMS.index("days") + 1 :]:
        del by_name[internal]
    by_day = {name: block.daily[..., k] for k, name in enumerate(r.DAILY)}
    drop_unused(plan.scenario, by_name, by_day)
    return {"sums": by_name, "extremes": by_extreme, "daily": by_day, "plugs": plugs}, imbalance


def _results(
    plan: Plan, holding: Holding, lived: Sequence[Floats], members: int, seed: int
) -> Results:
    return Results(
        scenario=plan.scenario,
        seed=seed,
        members=members,
        record_years=plan.record_years,
        cases=plan.cases,
        periods=plan.periods,
        bases=tuple(stay.basis for stay in plan.stays),
        sums=holding.group("sums", members),
        extremes=holding.group("extremes", members),
        daily=holding.group("daily", members),
        day_stay=plan.day_stay,
        day_doy=plan.day_doy,
        appliances=plugged(plan),
        plugs=holding.group("plugs", members),
        balance_error=float(np.concatenate(lived)[:members].max()),
    )


def balance_error(plan: Plan, sums: dict[str, Floats], extremes: dict[str, Floats]) -> float:
    """Largest share by which what came in and the store miss what was served, lost and left."""
    return float(imbalances(plan, sums, extremes).max())


def imbalances(plan: Plan, sums: dict[str, Floats], extremes: dict[str, Floats]) -> Floats:
    """Share by which what came in and the store miss what was served, lost and left, (member,).

    The largest of all designs and stays; each stay is closed on its own, since charge may be
    set anew between stays.
    """
    of_stay = np.array([period.stay for period in plan.periods])
    fields: list[Any] = [field[:, None] for field in plan.bank]
    bank = Bank(*fields)
    worst: Floats = np.zeros(sums["served_wh"].shape[1])
    for n in range(len(plan.stays)):
        before = stored_wh(bank, extremes["start_ah"][:, :, n])
        after = stored_wh(bank, extremes["end_ah"][:, :, n])
        here = of_stay == n
        total = {name: sums[name][:, :, here].sum(axis=2) for name in _BALANCED}
        came = sum(total[name] for name in _CAME)
        miss = came + before - after - total["served_wh"] - total["bank_loss_wh"]
        through = came + before + total["served_wh"]
        share = np.abs(miss) / np.maximum(through, 1e-6)
        worst = np.maximum(worst, share.max(axis=0))
    return worst


_CAME = ("array_wh", "generator_wh", "drive_wh", "hookup_wh")
_BALANCED = (*_CAME, "served_wh", "bank_loss_wh")
