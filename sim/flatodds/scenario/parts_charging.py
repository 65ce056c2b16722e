"""Charging other than sun, resolved: generator, driving, hookup; every value filled in."""

from __future__ import annotations

from dataclasses import dataclass

from flatodds.catalog import Window

# Of a breaker's rating, for what runs three hours or more: National Electrical Code (NFPA 70),
# 210.20(A), from memory.
STEADY_FRAC = 0.8


@dataclass(frozen=True, slots=True)
class Generator:
    """A generator that charges the bank through a charger when charge runs low.

    Attributes
    ----------
    watts : float
        What it gives all day at sea level and below 40 degrees Celsius.
    charger_amps : float
        Most that the charger puts out at the bank's voltage.
    start_frac, stop_frac : float
        Charge towards which it is started, and at which it is stopped.
    windows : tuple of tuple of (start, end)
        For each stay the local hours in which it may run; the end passes 24 over midnight.
    minimum_run_hours, warm_up_minutes : float
        Shortest run, warm-up included, and the part of a run before the charger is switched in.
    sun_takes_over : bool
        Whether it rests while the sun alone charges about as well.
    idle_l_per_h, load_l_per_kwh : float
        Fuel of an hour without load, and of each kilowatt-hour it makes.
    height_loss_frac_per_km, heat_loss_frac_per_c : float
        Share of the watts lost with height, and with each degree above 40 degrees Celsius.
    service_hours : float
        Running hours between changes of oil.
    """

    watts: float
    charger_amps: float
    charger_efficiency_frac: float
    start_frac: float
    stop_frac: float
    windows: tuple[tuple[Window, ...], ...]
    minimum_run_hours: float
    warm_up_minutes: float
    sun_takes_over: bool
    fuel: str
    idle_l_per_h: float
    load_l_per_kwh: float
    height_loss_frac_per_km: float
    heat_loss_frac_per_c: float
    service_hours: float

    @property
    def full_load_l_per_kwh(self) -> float:
        """Fuel of each kilowatt-hour at the rated watts."""
        return self.load_l_per_kwh + self.idle_l_per_h * 1000.0 / self.watts


@dataclass(frozen=True, slots=True)
class Drive:
    """Charging from the engine while driving.

    Attributes
    ----------
    amps : float
        What reaches the bank.
    windows : tuple of (start, end)
        Local hours of a drive.
    days : tuple of tuple of int
        For each stay the days with a drive, from 0.
    """

    amps: float
    windows: tuple[Window, ...]
    days: tuple[tuple[int, ...], ...]


@dataclass(frozen=True, slots=True)
class Hookup:
    """Nights on a pedestal: it carries the loads, and its charger fills the bank.

    Attributes
    ----------
    charger_amps : float
        Most that the charger puts into the bank.
    windows : tuple of (start, end)
        Local hours plugged in, counted from the evening's day; the end passes 24 over midnight.
    days : tuple of tuple of int
        For each stay the days that end in such a night, from 0.
    charger_efficiency_frac : float
        Power out of the charger over power into it.
    pedestal_amps, pedestal_volts : float
        Rating of the pedestal's breaker.
    """

    charger_amps: float
    windows: tuple[Window, ...]
    days: tuple[tuple[int, ...], ...]
    charger_efficiency_frac: float
    pedestal_amps: float
    pedestal_volts: float

    @property
    def steady_w(self) -> float:
        """Most power that loads and charger together may draw for hours [W]."""
        return STEADY_FRAC * self.pedestal_amps * self.pedestal_volts
