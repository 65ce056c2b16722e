"""Plain-Python twin: what one hour is made of, rig, state, wishes and what happened."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import NamedTuple

from flatodds.battery.bank import Bank
from flatodds.charging.generator import Generator
from flatodds.engine.hour import LEAST_WAITING_WH, Design
from flatodds.engine.twin_bank import (
    Exchange,
)
from flatodds.engine.twin_charging import Around, Charging, Engine
from flatodds.engine.twin_climate import Climate, Conditioned, Weather
from flatodds.engine.twin_habits import (
    Manners,
)
from flatodds.loads.cabin import Cabin
from flatodds.loads.cooling import Cooling

LEAST_W = 1e-6  # where a share of a demand is taken, less than this counts as this; own choice


@dataclass(frozen=True, slots=True)
class Rig:
    """What one case is made of, beside its panels; controllers as rows of `Rigs.label_w`."""

    bank: Bank
    design: Design
    cabin: Cabin
    cooling: Cooling
    generator: Generator
    controllers: tuple[Controller, ...]


class Controller(NamedTuple):
    """Limits of one controller [A, W], and whether it passes current at the bank's voltage."""

    most_a: float
    most_w: float
    at_bank_v: bool
    label_w: tuple[float, ...]


@dataclass(slots=True)
class Backlog:
    """Use that can wait, on one side of the inverter, not yet served [Wh]."""

    yesterday_wh: float = 0.0
    today_wh: float = 0.0

    @property
    def total_wh(self) -> float:
        """All that waits."""
        return self.yesterday_wh + self.today_wh

    def work_off(self, served_wh: float) -> None:
        """Take away what was served, yesterday's first."""
        old_wh = min(self.yesterday_wh, served_wh)
        self.yesterday_wh = _or_nothing(self.yesterday_wh - old_wh)
        self.today_wh = _or_nothing(self.today_wh - (served_wh - old_wh))

    def pass_midnight(self) -> float:
        """Energy gone without: what has waited since yesterday is given up [Wh]."""
        given_up_wh = self.yesterday_wh
        self.yesterday_wh, self.today_wh = self.today_wh, 0.0
        return given_up_wh


def _or_nothing(waiting_wh: float) -> float:
    """Drop a remainder too small to be a use; it would keep an inverter on for hours."""
    return waiting_wh if waiting_wh > LEAST_WAITING_WH else 0.0


@dataclass(slots=True)
class State:
    """What the rig remembers from hour to hour."""

    charge_ah: float
    bank_c: float
    cabin_c: float
    loads_off: bool = False
    charging_locked: bool = False
    dc_backlog: Backlog = field(default_factory=Backlog)
    ac_backlog: Backlog = field(default_factory=Backlog)
    days_since_full: int = 0
    engine: Engine = field(default_factory=Engine)
    available_ah: float = 0.0
    climate: Climate = field(default_factory=Climate)


@dataclass(frozen=True, slots=True)
class Asked:
    """What surrounds the rig in one hour.

    Attributes
    ----------
    must_dc_w, must_ac_w, wait_dc_w, wait_ac_w, spare_dc_w, spare_ac_w : float
        What appliances ask for at their plugs, by need and side [W].
    outdoor_c, ghi : float
        Air [deg C] and global irradiance [W/m2].
    suns : tuple of float
        Sun of each controller's panels after its efficiency, before its limits [W], or [A]
        if it passes current.
    switched_on : float
        Part of the hour the inverter is left on [1].
    weather : Weather
        What surrounds the cabin.
    around : Around or None
        What else can charge; None where the rig has nothing of the kind.
    fridge_day : float
        How much harder fridges work today than usual [1].
    manners : Manners
        What economising and charge lines change, and what runs at the same minute.
    """

    must_dc_w: float
    must_ac_w: float
    wait_dc_w: float
    wait_ac_w: float
    spare_dc_w: float
    spare_ac_w: float
    suns: tuple[float, ...]
    switched_on: float
    weather: Weather
    around: Around | None
    fridge_day: float
    manners: Manners


@dataclass(slots=True)
class Wants:
    """Demand of one hour at the battery, and plug powers behind it [W].

    `wait_w` is what may run of all that waits (`wait_dc_w`, `wait_ac_w` at the plugs);
    `wait_asked_w` is what this hour added to it. `over_w` is must-have mains demand above
    the inverter's rating, which nothing can serve; `asked_ac_w` is all must-have mains use.
    `first_spare_w` of `spare_w` takes sun before the bank, whatever its charge.
    """

    over_w: float
    must_w: float
    wait_w: float
    wait_dc_w: float
    wait_ac_w: float
    wait_asked_w: float
    spare_w: float
    fridge_w: float
    climate: Conditioned
    asked_ac_w: float
    must_dc_w: float
    first_spare_w: float


@dataclass(frozen=True, slots=True)
class SunSplit:
    """Where the hour's sun goes [W].

    `offered_w` comes before the controllers' limits, `within_w` after; `direct_w` feeds loads as it
    comes and `surplus_w` is what they leave, of which `early_w` runs spare-sun loads when
    the bank is nearly full; `net_w` is offered to the bank, or wanted from it if negative.
    """

    offered_w: float
    within_w: float
    direct_w: float
    surplus_w: float
    early_w: float
    net_w: float
    nearly_full: bool


@dataclass(frozen=True, slots=True)
class Happened:
    """Everything the hour did, in watts over the hour unless the name says otherwise."""

    wants: Wants
    passed: Exchange
    offered_w: float
    direct_w: float
    spare_w: float
    refused_w: float
    wait_dc_served_w: float
    wait_ac_served_w: float
    clipped_w: float
    cold_locked_w: float
    rate_limited_w: float
    flat: bool
    other: Charging
    pad_w: float
    saved_w: float
    saves: bool
    overload: bool
    peak_a: float

    @property
    def taken_w(self) -> float:
        """Sun taken: used as it came, charged, or run on the side."""
        return self.direct_w + self.passed.accepted_w + self.spare_w

    @property
    def served_w(self) -> float:
        """Must-have and can-wait demand served, from sun or bank."""
        return self.direct_w + self.passed.delivered_w

    @property
    def wait_served_w(self) -> float:
        """Can-wait demand served, at the battery."""
        return self.served_w - (self.wants.must_w - self.refused_w)

    @property
    def demand_w(self) -> float:
        """Must-have demand, too much for the inverter or not, and what ran of can-wait use."""
        return self.wants.must_w + self.wait_served_w + self.wants.over_w

    @property
    def must_share(self) -> float:
        """Share of the must-have demand that was served [1]."""
        asked_w = self.wants.must_w + self.wants.over_w
        return (self.wants.must_w - self.refused_w) / max(asked_w, LEAST_W)

    @property
    def spare_share(self) -> float:
        """Share of what spare-sun loads asked for that they got [1]."""
        return self.spare_w / max(self.wants.spare_w, LEAST_W)
