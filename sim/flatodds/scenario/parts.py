"""The parts of a resolved scenario: every value filled in, SI inside, nothing to change."""

from __future__ import annotations

from dataclasses import dataclass

from flatodds.catalog import Window
from flatodds.catalog.reader import MeanDraw, Points, mean_rest_v
from flatodds.scenario.parts_arrays import Shade
from flatodds.scenario.parts_habits import Habits


@dataclass(frozen=True, slots=True)
class Assumed:
    """A value the user did not write, and where it comes from."""

    key: str
    value: float | str | bool | None
    why: str


@dataclass(frozen=True, slots=True)
class Bank:
    """The whole battery bank as wired.

    Attributes
    ----------
    charge_efficiency_frac : float
        Coulombic: ampere-hours that stay over ampere-hours put in.
    acceptance_hours, charge_cold_limit_c : float or None
        None: there is no such limit.
    charge_cold_release_c : float or None
        Temperature at which charging, once stopped by cold, begins again.
    charge_cold_full_c, charge_cold_start_frac : float or None
        Charge current rises from that share of charge_c_rate, just above the limit, to the
        whole of it at charge_cold_full_c.
    rate_exponent : float
        Peukert's; 1: fast discharge gives as much as slow.
    wells : (float, float) or None
        In its place, of the kinetic battery model: share at once available, rate [1/h].
    charge_over_v : float
        Terminal voltage on charge above rest voltage and resistance, whole bank [V].
    efficiency_falls_from_frac, efficiency_full_ratio : float
        Charge from which the charge efficiency falls, and what part is left at full; 1: none.
    health_frac : float
        Capacity left, as a share of amp_hours.
    heating_pad_to_c : float
        Temperature the pad keeps; heating_pad_w is 0 without one.
    heating_pad_when : str
        "sun": only while something would charge the bank; "always".
    mass_kg : float
        Of the whole bank.
    rest_points : Points
        (charge as a share of the bank, rest voltage of the whole bank [V]), rising.
    capacity_points : Points
        (bank temperature [degree Celsius], reachable share of capacity), rising.
    """

    chemistry: str
    volts: int
    amp_hours: float
    arrival_charge_frac: float
    charge_c_rate: float
    discharge_c_rate: float
    charge_efficiency_frac: float
    resistance_ohm: float
    cutoff_frac: float
    reconnect_frac: float
    self_discharge_frac_month: float
    acceptance_hours: float | None
    taper_from_frac: float
    charge_cold_limit_c: float | None
    charge_cold_release_c: float | None
    charge_cold_full_c: float | None
    charge_cold_start_frac: float | None
    location: str
    rate_exponent: float
    wells: tuple[float, float] | None
    charge_over_v: float
    efficiency_falls_from_frac: float
    efficiency_full_ratio: float
    age_years: float
    health_frac: float
    heating_pad_w: float
    heating_pad_to_c: float
    heating_pad_when: str
    mass_kg: float
    rest_points: Points
    capacity_points: Points

    @property
    def capacity_wh(self) -> float:
        """Energy between empty and full at rest voltage, as aged as it is [Wh]."""
        return self.amp_hours * self.health_frac * mean_rest_v(self.rest_points)


@dataclass(frozen=True, slots=True)
class Inverter:
    """The inverter; watts 0: none. It idles for hours_on a day, centred on 14:00.

    surge_ratio is what it gives for seconds over what it gives all day. For P watts it draws
    idle_w + slope P + bend P^2 / watts. Of watts it loses heat_loss_frac_per_c with each
    degree of the cabin above 25 C.
    """

    watts: float
    idle_w: float
    hours_on: float
    surge_ratio: float
    slope: float
    bend: float
    heat_loss_frac_per_c: float


@dataclass(frozen=True, slots=True)
class Household:
    """How the people live; heat_output_w is 0 without a heater.

    An hour warmer inside than `comfort_high_c` counts as hot.
    """

    pattern: str
    reserve_frac: float
    caution_frac: float
    inside_day_c: float
    inside_night_c: float
    heat: str
    heat_output_w: float
    habits: Habits
    comfort_high_c: float


@dataclass(frozen=True, slots=True)
class Shell:
    """Walls, windows and contents of the home; shade_frac of the sun is kept off it."""

    heat_loss_w_per_k: float
    sun_aperture_m2: float
    heat_mass_j_per_k: float
    gains_w: float
    shade_frac: float


@dataclass(frozen=True, slots=True)
class ApplianceUse:
    """One appliance as this household uses it.

    Attributes
    ----------
    windows : tuple of (start, end)
        Local hours; the end passes 24 over midnight. A run lies inside its window: its
        start is uniform between the window's start and its end less the run.
    duty_frac : float
        Share of the run during which it draws `watts`.
    mean_draw : MeanDraw or None
        For kind "fridge": mean power by the temperature inside.
    only_above_charge_frac : float or None
        Spare-sun use runs above this charge only. None: above the usual line it takes sun
        that would charge the bank, below it sun that the bank turns away.
    shrink_frac : float
        Part of its use given up below the caution level, by people who economise.
    when_away : bool
        Whether it runs on while nobody is home.
    wet_day_factor : float
        Runs on a day with rain or snow over those of a dry one.
    """

    name: str
    use: str | None
    watts: float
    side: str
    kind: str
    minutes: float
    times_a_day: float
    times_a_day_weekend: float
    times_sd: float
    windows: tuple[Window, ...]
    need: str
    duty_frac: float
    surge_ratio: float
    medical: bool
    mean_draw: MeanDraw | None
    only_above_charge_frac: float | None
    shrink_frac: float
    when_away: bool
    wet_day_factor: float = 1.0

    @property
    def mean_times(self) -> float:
        """Runs on a dry day, averaged over the seven days of the week."""
        return (5.0 * self.times_a_day + 2.0 * self.times_a_day_weekend) / 7.0


@dataclass(frozen=True, slots=True)
class Stay:
    """One place, from a first day, for some nights.

    Attributes
    ----------
    elevation_m : float or None
        None: to be looked up from the terrain.
    first_day : tuple
        Month 1 to 12 and day of the month; `first_doy` is its index 0 to 364.
    start_day : int
        Days since 1 January of the itinerary's first year, so that stays after new year
        follow those before.
    utc_offset_h : int
        Whole hours the standard clock is ahead of UTC.
    weather : str, tuple of str or None
        Weather files; None: the built-in estimate, with the monthly values if there are any.
    years : str or None
        "as they were", "shuffled" or "invented"; None: by how many there are.
    monthly_sun_kwh_m2, monthly_temp_c : tuple of 12 float, or None
        Mean sun on the level [kWh/m2/day] and mean temperature of each month.
    monthly_wet_days : tuple of 12 float, or None
        Days with rain or snow in each month; None: judged by how dull it is.
    arrival_charge_frac : float or None
        None: the first stay takes the bank's, a later one what the stay before left.
    shade : Shade
        What keeps sun off there.
    coldest_c : float or None
        Coldest air ever expected there; None: to be estimated.
    home_shade_frac : float or None
        Share of the sun kept off the home here; None: the shell's.
    """

    name: str
    place: str
    latitude: float
    longitude: float
    elevation_m: float | None
    first_day: tuple[int, int]
    first_doy: int
    start_day: int
    nights: int
    weather: str | tuple[str, ...] | None
    years: str | None
    monthly_sun_kwh_m2: tuple[float, ...] | None
    monthly_temp_c: tuple[float, ...] | None
    monthly_wet_days: tuple[float, ...] | None
    source: str
    time_zone: str
    utc_offset_h: int
    arrival_charge_frac: float | None
    shade: Shade
    coldest_c: float | None
    home_shade_frac: float | None


@dataclass(frozen=True, slots=True)
class Uncertain:
    """How far the estimates may be off; sun_frac None: as the weather's source has it.

    cold_gate_c is how far the temperatures may be off at which a cold bank lets charge in.
    """

    sun_frac: float | None
    use_frac: float
    cold_gate_c: float
