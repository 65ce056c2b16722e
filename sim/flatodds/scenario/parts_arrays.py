"""Panels and controllers, resolved: every value filled in, SI inside."""

from __future__ import annotations

from dataclasses import dataclass

from flatodds.catalog import Window


@dataclass(frozen=True, slots=True)
class Panel:
    """Data plate of one panel at 1000 W/m2 and 25 degrees Celsius, and its size.

    Attributes
    ----------
    voc_v, isc_a : float
        Open-circuit voltage and short-circuit current.
    vmp_v, imp_a : float
        Voltage and current at the most power.
    voc_frac_per_c : float
        Change of the open-circuit voltage per kelvin [1/K].
    """

    voc_v: float
    isc_a: float
    vmp_v: float
    imp_a: float
    voc_frac_per_c: float


@dataclass(frozen=True, slots=True)
class Array:
    """One group of panels that lie alike.

    Attributes
    ----------
    controller : int
        Which of the scenario's controllers it feeds.
    tilt_deg : float
        Tilt, or the mean over the months of `tilt_by_month`; of no meaning if aimed.
    tilt_by_month : tuple of 12 float, or None
    azimuth_deg : float or None
        None: towards the equator.
    aimed_times_a_day : int
        0: it is not turned by hand; else tilt and azimuth do not count.
    out_hours : tuple of (start, end)
        Local hours in which it stands out; the end passes 24 over midnight.
    stow_wind_m_s : float or None
        None: it stands in any wind.
    dust_per_day_frac, wipe_every_days : float
        Light lost for each day without rain; None: nobody wipes it.
    brush : str
        "never", "noon" or "morning": when snow is brushed off.
    shade_frac : float
        Share of the beam that things on the own roof take at a sun 45 degrees high.
    noct_c : float or None
        Nominal operating cell temperature of the data sheet [degree Celsius].
    count, in_series, in_parallel : int
        Panels, panels in a string, strings.
    panel : Panel or None
        None: only the watts are known.
    area_m2, mass_kg : float
        Of all its panels.
    """

    name: str
    watts: float
    controller: int
    tilt_deg: float
    tilt_by_month: tuple[float, ...] | None
    azimuth_deg: float | None
    aimed_times_a_day: int
    aim_error_deg: float
    out_hours: tuple[Window, ...]
    stowed_days_frac: float
    stow_wind_m_s: float | None
    dust_per_day_frac: float
    wipe_every_days: float | None
    snow_cover: bool
    brush: str
    under_trees: bool
    temp_coefficient_frac_per_c: float
    loss_frac: float
    shade_frac: float
    incidence_loss: bool
    mount: str
    noct_c: float | None
    count: int
    in_series: int
    in_parallel: int
    panel: Panel | None
    area_m2: float
    mass_kg: float

    @property
    def on_roof(self) -> bool:
        """Whether it takes room on the roof."""
        return self.aimed_times_a_day == 0


@dataclass(frozen=True, slots=True)
class Controller:
    """A charge controller; amps and watts None: it never clips.

    Attributes
    ----------
    kind : str
        "mppt": finds the panels' most power; "pwm": joins panels to the bank, so that their
        current flows at the bank's voltage.
    max_volts, max_input_amps : float or None
        What its panel side is made for; None: not known.
    """

    name: str
    kind: str
    amps: float | None
    watts: float | None
    efficiency_frac: float
    max_volts: float | None
    max_input_amps: float | None


@dataclass(frozen=True, slots=True)
class Shade:
    """What keeps sun off at a stay.

    Attributes
    ----------
    horizon_deg : tuple of float
        Heights at equal steps of direction from north clockwise; empty: level.
    tree_shade_frac, tree_sky_shade_frac : float
        Share of the sun, and of the light of the whole sky, that trees in leaf take.
    bare_shade_frac : float
        What they take without leaves, over what they take in leaf.
    leaf_doys : tuple of int
        Days of the year, 0 to 364, when leaves come and go; empty: evergreen.
    """

    horizon_deg: tuple[float, ...]
    tree_shade_frac: float
    tree_sky_shade_frac: float
    bare_shade_frac: float
    leaf_doys: tuple[int, ...]
