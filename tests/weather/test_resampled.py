"""Real years shuffled in blocks: what is kept, what is carried, and who draws what."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache

import numpy as np
import numpy.typing as npt
import pytest

from flatodds.sun import DAYS, SunTable, sun_table
from flatodds.weather.contract import DHI, DNI, GHI, TEMP, WIND
from flatodds.weather.resampled import (
    BLOCK_DAYS,
    OFFSET_DAYS,
    ShuffledYears,
    held_together,
    like_each_other,
    shuffled_years,
)
from flatodds.weather.synthetic import CEILING
from flatodds.weather.tables import clear_sky, monthly_mean

Floats = npt.NDArray[np.float64]
KEY = (np.uint64(11), np.uint64(0))
YEARS = 6
PLACE = (47.5, -99.1, 476.0)


@dataclass(frozen=True)
class Hours:
    years: tuple[int, ...]
    ghi: Floats
    dni: Floats
    dhi: Floats
    temp_air: Floats
    wind_speed: Floats


@cache
def sun() -> SunTable:
    return sun_table(*PLACE, -6)


@cache
def clear() -> Floats:
    return clear_sky(*PLACE, sun())


@cache
def record() -> Hours:
    """An invented record: a dullness for each day, brighter hours after noon, cold dull days."""
    rng = np.random.default_rng(3)
    dull = rng.uniform(0.15, 1.05, (YEARS, DAYS, 1))
    shape = 1.0 + 0.1 * np.sin(2.0 * np.pi * np.arange(24) / 24.0)
    ghi = clear() * dull * shape
    dhi = ghi * np.clip(1.2 - dull, 0.15, 1.0)
    sine = np.maximum(sun().cos_zenith, 0.065)
    dni = np.where(sun().cos_zenith > 0.0523, (ghi - dhi) / sine, 0.0)
    course = -12.0 * np.cos(2.0 * np.pi * np.arange(DAYS) / DAYS)[:, None]
    temp = course + 5.0 * dull - 4.0 * np.cos(2.0 * np.pi * np.arange(24) / 24.0)
    wind = rng.uniform(0.0, 9.0, ghi.shape)
    return Hours(tuple(range(2001, 2001 + YEARS)), ghi, dni, dhi, temp, wind)


@cache
def ensemble() -> ShuffledYears:
    return shuffled_years(record(), sun(), clear())


def lived(members: list[int], first_doy: int = 0, days: int = 365) -> Floats:
    hours = ensemble().hours(DAYS + first_doy, days, np.array(members), KEY)
    return hours.reshape(len(members), days, 24, 5)


def donors(members: int, days: int = 720) -> npt.NDArray[np.int64]:
    day = DAYS + np.arange(days)
    return ensemble().donors(day, np.arange(members), KEY)


def test_blocks_are_days_in_a_row_of_one_year_near_the_season() -> None:
    found = donors(64)
    size = YEARS * DAYS
    breaks = (found[:, 1:] - found[:, :-1]) % size != 1
    for row in breaks:
        gaps = np.diff(np.flatnonzero(row))
        assert (gaps % BLOCK_DAYS == 0).all()  # a multiple where a block follows itself
    away = (found - (DAYS + np.arange(720)) % DAYS + 182) % DAYS - 182
    assert away.min() == -OFFSET_DAYS
    assert away.max() == OFFSET_DAYS


def test_every_year_and_offset_is_as_likely_as_another() -> None:
    found = donors(4096, 365)[:, 180]
    offset = (found - 180 + 182) % DAYS - 182
    year = (found - 180 - offset) // DAYS % YEARS
    expected = found.size / YEARS
    chi2 = ((np.bincount(year, minlength=YEARS) - expected) ** 2 / expected).sum()
    assert chi2 < 20.5  # 99.9 % of chi-squared with 5 degrees of freedom
    counts = np.bincount(offset + OFFSET_DAYS)
    expected = found.size / counts.size
    assert ((counts - expected) ** 2 / expected).sum() < 59.7  # 99.9 %, 30 degrees


def test_blocks_do_not_begin_on_the_same_day_for_all_members() -> None:
    step = np.diff(donors(512, 100), axis=1) % (YEARS * DAYS)
    begins = (step != 1).sum(axis=0)
    assert begins.min() > 0
    assert begins.max() < 4 * begins.mean()


def test_a_member_is_the_same_alone_in_any_company_and_for_any_part_of_the_stay() -> None:
    many = lived([0, 1, 2, 3, 77], 330, 60)
    np.testing.assert_array_equal(lived([77], 330, 60)[0], many[4])
    np.testing.assert_array_equal(lived([2], 350, 20)[0], many[2, 20:40])
    other = ensemble().hours(DAYS, 60, np.array([2]), (np.uint64(12), np.uint64(0)))
    assert not np.array_equal(other.reshape(60, 24, 5), lived([2], 0, 60)[0])


def test_a_days_share_of_clear_sky_is_carried_and_its_hours_stay_below_the_ceiling() -> None:
    sky = lived(list(range(32)))
    found = donors(32, 365)
    wanted = ensemble().day_index[found] * clear().sum(axis=1)
    np.testing.assert_allclose(sky[..., GHI].sum(axis=-1), wanted, rtol=2e-3)
    assert (sky[..., GHI] <= CEILING * clear() * (1 + 1e-12)).all()
    assert (sky[..., :TEMP] >= 0.0).all()


def test_parts_add_up_and_keep_the_donor_hours_diffuse_share() -> None:
    sky = lived([0, 1, 2, 3], 60, 30)
    height = sun().cos_zenith[60:90]
    high = height > 0.2
    whole = sky[..., DHI] + sky[..., DNI] * height
    np.testing.assert_allclose(whole[:, high], sky[..., GHI][:, high], rtol=1e-12)
    share = (sky[..., DHI] / np.maximum(sky[..., GHI], 1.0))[:, high]
    found = donors(4, 90)[:, 60:]
    np.testing.assert_allclose(share, ensemble().diffuse[found][:, high], atol=1e-9)


def test_without_an_offset_a_day_comes_back_as_it_was() -> None:
    """Temperature, wind and irradiance of a donor day on its own day of the year."""
    found = donors(512, 365)
    same = np.argwhere((found % DAYS == np.arange(365)) & (np.arange(365) > 5))[::97]
    assert len(same) > 10
    for member, doy in same:
        sky = lived([int(member)], int(doy), 1)[0, 0]
        year = found[member, doy] // DAYS
        for row, name in ((GHI, "ghi"), (TEMP, "temp_air"), (WIND, "wind_speed")):
            want = getattr(record(), name)[year, doy]
            np.testing.assert_allclose(sky[:, row], want, rtol=2e-2, atol=3.0, err_msg=name)
        np.testing.assert_allclose(sky[:, TEMP], record().temp_air[year, doy], atol=1e-9)


def test_months_keep_their_sun_and_warmth() -> None:
    sky = lived(list(range(512)))
    sums = monthly_mean(sky[..., GHI].sum(axis=-1).mean(axis=0))
    own = monthly_mean(record().ghi.sum(axis=2).mean(axis=0))
    np.testing.assert_allclose(sums, own, rtol=0.03)
    warm = monthly_mean(sky[..., TEMP].mean(axis=-1).mean(axis=0))
    np.testing.assert_allclose(warm, monthly_mean(record().temp_air.mean(axis=(0, 2))), atol=0.6)


def test_irradiance_is_not_carried_between_seasons() -> None:
    """Just after the equinox blocks of 15 days before would be a fifth too dull."""
    late = [m for m in range(400) if (donors(400, 100)[m, 90] - 90) % DAYS == DAYS - 15]
    assert late
    sky = lived(late, 90, 1)[:, 0, :, GHI].sum(axis=-1)
    found = donors(400, 100)[late, 90]
    np.testing.assert_allclose(sky / clear()[90].sum(), ensemble().day_index[found], rtol=2e-3)


def test_a_members_blocks_come_from_years_like_each_other() -> None:
    """Independent blocks, one year throughout, and the share between in the years' own mean."""
    day, members = DAYS + np.arange(360), np.arange(2048)
    level = np.linspace(-1.0, 1.0, YEARS)
    for together in (0.0, 0.5, 1.0):
        mixed = replace(ensemble(), order=np.arange(YEARS), together=together)
        year = (mixed.donors(day, members, KEY) // DAYS)[:, ::BLOCK_DAYS]
        counts = np.bincount(year.ravel(), minlength=YEARS) / year.size
        np.testing.assert_allclose(counts, 1.0 / YEARS, atol=0.03)
        found = level[year].mean(axis=1).var() / level.var()
        expected = together + (1.0 - together) / year.shape[1]
        assert found == pytest.approx(expected, abs=0.08)  # ranks of six years keep a little less


def test_how_years_hold_together_is_learnt_from_the_record() -> None:
    """Years of one level and noise about it: the shuffled years differ as the record's do."""
    rng = np.random.default_rng(8)
    for sd in (0.0, 0.1, 0.3):
        level = sd * rng.standard_normal((400, 1))
        order, together = held_together(level + rng.standard_normal((400, DAYS)))
        noise = 1.0 / DAYS
        assert together == pytest.approx(sd**2 / (sd**2 + noise), abs=0.12)
        if sd:  # as near as the noise about the years' level lets them be told apart
            true = sd / np.hypot(sd, np.sqrt(noise))
            assert np.corrcoef(level[order, 0], np.arange(400))[0, 1] > true - 0.08


def test_one_year_has_no_order_to_learn() -> None:
    assert held_together(np.zeros((1, DAYS)))[1] == 0.0


def test_files_of_the_same_years_are_shuffled_alike() -> None:
    other = replace(ensemble(), order=ensemble().order[::-1].copy(), together=0.9)
    later = replace(other, years=tuple(range(1, 1 + YEARS)))
    one, two, three = like_each_other([ensemble(), other, later])
    day, members = DAYS + np.arange(90), np.arange(64)
    np.testing.assert_array_equal(one.donors(day, members, KEY), two.donors(day, members, KEY))
    assert three is later
