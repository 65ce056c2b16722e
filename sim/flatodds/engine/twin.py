"""Plain-Python twin of the engine: the specification people read.

One member lives all stays hour by hour, with nothing compiled and nothing abreast. It reads
the same plan as the kernel, draws the same random numbers, and states each rule in its own
words; the tests hold the kernel's float64 build to it. It is some thousand times slower.
"""

from __future__ import annotations

import math

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
    FIRST_DAY,
    FOLLOWED,
    FOLLOWS,
    PERIOD,
    SET_C,
    SWITCHED_ON,
)
from flatodds.engine.twin_bank import bank_of
from flatodds.engine.twin_charging import Around
from flatodds.engine.twin_climate import Weather, humid
from flatodds.engine.twin_draws import seed_key
from flatodds.engine.twin_hour import live_hour
from flatodds.engine.twin_house import (
    House,
    cool_phase,
    fridge_day,
    lines_met,
    newly_waiting_wh,
    waiting_wh,
)
from flatodds.engine.twin_lived import Lived, Sums, hour_of, hour_sums
from flatodds.engine.twin_outside import DayOutside, Outside
from flatodds.engine.twin_parts import Asked, Controller, Happened, Rig, State
from flatodds.loads.cabin import CABIN_FIELDS, COLD_C, Cabin
from flatodds.loads.cooling import Cooling

NOON_H = 12  # nights run from noon to noon, definition


class Twin:
    """One member of one case, living stay after stay."""

    def __init__(self, plan: Plan, member: int, seed: int, case: int) -> None:
        self.plan, self.case = plan, case
        self.outside = Outside(member, seed_key(seed))
        self.house = House(len(plan.appliances))
        self.state = State(0.0, 0.0, 0.0)
        self.lived = Lived([dict.fromkeys(r.SUMS, 0.0) for _ in plan.periods])
        self.extremes: Sums = {}
        self.night_flat = False

    def stay(self, n: int) -> None:
        """Live one stay."""
        stay = self.plan.stays[n]
        rig = self._arrive(stay, first=n == 0)
        self.outside.begin(stay)
        self.house.begin_stay()
        self.extremes = {
            "min_charge_frac": self.state.charge_ah / rig.bank.capacity_ah,
            "first_flat_day": math.inf,
            "best_day_wh": 0.0,
            "peak_array_w": 0.0,
            "peak_bank_a": 0.0,
            "longest_days_since_full": 0.0,
            "start_ah": self.state.charge_ah,
        }
        self.lived.extremes.append(self.extremes)
        self.lived.wanted_wh.append(self.house.wanted_wh)
        self.lived.served_wh.append(self.house.served_wh)
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
        controllers = tuple(
            Controller(most_a, most_w, at_bank_v > 0.0, tuple(labels))
            for most_a, most_w, at_bank_v, *labels in stay.rigs.label_w[self.case].tolist()
        )
        home = stay.cabin.tolist()
        cabin, cooling = Cabin(*home[:CABIN_FIELDS]), Cooling(*home[CABIN_FIELDS:])
        return Rig(bank, design, cabin, cooling, generator, controllers)

    def _day(self, stay: StayPlan, rig: Rig, n: int, *, last: bool) -> None:
        """Live one day from midnight to midnight."""
        period = int(stay.calendar.days[n, PERIOD])
        sums = self.lived.sums[period]
        flat_before = sums["hours_flat"]
        outside = self.outside.day(stay, n)
        self.lived.moisture.append(outside.fell)
        self.house.draw_uses(stay, n, self.outside.luck(stay), wet=outside.fell.wet)
        today = {"array_wh": 0.0, "demand_wh": 0.0, "generator_h": 0.0}
        today |= {"min_charge_frac": 1.0, "max_charge_frac": 0.0}
        for hour in range(24):
            frac = self._hour(stay, rig, (n, hour), outside, (sums, today))
            if hour == int(stay.calendar.days[n, DAWN_H]):
                today["dawn_charge_frac"] = frac
            if hour == NOON_H - 1:
                self._noon(stay, n)
        if last and not stay.calendar.stay[FOLLOWED]:
            self._count_night(period)
        self._midnight(sums, today)
        if sums["hours_flat"] > flat_before:
            self.extremes["first_flat_day"] = min(self.extremes["first_flat_day"], n + 1.0)
        assert len(self.lived.daily) == int(stay.calendar.stay[DAILY_AT]) + n + 1  # noqa: S101

    def _hour(
        self,
        stay: StayPlan,
        rig: Rig,
        when: tuple[int, int],
        outside: DayOutside,
        counts: tuple[Sums, Sums],
    ) -> float:
        """Live one hour, (day, hour), and count it; gives the charge at its end [1]."""
        n, hour = when
        sums, today = counts
        asked = self._asked(stay, rig, n, hour, outside)
        met, before = lines_met(rig, self.state), waiting_wh(self.state)
        happened = live_hour(rig, self.state, asked)
        frac = self.state.charge_ah / rig.bank.capacity_ah
        self._count_hour(rig, sums, today, happened, frac)
        self.house.count_served(stay.uses, hour, happened, met)
        waited = (before, waiting_wh(self.state))
        self.house.count_put_off(stay.uses, hour, newly_waiting_wh(rig, asked), waited)
        self.lived.hours.append(hour_of(outside.sky[hour], happened, self.state, frac))
        return frac

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

    def _asked(self, stay: StayPlan, rig: Rig, n: int, hour: int, outside: DayOutside) -> Asked:
        """Gather what surrounds the rig in an hour of the stay's day `n`."""
        luck, day = self.outside.luck(stay), int(stay.calendar.stay[FIRST_DAY]) + n
        shares = outside.panel_shares(stay, n, hour)
        suns = tuple(
            sum(label * share for label, share in zip(one.label_w, shares, strict=True))
            for one in rig.controllers
        )
        clock = stay.calendar.clock[stay.calendar.days[n, CLOCK], hour]
        set_c, must, may = (float(clock[k]) for k in (SET_C, COOL_MUST, COOL_MAY))
        humidity = humid(rig.cooling, outside.fell.dew_c)
        sky, charging = outside.sky[hour], stay.calendar.charging
        must_dc, must_ac, wait_dc, wait_ac, spare_dc, spare_ac, *above = self.house.channels_w(
            stay.uses, hour
        )
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
            Around(*charging[n, hour].tolist()) if len(charging) else None,
            fridge_day(luck, day),
            self.house.manners(stay.uses, hour, above, cool_phase(luck, day, hour)),
        )

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

    def _midnight(self, sums: Sums, today: Sums) -> None:
        """Age what was put off, count full days, and begin a new day."""
        state, ext = self.state, self.extremes
        full = today["max_charge_frac"] >= FULL_FRAC
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
        self.house.pass_midnight()


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
