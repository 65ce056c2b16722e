"""Which appliances overload the inverter together, and on how many days they meet.

Pairs are counted on the same draws as a run, by whole arrays of members and days outside the
kernel: the kernel's peaks say in how many hours something switches off, and counting every
pair there would cost each hour what only this table needs. What else is on at the time, and
what waits because charge is low, is left aside here, and so is what heat takes off the rating.
Chances are those of dry days. An air conditioner is not followed: with it the days are those on
which the other runs in hours in which it may cool, which is the most it can be.
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
MEMBERS = 128
MOST_DAYS = 120


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


def worst_meetings(scenario: Scenario, *, seed: int = 1) -> list[Meeting]:
    """Find what overloads the inverter, the most frequent first, over all stays."""
    from flatodds.engine.plan import make_plan

    inverter = scenario.inverter
    if inverter.watts <= 0.0:
        return []
    plan = make_plan(scenario, base_dir=scenario.folder)
    days = [min(len(stay.calendar.days), MOST_DAYS) for stay in plan.stays]
    found: dict[tuple[tuple[str, ...], bool], list[float]] = {}
    for stay, count in zip(plan.stays, days, strict=True):
        limits = (inverter.watts, inverter.watts * inverter.surge_ratio)
        followed = _followed(plan, stay, count, seed)
        for one in [*_meetings(followed, limits), *_beside(scenario.cooling, followed, limits)]:
            row = found.setdefault((one.names, one.starting), [one.watts, 0.0])
            row[1] += one.days_frac * count / sum(days)
    rows = [Meeting(key[0], row[0], key[1], row[1]) for key, row in found.items()]
    return sorted(rows, key=lambda one: (-one.days_frac, one.names))


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


def _meetings(followed: list[Followed], limits: tuple[float, float]) -> list[Meeting]:
    """Find what is too much alone, and pairs of the rest that are too much together."""
    rating_w, surge_w = limits
    rows: list[Meeting] = []
    fit = []
    for one in followed:
        days = float(np.isfinite(one.begins).any(axis=0).mean())
        starts_w = one.watts + one.surge_w
        if one.watts > rating_w:
            rows.append(Meeting((one.name,), one.watts, False, days))
        elif starts_w > surge_w:
            rows.append(Meeting((one.name,), starts_w, True, days))
        else:
            fit.append(one)
    for a, b in combinations(fit, 2):
        rows += _pair(a, b, rating_w, surge_w)
    return [row for row in rows if row.days_frac > 0.0]


def _beside(
    cooling: Cooling | None, followed: list[Followed], limits: tuple[float, float]
) -> list[Meeting]:
    """Find what is too much beside a mains air conditioner that runs, or that starts."""
    rating_w, surge_w = limits
    rows: list[Meeting] = []
    if cooling is None or cooling.side != "ac":
        return rows
    if cooling.watts > rating_w or cooling.start_w > surge_w:
        return rows  # too much alone, which `check` says
    for one in followed:
        if one.watts > rating_w or one.watts + one.surge_w > surge_w:
            continue
        days = float(_within(one, cooling.windows + cooling.must_windows).mean())
        together_w = one.watts + cooling.watts
        starting_w = max(one.watts + cooling.start_w, together_w + one.surge_w)
        names = (one.name, cooling.unit)
        if together_w > rating_w:
            rows.append(Meeting(names, together_w, False, days))
        elif starting_w > surge_w:
            rows.append(Meeting(names, starting_w, True, days))
    return [row for row in rows if row.days_frac > 0.0]


def _within(one: Followed, windows: tuple[tuple[float, float], ...]) -> npt.NDArray[np.bool_]:
    """Whether any run lies in part in one of the windows, (member, day)."""
    found = np.zeros(one.begins.shape[1:], dtype=np.bool_)
    for start_h, end_h in windows:
        for day_h in (-24.0, 0.0, 24.0):
            inside = (one.begins < end_h + day_h) & (one.ends > start_h + day_h)
            found |= inside.any(axis=0)
    return found


def _pair(a: Followed, b: Followed, rating_w: float, surge_w: float) -> list[Meeting]:
    """How often two appliances that are too much together meet."""
    together_w = a.watts + b.watts
    if together_w > rating_w:
        meet = _meets(a, b)
        return [Meeting((a.name, b.name), together_w, False, float(meet.mean()))]
    rows = []
    for late, early in ((a, b), (b, a)):
        if together_w + late.surge_w > surge_w:
            meet = _starts_within(late, early)
            names = (early.name, late.name)
            rows.append(Meeting(names, together_w + late.surge_w, True, float(meet.mean())))
    return rows


def _meets(a: Followed, b: Followed) -> npt.NDArray[np.bool_]:
    """Whether any two runs overlap, (member, day)."""
    begin = np.fmax(a.begins[:, None], b.begins[None])
    end = np.fmin(a.ends[:, None], b.ends[None])
    both = np.isfinite(a.begins)[:, None] & np.isfinite(b.begins)[None]
    return np.asarray((both & (begin < end)).any(axis=(0, 1)), dtype=np.bool_)


def _starts_within(late: Followed, early: Followed) -> npt.NDArray[np.bool_]:
    """Whether one starts while the other runs, (member, day)."""
    start = late.begins[:, None]
    within = (start >= early.begins[None]) & (start < early.ends[None])
    return np.asarray(within.any(axis=(0, 1)), dtype=np.bool_)
