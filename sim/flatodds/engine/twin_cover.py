"""Plain-Python twin, panels: dust, snow and absence, day by day."""

from __future__ import annotations

from dataclasses import dataclass

from flatodds.engine.twin_draws import Luck, table_row, uniform
from flatodds.engine.twin_sky import Moisture, SkyHour
from flatodds.solar import geometry as g
from flatodds.solar.cover import MELT_C, MOST_DUST_FRAC, STREAM_STOWED, SUNNY_W_M2


@dataclass(slots=True)
class Lying:
    """What lies on one group of panels."""

    dry_days: float = 0.0
    snow: bool = False

    def day(
        self, constants: list[float], hours: list[SkyHour], fell: Moisture, *, stowed: bool
    ) -> list[float]:
        """Live a day; gives the share of the light let through in each hour [1]."""
        self.dry_days += 1.0
        rain = fell.wet and not fell.snow
        if rain or self.dry_days >= constants[g.WIPE_DAYS]:
            self.dry_days = 0.0
        clean = 1.0 - min(self.dry_days * constants[g.DUST_PER_DAY], MOST_DUST_FRAC)
        self.snow = bool(constants[g.SNOWED_ON]) and (self.snow or fell.snow)
        through = []
        for hour, sky in enumerate(hours):
            through.append(0.0 if self.snow or stowed else clean)
            brushed = hour + 1 == constants[g.BRUSH_H]
            slides = bool(constants[g.SHEDS]) and sky.dni > SUNNY_W_M2
            if brushed or slides or sky.temp_air > MELT_C:
                self.snow = False
        return through


def stowed(constants: list[float], group: int, day: int, luck: Luck) -> bool:
    """Whether a group lies packed away on a day."""
    if constants[g.STOWED_DAYS] <= 0.0:
        return False
    word = luck.words(day, int(STREAM_STOWED) + group, 0)[0]
    return uniform(word) < constants[g.STOWED_DAYS]


def through_cover(
    groups: g.Array,
    lying: list[Lying],
    day: int,
    sky: tuple[list[SkyHour], Moisture],
    luck: Luck,
) -> list[list[float]]:
    """Share of the light that each group gets in each hour of a day, (group, 24) [1]."""
    hours, fell = sky
    shares = []
    for at, one in enumerate(lying):
        constants = table_row(groups, at)
        away = stowed(constants, at, day, luck)
        shares.append(one.day(constants, hours, fell, stowed=away))
    return shares
