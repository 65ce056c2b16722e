"""Where the sun stands at the middle of every hour of a year, shared by weather and solar."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

DAYS = 365  # the simulated year has no 29 February
REFERENCE_YEAR = 2001  # a year between leap years, so that its dates sit mid-cycle
DELTA_T_S = 67.0  # terrestrial minus universal time, NREL/TP-560-34302 (2008) example value

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class SunTable:
    """Sun and extraterrestrial irradiance at mid-hour on the simulation clock.

    Attributes
    ----------
    zenith_deg, azimuth_deg : Array
        Apparent (refracted) zenith and azimuth clockwise from north, (365, 24) [degree].
    cos_zenith : Array
        Cosine of the apparent zenith, not below 0, (365, 24) [1].
    dni_extra : Array
        Extraterrestrial normal irradiance, (365, 24) [W/m2].
    h0_wh_m2 : Array
        Daily extraterrestrial irradiation on a horizontal plane, (365,) [Wh/m2].
    utc_offset_h : int
        Hours the simulation clock is ahead of UTC.
    """

    zenith_deg: Array
    azimuth_deg: Array
    cos_zenith: Array
    dni_extra: Array
    h0_wh_m2: Array
    utc_offset_h: int


def sun_position(
    times_utc: npt.NDArray[np.datetime64],
    latitude: float,
    longitude: float,
    elevation_m: float = 0.0,
    *,
    pressure_hpa: float | None = None,
    temp_air_c: float = 12.0,
    delta_t_s: float = DELTA_T_S,
) -> tuple[Array, Array]:
    """Apparent zenith and azimuth of the sun at the given instants, both (n,) [degree].

    The NREL solar position algorithm (Reda and Andreas, NREL/TP-560-34302, 2008) as pvlib
    computes it. Without a pressure the standard atmosphere at that elevation is used.
    """
    import pandas as pd
    from pvlib import solarposition
    from pvlib.atmosphere import alt2pres

    index = pd.DatetimeIndex(times_utc).tz_localize("UTC")
    pressure_pa = alt2pres(elevation_m) if pressure_hpa is None else 100.0 * pressure_hpa
    position = solarposition.spa_python(
        index, latitude, longitude, elevation_m, pressure_pa, temp_air_c, delta_t=delta_t_s
    )
    return (
        position["apparent_zenith"].to_numpy(dtype=np.float64),
        position["azimuth"].to_numpy(dtype=np.float64),
    )


def sun_table(latitude: float, longitude: float, elevation_m: float, utc_offset_h: int) -> SunTable:
    """Sun at the middle of each of the 8,760 hours of the simulated year at one place."""
    from pvlib.irradiance import get_extra_radiation

    start = np.datetime64(f"{REFERENCE_YEAR}-01-01T00:30", "s")
    hours = np.arange(DAYS * 24)
    times = start + (hours * 3600 - utc_offset_h * 3600).astype("timedelta64[s]")
    zenith, azimuth = sun_position(times, latitude, longitude, elevation_m)
    day_of_year = np.repeat(np.arange(1, DAYS + 1), 24)
    extra = np.asarray(get_extra_radiation(day_of_year, method="spencer"), dtype=np.float64)
    cos_zenith = np.maximum(np.cos(np.radians(zenith)), 0.0).reshape(DAYS, 24)
    extra = extra.reshape(DAYS, 24)
    return SunTable(
        zenith.reshape(DAYS, 24),
        azimuth.reshape(DAYS, 24),
        cos_zenith,
        extra,
        (cos_zenith * extra).sum(axis=1),
        utc_offset_h,
    )
