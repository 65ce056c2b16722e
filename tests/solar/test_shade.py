"""Horizon, trees and own roof: laws, and values that follow from geometry."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flatodds.solar.geometry import BEAM, SKY, Plane, plane_tables
from flatodds.solar.shade import (
    Surroundings,
    horizon_at,
    horizon_beam,
    horizon_sky,
    leaf_share,
    roof_beam,
    roof_sky,
    tree_factors,
)
from flatodds.sun import sun_table

SUN = sun_table(40.0, -105.0, 1600.0, -7)
FLAT = Plane((0.0,), 180.0, 0.0, incidence_loss=False, open_mount=True)


def test_horizon_goes_straight_between_its_points_and_round_north() -> None:
    heights = horizon_at((10.0, 0.0, 20.0, 4.0), np.array([0.0, 45.0, 90.0, 180.0, 315.0, -45.0]))
    assert heights == pytest.approx([10.0, 5.0, 0.0, 20.0, 7.0, 7.0])


def test_a_wall_all_round_leaves_the_square_of_its_cosine() -> None:
    """Flat plane under an even sky: the share above height a is cos^2 a (exact integral)."""
    for height in (10.0, 30.0, 60.0):
        got = horizon_sky((height,) * 4, 0.0, 180.0)
        assert got == pytest.approx(np.cos(np.radians(height)) ** 2, abs=0.01)


def test_a_ridge_hides_the_sun_exactly_while_it_is_lower() -> None:
    clear = horizon_beam(SUN, (15.0,) * 8)
    height = 90.0 - SUN.zenith_deg
    assert (clear[height > 23.0] == 1.0).all()
    assert (clear[(height > 0.0) & (height < 7.0)] == 0.0).all()
    assert ((clear > 0.0) & (clear < 1.0)).any()


def test_leaves_come_and_go_over_a_month() -> None:
    share = leaf_share((120.0, 290.0))
    assert share[[100, 120, 140, 200, 290, 310]] == pytest.approx([0, 0.5, 1, 1, 0.5, 0])
    south = leaf_share((290.0, 120.0))  # leaves over the new year
    assert share + south == pytest.approx(np.ones(365), abs=1e-12)
    assert (leaf_share(()) == 1.0).all()


def test_trees_take_their_shares() -> None:
    beam, sky = tree_factors(Surroundings((), 0.6, 0.4, 0.5, (120.0, 290.0)))
    assert (beam[200], sky[200]) == pytest.approx((0.4, 0.6))
    assert (beam[10], sky[10]) == pytest.approx((0.7, 0.8))


def test_own_roofs_shadow_is_as_long_as_height_over_tangent() -> None:
    heights = np.radians(np.array([90.0, 45.0, 26.56505, 1.0]))
    got = 1.0 - roof_beam(np.sin(heights), 0.04)
    assert got == pytest.approx([0.0, 0.04, 0.08, 0.6], abs=1e-6)


def test_own_roof_takes_half_pi_of_its_share_from_an_even_sky() -> None:
    """Mean of cot h over a flat plane's even sky is pi / 2 (exact, without the cap)."""
    assert 1.0 - roof_sky(0.01) == pytest.approx(0.01 * np.pi / 2.0, rel=0.02)


heights = st.lists(st.floats(0.0, 80.0), min_size=4, max_size=36).map(tuple)


@pytest.mark.law
@settings(max_examples=25, deadline=None, derandomize=True)
@given(heights, st.floats(0.0, 1.0), st.floats(0.0, 1.0), st.floats(0.0, 1.0), st.floats(0.0, 90.0))
def test_shade_never_raises_what_a_panel_takes(
    horizon: tuple[float, ...], trees: float, sky: float, roof: float, tilt: float
) -> None:
    plane = FLAT._replace(tilts_deg=(tilt,))
    free = plane_tables(SUN, (plane,)).taken
    around = Surroundings(horizon, trees, sky, 0.5, (120.0, 290.0))
    shaded = plane_tables(SUN, (plane._replace(roof_shade_frac=roof),), around).taken
    assert (shaded <= free + 1e-12).all()
    assert (shaded >= 0.0).all()


def test_out_in_the_open_trees_do_not_count() -> None:
    around = Surroundings((), 0.9, 0.9)
    open_air = plane_tables(SUN, (FLAT._replace(under_trees=False),), around).taken
    assert (open_air == plane_tables(SUN, (FLAT,)).taken).all()
    under = plane_tables(SUN, (FLAT,), around).taken[0, 172, 12]
    assert under[BEAM] == pytest.approx(0.1 * open_air[0, 172, 12, BEAM])
    assert under[SKY] == pytest.approx(0.1)
