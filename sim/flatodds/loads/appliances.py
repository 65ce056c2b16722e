"""When appliances run: stochastic uses drawn day by day, exact to the minute in the hour.

Every use of an appliance is a slot: it happens on a day with some probability, starts
uniformly inside the appliance's windows, and adds watts for its duration to the hours it
overlaps. No gathering, scattering or branching over lanes, so all members draw abreast.
"""

from __future__ import annotations

import zlib
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from flatodds.lanes import LANES, inlined, outlined, philox, uniform
from flatodds.loads.often import ALWAYS, TILT_SLOT, how_often

Array = npt.NDArray[np.floating]
Ints = npt.NDArray[np.int64]
Words = npt.NDArray[np.uint64]

MUST, CAN_WAIT, SPARE_SUN = range(3)
NEEDS = 3
LINES = 3  # most different charge lines that spare-sun appliances can have
CAN_RUN = NEEDS + LINES  # kinds of need: the three, then spare-sun use above each line
WINDOWS = 4  # most windows one appliance can have
BUFFER_H = 48  # a day's uses may run on past midnight
# Put off since yesterday, and since this midnight; of those who economise two rows further on.
OLD_ROW, NEW_ROW = BUFFER_H, BUFFER_H + 1
NOTED = 2  # designs whose appliances are told apart: as planned, and economised
ENERGY_ROWS = BUFFER_H + 2 * NOTED
NEVER_H = -1000.0  # start and end of a use that does not happen
PEAK_FROM_W = 300.0  # mains use that draws more as it starts is followed to the minute
LEAST_SLACK_H = 1e-6  # where runs fill every window, so that all windows are as likely
_FIRST_STREAM = 1 << 16  # weather streams lie below


@dataclass(frozen=True, slots=True)
class Away:
    """Hours of some days in which something does not run, as nobody is home.

    The days are those whose number, with the member's, leaves after division by `period` a
    remainder r with bit r of `days` set: period 7 for days of the week, 0 being Monday.
    """

    period: int
    days: int
    from_h: float
    to_h: float


@dataclass(frozen=True, slots=True)
class UseSpec:
    """How one appliance is used; windows on the household's clock, [start, end) in hours.

    Attributes
    ----------
    watts : float
        Mean while it runs [W].
    need : int
        MUST, CAN_WAIT or SPARE_SUN, or NEEDS + k: spare-sun use above charge line k.
    running_w, surge_w : float
        Most it draws as it runs, and what it draws above that as it starts [W].
    shrink_frac : float
        Part given up below the caution level by those who economise [1].
    wet_day_factor : float
        Runs on a day with rain or snow over those of a dry one [1].
    """

    name: str
    watts: float
    hours: float
    times_a_day: float
    times_a_day_weekend: float
    times_sd: float
    windows: tuple[tuple[float, float], ...]
    need: int
    is_ac: bool
    steady: bool
    running_w: float = 0.0
    surge_w: float = 0.0
    shrink_frac: float = 0.0
    away: Away | None = None
    wet_day_factor: float = 1.0


WEEKDAY, WEEKEND, WATTS, HOURS, STARTS = range(5)  # columns of Uses.slots
LENGTHS = STARTS + WINDOWS
PEAK_W, SURGE_W, SHRINK, AWAY_FROM, AWAY_TO = range(LENGTHS + WINDOWS, LENGTHS + WINDOWS + 5)
TILT, WET_WEEKDAY, WET_WEEKEND = range(LENGTHS + WINDOWS + 5, LENGTHS + WINDOWS + 8)
COLUMNS = WET_WEEKEND + 1
APPLIANCE, FILLS, AWAY_PERIOD, AWAY_DAYS = range(4)  # columns of Uses.owner


class Uses(NamedTuple):
    """Slots of all appliances of a household.

    Attributes
    ----------
    slots : Array
        Chance on a weekday and at the weekend, power [W], run time [h], then the first
        possible start of each window and how much later it may start (-1: no window) [h];
        then, of mains use that draws more than PEAK_FROM_W as it starts (else 0), what it
        draws as it runs and more as it starts [W]; part given up to economise; hours away
        on the household's clock; by how much, up or down, the chances of all slots of the
        appliance together change from day to day [1]; and the chances on a wet weekday and on a
        wet day at the weekend, (slot, COLUMNS).
    owner : Ints
        Appliance of each slot; 1 where it fills its windows instead of running once; period
        and days of `Away`, period 0 if it runs on while nobody is home, (slot, 4).
    stream : Words
        Random stream of the slot's appliance and the slot's number within it, (slot, 2).
        The stream is a hash of the name, so adding an appliance leaves every other one's
        draws as they were.
    channel : Ints
        Need (below CAN_RUN) and side of each appliance: 2 * need + (1 if AC), (appliance,).
    """

    slots: Array
    owner: Ints
    stream: Words
    channel: Ints


CHANNELS = 2 * CAN_RUN


def stream_of(name: str) -> int:
    """Random stream of an appliance, stable under changes to all others."""
    return _FIRST_STREAM + (zlib.crc32(name.encode()) & 0x7FFFFFFF)


def use_slots(specs: Sequence[UseSpec]) -> Uses:
    """Slots for the appliances of one household, with the mean and the spread asked for."""
    slots: list[list[float]] = []
    owner: list[tuple[int, int, int, int]] = []
    stream: list[tuple[int, int]] = []
    for number, spec in enumerate(specs):
        often = ALWAYS if spec.steady else how_often(spec)
        hours = 0.0 if spec.steady else spec.hours
        span = [max(end - start - hours, 0.0) for start, end in spec.windows]
        if len(span) > 1 and not any(span):
            span = [LEAST_SLACK_H] * len(span)
        starts = [start for start, _ in spec.windows]
        dry, wet = (often.weekday, often.weekend), (often.wet_weekday, often.wet_weekend)
        for k, chances in enumerate(zip(*dry, *wet, strict=True)):
            slots.append(
                [
                    *chances[:2],
                    spec.watts,
                    hours * often.stacked,
                    *_padded(starts, 0.0),
                    *_padded(span, -1.0),
                    *_peak(spec),
                    spec.shrink_frac,
                    *((spec.away.from_h, spec.away.to_h) if spec.away else (0.0, 0.0)),
                    often.tilt,
                    *chances[2:],
                ]
            )
            days = (spec.away.period, spec.away.days) if spec.away else (0, 0)
            owner.append((number, int(spec.steady), *days))
            stream.append((stream_of(spec.name), k))
    return Uses(
        slots=np.array(slots, dtype=np.float64).reshape(-1, COLUMNS),
        owner=np.array(owner, dtype=np.int64).reshape(-1, 4),
        stream=np.array(stream, dtype=np.uint64).reshape(-1, 2),
        channel=np.array([2 * spec.need + int(spec.is_ac) for spec in specs], dtype=np.int64),
    )


def _peak(spec: UseSpec) -> tuple[float, float]:
    """Watts followed to the minute: as it runs, and more as it starts; 0 if too small."""
    followed = spec.is_ac and not spec.steady
    if not followed or spec.running_w + spec.surge_w <= PEAK_FROM_W:
        return 0.0, 0.0
    return spec.running_w, spec.surge_w


def _padded(values: list[float], filler: float) -> list[float]:
    return values + [filler] * (WINDOWS - len(values))


@inlined
def overlap_h(hour: float, start: float, end: float) -> float:
    """Part of [hour, hour + 1) that lies in [start, end) [h]."""
    f = type(start)
    return min(max(end - hour, f(0.0)), f(1.0)) - min(max(start - hour, f(0.0)), f(1.0))


@outlined
def draw_uses(
    uses: Uses,
    day: int,
    weekday_offset: int,
    shift_h: float,
    first_member: int,
    k0: int,
    k1: int,
    reach: Ints,
    wet: Array,
    energy: Array,
    wanted: Array,
    runs: Array,
) -> None:
    """Draw one day's uses of every appliance.

    Parameters
    ----------
    uses : Uses
        Slots of the household.
    day : int
        Absolute day counter.
    weekday_offset : int
        Added to day and member for the day of the week (0 to 4 are weekdays).
    shift_h : float
        Hours the household's clock is ahead of the simulation clock.
    first_member, k0, k1 : int
        Member of lane 0 and the two words of the key.
    reach : Ints
        Bits of the hours that each slot may run in, (slot,).
    wet : Array
        1 where rain or snow falls that day, (LANES,).
    energy : Array
        Energy by hour from this midnight, (appliance, ENERGY_ROWS, LANES) [Wh]; added to.
    wanted : Array
        Energy of all uses that began this day, (appliance, LANES) [Wh]; added to.
    runs : Array
        When uses followed to the minute start and end, today's (first two rows) and then
        yesterday's; hours from this midnight, NEVER_H if not, (4, slot, LANES) [h].
    """
    f = type(energy[0, 0, 0])
    start = np.empty(LANES, energy.dtype)
    watts = np.empty(LANES, energy.dtype)
    away = np.zeros(LANES, energy.dtype)
    more = np.ones(LANES, energy.dtype)
    for s in range(uses.slots.shape[0]):
        slot = uses.slots[s]
        a = uses.owner[s, APPLIANCE]
        period = uses.owner[s, AWAY_PERIOD]
        for i in range(LANES):
            away[i] = f(0.0)
        if period > 0:
            for i in range(LANES):
                turn = (day + weekday_offset + first_member + i) % period
                away[i] = f((uses.owner[s, AWAY_DAYS] >> turn) & 1)
        leave = slot[AWAY_FROM] - f(shift_h)
        back = slot[AWAY_TO] - f(shift_h)
        if uses.owner[s, FILLS] == 1:
            _add_steady(slot, f(shift_h), leave, back, away, energy[a], wanted[a])
            continue
        hours = slot[HOURS]
        stream = uses.stream[s, 0]
        number = uses.stream[s, 1]
        if number == np.uint64(0):  # its first slot: how much of it there is today
            tilt = slot[TILT]
            for i in range(LANES):
                more[i] = f(1.0)
            if tilt > f(0.0):
                for i in range(LANES):
                    side, _b, _c, _d = philox(
                        np.uint64(day),
                        stream,
                        np.uint64(first_member + i),
                        np.uint64(TILT_SLOT),
                        k0,
                        k1,
                    )
                    more[i] = f(1.0) + tilt if uniform(side) < 0.5 else f(1.0) - tilt
        for i in range(LANES):
            member = first_member + i
            happens, when, _c, _d = philox(
                np.uint64(day), stream, np.uint64(member), number, k0, k1
            )
            weekend = (day + weekday_offset + member) % 7 >= 5
            dry_chance = slot[WEEKEND] if weekend else slot[WEEKDAY]
            wet_chance = slot[WET_WEEKEND] if weekend else slot[WET_WEEKDAY]
            chance = wet_chance if wet[i] > f(0.0) else dry_chance
            watts[i] = slot[WATTS] if uniform(happens) < more[i] * chance else f(0.0)
            t = _start_time(slot, f(uniform(when))) - f(shift_h)
            start[i] = t + f(24.0) if t < f(0.0) else t
        if slot[PEAK_W] > f(0.0):
            for i in range(LANES):
                begin = start[i]
                end = begin + hours
                gone = away[i] > f(0.0)
                cut = gone and begin < leave and leave < end
                late = gone and begin >= leave and begin < back
                end = leave if cut else end
                begin = back if late else begin
                happens_so = watts[i] > f(0.0) and begin < end
                runs[0, s, i] = begin if happens_so else f(NEVER_H)
                runs[1, s, i] = end if happens_so else f(NEVER_H)
        if period > 0:
            for i in range(LANES):
                missed = max(min(start[i] + hours, back) - max(start[i], leave), f(0.0))
                wanted[a, i] += watts[i] * (hours - away[i] * missed)
            for h in range(BUFFER_H):
                if not reach[s] >> h & 1:
                    continue
                row = energy[a, h]
                for i in range(LANES):
                    end = start[i] + hours
                    begin = max(start[i], leave)
                    missed = overlap_h(f(h), begin, max(begin, min(end, back)))
                    row[i] += watts[i] * (overlap_h(f(h), start[i], end) - away[i] * missed)
            continue
        for i in range(LANES):
            wanted[a, i] += watts[i] * hours
        for h in range(BUFFER_H):
            if not reach[s] >> h & 1:
                continue
            row = energy[a, h]
            for i in range(LANES):
                row[i] += watts[i] * overlap_h(f(h), start[i], start[i] + hours)


@inlined
def _start_time(slot: Array, u: float) -> float:
    """Start on the household's clock [h], uniform over all the windows' possible starts."""
    f = type(u)
    total = f(0.0)
    for w in range(WINDOWS):
        total += max(slot[LENGTHS + w], f(0.0))
    x = u * total
    passed = max(slot[LENGTHS], f(0.0))
    begin = slot[STARTS] + min(x, passed)
    for w in range(1, WINDOWS):
        length = max(slot[LENGTHS + w], f(0.0))
        begin = slot[STARTS + w] + min(x - passed, length) if x > passed else begin
        passed += length
    return begin  # type: ignore[no-any-return]  # float() would make it double


@outlined
def _add_steady(
    slot: Array,
    shift_h: float,
    leave: float,
    back: float,
    away: Array,
    energy: Array,
    wanted: Array,
) -> None:
    """Add a load that fills its windows every day, but for hours away."""
    f = type(shift_h)
    for w in range(WINDOWS):
        length = slot[LENGTHS + w]
        if length <= f(0.0):
            continue
        begin = f(0.0) if length >= f(24.0) else slot[STARTS + w] - shift_h
        begin = begin + f(24.0) if begin < f(0.0) else begin
        out = max(begin, leave)
        home = max(out, min(begin + length, back))
        for i in range(LANES):
            wanted[i] += slot[WATTS] * (length - away[i] * (home - out))
        for h in range(BUFFER_H):
            part = slot[WATTS] * overlap_h(f(h), begin, begin + length)
            missed = slot[WATTS] * overlap_h(f(h), out, home)
            for i in range(LANES):
                energy[h, i] += part - away[i] * missed
