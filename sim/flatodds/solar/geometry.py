"""Everything about a plane and the sun that does not depend on the day's weather."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from flatodds.sun import SunTable

Array = npt.NDArray[np.floating]

ALBEDO = 0.2  # grass and soil, common practice, no source
LEAST_COS_ZENITH = 0.01745  # cos 89 deg: keeps the circumsolar ratio finite at the horizon
# Faiman, "Assessing the outdoor operating temperature of photovoltaic modules", Progress in
# Photovoltaics 16 (2008): 25 W/m2K and 6.84 J/m3K for free-standing modules.
FAIMAN_OPEN = (25.0, 6.84)
# Close to a roof the back is nearly still air: common practice, no source (60 % of open).
FAIMAN_ROOF = (15.0, 4.1)


class Planes(NamedTuple):
    """Planes of one rig at one place, one per array group.

    With beam normal irradiance B, diffuse D and global G, effective irradiance is
    B beam + D (B circumsolar + (1 - B per_extra) sky) + G ground.

    Attributes
    ----------
    beam : Array
        Cosine of incidence times beam transmission relative to normal, (group, 365, 24) [1].
    circumsolar : Array
        Beam over cosine of zenith over extraterrestrial normal irradiance,
        (group, 365, 24) [m2/W].
    per_extra : Array
        Reciprocal of extraterrestrial normal irradiance, (365, 24) [m2/W].
    groups : Array
        Share of isotropic diffuse and of ground-reflected global light taken [1], change of
        power per kelvin of cell temperature [1/K], Faiman heat loss coefficients [W/m2K]
        and [J/m3K], (group, 5).
    daylight : npt.NDArray[np.uint8]
        1 where the hour can have sun, (365, 24).
    """

    beam: Array
    circumsolar: Array
    per_extra: Array
    groups: Array
    daylight: npt.NDArray[np.uint8]


class Plane(NamedTuple):
    """One array group as the solar room sees it; angles in degrees, azimuth from north."""

    tilt_deg: float
    azimuth_deg: float
    temp_coefficient: float
    incidence_loss: bool
    open_mount: bool


def plane_tables(
    sun: SunTable, planes: tuple[Plane, ...], *, albedo: float = ALBEDO, all_hours: bool = False
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
    albedo : float
        Reflectance of the ground [1].
    all_hours : bool
        Treat every hour as possibly lit (weather given as a table may say so).
    """
    rows = [_one_plane(sun, plane, albedo) for plane in planes]
    daylight = np.ones_like(sun.cos_zenith) if all_hours else sun.cos_zenith > 0.0
    groups = [
        (
            row[2],
            row[3],
            plane.temp_coefficient,
            *(FAIMAN_OPEN if plane.open_mount else FAIMAN_ROOF),
        )
        for row, plane in zip(rows, planes, strict=True)
    ]
    return Planes(
        beam=np.stack([row[0] for row in rows]),
        circumsolar=np.stack([row[1] for row in rows]),
        per_extra=1.0 / sun.dni_extra,
        groups=np.array(groups, dtype=np.float64),
        daylight=daylight.astype(np.uint8),
    )


def _one_plane(
    sun: SunTable, plane: Plane, albedo: float
) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64], float, float]:
    from pvlib import iam
    from pvlib.irradiance import aoi_projection

    cos_aoi = np.asarray(
        aoi_projection(plane.tilt_deg, plane.azimuth_deg, sun.zenith_deg, sun.azimuth_deg)
    )
    cos_aoi = np.where(sun.cos_zenith > 0.0, np.maximum(cos_aoi, 0.0), 0.0)
    sky = ground = 1.0
    beam = cos_aoi
    if plane.incidence_loss:
        beam = cos_aoi * iam.physical(np.degrees(np.arccos(np.clip(cos_aoi, 0.0, 1.0))))
        diffuse = iam.marion_diffuse("physical", plane.tilt_deg)
        sky = float(diffuse["sky"])
        ground = float(diffuse["ground"]) if plane.tilt_deg > 0.0 else 1.0
    tilt = np.radians(plane.tilt_deg)
    circumsolar = beam / np.maximum(sun.cos_zenith, LEAST_COS_ZENITH) / sun.dni_extra
    return (
        beam,
        circumsolar,
        sky * 0.5 * (1.0 + float(np.cos(tilt))),
        ground * albedo * 0.5 * (1.0 - float(np.cos(tilt))),
    )
