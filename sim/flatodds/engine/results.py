"""What one run of the engine hands on: plain arrays, nothing averaged over members yet."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

if TYPE_CHECKING:
    from flatodds.scenario import Scenario
    from flatodds.weather.source import WeatherBasis

Floats = npt.NDArray[np.float64]
Floats32 = npt.NDArray[np.float32]
Ints = npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Case:
    """One guess at what nobody knows exactly: how sunny the place is, how much is used.

    And when a cold bank lets charge in.

    Every case lives through the same members. The first is always ``as_estimated``; with
    zero spreads it is the only one and weighs 1.

    Attributes
    ----------
    name : str
        ``as_estimated``, ``sun_low``, ``sun_high``, ``use_low``, ``use_high``, ``both_bad``,
        ``gate_late`` where cold may bar charging, ``without_generator`` where there is one,
        ``economised`` where something can be saved, or ``theta_01`` and so on for the quantile
        points of the spreads.
    sun_factor, use_factor : float
        What the sun and the household's use are multiplied by [1].
    weight : float
        Share in the mixture of quantile points, summing to 1 over cases [1]. A single case
        that is only shown by name weighs 0.
    gate_later_c : float
        By how much warmer a cold bank must be than estimated before it lets charge in [K].
    """

    name: str
    sun_factor: float
    use_factor: float
    weight: float
    gate_later_c: float = 0.0


@dataclass(frozen=True, slots=True)
class Period:
    """The nights of one stay that fall in one calendar month.

    Attributes
    ----------
    stay : int
        Index of the stay.
    month : int
        Calendar month, 1 to 12.
    nights : int
        Nights of the stay in that month.
    """

    stay: int
    month: int
    nights: int


@dataclass(frozen=True, slots=True)
class Results:
    """Everything a run produced, by case and member.

    Attributes
    ----------
    scenario : Scenario
        What was run.
    seed, members : int
        Key of the random draws and number of simulated years.
    record_years : int or None
        Distinct real weather years (or members given); None when the weather is synthetic.
    cases : tuple of Case
    periods : tuple of Period
        In time order.
    bases : tuple of WeatherBasis
        What the weather rests on, one per stay.
    sums : mapping of str to Floats
        Sums over each period, (case, member, period), units in the last word of the key:
        hours_flat, nights_flat, energy_not_served_wh, demand_wh, served_wh, array_wh,
        spilled_wh, bank_loss_wh, gone_without_wh, spare_served_wh, saved_wh, hours_reserve,
        hours_overload, cold_hours, cold_locked_wh, full_days, discharge_ah, days; where the
        rig has such things generator_wh, generator_hours, generator_starts, fuel_l, drive_wh,
        hookup_wh. Of spilled_wh: spilled_full_wh (bank full or tapering), spilled_clip_wh
        (controllers' limits), cold_locked_wh (cold bank), spilled_rate_wh (bank's charge
        current limit).
    extremes : mapping of str to Floats
        Extremes over each stay, (case, member, stay): min_charge_frac, first_flat_day
        (counted from 1, infinite when the bank never runs flat), best_day_wh, peak_array_w,
        longest_days_since_full, peak_bank_a (at any minute).
    daily : mapping of str to Floats32
        Days of all stays in order for the ``as_estimated`` case, (member, day): array_wh,
        demand_wh, min_charge_frac, dawn_charge_frac; generator_h where there is one.
    day_stay, day_doy : Ints
        Stay index and day of year (0 to 364) of each day, (day,).
    appliances : tuple of str
    plugs : mapping of str to Floats
        At each appliance's own plug in the ``as_estimated`` case, (member, stay, appliance)
        [Wh]: appliance_wanted_wh, appliance_served_wh, appliance_shifted_wh (served later than
        asked for, part of what was served), appliance_gone_without_wh (not served). Where there
        is an ``economised`` case the last three also for it, as in
        appliance_served_economised_wh; what was given up to save is gone without.
    balance_error : float
        Largest energy imbalance over members of the ``as_estimated`` case, as a share of the
        energy that went through [1].
    """

    scenario: Scenario
    seed: int
    members: int
    record_years: int | None
    cases: tuple[Case, ...]
    periods: tuple[Period, ...]
    bases: tuple[WeatherBasis, ...]
    sums: Mapping[str, Floats]
    extremes: Mapping[str, Floats]
    daily: Mapping[str, Floats32]
    day_stay: Ints
    day_doy: Ints
    appliances: tuple[str, ...]
    plugs: Mapping[str, Floats]
    balance_error: float

    @property
    def appliance_wanted_wh(self) -> Floats:
        """Energy wanted at the plugs, (member, stay, appliance) [Wh]."""
        return self.plugs["appliance_wanted_wh"]

    @property
    def appliance_served_wh(self) -> Floats:
        """Energy served at the plugs, (member, stay, appliance) [Wh]."""
        return self.plugs["appliance_served_wh"]
