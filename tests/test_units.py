"""Exact conversions and the unit a name tells."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from flatodds import units


def test_conversions_are_exact_at_their_defining_points() -> None:
    # NIST SP 811 (2008) appendix B: 1 ft = 0.3048 m, 1 US gal = 231 in3, 1 in = 2.54 cm
    assert units.m_from_ft(10_000.0) == 3048.0
    assert units.l_from_gal(1.0) == pytest.approx(231 * 2.54**3 / 1000.0, rel=1e-15)
    assert units.c_from_f(212.0) == pytest.approx(100.0, abs=1e-12)
    assert units.c_from_f(-40.0) == -40.0
    assert units.f_from_c(37.0) == pytest.approx(98.6, abs=1e-12)


@pytest.mark.law
@given(st.floats(-1e6, 1e6))
def test_conversions_undo_each_other(value: float) -> None:
    near = pytest.approx(value, rel=1e-12, abs=1e-9)
    assert units.c_from_f(units.f_from_c(value)) == near
    assert units.m_from_ft(units.ft_from_m(value)) == near
    assert units.l_from_gal(units.gal_from_l(value)) == near


@pytest.mark.parametrize(
    ("name", "unit"),
    [
        ("capacity_wh", "W h"),
        ("ghi_w_m2", "W m-2"),
        ("h0_wh_m2", "W h m-2"),
        ("area_m2", "m2"),
        ("temp_coefficient_frac_per_c", "degC-1"),
        ("heat_loss_w_per_k", "W K-1"),
        ("inside_day_c", "degC"),
        ("hours_flat", None),
        ("watts", None),
    ],
)
def test_unit_of_takes_the_longest_suffix(name: str, unit: str | None) -> None:
    assert units.unit_of(name) == unit
