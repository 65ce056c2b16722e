"""Plain-Python twin of the engine: the specification people read.

One member lives all stays hour by hour, with nothing compiled and nothing abreast. It reads
the same plan as the kernel, draws the same random numbers, and states each rule in its own
words; the tests hold the kernel's float64 build to it. It is some thousand times slower.
"""

from __future__ import annotations

import math

import numpy as np

from flatodds.battery.bank import FULL_FRAC
from flatodds.charging.generator import Generator
from flatodds.engine import rows as r
from flatodds.engine.hour import GENERATOR_ROW, Design
from flatodds.engine.plan import Plan, StayPlan
from flatodds.engine.records import (
    CLOCK,
    COOL_MAY,
    COOL_MUST,
    DAILY_AT,
    DAWN_H,
    DOY,
    FIRST_DAY,
    FOLLOWED,
    FOLLOWS,
    PERIOD,
    PLACE,
    SET_C,
    SPIN_DAYS,
    SWITCHED_ON,
    WEEKDAY,
)
from flatodds.engine.twin_bank import bank_of
from flatodds.engine.twin_charging import Around
from flatodds.engine.twin_climate import Weather, humid
from flatodds.engine.twin_cover import Lying, through_cover
from flatodds.engine.twin_draws import (
    Luck,
    Run,
    rough_score,
    runs_of_day,
    seed_key,
    seen_next_day,
    spread_over_hours,
    uniform,
)
from flatodds.engine.twin_habits import Manners, lines_of, most_together
from flatodds.engine.twin_hour import live_hour
from flatodds.engine.twin_lived import Lived, Sums, TwinHour, hour_sums
from flatodds.engine.twin_parts import (
    LEAST_W,
    Asked,
    Backlog,
    Controller,
    Happened,
    Rig,
    State,
)
from flatodds.engine.twin_sky import (
    Mood,
    SkyHour,
    drawn_day,
    moisture,
    panel_share,
    pass_a_day,
    settled,
    table_day,
    travel,
)
from flatodds.loads.appliances import (
    APPLIANCE,
    BUFFER_H,
    CAN_WAIT,
    CHANNELS,
    MUST,
    PEAK_W,
    SHRINK,
    SPARE_SUN,
)
from flatodds.loads.cabin import CABIN_FIELDS, COLD_C, FRIDGE_SD, FRIDGE_STREAM, Cabin
from flatodds.loads.cooling import PHASE_STREAM, Cooling
from flatodds.weather.contract import SKY

NOON_H = 12


class Twin:
    """One member of one case, living stay after stay."""

    def __init__(self, plan: Plan, member: int, seed: int, case: int) -> None:
        self.plan, self.member, self.key, self.case = plan, member, seed_key(seed), case
        self.lived = Lived([dict.fromkeys(r.SUMS, 0.0) for _ in plan.periods])
        self.energy_wh = [[0.0] * BUFFER_H for _ in plan.appliances]
        self.put_off = [Backlog() for _ in plan.appliances]
        self.today: list[Run] = []
        self.yesterday: list[Run] = []
        self.night_flat = False
        self.mood: Mood | None = None
        self.hours_of_years: list[list[float]] = []
        self.scores_of_years: list[float] = []
        self.state = State(0.0, 0.0, 0.0)
        self.extremes: Sums = {}
        self.lying: list[Lying] = []
        self.through: list[list[float]] = []

    def stay(self, n: int) -> None:
        """Live one stay."""
        stay = self.plan.stays[n]
        rig = self._arrive(stay, first=n == 0)
        capacity_ah = rig.bank.capacity_ah
        self.extremes = {
            "min_charge_frac": self.state.charge_ah / capacity_ah,
            "first_flat_day": math.inf,
            "best_day_wh": 0.0,
            "peak_array_w": 0.0,
            "peak_bank_a": 0.0,
            "longest_days_since_full": 0.0,
            "start_ah": self.state.charge_ah,
        }
        self.lived.extremes.append(self.extremes)
        self.lived.wanted_wh.append([0.0] * len(self.plan.appliances))
        self.lived.served_wh.append([[0.0] * 3 for _ in self.plan.appliances])
        days = len(stay.calendar.days)
        for day in range(days):
            self._day(stay, rig, day, last=day == days - 1)
        self.extremes["end_ah"] = self.state.charge_ah

    def _arrive(self, stay: StayPlan, *, first: bool) -> Rig:
        """Set what a stay starts with; later stays go on where the last one ended."""
        bank = bank_of(stay.rigs.bank, self.case)
        fields = stay.rigs.design[:, self.case].tolist()
        design, generator = Design(*fields[:GENERATOR_ROW]), Generator(*fields[GENERATOR_ROW:])
        state = self.state
        if first:
            state.cabin_c = max(float(stay.calendar.clock[0, 0, SET_C]), stay.outdoor_start_c)
            inside = bank.inside_frac == 1.0
            state.bank_c = state.cabin_c if inside else stay.outdoor_start_c
            state.climate.uncooled_c = state.cabin_c
        if not math.isnan(design.start_frac):
            state.charge_ah = design.start_frac * bank.capacity_ah
            state.available_ah = state.charge_ah * bank.available_frac  # rested
            state.loads_off = False
        if stay.years is not None:
            self._open_years(stay)
        elif stay.given.values.shape[0] == 0:
            self._weather_until(stay, fresh=self.mood is None)
        controllers = tuple(
            Controller(most_a, most_w, at_bank_v > 0.0, tuple(labels))
            for most_a, most_w, at_bank_v, *labels in stay.rigs.label_w[self.case].tolist()
        )
        home = stay.cabin.tolist()
        cabin, cooling = Cabin(*home[:CABIN_FIELDS]), Cooling(*home[CABIN_FIELDS:])
        return Rig(bank, design, cabin, cooling, generator, controllers)

    def _open_years(self, stay: StayPlan) -> None:
        """Take the member's hours of the whole stay out of its real years."""
        assert stay.years is not None  # noqa: S101  (called for such stays only)
        first_day, days = int(stay.calendar.stay[FIRST_DAY]), len(stay.calendar.days)
        member, key = np.array([self.member]), (np.uint64(self.key[0]), np.uint64(self.key[1]))
        self.hours_of_years = stay.years.hours(first_day, days, member, key)[0].tolist()
        self.scores_of_years = stay.years.scores(first_day, days, member, key)[0].tolist()

    def _luck(self, stay: StayPlan) -> Luck:
        return Luck(self.member, self.key, int(stay.calendar.stay[PLACE]))

    def _weather_until(self, stay: StayPlan, *, fresh: bool) -> None:
        """Draw the weather's memory through the unseen days before a stay."""
        unseen = int(stay.calendar.stay[SPIN_DAYS])
        first_day = int(stay.calendar.stay[FIRST_DAY])
        first_doy = int(stay.calendar.days[0, DOY])
        luck = self._luck(stay)
        if not fresh and stay.weather_kept < 1.0:
            assert self.mood is not None  # noqa: S101  (settled before the first stay)
            travel(self.mood, stay.weather_kept, first_day - unseen, luck)
        for before in range(unseen, 0, -1):
            doy, day = (first_doy - before) % 365, first_day - before
            if fresh and before == unseen:
                self.mood = settled(stay.tables, doy, day, luck)
            else:
                assert self.mood is not None  # noqa: S101  (settled before the first stay)
                pass_a_day(self.mood, stay.tables, doy, day, luck)

    def _sky(self, stay: StayPlan, n: int) -> list[SkyHour]:
        """Weather of the stay's day `n`, out of a table or drawn, and its moisture."""
        doy, day = int(stay.calendar.days[n, DOY]), int(stay.calendar.stay[FIRST_DAY]) + n
        values, luck = stay.given.values, self._luck(stay)
        if stay.years is not None:
            hours = table_day(self.hours_of_years[24 * n : 24 * n + 24])
            clearness = self.scores_of_years[n]
        elif values.shape[0] > 0:
            at = int(stay.given.first_hour[0]) + 24 * n
            rows = values[self.member % values.shape[0], at : at + 24].tolist()
            hours, clearness = table_day(rows), rows[0][SKY]
        else:
            assert self.mood is not None  # noqa: S101  (settled before the first stay)
            hours = drawn_day(self.mood, stay.tables, doy, day, luck)
            clearness = self.mood.clearness
        self.lived.moisture.append(moisture(hours, clearness, stay.tables, doy, day, luck))
        return hours

    def _plan_uses(self, stay: StayPlan, n: int) -> None:
        """Draw what the household will use from the stay's day `n` on."""
        day = int(stay.calendar.stay[FIRST_DAY]) + n
        weekday = int(stay.calendar.stay[WEEKDAY])
        shift_h = float(stay.calendar.shift_h[n])
        wet = self.lived.moisture[-1].wet
        for run in runs_of_day(stay.uses, day, weekday, shift_h, self._luck(stay), wet=wet):
            self.lived.wanted_wh[-1][run.appliance] += run.energy_wh
            spread_over_hours(run, self.energy_wh[run.appliance])
            if run.peak_w > 0.0 and run.on_h < run.off_h:
                self.today.append(run)

    def _day(self, stay: StayPlan, rig: Rig, n: int, *, last: bool) -> None:
        """Live one day from midnight to midnight."""
        period, dawn_h = (int(stay.calendar.days[n, k]) for k in (PERIOD, DAWN_H))
        sums = self.lived.sums[period]
        sky = self._sky(stay, n)
        if n == 0 and not stay.calendar.stay[FOLLOWS]:
            self.lying = [Lying() for _ in stay.planes.groups]
        counter, fell = int(stay.calendar.stay[FIRST_DAY]) + n, self.lived.moisture[-1]
        luck = self._luck(stay)
        self.through = through_cover(stay.planes.groups, self.lying, counter, (sky, fell), luck)
        self._plan_uses(stay, n)
        flat_before = sums["hours_flat"]
        today = {"array_wh": 0.0, "demand_wh": 0.0, "generator_h": 0.0}
        today |= {"min_charge_frac": 1.0, "max_charge_frac": 0.0}
        full = False
        for hour in range(24):
            asked = self._asked(stay, rig, n, hour, sky[hour])
            met = [self.state.charge_ah / rig.bank.capacity_ah >= x for x in lines_of(rig.design)]
            waiting = self._waiting()
            happened = live_hour(rig, self.state, asked)
            frac = self.state.charge_ah / rig.bank.capacity_ah
            full = full or frac >= FULL_FRAC
            self._count_hour(rig, sums, today, happened, frac)
            self._count_appliances(stay, hour, happened, met)
            self._count_put_off(stay, rig, hour, asked, waiting)
            if hour == dawn_h:
                today["dawn_charge_frac"] = frac
            if hour == NOON_H - 1:
                self._noon(stay, n)
            if last and hour == 23 and not stay.calendar.stay[FOLLOWED]:
                self._count_night(period)
            self.lived.hours.append(self._record(sky[hour], happened, frac))
        self._midnight(sums, today, full)
        if sums["hours_flat"] > flat_before:
            self.extremes["first_flat_day"] = min(self.extremes["first_flat_day"], n + 1.0)
        assert len(self.lived.daily) == int(stay.calendar.stay[DAILY_AT]) + n + 1  # noqa: S101

    def _noon(self, stay: StayPlan, n: int) -> None:
        """End a night; hours before the first noon of an itinerary belong to its first night."""
        if n > 0:
            self._count_night(int(stay.calendar.days[n - 1, PERIOD]))
        elif stay.calendar.stay[FOLLOWS]:
            self._count_night(int(stay.calendar.days[0, PERIOD]) - 1)

    def _count_night(self, period: int) -> None:
        """Count the night, if it had a flat hour, for the period of its evening."""
        self.lived.sums[period]["nights_flat"] += self.night_flat
        self.night_flat = False

    def _asked(self, stay: StayPlan, rig: Rig, n: int, hour: int, sky: SkyHour) -> Asked:
        doy = int(stay.calendar.days[n, DOY])
        channels = [0.0] * CHANNELS
        for channel, energy_wh in zip(stay.uses.channel.tolist(), self.energy_wh, strict=True):
            channels[channel] += energy_wh[hour]
        shares = [
            through[hour] * panel_share(stay.planes, group, doy, hour, sky)
            for group, through in enumerate(self.through)
        ]
        suns = tuple(
            sum(label * share for label, share in zip(one.label_w, shares, strict=True))
            for one in rig.controllers
        )
        clock = stay.calendar.clock[stay.calendar.days[n, CLOCK], hour]
        set_c, must, may = (float(clock[k]) for k in (SET_C, COOL_MUST, COOL_MAY))
        humidity = humid(rig.cooling, self.lived.moisture[-1].dew_c)
        must_dc, must_ac, wait_dc, wait_ac, spare_dc, spare_ac, *above = channels
        return Asked(
            must_dc,
            must_ac,
            wait_dc,
            wait_ac,
            spare_dc,
            spare_ac,
            suns,
            float(clock[SWITCHED_ON]),
            Weather(sky.temp_air, sky.ghi, set_c, must, may, *humidity),
            self._around(stay, n, hour),
            self._fridge_day(stay, n),
            self._manners(stay, n, hour, above),
        )

    def _manners(self, stay: StayPlan, n: int, hour: int, above: list[float]) -> Manners:
        """Tell what economising gives up and what runs at the same minute."""
        shrink, small_ac = [0.0, 0.0], 0.0
        owners, slots = stay.uses.owner.tolist(), stay.uses.slots.tolist()
        traits = {owner[0]: slot for owner, slot in zip(owners, slots, strict=True)}
        for appliance, channel in enumerate(stay.uses.channel.tolist()):
            if channel // 2 != MUST:
                continue
            slot, energy_wh = traits[appliance], self.energy_wh[appliance][hour]
            shrink[channel % 2] += slot[SHRINK] * energy_wh
            if channel % 2 == 1 and slot[PEAK_W] == 0.0:
                small_ac += energy_wh
        together = most_together(stay.uses, self.today + self.yesterday, hour)
        day = int(stay.calendar.stay[FIRST_DAY]) + n
        phase = uniform(self._luck(stay).words(day, PHASE_STREAM, hour)[0])
        lines = (tuple(above[0::2]), tuple(above[1::2]))
        return Manners(shrink[0], shrink[1], small_ac, *lines, together, phase)

    def _fridge_day(self, stay: StayPlan, n: int) -> float:
        """Draw how much harder fridges work on the stay's day `n` than usual."""
        day = int(stay.calendar.stay[FIRST_DAY]) + n
        word = self._luck(stay).words(day, FRIDGE_STREAM, 0)[0]
        return 1.0 + FRIDGE_SD * rough_score(word)

    def _waiting(self) -> list[tuple[float, float]]:
        """Use put off since yesterday and since midnight, on either side [Wh]."""
        sides = (self.state.dc_backlog, self.state.ac_backlog)
        return [(side.yesterday_wh, side.today_wh) for side in sides]

    def _count_put_off(
        self,
        stay: StayPlan,
        rig: Rig,
        hour: int,
        asked: Asked,
        before: list[tuple[float, float]],
    ) -> None:
        """Share what was served of put-off use alike among the appliances that wait."""
        fresh_w = (asked.wait_dc_w, asked.wait_ac_w)
        after = self._waiting()
        for appliance, channel in enumerate(stay.uses.channel.tolist()):
            if channel // 2 != CAN_WAIT:
                continue
            side, mine = channel % 2, self.put_off[appliance]
            new_wh = before[side][1] + rig.design.use_factor * fresh_w[side]
            old_share = 1.0 - after[side][0] / max(before[side][0], LEAST_W)
            new_share = 1.0 - after[side][1] / max(new_wh, LEAST_W)
            asked_wh = self.energy_wh[appliance][hour]
            from_old = mine.yesterday_wh * old_share
            from_new = (mine.today_wh + asked_wh) * new_share
            counts = self.lived.served_wh[-1][appliance]
            counts[0] += from_old + from_new
            counts[1] += from_old + from_new - asked_wh * new_share
            mine.yesterday_wh -= from_old
            mine.today_wh += asked_wh - from_new

    def _around(self, stay: StayPlan, n: int, hour: int) -> Around | None:
        """Tell what else can charge in an hour of the stay's day `n`; None in a rig without."""
        charging = stay.calendar.charging
        return Around(*charging[n, hour].tolist()) if len(charging) else None

    def _count_hour(
        self, rig: Rig, sums: Sums, today: Sums, happened: Happened, frac: float
    ) -> None:
        """Add one hour to the period's sums, to the day's, and to the stay's extremes."""
        for name, value in hour_sums(happened).items():
            sums[name] += value
        sums["hours_reserve"] += frac < rig.design.reserve_frac
        sums["cold_hours"] += self.state.cabin_c < COLD_C
        sums["hot_hours"] += self.state.cabin_c > rig.cabin.hot_c
        self.night_flat = self.night_flat or happened.flat
        today["array_wh"] += happened.taken_w
        today["demand_wh"] += happened.demand_w
        today["generator_h"] += happened.other.running_h
        today["min_charge_frac"] = min(today["min_charge_frac"], frac)
        today["max_charge_frac"] = max(today["max_charge_frac"], frac)
        ext = self.extremes
        ext["min_charge_frac"] = min(ext["min_charge_frac"], frac)
        ext["peak_array_w"] = max(ext["peak_array_w"], happened.taken_w)
        ext["peak_bank_a"] = max(ext["peak_bank_a"], happened.peak_a)

    def _count_appliances(
        self, stay: StayPlan, hour: int, happened: Happened, met: list[bool]
    ) -> None:
        """Plug energy served; must-have and spare-sun appliances share by their kind.

        What economising gives up of must-have use is gone without.
        """
        use = stay.uses.channel.tolist()
        shrinks = {
            owner[APPLIANCE]: slot[SHRINK]
            for owner, slot in zip(stay.uses.owner.tolist(), stay.uses.slots.tolist(), strict=True)
        }
        for appliance, channel in enumerate(use):
            need = channel // 2
            if need == CAN_WAIT:
                continue
            share = happened.must_share if need == MUST else happened.spare_share
            if need > SPARE_SUN and not met[need - SPARE_SUN - 1]:
                share = 0.0
            if need == MUST and happened.saves:
                share *= 1.0 - shrinks[appliance]
            counts, asked_wh = self.lived.served_wh[-1][appliance], self.energy_wh[appliance][hour]
            counts[0] += asked_wh * share
            counts[2] += asked_wh * (1.0 - share)

    def _record(self, sky: SkyHour, happened: Happened, frac: float) -> TwinHour:
        return TwinHour(
            ghi=sky.ghi,
            temp_air=sky.temp_air,
            array_offered_w=happened.offered_w,
            array_w=happened.taken_w,
            demand_w=happened.demand_w,
            served_w=happened.served_w,
            spare_w=happened.spare_w,
            charge_frac=frac,
            bank_temp_c=self.state.bank_c,
            cabin_temp_c=self.state.cabin_c,
            charge_a=happened.passed.into_a,
            discharge_a=happened.passed.out_a,
            loads_off=float(self.state.loads_off),
            generator_w=happened.other.generator_w,
            drive_w=happened.other.drive_w,
            hookup_w=happened.other.hookup_w,
            cooling_w=happened.wants.climate.cool_ac_w + happened.wants.climate.cool_dc_w,
        )

    def _midnight(self, sums: Sums, today: Sums, full: bool) -> None:
        """Age what was put off, count full days, and move what still runs to the new day."""
        state, ext = self.state, self.extremes
        sums["gone_without_wh"] += state.dc_backlog.pass_midnight()
        sums["gone_without_wh"] += state.ac_backlog.pass_midnight()
        sums["full_days"] += full
        sums["days"] += 1.0
        state.days_since_full = 0 if full else state.days_since_full + 1
        ext["longest_days_since_full"] = max(ext["longest_days_since_full"], state.days_since_full)
        ext["best_day_wh"] = max(ext["best_day_wh"], today["array_wh"])
        climate = state.climate
        sums["hot_days_uncooled"] += climate.bare_hot_today
        sums["days_held"] += climate.bare_hot_today and not climate.hot_today
        climate.hot_today = climate.bare_hot_today = False
        self.lived.daily.append(today)
        self.energy_wh = [hours[24:] + [0.0] * 24 for hours in self.energy_wh]
        for appliance, mine in enumerate(self.put_off):
            self.lived.served_wh[-1][appliance][2] += mine.pass_midnight()
        self.yesterday = [seen_next_day(run) for run in self.today]
        self.today = []


def live(plan: Plan, member: int, seed: int, case: int = 0) -> Lived:
    """Let one member live all stays.

    Parameters
    ----------
    plan : Plan
        From `make_plan` with dtype float64.
    member : int
        Which member.
    seed : int
        Key of all random draws, 0 to 2**64 - 1.
    case : int
        Which case of the plan.
    """
    twin = Twin(plan, member, seed, case)
    for n in range(len(plan.stays)):
        twin.stay(n)
    return twin.lived
