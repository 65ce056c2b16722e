"""Dust, snow and days stowed, each rule by itself and as laws."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flatodds.lanes import LANES
from flatodds.solar.cover import COVER, DRY_DAYS, SNOW, cover_panels, days_dry, dust_share
from flatodds.solar.geometry import Cover, Plane, Planes, plane_tables
from flatodds.sun import sun_table

Floats = npt.NDArray[np.float64]
SUN = sun_table(45.0, -93.0, 250.0, -6)


def planes(tilt: float = 0.0, **cover: Any) -> Planes:
    plane = Plane((tilt,), 180.0, 0.0, incidence_loss=False, open_mount=True, cover=Cover(**cover))
    return plane_tables(SUN, (plane,))


def lived(
    table: Planes,
    days: list[tuple[float, float]],
    *,
    temp_c: float = -5.0,
    dni: float = 0.0,
) -> Floats:
    """Share of the light let through, (day, 24), for days of (wet, snow)."""
    cover = np.zeros((1, COVER, LANES))
    sky = np.zeros((5, 24, LANES))
    sky[1], sky[3] = dni, temp_c
    shares = []
    for n, (wet, snow) in enumerate(days):
        watts = np.ones((1, 24, LANES))
        flags = np.full(LANES, wet), np.full(LANES, snow)
        cover_panels(table, n == 0, 500 + n, 0, 1, 2, sky, *flags, cover, watts)
        shares.append(watts[0, :, 0])
        assert ((cover[0, SNOW] == 0.0) | (cover[0, SNOW] == 1.0)).all()
        assert (cover[0, DRY_DAYS] >= 0.0).all()
    return np.array(shares)


DRY, RAIN, SNOWFALL = (0.0, 0.0), (1.0, 0.0), (1.0, 1.0)


def test_dust_is_washed_off_by_rain_but_not_by_snow() -> None:
    through = lived(planes(dust_per_day=0.01), [DRY, DRY, SNOWFALL, RAIN, DRY])[:, 12]
    assert through == pytest.approx([0.99, 0.98, 0.97, 1.0, 0.99])
    assert dust_share(1000.0, 0.01) == pytest.approx(0.8)
    assert days_dry(3.0, 0.0, 0.0, 4.0) == 0.0


def test_snow_is_brushed_off_at_its_hour() -> None:
    noon = lived(planes(snowed_on=True, brush_h=12), [SNOWFALL, DRY])
    assert noon[0].tolist() == [0.0] * 12 + [1.0] * 12
    assert (noon[1] == 1.0).all()
    assert (lived(planes(snowed_on=True), [SNOWFALL, DRY, DRY]) == 0.0).all()


def test_snow_melts_and_slides() -> None:
    warm = lived(planes(snowed_on=True), [SNOWFALL, DRY], temp_c=1.5)
    assert warm[0].tolist() == [0.0] + [1.0] * 23
    assert (lived(planes(60.0, snowed_on=True), [SNOWFALL], dni=100.0) == 0.0).all()
    assert lived(planes(60.0, snowed_on=True), [SNOWFALL], dni=200.0)[0, 1] == 1.0
    assert (lived(planes(30.0, snowed_on=True), [SNOWFALL], dni=200.0) == 0.0).all()


def test_panels_that_snow_does_not_stay_on() -> None:
    assert (lived(planes(), [SNOWFALL, SNOWFALL]) == 1.0).all()


def test_stowed_on_its_share_of_days() -> None:
    """400 days, each lane alike: 3.29 standard errors about 30 %."""
    table = planes(stowed_days_frac=0.3)
    away = lived(table, [DRY] * 400).max(axis=1) == 0.0
    assert away.mean() == pytest.approx(0.3, abs=3.29 * np.sqrt(0.3 * 0.7 / 400.0))


flags = st.lists(st.sampled_from([DRY, RAIN, SNOWFALL]), min_size=1, max_size=12)


@pytest.mark.law
@settings(max_examples=25, deadline=None, derandomize=True)
@given(flags, st.floats(0.0, 0.1), st.sampled_from([9, 12, 99]), st.floats(-20.0, 10.0))
def test_cover_never_gives_light(
    days: list[tuple[float, float]], dust: float, brush_h: int, temp_c: float
) -> None:
    table = planes(dust_per_day=dust, snowed_on=True, brush_h=brush_h)
    through = lived(table, days, temp_c=temp_c, dni=500.0)
    assert ((through >= 0.0) & (through <= 1.0)).all()
    sooner = planes(dust_per_day=dust, snowed_on=True, brush_h=9)
    assert (lived(sooner, days, temp_c=temp_c, dni=500.0) >= through).all()
