"""Power of a panel, per watt of its label, in the hours of one day."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from flatodds.lanes import LANES, inlined, outlined
from flatodds.solar.geometry import Planes

Array = npt.NDArray[np.floating]

# Change of a panel's current per kelvin of cell temperature: medians of 0.04 to 0.05 % over
# the California Energy Commission's list of modules (2019-03-05, as shipped with pvlib).
CURRENT_FRAC_PER_C = 0.0004


@inlined
def effective_irradiance(
    ghi: float,
    dni: float,
    dhi: float,
    beam: float,
    circumsolar: float,
    per_extra: float,
    sky: float,
    ground: float,
) -> float:
    """Irradiance that reaches the cells, as light at normal incidence would [W/m2]."""
    f = type(ghi)
    diffuse = dhi * (dni * circumsolar + (f(1.0) - dni * per_extra) * sky)
    return max(dni * beam + diffuse + ghi * ground, f(0.0))


@inlined
def power_per_watt(
    effective_w_m2: float,
    temp_air_c: float,
    wind_m_s: float,
    per_kelvin: float,
    loss_still: float,
    loss_wind: float,
) -> float:
    """DC power per watt of label, or current per ampere, by the coefficient given [1].

    Cell temperature after Faiman (2008); output linear in irradiance and cell temperature
    about 1000 W/m2 and 25 deg C (Dobos, PVWatts version 5 manual, NREL/TP-6A20-62641, 2014).
    """
    f = type(effective_w_m2)
    cell_c = temp_air_c + effective_w_m2 / (loss_still + loss_wind * wind_m_s)
    share = effective_w_m2 * f(0.001) * (f(1.0) + per_kelvin * (cell_c - f(25.0)))
    return max(share, f(0.0))


@outlined
def draw_yield(planes: Planes, doy: int, sky: Array, out: Array) -> None:
    """Fill `out` (group, 24, LANES) [W per W of label] from `sky` (5, 24, LANES).

    Rows of `sky`: global, beam normal, diffuse [W/m2], air temperature [deg C], wind [m/s].
    """
    f = type(sky[0, 0, 0])
    for g in range(out.shape[0]):
        per_kelvin = planes.groups[g, 0]
        loss_still = planes.groups[g, 1]
        loss_wind = planes.groups[g, 2]
        stow_wind = planes.groups[g, 3]
        for h in range(24):
            row = out[g, h]
            if planes.daylight[doy, h] == 0:
                for i in range(LANES):
                    row[i] = 0
                continue
            beam = planes.taken[g, doy, h, 0]
            circumsolar = planes.taken[g, doy, h, 1]
            taken_sky = planes.taken[g, doy, h, 2]
            taken_ground = planes.taken[g, doy, h, 3]
            per_extra = planes.per_extra[doy, h]
            for i in range(LANES):
                effective = effective_irradiance(
                    sky[0, h, i],
                    sky[1, h, i],
                    sky[2, h, i],
                    beam,
                    circumsolar,
                    per_extra,
                    taken_sky,
                    taken_ground,
                )
                share = power_per_watt(
                    effective, sky[3, h, i], sky[4, h, i], per_kelvin, loss_still, loss_wind
                )
                row[i] = share if sky[4, h, i] <= stow_wind else f(0.0)
