"""Plain-Python twin, outdoors: the weather one member meets and the light its panels get."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from flatodds.engine.plan import StayPlan
from flatodds.engine.records import DOY, FIRST_DAY, FOLLOWS, PLACE, SPIN_DAYS
from flatodds.engine.twin_cover import Lying, through_cover
from flatodds.engine.twin_draws import Luck
from flatodds.engine.twin_sky import (
    Moisture,
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
from flatodds.weather.contract import SKY


class DayOutside(NamedTuple):
    """One day's weather, and the share of the light that panels get.

    Attributes
    ----------
    sky : list of SkyHour
        Of its 24 hours.
    fell : Moisture
        Dew point, rain and snow of the day.
    through : list of list of float
        What dust, snow and absence let through, (group, 24) [1].
    """

    sky: list[SkyHour]
    fell: Moisture
    through: list[list[float]]

    def panel_shares(self, stay: StayPlan, n: int, hour: int) -> list[float]:
        """Power of each group of panels over its label power, in an hour of day `n` [1]."""
        doy = int(stay.calendar.days[n, DOY])
        return [
            through[hour] * panel_share(stay.planes, group, doy, hour, self.sky[hour])
            for group, through in enumerate(self.through)
        ]


class Outside:
    """What the weather and the panels' cover remember, for one member.

    Parameters
    ----------
    member : int
        Which member.
    key : (int, int)
        From `seed_key`.
    """

    def __init__(self, member: int, key: tuple[int, int]) -> None:
        self.member, self.key = member, key
        self.mood: Mood | None = None
        self.hours_of_years: list[list[float]] = []
        self.scores_of_years: list[float] = []
        self.lying: list[Lying] = []

    def luck(self, stay: StayPlan) -> Luck:
        """Give the member's random draws at a stay's place."""
        return Luck(self.member, self.key, int(stay.calendar.stay[PLACE]))

    def begin(self, stay: StayPlan) -> None:
        """Open the stay's real years, or draw the weather on to its eve."""
        if stay.years is not None:
            first_day, days = int(stay.calendar.stay[FIRST_DAY]), len(stay.calendar.days)
            member, key = np.array([self.member]), (np.uint64(self.key[0]), np.uint64(self.key[1]))
            self.hours_of_years = stay.years.hours(first_day, days, member, key)[0].tolist()
            self.scores_of_years = stay.years.scores(first_day, days, member, key)[0].tolist()
        elif stay.given.values.shape[0] == 0:
            self._weather_until(stay, fresh=self.mood is None)

    def _weather_until(self, stay: StayPlan, *, fresh: bool) -> None:
        """Draw the weather's memory through the unseen days before a stay."""
        unseen = int(stay.calendar.stay[SPIN_DAYS])
        first_day = int(stay.calendar.stay[FIRST_DAY])
        first_doy = int(stay.calendar.days[0, DOY])
        luck = self.luck(stay)
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

    def day(self, stay: StayPlan, n: int) -> DayOutside:
        """Live the stay's day `n`: its weather, out of a table or drawn, and the panels' cover."""
        doy, day = int(stay.calendar.days[n, DOY]), int(stay.calendar.stay[FIRST_DAY]) + n
        luck = self.luck(stay)
        sky, clearness = self._sky(stay, n)
        fell = moisture(sky, clearness, stay.tables, doy, day, luck)
        if n == 0 and not stay.calendar.stay[FOLLOWS]:
            self.lying = [Lying() for _ in stay.planes.groups]
        through = through_cover(stay.planes.groups, self.lying, day, (sky, fell), luck)
        return DayOutside(sky, fell, through)

    def _sky(self, stay: StayPlan, n: int) -> tuple[list[SkyHour], float]:
        """Give the hours of the stay's day `n`, and its clearness score."""
        values = stay.given.values
        if stay.years is not None:
            return table_day(self.hours_of_years[24 * n : 24 * n + 24]), self.scores_of_years[n]
        if values.shape[0] > 0:
            at = int(stay.given.first_hour[0]) + 24 * n
            rows = values[self.member % values.shape[0], at : at + 24].tolist()
            return table_day(rows), rows[0][SKY]
        assert self.mood is not None  # noqa: S101  (settled before the first stay)
        doy, day = int(stay.calendar.days[n, DOY]), int(stay.calendar.stay[FIRST_DAY]) + n
        hours = drawn_day(self.mood, stay.tables, doy, day, self.luck(stay))
        return hours, self.mood.clearness
