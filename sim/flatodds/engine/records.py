"""What the two kernels are handed: few tables, since every array costs compile time."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.floating]
Ints = npt.NDArray[np.int64]


MOST_CONTROLLERS = 4  # own choice
MOST_A, MOST_W, AT_BANK_V = range(3)  # first columns of Rigs.label_w
LIMITS = 3  # their number
NO_LIMIT = 1e9  # amperes or watts of a controller that never clips


class Rigs(NamedTuple):
    """All designs of a run.

    Attributes
    ----------
    bank, design : Array
        Fields of `Bank`, and of `Design` and then `Generator`, in their order,
        (field, design).
    label_w : Array
        For each of MOST_CONTROLLERS controllers its ampere limit [A], its watt limit [W], 1 if
        it passes current at the bank's voltage (else 0), and for each group that feeds it the
        label watts, or at the bank's voltage the label amperes, times all constant factors
        (wiring, ageing, controller); 0 where it feeds another,
        (design, controller, LIMITS + group).
    """

    bank: Array
    design: Array
    label_w: Array


def join_rigs(rigs: Sequence[Rigs]) -> Rigs:
    """Put the designs of several records side by side; designs are the last axis but of label_w."""
    axes = [0 if name == "label_w" else -1 for name in Rigs._fields]
    return Rigs(
        *[
            np.concatenate(parts, axis)
            for parts, axis in zip(zip(*rigs, strict=True), axes, strict=True)
        ]
    )


def pick_rigs(rigs: Rigs, first: int, count: int) -> Rigs:
    """Cut `count` designs out, from design `first` on."""
    kept = slice(first, first + count)
    cut = {n: v[kept] if n == "label_w" else v[..., kept] for n, v in rigs._asdict().items()}
    return Rigs(**{name: np.ascontiguousarray(value) for name, value in cut.items()})


DOY, PERIOD, DAWN_H, CLOCK = range(4)  # columns of Calendar.days
FIRST_DAY, SPIN_DAYS, DAILY_AT, TRACE_AT, WEEKDAY, PLACE, FOLLOWS, FOLLOWED, DETAILED = range(9)
SWITCHED_ON, SET_C, COOL_MUST, COOL_MAY = range(4)  # columns of Calendar.clock
# Columns of Calendar.charging.
PERMITTED_H, PLUGGED, HOOKUP_A, DRIVE_A, DRIVE_H, PEDESTAL_W, HOOKUP_EFF = range(7)


class Calendar(NamedTuple):
    """The days of one stay.

    Attributes
    ----------
    days : Ints
        Day of the simulated year (0 to 364), result period, first hour with sun, and which
        clock the household keeps, (day, 4).
    shift_h : Array
        Hours the household's clock is ahead of the simulation clock, (day,).
    clock : Array
        Part of each hour the inverter is left on, the thermostat's setting [deg C], and the
        parts in which an air conditioner must and in which it may run, by hour of the
        simulation clock, for each clock kept, (clock, 24, 4).
    stay : Ints
        Absolute counter of the first day; days of weather to draw unseen before it; where
        the stay begins in the daily results and in the trace; what is added to day and
        member for the day of the week; weather stream of the place; 1 if the stay before
        ends as this one begins; 1 if another stay begins as this one ends; 1 to count overload,
        peaks and each thermostat's use, 0 to leave out these, on which nothing else rests, (9,).
    charging : Array
        Of every hour: the part in which a generator may run [h], the part spent plugged in
        [1], currents of the pedestal's charger and of driving while they last [A], the part
        spent driving [h], mean power that the pedestal can give in the hour [W], and the
        efficiency of its charger [1], (day, 24, 7); no days where the rig has none of these.
    """

    days: Ints
    shift_h: Array
    clock: Array
    stay: Ints
    charging: Array


class Given(NamedTuple):
    """Weather handed in as a table instead of drawn; empty if it is drawn.

    Attributes
    ----------
    values : Array
        (member, hour, 6): global, beam normal, diffuse [W/m2], air [deg C], wind [m/s], and
        the clearness score of the day, the same in all its hours [1].
    row : Ints
        Table member that each lane lives, (LANES,).
    first_hour : Ints
        Hour of the table at the stay's first midnight, (1,).
    """

    values: Array
    row: Ints
    first_hour: Ints


class Key(NamedTuple):
    """Who is drawn: first member of the block and the two words of the seed."""

    first_member: int
    k0: int
    k1: int


class Out(NamedTuple):
    """Where a block's results go.

    Attributes
    ----------
    sums : npt.NDArray[np.float64]
        (design, period, sum, LANES).
    daily : Array
        Of the first design, (LANES, day, DAILY).
    wanted : npt.NDArray[np.float64]
        Plug energy of each appliance over the stay, first design, (appliance, LANES) [Wh].
    served : npt.NDArray[np.float64]
        Of it served, of that served later than asked for, and gone without, in the first
        design and then in the first that economises, (appliance, 6, LANES) [Wh].
    trace : Array
        Of the first design, (hour, TRACE, LANES), or no hours.
    """

    sums: npt.NDArray[np.float64]
    daily: Array
    wanted: npt.NDArray[np.float64]
    served: npt.NDArray[np.float64]
    trace: Array


class World(NamedTuple):
    """A few days as every household and rig sees them: what the first kernel hands on.

    Attributes
    ----------
    sky : Array
        Rows of `weather.contract`, (day, 5, 24, LANES).
    watts : Array
        Yield of each array group per watt of label, (day, group, 24, LANES) [1].
    moist : Array
        What the air and the sky of each day hold, (day, 3, LANES); rows of
        `weather.moisture`: `DEW_C` dew point of the whole day [deg C]; `WET` 1 if rain or
        snow falls that day, else 0; `SNOW` 1 if what falls is snow, else 0.
    cover : Array
        What lies on the panels as the days go by, (group, COVER, LANES), see `solar.cover`.
    """

    sky: Array
    watts: Array
    moist: Array
    cover: Array
