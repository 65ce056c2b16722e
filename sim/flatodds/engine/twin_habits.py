"""Plain-Python twin, habits: saving on a low bank, charge lines, and peaks at the minute."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from flatodds.battery.bank import Bank
from flatodds.engine.hour import Design
from flatodds.engine.hour_habits import LEAST_SPARE_W, OVER_BY
from flatodds.engine.twin_bank import rest_v
from flatodds.engine.twin_draws import Run
from flatodds.loads.appliances import CAN_WAIT, MUST, SPARE_SUN, Uses
from flatodds.loads.cooling import MOST_STARTS
from flatodds.loads.inverter import RATED_C

KINDS = (MUST, CAN_WAIT, SPARE_SUN)


@dataclass(frozen=True, slots=True)
class Together:
    """What mains appliances draw at once in an hour at most, by how much of them runs [W].

    Of must-have use alone, with can-wait use, and with spare-sun use: as they run, and as one
    of them starts; and how long the first last [h].
    """

    runs_w: tuple[float, ...] = (0.0, 0.0, 0.0)
    starts_w: tuple[float, ...] = (0.0, 0.0, 0.0)
    lasts_h: tuple[float, ...] = (0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Manners:
    """What surrounds the rig in one hour of habits.

    Attributes
    ----------
    shrink_dc_w, shrink_ac_w : float
        Must-have use that economising gives up [W].
    small_ac_w : float
        Must-have mains use that is not followed to the minute [W].
    above_dc_w, above_ac_w : tuple of float
        Spare-sun use above each charge line [W].
    together : Together
    phase : float
        Where in its cycle an air conditioner is, of uniform chance [1].
    """

    shrink_dc_w: float
    shrink_ac_w: float
    small_ac_w: float
    above_dc_w: tuple[float, ...]
    above_ac_w: tuple[float, ...]
    together: Together
    phase: float = 1.0


def lines_of(design: Design) -> tuple[float, float, float]:
    """Charge lines of spare-sun use [1]."""
    return design.line_a, design.line_b, design.line_c


def most_together(uses: Uses, runs: Sequence[Run], hour: int) -> Together:
    """Look at every moment of the hour at which something starts, and at its beginning.

    `runs` are today's and yesterday's that are followed, with starts from today's midnight.
    """
    needs = [min(channel // 2, SPARE_SUN) for channel in uses.channel.tolist()]
    moments: list[tuple[float, Run | None]] = [(float(hour), None)]
    moments += [(run.on_h, run) for run in runs if hour <= run.on_h < hour + 1]
    running, starting, lasts_h = ([0.0] * len(KINDS) for _ in range(3))
    for when, begun in moments:
        drawn: dict[int, float] = {}
        on = [run for run in runs if run.on_h <= when < run.off_h]
        if begun is None:  # what starts just then is a moment of its own
            on = [run for run in on if run.on_h < when]
        for run in on:
            drawn[run.appliance] = max(drawn.get(run.appliance, 0.0), run.peak_w)
        for kind in KINDS:
            total_w = sum(watts for one, watts in drawn.items() if needs[one] <= kind)
            if begun is not None and needs[begun.appliance] > kind:
                continue  # what runs of this kind was all on when the last of it began
            off_h = max((run.off_h for run in on if needs[run.appliance] <= kind), default=when)
            length_h = min(off_h, hour + 1) - when
            if total_w == running[kind]:
                lasts_h[kind] = min(lasts_h[kind] + length_h, 1.0)
            elif total_w > running[kind]:
                lasts_h[kind] = length_h
            running[kind] = max(running[kind], total_w)
            total_w += begun.surge_w if begun is not None else 0.0
            starting[kind] = max(starting[kind], total_w)
    return Together(tuple(running), tuple(starting), tuple(lasts_h))


@dataclass(frozen=True, slots=True)
class Moment:
    """What an hour's peak stands on, beside the followed appliances.

    Attributes
    ----------
    asked_ac_w : float
        Must-have mains use asked for [W].
    clock_ac_w : float
        Part of it that runs by the clock [W].
    dc_w : float
        Must-have DC use and what waited and may run [W].
    wait_ac_w, spare_w : float
        Mains use that waited and may run; spare-sun use served [W].
    cool_ac_w, cooler_w : float
        What a mains air conditioner draws in the mean of the hour, and while it runs [W].
    cooler_share : float
        Part of the hour it runs [1].
    cooler_start_w : float
        What its start takes for a moment; 0 if it did not start [W].
    sun_w : float
        Sun within the controllers' limits [W].
    """

    asked_ac_w: float
    clock_ac_w: float
    dc_w: float
    wait_ac_w: float
    spare_w: float
    cool_ac_w: float
    cooler_w: float
    cooler_share: float
    cooler_start_w: float
    sun_w: float


def peak_ac_w(design: Design, manners: Manners, moment: Moment) -> tuple[float, float]:
    """Most mains power of the hour as things run, and as one starts [W].

    An air conditioner that cycles meets the hour's peak as often as chance has it.
    """
    kind = MUST if moment.wait_ac_w <= 0.0 else CAN_WAIT
    kind = SPARE_SUN if moment.spare_w > LEAST_SPARE_W else kind
    together, share = manners.together, moment.cooler_share
    followed_w = moment.clock_ac_w - design.use_factor * manners.small_ac_w
    others_w = moment.asked_ac_w - moment.cool_ac_w
    rest_w = max(others_w - followed_w, 0.0)
    peak_w, start_w = together.runs_w[kind], together.starts_w[kind]
    begins = 0.0
    if moment.cooler_start_w > 0.0:
        begins = max(4.0 * MOST_STARTS * share * (1.0 - share), 1.0) * together.lasts_h[kind]
    beside_w = moment.cooler_w if share > 0.0 and manners.phase < share + begins else 0.0
    runs_w = max(peak_w + beside_w, moment.cooler_w) + rest_w
    starts_w = start_w + beside_w + rest_w
    if moment.cooler_start_w > 0.0:
        met_w = peak_w + rest_w if manners.phase < begins else 0.0
        starts_w = max(starts_w, moment.cooler_start_w + max(others_w, met_w))
    return runs_w, starts_w


def current_a(bank: Bank, charge_ah: float, power_w: float) -> float:
    """Solve power = (rest voltage - current * resistance) * current for the current [A].

    More power than the resistance lets through gives the current of the most that it does.
    """
    volts = rest_v(bank, charge_ah)
    left = volts * volts - 4.0 * bank.resistance_ohm * power_w
    if left < 0.0:
        return volts / (2.0 * bank.resistance_ohm)
    return 2.0 * power_w / (volts + math.sqrt(left))


def let_through_w(bank: Bank, charge_ah: float) -> float:
    """Most power that the bank's resistance lets through [W]."""
    if bank.resistance_ohm <= 0.0:
        return math.inf
    return rest_v(bank, charge_ah) ** 2 / (4.0 * bank.resistance_ohm)


def able_w(design: Design, cabin_c: float) -> float:
    """Power the inverter gives all day in a cabin that warm [W]; for seconds heat matters not."""
    if cabin_c <= RATED_C:
        return design.inverter_w
    return design.inverter_w * max(1.0 - design.heat_loss * (cabin_c - RATED_C), 0.0)


def overloaded(
    design: Design, bank: Bank, peak: tuple[float, float], amps: float, cabin_c: float
) -> bool:
    """Whether inverter or bank switches off at a peak of mains watts and bank amperes."""
    runs_w, starts_w = peak
    return (
        runs_w > able_w(design, cabin_c) * OVER_BY
        or starts_w > design.surge_w * OVER_BY
        or amps > bank.discharge_limit_a * OVER_BY
    )
