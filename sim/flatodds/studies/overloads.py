"""Which appliances overload the inverter together, and on how many days they meet.

Pairs are counted on the same draws as a run, by whole arrays of members and days outside the
kernel: the kernel's peaks say in how many hours something switches off, and counting every
pair there would cost each hour what only this table needs. What else is on at the time, and
what waits because charge is low, is left aside here. Chances are those of dry days. What heat
takes off the rating is that of the hours in which something begins and ends, in the cabins that
the same members live. An air conditioner is not followed: with it the days are those on which the
other runs in an hour in which it cools, drawing what its label says, or what it drew if that is
more.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

if TYPE_CHECKING:
    from flatodds.engine.plan import Plan, StayPlan
    from flatodds.scenario import Scenario
    from flatodds.scenario.parts_cooling import Cooling

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
MEMBERS = 128  # own choice
MOST_DAYS = 120  # own choice


@dataclass(frozen=True, slots=True)
class Meeting:
    """Appliances that are too much for the inverter at once; a single one is too much alone.

    Attributes
    ----------
    names : tuple of str
    watts : float
        What they draw together, or as the later of them starts if that is what is too much [W].
    starting : bool
        Whether only the start is too much.
    days_frac : float
        Share of days on which it happens [1].
    """

    names: tuple[str, ...]
    watts: float
    starting: bool
    days_frac: float


@dataclass(frozen=True, slots=True)
class Followed:
    """One appliance to the minute: starts and ends, (slot, member, day) [h]; not a number: none."""

    name: str
    watts: float
    surge_w: float
    begins: Floats
    ends: Floats


@dataclass(frozen=True, slots=True)
class Around:
    """Hours of a stay as the members live them, on the simulation clock.

    Attributes
    ----------
    able_w, cooling_w : ndarray
        What the inverter gives all hour, and what an air conditioner draws in the mean of it,
        (member, hour) [W].
    shift_h : ndarray
        Hours the household's clock is ahead, (day,).
    surge_w : float
        What the inverter gives for seconds [W].
    """

    able_w: Floats
    cooling_w: Floats
    shift_h: Floats
    surge_w: float

    def hours(self, begins: Floats, ends: Floats) -> tuple[Ints, Ints]:
        """Hours in which something begins and ends, where it happens, (..., member, day)."""
        start = begins - self.shift_h
        start = np.where(np.isfinite(start), np.where(start < 0.0, start + 24.0, start), 0.0)
        length = np.nan_to_num(ends - begins)
        midnight = 24 * np.arange(len(self.shift_h))
        first = midnight + np.floor(start).astype(np.int64)
        last = midnight + np.ceil(start + length).astype(np.int64) - 1
        most = self.able_w.shape[1] - 1
        return np.minimum(first, most), np.clip(last, first, most)

    def least_w(self, begins: Floats, ends: Floats) -> Floats:
        """Least that the inverter gives as something begins and ends, (..., member, day) [W]."""
        member = np.arange(len(self.able_w))[:, None]
        first, last = self.hours(begins, ends)
        least: Floats = np.minimum(self.able_w[member, first], self.able_w[member, last])
        return least


def worst_meetings(scenario: Scenario, *, seed: int = 1) -> list[Meeting]:
    """Find what overloads the inverter, the most frequent first, over all stays."""
    from flatodds.engine.plan import make_plan

    inverter = scenario.inverter
    if inverter.watts <= 0.0:
        return []
    plan = make_plan(scenario, base_dir=scenario.folder)
    days = [min(len(stay.calendar.days), MOST_DAYS) for stay in plan.stays]
    found: dict[tuple[tuple[str, ...], bool], list[float]] = {}
    lived = _lived(plan, seed)
    for stay, count in zip(plan.stays, days, strict=True):
        around = _around(scenario, stay, count, lived)
        followed = _followed(plan, stay, count, seed)
        rows = [*_meetings(followed, around), *_beside(scenario.cooling, followed, around)]
        for one in (row for row in rows if row.days_frac > 0.0):
            row = found.setdefault((one.names, one.starting), [one.watts, 0.0])
            row[1] += one.days_frac * count / sum(days)
    rows = [Meeting(key[0], row[0], key[1], row[1]) for key, row in found.items()]
    return sorted(rows, key=lambda one: (-one.days_frac, one.names))


def _lived(plan: Plan, seed: int) -> Floats:
    """Cabin [deg C] and air conditioner [W] of every hour, (2, member, hour), as estimated."""
    from flatodds.engine.rows import TRACE
    from flatodds.engine.run import run_block
    from flatodds.lanes import LANES
    from flatodds.studies.live_one import first_case

    rows = [TRACE.index("cabin_temp_c"), TRACE.index("cooling_w")]
    one = first_case(plan)
    blocks = [run_block(one, k, seed, trace=True).trace for k in range(0, MEMBERS, LANES)]
    return np.concatenate([block[:, rows].T for block in blocks], axis=0).swapaxes(0, 1)


def _around(scenario: Scenario, stay: StayPlan, count: int, lived: Floats) -> Around:
    """Cut a stay's first days out of the hours lived."""
    from flatodds.engine.records import TRACE_AT
    from flatodds.loads.inverter import RATED_C

    inverter, first = scenario.inverter, int(stay.calendar.stay[TRACE_AT])
    cabin_c, cooling_w = lived[:, :, first : first + 24 * count].astype(np.float64)
    loss = inverter.heat_loss_frac_per_c * np.maximum(cabin_c - RATED_C, 0.0)
    return Around(
        able_w=inverter.watts * np.maximum(1.0 - loss, 0.0),
        cooling_w=cooling_w,
        shift_h=np.asarray(stay.calendar.shift_h[:count], dtype=np.float64),
        surge_w=inverter.watts * inverter.surge_ratio,
    )


def _followed(plan: Plan, stay: StayPlan, count: int, seed: int) -> list[Followed]:
    """Draw the mains appliances that are followed to the minute."""
    from flatodds.engine.records import FIRST_DAY, WEEKDAY
    from flatodds.loads.appliances import APPLIANCE, PEAK_W, SURGE_W

    uses, stamp = stay.uses, stay.calendar.stay
    day = int(stamp[FIRST_DAY]) + np.arange(count, dtype=np.int64)
    number = day + int(stamp[WEEKDAY]) + np.arange(MEMBERS)[:, None]
    found = []
    for a, name in enumerate(plan.appliances):
        slots = np.flatnonzero(uses.owner[:, APPLIANCE] == a)
        first = uses.slots[slots[0]]
        if first[PEAK_W] <= 0.0:
            continue
        drawn = [_runs(uses, int(s), day, number, seed) for s in slots]
        begins, ends = (np.stack(part) for part in zip(*drawn, strict=True))
        found.append(Followed(name, float(first[PEAK_W]), float(first[SURGE_W]), begins, ends))
    return found


def _runs(
    uses: Any, s: int, day: npt.NDArray[np.int64], number: npt.NDArray[np.int64], seed: int
) -> tuple[Floats, Floats]:
    """Start and end of a slot's run by member and day, on the household's clock [h]."""
    from flatodds.engine.run import seed_words
    from flatodds.lanes import philox
    from flatodds.loads import appliances as own
    from flatodds.loads.often import TILT_SLOT

    slot = uses.slots[s].astype(float)
    members: Any = np.arange(MEMBERS, dtype=np.uint64)[:, None]
    counter: Any = day.astype(np.uint64)[None, :]
    stream, position = uses.stream[s]
    words = seed_words(seed)
    happens, when, _, _ = philox(counter, stream, members, position, *words)
    chance = np.where(number % 7 >= 5, slot[own.WEEKEND], slot[own.WEEKDAY])
    begins = _starts(slot, _uniform(when))
    ends = begins + slot[own.HOURS]
    much = _uniform(philox(counter, stream, members, np.uint64(TILT_SLOT), *words)[0]) < 0.5
    on = _uniform(happens) < chance * np.where(much, 1.0 + slot[own.TILT], 1.0 - slot[own.TILT])
    period, days = uses.owner[s, own.AWAY_PERIOD], uses.owner[s, own.AWAY_DAYS]
    if period > 0:
        away = (days >> (number % period)) & 1 == 1
        leave, back = slot[own.AWAY_FROM], slot[own.AWAY_TO]
        ends = np.where(away & (begins < leave) & (ends > leave), leave, ends)
        begins = np.where(away & (begins >= leave) & (begins < back), back, begins)
    on &= begins < ends
    return np.where(on, begins, np.nan), np.where(on, ends, np.nan)


def _uniform(words: Any) -> Floats:
    return ((np.asarray(words) >> np.uint64(8)).astype(float) + 0.5) / (1 << 24)


def _starts(slot: Floats, u: Floats) -> Floats:
    """Start uniform over the slack of all windows together [h]."""
    from flatodds.loads.appliances import LENGTHS, STARTS, WINDOWS

    slack = np.maximum(slot[LENGTHS : LENGTHS + WINDOWS], 0.0)
    passed = np.concatenate([[0.0], np.cumsum(slack)])
    into = u * passed[-1]
    at = np.minimum(np.searchsorted(passed[1:], into), WINDOWS - 1)
    starts: Floats = slot[STARTS + at] + into - passed[at]
    return starts


def _meetings(followed: list[Followed], around: Around) -> list[Meeting]:
    """Find what is too much alone, and pairs of the rest that are too much together."""
    rows: list[Meeting] = []
    fit = []
    for one in followed:
        runs = np.isfinite(one.begins)
        starts_w = one.watts + one.surge_w
        if one.watts > around.able_w.min():
            hit = runs & (one.watts > around.least_w(one.begins, one.ends))
            rows.append(Meeting((one.name,), one.watts, False, _share(hit, 1)))
        if starts_w > around.surge_w:
            rows.append(Meeting((one.name,), starts_w, True, _share(runs, 1)))
        elif one.watts <= around.able_w.max():
            fit.append(one)
    for a, b in combinations(fit, 2):
        rows += _pair(a, b, around)
    return rows


def _share(hit: npt.NDArray[np.bool_], axes: int) -> float:
    """Share of members' days on which any run, or pair of runs (2 axes), does it."""
    return float(hit.any(axis=tuple(range(axes))).mean())


def _beside(cooling: Cooling | None, followed: list[Followed], around: Around) -> list[Meeting]:
    """Find what is too much beside a mains air conditioner that runs, or that starts."""
    rows: list[Meeting] = []
    if cooling is None or cooling.side != "ac" or cooling.start_w > around.surge_w:
        return rows  # too much alone, which `check` says
    for one in followed:
        if one.watts > around.able_w.max() or one.watts + one.surge_w > around.surge_w:
            continue
        names = (one.name, cooling.unit)
        runs_w, able_w = _beside_w(one, cooling.watts, around)
        hit = (runs_w > 0.0) & (one.watts + runs_w > able_w)
        if hit.any():
            most_w = one.watts + float(runs_w[hit].max())
            rows.append(Meeting(names, most_w, False, _share(hit, 1)))
        starting_w = one.watts + max(cooling.start_w, cooling.watts + one.surge_w)
        if starting_w > around.surge_w:
            hit = (runs_w > 0.0) & ~hit
            rows.append(Meeting(names, starting_w, True, _share(hit, 1)))
    return rows


def _beside_w(one: Followed, label_w: float, around: Around) -> tuple[Floats, Floats]:
    """Find what an air conditioner draws as one begins or ends, and what the inverter gives then.

    (slot, member, day) [W]; 0 where it does not cool then or nothing runs.
    """
    member = np.arange(len(around.able_w))[:, None]
    hours = around.hours(one.begins, one.ends)
    drawn = np.maximum(*(around.cooling_w[member, hour] for hour in hours))
    on = np.isfinite(one.begins) & (drawn > 1.0)
    return np.where(on, np.maximum(drawn, label_w), 0.0), around.least_w(one.begins, one.ends)


def _pair(a: Followed, b: Followed, around: Around) -> list[Meeting]:
    """How often two appliances that are too much together meet."""
    together_w = a.watts + b.watts
    rows = []
    if together_w > around.able_w.min():
        hit = _meets(a, b, around)
        rows.append(Meeting((a.name, b.name), together_w, False, _share(hit, 2)))
    if together_w > around.able_w.max():
        return rows
    for late, early in ((a, b), (b, a)):
        if together_w + late.surge_w > around.surge_w:
            meet = _starts_within(late, early)
            names = (early.name, late.name)
            rows.append(Meeting(names, together_w + late.surge_w, True, _share(meet, 2)))
    return rows


def _meets(a: Followed, b: Followed, around: Around) -> npt.NDArray[np.bool_]:
    """Whether two runs overlap in an hour they are too much for, (slot, slot, member, day)."""
    begin = np.fmax(a.begins[:, None], b.begins[None])
    end = np.fmin(a.ends[:, None], b.ends[None])
    both = np.isfinite(a.begins)[:, None] & np.isfinite(b.begins)[None] & (begin < end)
    if a.watts + b.watts > around.able_w.max():
        return both
    return np.asarray(both & (a.watts + b.watts > around.least_w(begin, end)), dtype=np.bool_)


def _starts_within(late: Followed, early: Followed) -> npt.NDArray[np.bool_]:
    """Whether one starts while the other runs, (slot, slot, member, day)."""
    start = late.begins[:, None]
    within = (start >= early.begins[None]) & (start < early.ends[None])
    return np.asarray(within, dtype=np.bool_)
