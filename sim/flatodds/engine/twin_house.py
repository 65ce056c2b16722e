"""Plain-Python twin, household: what its appliances ask hour by hour, and what each is served."""

from __future__ import annotations

from flatodds.engine.plan import StayPlan
from flatodds.engine.records import FIRST_DAY, WEEKDAY
from flatodds.engine.twin_draws import (
    Luck,
    Run,
    rough_score,
    runs_of_day,
    seen_next_day,
    spread_over_hours,
    uniform,
)
from flatodds.engine.twin_habits import Manners, lines_of, most_together
from flatodds.engine.twin_parts import LEAST_W, Asked, Backlog, Happened, Rig, State
from flatodds.loads.appliances import (
    APPLIANCE,
    BUFFER_H,
    CAN_WAIT,
    CHANNELS,
    MUST,
    PEAK_W,
    SHRINK,
    SPARE_SUN,
    Uses,
)
from flatodds.loads.cabin import FRIDGE_SD, FRIDGE_STREAM
from flatodds.loads.cooling import PHASE_STREAM

Waiting = tuple[tuple[float, float], tuple[float, float]]


class House:
    """One member's household.

    Parameters
    ----------
    appliances : int
        How many run by the clock.

    Attributes
    ----------
    energy_wh : list of list of float
        What each appliance asks in each hour from today's midnight on, (appliance, BUFFER_H).
    put_off : list of Backlog
        Of each appliance that waits, what still does.
    today, yesterday : list of Run
        Runs that are followed to the minute.
    wanted_wh : list of float
        Plug energy of each appliance in the present stay.
    served_wh : list of list of float
        Of it served, of that served later than asked for, and gone without.
    """

    def __init__(self, appliances: int) -> None:
        self.energy_wh = [[0.0] * BUFFER_H for _ in range(appliances)]
        self.put_off = [Backlog() for _ in range(appliances)]
        self.today: list[Run] = []
        self.yesterday: list[Run] = []
        self.begin_stay()

    def begin_stay(self) -> None:
        """Count from nothing; what runs or waits goes on."""
        self.wanted_wh = [0.0 for _ in self.energy_wh]
        self.served_wh = [[0.0] * 3 for _ in self.energy_wh]

    def draw_uses(self, stay: StayPlan, n: int, luck: Luck, *, wet: bool) -> None:
        """Draw what the household will use from the stay's day `n` on."""
        day = int(stay.calendar.stay[FIRST_DAY]) + n
        weekday = int(stay.calendar.stay[WEEKDAY])
        shift_h = float(stay.calendar.shift_h[n])
        for run in runs_of_day(stay.uses, day, weekday, shift_h, luck, wet=wet):
            self.wanted_wh[run.appliance] += run.energy_wh
            spread_over_hours(run, self.energy_wh[run.appliance])
            if run.peak_w > 0.0 and run.on_h < run.off_h:
                self.today.append(run)

    def channels_w(self, uses: Uses, hour: int) -> list[float]:
        """Give what is asked in an hour of today, by need and side [W]."""
        channels = [0.0] * CHANNELS
        for channel, energy_wh in zip(uses.channel.tolist(), self.energy_wh, strict=True):
            channels[channel] += energy_wh[hour]
        return channels

    def manners(self, uses: Uses, hour: int, above: list[float], phase: float) -> Manners:
        """Tell what economising gives up and what runs at the same minute.

        `above` is use above the charge lines, DC and AC in turn [W], `phase` from `cool_phase`.
        """
        shrink, small_ac = [0.0, 0.0], 0.0
        traits = _traits(uses)
        for appliance, channel in enumerate(uses.channel.tolist()):
            if channel // 2 != MUST:
                continue
            slot, energy_wh = traits[appliance], self.energy_wh[appliance][hour]
            shrink[channel % 2] += slot[SHRINK] * energy_wh
            if channel % 2 == 1 and slot[PEAK_W] == 0.0:
                small_ac += energy_wh
        together = most_together(uses, self.today + self.yesterday, hour)
        lines = (tuple(above[0::2]), tuple(above[1::2]))
        return Manners(shrink[0], shrink[1], small_ac, *lines, together, phase)

    def count_served(
        self, uses: Uses, hour: int, happened: Happened, met: tuple[bool, ...]
    ) -> None:
        """Plug energy served; must-have and spare-sun appliances share by their kind.

        What economising gives up of must-have use is gone without. `met` tells, from
        `lines_met`, which spare-sun appliances may run.
        """
        traits = _traits(uses)
        for appliance, channel in enumerate(uses.channel.tolist()):
            need = channel // 2
            if need == CAN_WAIT:
                continue
            share = happened.must_share if need == MUST else happened.spare_share
            if need > SPARE_SUN and not met[need - SPARE_SUN - 1]:
                share = 0.0
            if need == MUST and happened.saves:
                share *= 1.0 - traits[appliance][SHRINK]
            counts, asked_wh = self.served_wh[appliance], self.energy_wh[appliance][hour]
            counts[0] += asked_wh * share
            counts[2] += asked_wh * (1.0 - share)

    def count_put_off(
        self, uses: Uses, hour: int, fresh_wh: tuple[float, float], waited: tuple[Waiting, Waiting]
    ) -> None:
        """Share what was served of put-off use alike among the appliances that wait.

        `fresh_wh` is what an hour added on either side; `waited` is from `waiting_wh` before and
        after that hour.
        """
        before, after = waited
        for appliance, channel in enumerate(uses.channel.tolist()):
            if channel // 2 != CAN_WAIT:
                continue
            side, mine = channel % 2, self.put_off[appliance]
            new_wh = before[side][1] + fresh_wh[side]
            old_share = 1.0 - after[side][0] / max(before[side][0], LEAST_W)
            new_share = 1.0 - after[side][1] / max(new_wh, LEAST_W)
            asked_wh = self.energy_wh[appliance][hour]
            from_old = mine.yesterday_wh * old_share
            from_new = (mine.today_wh + asked_wh) * new_share
            counts = self.served_wh[appliance]
            counts[0] += from_old + from_new
            counts[1] += from_old + from_new - asked_wh * new_share
            mine.yesterday_wh -= from_old
            mine.today_wh += asked_wh - from_new

    def pass_midnight(self) -> None:
        """Give up what has waited since yesterday; what still runs moves to the new day."""
        self.energy_wh = [hours[24:] + [0.0] * 24 for hours in self.energy_wh]
        for counts, mine in zip(self.served_wh, self.put_off, strict=True):
            counts[2] += mine.pass_midnight()
        self.yesterday = [seen_next_day(run) for run in self.today]
        self.today = []


def _traits(uses: Uses) -> dict[int, list[float]]:
    """Give a slot of each appliance, by its number; all its slots share its traits."""
    owners, slots = uses.owner.tolist(), uses.slots.tolist()
    return {owner[APPLIANCE]: slot for owner, slot in zip(owners, slots, strict=True)}


def fridge_day(luck: Luck, day: int) -> float:
    """Draw how much harder fridges work on a day than usual [1]."""
    return 1.0 + FRIDGE_SD * rough_score(luck.words(day, FRIDGE_STREAM, 0)[0])


def cool_phase(luck: Luck, day: int, hour: int) -> float:
    """Draw where in its cycle an air conditioner is, of uniform chance [1]."""
    return uniform(luck.words(day, PHASE_STREAM, hour)[0])


def lines_met(rig: Rig, state: State) -> tuple[bool, ...]:
    """Tell which charge lines of spare-sun use the bank has reached."""
    frac = state.charge_ah / rig.bank.capacity_ah
    return tuple(frac >= line for line in lines_of(rig.design))


def waiting_wh(state: State) -> Waiting:
    """Use put off since yesterday and since midnight, on either side [Wh]."""
    dc, ac = state.dc_backlog, state.ac_backlog
    return (dc.yesterday_wh, dc.today_wh), (ac.yesterday_wh, ac.today_wh)


def newly_waiting_wh(rig: Rig, asked: Asked) -> tuple[float, float]:
    """Give what an hour adds to the use that waits, on either side [Wh]."""
    factor = rig.design.use_factor
    return factor * asked.wait_dc_w, factor * asked.wait_ac_w
