"""Plain-Python twin, chance: counter-based random numbers and one day's uses of appliances.

Written from the published descriptions in plain integers and floats, apart from the
compiled versions, so that the two check each other.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from flatodds.loads.appliances import (
    AWAY_FROM,
    AWAY_TO,
    BUFFER_H,
    HOURS,
    LENGTHS,
    PEAK_W,
    STARTS,
    SURGE_W,
    TILT,
    WATTS,
    WEEKDAY,
    WEEKEND,
    WET_WEEKDAY,
    WET_WEEKEND,
    WINDOWS,
    Uses,
)
from flatodds.loads.often import TILT_SLOT

Words = tuple[int, int, int, int]
Coefficients = tuple[float, ...]

WORD = 1 << 32
# Philox4x32: multipliers and key increments, Salmon, Moraes, Dror and Shaw (SC11, 2011).
MULTIPLIERS = (0xD2511F53, 0xCD9E8D57)
KEY_STEPS = (0x9E3779B9, 0xBB67AE85)
ROUNDS = 10

# Wichura, Algorithm AS 241, Applied Statistics 37 (1988), PPND7: constant term first.
MIDDLE: tuple[Coefficients, Coefficients] = (
    (3.3871327179, 50.434271938, 159.29113202, 59.109374720),
    (1.0, 17.895169469, 78.757757664, 67.187563600),
)
TAIL: tuple[Coefficients, Coefficients] = (
    (1.4234372777, 2.7568153900, 1.3067284816, 0.17023821103),
    (1.0, 0.73700164250, 0.12021132975),
)
FAR_TAIL: tuple[Coefficients, Coefficients] = (
    (6.6579051150, 3.0812263860, 0.42868294337, 0.017337203997),
    (1.0, 0.24197894225, 0.012258202635),
)


def philox(counter: Words, key: tuple[int, int]) -> Words:
    """Four random 32-bit words for a counter and a key."""
    c0, c1, c2, c3 = counter
    k0, k1 = key
    for _ in range(ROUNDS):
        high0, low0 = divmod(MULTIPLIERS[0] * c0, WORD)
        high1, low1 = divmod(MULTIPLIERS[1] * c2, WORD)
        c0, c1, c2, c3 = high1 ^ c1 ^ k0, low1, high0 ^ c3 ^ k1, low0
        k0, k1 = (k0 + KEY_STEPS[0]) % WORD, (k1 + KEY_STEPS[1]) % WORD
    return c0, c1, c2, c3


def uniform(word: int) -> float:
    """Make a number strictly between 0 and 1 from the upper 24 bits of a word."""
    return ((word >> 8) + 0.5) / (1 << 24)


def polynomial(coefficients: Sequence[float], x: float) -> float:
    """Value at x of a polynomial given from its constant term upwards."""
    total = 0.0
    for coefficient in reversed(coefficients):
        total = total * x + coefficient
    return total


def normal_score(u: float) -> float:
    """Give the standard normal quantile of u in (0, 1), to seven digits (AS 241, PPND7)."""
    from_middle = u - 0.5
    if abs(from_middle) <= 0.425:
        top, bottom = MIDDLE
        x = 0.425**2 - from_middle**2
        return from_middle * polynomial(top, x) / polynomial(bottom, x)
    x = math.sqrt(-math.log(min(u, 1.0 - u)))
    (top, bottom), x = (TAIL, x - 1.6) if x <= 5.0 else (FAR_TAIL, x - 5.0)
    return math.copysign(polynomial(top, x) / polynomial(bottom, x), from_middle)


def rough_score(word: int) -> float:
    """Nearly standard normal number: the sum of a word's four bytes, bent by a cubic.

    A byte is uniform on 0 to 255, mean 127.5; the factors give variance 1 and no excess
    kurtosis (own derivation, stated where the compiled version is).
    """
    x = (sum(word.to_bytes(4, "little")) - 4 * 127.5) * 0.006765875
    return 0.949033 * x + 0.018642 * x**3


@dataclass(frozen=True, slots=True)
class Luck:
    """All random numbers of one member; `place` is the weather stream of the place."""

    member: int
    key: tuple[int, int]
    place: int = 0

    def words(self, day: int, stream: int, last: int) -> Words:
        """Four words for a day and a stream; the counter ends with a place or a slot."""
        return philox((day, stream, self.member, last), self.key)

    def scores(self, day: int, stream: int) -> tuple[float, float, float, float]:
        """Two normal and two nearly normal numbers for the weather."""
        a, b, c, d = self.words(day, stream, self.place)
        return normal_score(uniform(a)), normal_score(uniform(b)), rough_score(c), rough_score(d)

    def noise(self, day: int, stream: int) -> list[float]:
        """Four nearly normal numbers for the clouds of four hours."""
        return [rough_score(word) for word in self.words(day, stream, self.place)]


@dataclass(frozen=True, slots=True)
class Run:
    """One run of an appliance, or a steady load's window; start on the simulation clock.

    Attributes
    ----------
    away : tuple of float
        Hours in which it does not run as nobody is home, [from, to); empty if (0, 0) [h].
    peak_w, surge_w : float
        What is followed to the minute: drawn as it runs, and more as it starts; else 0 [W].
    """

    appliance: int
    watts: float
    start_h: float
    hours: float
    away: tuple[float, float] = (0.0, 0.0)
    peak_w: float = 0.0
    surge_w: float = 0.0

    @property
    def off_h(self) -> float:
        """When it stops, or first stops because people leave."""
        leave_h, back_h = self.away
        end_h = self.start_h + self.hours
        return leave_h if leave_h < back_h and self.start_h < leave_h < end_h else end_h

    @property
    def on_h(self) -> float:
        """When it starts: not before people are back."""
        leave_h, back_h = self.away
        return back_h if leave_h <= self.start_h < back_h else self.start_h

    @property
    def pieces(self) -> list[tuple[float, float]]:
        """Start and end of each part of it that runs."""
        leave_h, back_h = self.away
        end_h = self.start_h + self.hours
        if leave_h >= back_h:
            return [(self.start_h, end_h)]
        parts = [(self.start_h, min(end_h, leave_h)), (max(self.start_h, back_h), end_h)]
        return [(start_h, stop_h) for start_h, stop_h in parts if start_h < stop_h]

    @property
    def energy_wh(self) -> float:
        """Energy of all that runs."""
        return self.watts * sum(stop_h - start_h for start_h, stop_h in self.pieces)


def runs_of_day(
    uses: Uses, day: int, weekday: int, shift_h: float, luck: Luck, *, wet: bool
) -> Iterator[Run]:
    """Everything that starts on one day.

    Parameters
    ----------
    uses : Uses
        Slots of the household.
    day : int
        Absolute day counter.
    weekday : int
        Added to day and member for the day of the week (0 to 4 are weekdays).
    shift_h : float
        Hours the household's clock is ahead of the simulation clock.
    luck : Luck
        The member's random numbers.
    wet : bool
        Whether rain or snow falls that day.
    """
    weekend = (day + weekday + luck.member) % 7 in (5, 6)
    for slot, (owner, steady, period, days), (stream, number) in zip(
        uses.slots.tolist(), uses.owner.tolist(), uses.stream.tolist(), strict=True
    ):
        away = (0.0, 0.0)
        if period > 0 and days >> (day + weekday + luck.member) % period & 1:
            away = (slot[AWAY_FROM] - shift_h, slot[AWAY_TO] - shift_h)
        if steady:
            yield from _steady_runs(owner, slot, shift_h, away)
            continue
        happens, when, _, _ = luck.words(day, stream, number)
        much = uniform(luck.words(day, stream, TILT_SLOT)[0]) < 0.5
        chance = slot[WEEKEND if weekend else WEEKDAY]
        if wet:
            chance = slot[WET_WEEKEND if weekend else WET_WEEKDAY]
        if uniform(happens) >= chance * (1.0 + slot[TILT] if much else 1.0 - slot[TILT]):
            continue
        start_h = _start_h(slot, uniform(when)) - shift_h
        if start_h < 0.0:  # before midnight of the simulation clock: that clock's evening
            start_h += 24.0
        more = (slot[PEAK_W], slot[SURGE_W])
        yield Run(owner, slot[WATTS], start_h, slot[HOURS], away, *more)


def _windows(slot: Sequence[float]) -> list[tuple[float, float]]:
    """First possible start and the slack after it, of each window that exists [h]."""
    pairs = [(slot[STARTS + w], slot[LENGTHS + w]) for w in range(WINDOWS)]
    return [(start, slack) for start, slack in pairs if slack >= 0.0]


def _start_h(slot: Sequence[float], u: float) -> float:
    """Start on the household's clock, uniform over the slack of all windows together [h]."""
    windows = _windows(slot)
    into = u * sum(slack for _, slack in windows)
    for start, slack in windows:
        if into <= slack:
            return start + into
        into -= slack
    start, slack = windows[-1]
    return start + slack


def _steady_runs(
    owner: int, slot: Sequence[float], shift_h: float, away: tuple[float, float]
) -> Iterator[Run]:
    """Windows that a steady load fills every day."""
    for start, length in _windows(slot):
        if length >= 24.0:
            yield Run(owner, slot[WATTS], 0.0, length, away)
        elif length > 0.0:
            begin = start - shift_h
            begin = begin + 24.0 if begin < 0.0 else begin
            yield Run(owner, slot[WATTS], begin, length, away)


def seen_next_day(run: Run) -> Run:
    """Give the same run with its times counted from the next midnight."""
    leave_h, back_h = run.away
    away = (leave_h - 24.0, back_h - 24.0) if leave_h < back_h else run.away
    return replace(run, start_h=run.start_h - 24.0, away=away)


def spread_over_hours(run: Run, energy_wh: list[float]) -> None:
    """Add a run's energy to the hours it overlaps, exact to the minute; (BUFFER_H,) [Wh]."""
    for start_h, end_h in run.pieces:
        for hour in range(int(start_h), min(math.ceil(end_h), BUFFER_H)):
            energy_wh[hour] += run.watts * (min(end_h, hour + 1.0) - max(start_h, float(hour)))


def seed_key(seed: int) -> tuple[int, int]:
    """Key of the random numbers: lower and upper word of the seed."""
    high, low = divmod(seed, WORD)
    return low, high


def table_row(table: npt.NDArray[np.floating], *at: int) -> list[float]:
    """One row of a table as plain floats."""
    return [float(value) for value in table[at]]
