"""What stands between sun and panels: the horizon, trees, and things on one's own roof."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from flatodds.sun import DAYS, SunTable

Floats = npt.NDArray[np.float64]

LEAF_DAYS = 15.0  # leaves come out and fall over twice this many days: common practice, no source
# Most of the beam that things on one's own roof take, however low the sun: judgement.
MOST_ROOF_SHADE = 0.6
SUB_HOURS = (np.arange(6) - 2.5) / 6.0  # offsets from mid-hour at which a horizon is tried [h]


class Surroundings(NamedTuple):
    """What keeps sun off at one place.

    Attributes
    ----------
    horizon_deg : tuple of float
        Height of the horizon at equal steps of direction from north clockwise; empty: level.
    tree_beam_frac, tree_sky_frac : float
        Share of the beam, and of the light of the whole sky, that trees in leaf take [1].
    bare_frac : float
        What trees without leaves take, over what they take in leaf [1].
    leaf_doys : tuple of float
        Days of the year on which leaves are half out and half down; empty: evergreen.
    """

    horizon_deg: tuple[float, ...] = ()
    tree_beam_frac: float = 0.0
    tree_sky_frac: float = 0.0
    bare_frac: float = 1.0
    leaf_doys: tuple[float, ...] = ()


OPEN_GROUND = Surroundings()


def leaf_share(leaf_doys: tuple[float, ...]) -> Floats:
    """Share of their leaves that trees carry on each day of the year, (365,) [1]."""
    if not leaf_doys:
        return np.ones(DAYS)
    out, down = leaf_doys
    day = np.arange(DAYS, dtype=np.float64)
    half = DAYS / 2.0
    since_out = (day - out + half) % DAYS - half
    since_down = (day - down + half) % DAYS - half
    rising = np.clip(0.5 + since_out / (2.0 * LEAF_DAYS), 0.0, 1.0)
    falling = np.clip(0.5 - since_down / (2.0 * LEAF_DAYS), 0.0, 1.0)
    between = (day - out) % DAYS < (down - out) % DAYS  # in the leafy part of the year
    near_out = np.abs(since_out) <= LEAF_DAYS
    near_down = np.abs(since_down) <= LEAF_DAYS
    plain = np.where(between, 1.0, 0.0)
    return np.where(near_out, rising, np.where(near_down, falling, plain))


def tree_factors(around: Surroundings) -> tuple[Floats, Floats]:
    """Shares of beam and of sky light that trees let through each day, both (365,) [1]."""
    density = around.bare_frac + (1.0 - around.bare_frac) * leaf_share(around.leaf_doys)
    return 1.0 - around.tree_beam_frac * density, 1.0 - around.tree_sky_frac * density


def horizon_at(horizon_deg: tuple[float, ...], azimuth_deg: Floats) -> Floats:
    """Height of the horizon in some directions, straight between its points [degree]."""
    count = len(horizon_deg)
    at = (azimuth_deg % 360.0) * (count / 360.0)
    left = np.floor(at).astype(np.int64) % count
    heights = np.array(horizon_deg)
    low: Floats = heights[left] + (at % 1.0) * (heights[(left + 1) % count] - heights[left])
    return low


def horizon_beam(sun: SunTable, horizon_deg: tuple[float, ...]) -> Floats:
    """Part of each hour's sunshine that clears the horizon, (365, 24) [1].

    The sun is tried six times an hour, on the straight way between its mid-hours.
    """
    if not horizon_deg:
        return np.ones((DAYS, 24))
    zenith, azimuth = np.radians(sun.zenith_deg).ravel(), np.radians(sun.azimuth_deg).ravel()
    towards = np.stack(
        [np.sin(zenith) * np.sin(azimuth), np.sin(zenith) * np.cos(azimuth), np.cos(zenith)]
    )
    up = np.zeros(zenith.size)
    clear = np.zeros(zenith.size)
    for offset in SUB_HOURS:
        other = np.roll(towards, -1 if offset > 0.0 else 1, axis=1)
        east, north, high = towards + abs(offset) * (other - towards)
        height_deg = np.degrees(np.arctan2(high, np.hypot(east, north)))
        shines = height_deg > 0.0
        hidden = height_deg < horizon_at(horizon_deg, np.degrees(np.arctan2(east, north)))
        up += shines
        clear += shines & ~hidden
    return np.where(up > 0.0, clear / np.maximum(up, 1.0), 1.0).reshape(DAYS, 24)


def horizon_sky(horizon_deg: tuple[float, ...], tilt_deg: float, azimuth_deg: float) -> float:
    """Share of an even sky's light on a plane that comes from above the horizon [1]."""
    if not horizon_deg:
        return 1.0
    height = np.radians(np.arange(0.5, 90.0))[:, None]
    around = np.arange(0.0, 360.0, 2.0)
    tilt, facing = np.radians(tilt_deg), np.radians(around - azimuth_deg)
    cosine = np.sin(height) * np.cos(tilt) + np.cos(height) * np.sin(tilt) * np.cos(facing)
    weight = np.maximum(cosine, 0.0) * np.cos(height)
    seen = np.degrees(height) >= horizon_at(horizon_deg, around)[None, :]
    return float((weight * seen).sum() / max(weight.sum(), 1e-12))


def roof_beam(cos_zenith: Floats, shade_frac: float) -> Floats:
    """Share of the beam that things on one's own roof let through, shape as given [1].

    A thing's shadow is as long as its height over the tangent of the sun's height. With the
    sun 45 degrees high `shade_frac` of the panels lies in shadow.
    """
    tangent = cos_zenith / np.sqrt(np.maximum(1.0 - cos_zenith**2, 1e-12))
    shade: Floats = np.minimum(shade_frac / np.maximum(tangent, 1e-6), MOST_ROOF_SHADE)
    return 1.0 - np.where(cos_zenith > 0.0, np.minimum(shade, 1.0), 0.0)


def roof_sky(shade_frac: float) -> float:
    """Share of an even sky's light that things on one's own roof let through [1].

    The same shadows, averaged over a sky that shines alike from everywhere.
    """
    height = np.radians(np.arange(0.5, 90.0))
    weight = np.sin(height) * np.cos(height)
    through = roof_beam(np.sin(height), shade_frac)
    return float((weight * through).sum() / weight.sum())
