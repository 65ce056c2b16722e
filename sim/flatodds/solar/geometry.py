"""Everything about a plane and the sun that does not depend on the day's weather."""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from flatodds.solar.aim import MONTH_OF_DAY, Aim, Facing, by_hand, fixed
from flatodds.solar.shade import (
    OPEN_GROUND,
    Surroundings,
    horizon_beam,
    horizon_sky,
    roof_beam,
    roof_sky,
    tree_factors,
)
from flatodds.sun import DAYS, SunTable

Array = npt.NDArray[np.floating]
Floats = npt.NDArray[np.float64]

ALBEDO = 0.2  # grass and soil, common practice, no source
LEAST_COS_ZENITH = 0.01745  # cos 89 deg: keeps the circumsolar ratio finite at the horizon
# Faiman, "Assessing the outdoor operating temperature of photovoltaic modules", Progress in
# Photovoltaics 16 (2008): 25 W/m2K and 6.84 J/m3K for free-standing modules.
FAIMAN_OPEN = (25.0, 6.84)
# Close to a roof the back is nearly still air: common practice, no source (60 % of open).
FAIMAN_ROOF = (15.0, 4.1)
# Nominal operating cell temperature (IEC 61215, from memory): 800 W/m2, air of 20 C, wind of
# 1 m/s, open circuit, on an open rack.
NOCT_W_M2, NOCT_AIR_C, NOCT_WIND_M_S = 800.0, 20.0, 1.0

BEAM, CIRCUMSOLAR, SKY, GROUND = range(4)  # last axis of Planes.taken
# Last axis of Planes.groups.
(
    PER_KELVIN,
    LOSS_STILL,
    LOSS_WIND,
    STOW_WIND,
    DUST_PER_DAY,
    WIPE_DAYS,
    SNOWED_ON,
    BRUSH_H,
    SHEDS,
    STOWED_DAYS,
) = range(10)
STEEP_DEG = 45.0  # snow slides off panels at least so steep in the sun: judgement
NEVER_STOWED = 1e9  # wind that never blows [m/s]
NEVER_WIPED = 1e9  # days
NEVER_BRUSHED = 99  # hour


class Planes(NamedTuple):
    """Planes of one rig at one place, one per array group.

    With beam normal irradiance B, diffuse D and global G, effective irradiance is
    B beam + D (B circumsolar + (1 - B per_extra) sky) + G ground. Whatever depends on date
    and sun alone is in these factors: facing, reflection, shade, hours stowed.

    Attributes
    ----------
    taken : Array
        For each group, day and hour: cosine of incidence times beam transmission relative to
        normal [1]; that over cosine of zenith over extraterrestrial normal irradiance [m2/W];
        shares of isotropic diffuse and of ground-reflected global light taken [1],
        (group, 365, 24, 4).
    per_extra : Array
        Reciprocal of extraterrestrial normal irradiance, (365, 24) [m2/W].
    groups : Array
        Change of output per kelvin of cell temperature [1/K], Faiman heat loss coefficients
        [W/m2K] and [J/m3K], wind above which the group lies stowed [m/s], dust of a dry day
        [1], days between wipings, 1 if snow stays on it, hour by which that is brushed off
        (none from 25 on), 1 if snow slides off, share of days stowed [1], (group, 10).
    daylight : npt.NDArray[np.uint8]
        1 where the hour can have sun, (365, 24).
    """

    taken: Array
    per_extra: Array
    groups: Array
    daylight: npt.NDArray[np.uint8]


class Cover(NamedTuple):
    """What may lie on a group's panels; by default nothing.

    Attributes
    ----------
    dust_per_day : float
        Light lost to dust for each day without rain [1].
    wipe_days : float
        Days between wipings.
    snowed_on : bool
        Whether snow stays on them.
    brush_h : int
        Hour of the simulation clock by which snow is brushed off; from 25 on: never.
    stowed_days_frac : float
        Share of days on which they lie packed away [1].
    """

    dust_per_day: float = 0.0
    wipe_days: float = NEVER_WIPED
    snowed_on: bool = False
    brush_h: int = NEVER_BRUSHED
    stowed_days_frac: float = 0.0


class Plane(NamedTuple):
    """One array group as the solar room sees it; angles in degrees, azimuth from north.

    Attributes
    ----------
    tilts_deg : tuple of float
        One tilt, or one for each month.
    temp_coefficient : float
        Change of output per kelvin of cell temperature [1/K].
    roof_shade_frac : float
        Share of the beam that things on one's own roof take at a sun 45 degrees high [1].
    under_trees : bool
        Whether the place's trees shade it.
    stow_wind_m_s : float
        Wind above which it lies stowed [m/s].
    aim : Aim or None
        How it is turned by hand; None: tilt and azimuth hold.
    cover : Cover
        Dust, snow and days stowed.
    noct_c : float or None
        Cell temperature of the data sheet [deg C]; None: cells as Faiman measured them.
    """

    tilts_deg: tuple[float, ...]
    azimuth_deg: float
    temp_coefficient: float
    incidence_loss: bool
    open_mount: bool
    roof_shade_frac: float = 0.0
    under_trees: bool = True
    stow_wind_m_s: float = NEVER_STOWED
    aim: Aim | None = None
    cover: Cover = Cover()
    noct_c: float | None = None


def plane_tables(
    sun: SunTable,
    planes: tuple[Plane, ...],
    around: Surroundings = OPEN_GROUND,
    *,
    shift_h: tuple[float, ...] = (0.0,) * DAYS,
    albedo: float = ALBEDO,
    all_hours: bool = False,
) -> Planes:
    """Tables for the planes of one rig at one place.

    Transposition after Hay and Davies (1980) as documented in pvlib; transmission of the
    beam through glass by Fresnel and Bouguer (De Soto, Klein and Beckman 2006), integrated
    over the sky and the ground for the diffuse part (Marion 2017), both relative to normal
    incidence. Light scattered from round the sun is treated as beam.

    Parameters
    ----------
    sun : SunTable
        Sun at mid-hour.
    planes : tuple of Plane
        Array groups.
    around : Surroundings
        Horizon and trees of the place.
    shift_h : tuple of float
        Hours the household's clock is ahead of the simulation clock on each day, 365.
    albedo : float
        Reflectance of the ground [1].
    all_hours : bool
        Treat every hour as possibly lit (weather given as a table may say so).
    """
    daylight = np.ones_like(sun.cos_zenith) if all_hours else sun.cos_zenith > 0.0
    clear = horizon_beam(sun, around.horizon_deg)
    return Planes(
        taken=np.stack(
            [_taken(sun, plane, around, clear, np.array(shift_h), albedo) for plane in planes]
        ),
        per_extra=1.0 / sun.dni_extra,
        groups=np.array([_constants(plane) for plane in planes], dtype=np.float64),
        daylight=daylight.astype(np.uint8),
    )


def heat_losses(*, open_mount: bool, noct_c: float | None) -> tuple[float, float]:
    """Heat that leaves the cells, in still air [W/m2K] and for each m/s of wind [J/m3K].

    A data sheet's temperature scales both: what it says of the open rack it was measured on
    holds in proportion for a close mount.
    """
    still, wind = FAIMAN_OPEN if open_mount else FAIMAN_ROOF
    if noct_c is None:
        return still, wind
    usual = FAIMAN_OPEN[0] + FAIMAN_OPEN[1] * NOCT_WIND_M_S
    scale = NOCT_W_M2 / (noct_c - NOCT_AIR_C) / usual
    return scale * still, scale * wind


def _constants(plane: Plane) -> tuple[float, ...]:
    loss_still, loss_wind = heat_losses(open_mount=plane.open_mount, noct_c=plane.noct_c)
    steep = sum(plane.tilts_deg) / len(plane.tilts_deg) >= STEEP_DEG
    dust_per_day, wipe_days, snowed_on, brush_h, stowed_days_frac = plane.cover
    return (
        plane.temp_coefficient,
        loss_still,
        loss_wind,
        plane.stow_wind_m_s,
        dust_per_day,
        wipe_days,
        float(snowed_on),
        float(brush_h),
        float(steep),
        stowed_days_frac,
    )


def _taken(
    sun: SunTable,
    plane: Plane,
    around: Surroundings,
    clear: Floats,
    shift_h: Floats,
    albedo: float,
) -> Floats:
    """Light that one group takes, (365, 24, 4); last axis as in `Planes.taken`."""
    from pvlib import iam

    facing = (
        fixed(plane.tilts_deg, plane.azimuth_deg)
        if plane.aim is None
        else by_hand(sun, plane.aim, shift_h)
    )
    cos_aoi = _cosine(sun, facing) * facing.aimed
    beam = cos_aoi
    sky = ground = np.ones_like(beam)
    if plane.incidence_loss:
        beam = cos_aoi * iam.physical(np.degrees(np.arccos(np.clip(cos_aoi, 0.0, 1.0))))
        sky, ground = _through_glass(facing.tilt_deg)
    cos_tilt = np.cos(np.radians(facing.tilt_deg))
    sky = sky * 0.5 * (1.0 + cos_tilt) * _sky_seen(plane, around)
    ground = ground * albedo * 0.5 * (1.0 - cos_tilt)
    beam = beam * clear * roof_beam(sun.cos_zenith, plane.roof_shade_frac)
    if plane.under_trees:
        tree_beam, tree_sky = tree_factors(around)
        beam = beam * tree_beam[:, None]
        sky, ground = sky * tree_sky[:, None], ground * tree_sky[:, None]
    circumsolar = beam / np.maximum(sun.cos_zenith, LEAST_COS_ZENITH) / sun.dni_extra
    return np.stack([beam, circumsolar, sky, ground], axis=-1) * facing.out[:, :, None]


def _cosine(sun: SunTable, facing: Facing) -> Floats:
    """Cosine of the sun's incidence on a plane, 0 from behind and at night, (365, 24)."""
    from pvlib.irradiance import aoi_projection

    cosine = np.asarray(
        aoi_projection(facing.tilt_deg, facing.azimuth_deg, sun.zenith_deg, sun.azimuth_deg)
    )
    return np.where(sun.cos_zenith > 0.0, np.maximum(cosine, 0.0), 0.0)


def _through_glass(tilt_deg: Floats) -> tuple[Floats, Floats]:
    """Transmission of sky and ground light for each tilt, relative to normal, as given [1].

    Many tilts (hand-aimed panels) are read off between every fifth degree.
    """
    tilts = np.unique(tilt_deg)
    if tilts.size > 12:
        nodes = np.arange(0.0, 95.0, 5.0)
        table = np.array([_marion(float(node)) for node in nodes])
        sky = np.interp(tilt_deg, nodes, table[:, 0])
        return sky, np.interp(tilt_deg, nodes, table[:, 1])
    at = np.searchsorted(tilts, tilt_deg)
    table = np.array([_marion(float(tilt)) for tilt in tilts])
    return table[at, 0], table[at, 1]


@lru_cache(maxsize=128)
def _marion(tilt_deg: float) -> tuple[float, float]:
    from pvlib import iam

    diffuse = iam.marion_diffuse("physical", tilt_deg)
    return float(diffuse["sky"]), float(diffuse["ground"]) if tilt_deg > 0.0 else 1.0


def _sky_seen(plane: Plane, around: Surroundings) -> Floats:
    """Share of an even sky's light that horizon and own roof leave, (365, 1) or (1, 1) [1].

    Panels turned by hand count as level here: they face every way in turn.
    """
    tilts = (0.0,) if plane.aim is not None else plane.tilts_deg
    left = roof_sky(plane.roof_shade_frac)
    seen = [left * horizon_sky(around.horizon_deg, tilt, plane.azimuth_deg) for tilt in tilts]
    if len(seen) == 12:
        return np.array(seen)[MONTH_OF_DAY][:, None]
    return np.array(seen).reshape(1, 1)
