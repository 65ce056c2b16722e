"""Spells: against hand-made days and against counting them one by one."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest

from flatodds.sun import DAYS
from flatodds.weather.spells import (
    MONTH_LENGTH,
    DailyWeather,
    dullness,
    longest_runs,
    months,
    spell_means,
    worst_spells,
)

Floats = npt.NDArray[np.float64]
DEC_1 = 334


def daily(sun: Floats, first_year: int | None = 2001) -> DailyWeather:
    return DailyWeather(sun, np.zeros_like(sun) + 5.0, first_year, "here", "made up")


def winter(years: int, low: float = 2.0, high: float = 6.0) -> Floats:
    """One record whose Nov, Dec and Jan days are `low`, all others `high`."""
    year = np.full(DAYS, high)
    year[:31] = low
    year[304:] = low
    return np.tile(year, years)[None, :]


def test_flat_winters_have_no_spells() -> None:
    found = dullness(daily(winter(4)))
    assert found.first_month == 10
    assert found.seasons == 3
    assert found.sun_kwh_m2 == pytest.approx(2.0)
    assert (found.longest_days.mean, found.longest_days.worst) == (0.0, 0.0)
    assert found.longest_days.tenth is None
    for spread in found.worst_kwh_m2.values():
        assert (spread.mean, spread.worst) == pytest.approx((2.0, 2.0))


def test_a_spell_over_new_year_is_one_spell() -> None:
    sun = winter(3)
    sun[0, DAYS - 4 : DAYS + 3] = 0.5  # 28 Dec 2001 to 3 Jan 2002
    found = dullness(daily(sun))
    assert found.longest_days.worst == 7
    assert found.longest_days.mean == 3.5
    assert found.worst_kwh_m2[7].worst == pytest.approx(0.5)
    assert found.worst_kwh_m2[5].worst == pytest.approx(0.5)
    assert found.worst_kwh_m2[7].mean == pytest.approx(1.25)
    [first, second] = worst_spells(daily(sun), 10, 7, 9)
    assert (first.first_day, first.series) == (DAYS - 4, 0)
    assert first.sun_kwh_m2 == pytest.approx(0.5)
    assert second.sun_kwh_m2 == pytest.approx(2.0)


def test_half_of_the_months_own_mean_is_the_limit() -> None:
    sun = winter(3)
    sun[0, DEC_1 : DEC_1 + 3] = 1.0
    mean = (2.0 * 31 * 3 - 3.0) / (31 * 3)  # of December
    assert dullness(daily(sun)).longest_days.worst == 0  # 1.0 is above half of 1.968
    sun[0, DEC_1 : DEC_1 + 3] = 0.5 * mean * 0.97
    assert dullness(daily(sun)).longest_days.worst == 3


def test_spells_outside_the_quarter_do_not_count() -> None:
    sun = winter(3)
    sun[0, 180:200] = 0.1
    assert dullness(daily(sun)).longest_days.worst == 0


def test_southern_winter_and_generated_pairs() -> None:
    sun = np.tile(np.roll(winter(2), 182, axis=1), (20, 1))
    sun[3, DAYS + 170 : DAYS + 177] = 0.3
    found = dullness(daily(sun, None))
    assert found.first_month in (4, 5)
    assert found.seasons == 40
    assert found.longest_days.worst == 7
    assert found.longest_days.tenth == 0.0
    assert worst_spells(daily(sun, None), found.first_month, 7, 1)[0].series == 3


def test_months_and_their_dull_year() -> None:
    sun = np.concatenate([np.full(DAYS, float(level)) for level in range(1, 13)])[None, :]
    found = months(daily(sun))
    np.testing.assert_allclose(found.sun_kwh_m2, 6.5)
    np.testing.assert_allclose(found.dull_kwh_m2, np.quantile(np.arange(1.0, 13.0), 0.1))
    np.testing.assert_allclose(found.temp_c, 5.0)
    few = months(daily(sun[:, : 3 * DAYS]))
    np.testing.assert_allclose(few.dull_kwh_m2, 1.0)
    assert MONTH_LENGTH.tolist() == [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]


@pytest.mark.law
def test_as_counted_one_by_one() -> None:
    rng = np.random.default_rng(11)
    sun = winter(12) * rng.uniform(0.1, 1.9, (1, 12 * DAYS))
    found = dullness(daily(sun))
    days, mean = sun[0], months(daily(sun)).sun_kwh_m2
    longest, worst5, worst7 = [], [], []
    for year in range(11):
        start = year * DAYS + 304
        season = days[start : start + 92]
        limits = np.repeat(mean[[10, 11, 0]], [30, 31, 31]) / 2
        run = best = 0
        for value, limit in zip(season, limits, strict=True):
            run = run + 1 if value < limit else 0
            best = max(best, run)
        longest.append(best)
        worst5.append(min(season[i : i + 5].mean() for i in range(88)))
        worst7.append(min(season[i : i + 7].mean() for i in range(86)))
    assert found.seasons == 11
    assert found.longest_days.mean == pytest.approx(np.mean(longest))
    assert found.longest_days.tenth == pytest.approx(np.quantile(longest, 0.9))
    for length, values in ((5, worst5), (7, worst7)):
        spread = found.worst_kwh_m2[length]
        assert spread.mean == pytest.approx(np.mean(values))
        assert spread.tenth == pytest.approx(np.quantile(values, 0.1))
        assert spread.worst == pytest.approx(min(values))


def test_small_pieces() -> None:
    mask = np.array([[1, 1, 0, 1], [0, 0, 0, 0], [1, 1, 1, 1], [0, 1, 1, 1]], dtype=bool)
    assert longest_runs(mask).tolist() == [2, 0, 4, 3]
    means = spell_means(np.array([[1.0, 2.0, 3.0, 6.0]]), 2)
    np.testing.assert_allclose(means, [[1.5, 2.5, 4.5]])


def test_one_winter_is_no_season() -> None:
    with pytest.raises(ValueError, match="no whole season"):
        dullness(daily(winter(1)))
