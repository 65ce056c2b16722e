"""The generator: its law, its memory, the day's energy, and draws that depend on nothing else."""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from functools import cache
from typing import Any

import numpy as np
import numpy.typing as npt
import pytest
from scipy import stats
from scipy.special import ndtr

from flatodds.lanes import LANES
from flatodds.sun import SunTable, sun_table
from flatodds.weather import preview, seasons, synthetic, tables
from flatodds.weather.contract import DHI, DNI, GHI, SKY, TEMP, WIND
from flatodds.weather.synthetic import CEILING, STATE, YEAR, SyntheticTables, Z
from flatodds.weather.tables import PROBABILITY, Z_GRID, monthly_mean

Floats = npt.NDArray[np.float64]
LATITUDE = 47.0
BLOCKS = 16


@cache
def sun() -> SunTable:
    return sun_table(LATITUDE, 8.0, 400.0, 1)


@cache
def made(year_weight: float = 0.0) -> SyntheticTables:
    """An invented place with a dull winter and a bright summer."""
    bright = 0.40 - 0.12 * np.cos(2 * np.pi * (np.arange(12) + 0.5) / 12)
    power = (0.70 - 0.03) / (bright - 0.03) - 1.0  # then the mean is as bright as that
    q = 0.03 + (0.70 - 0.03) * PROBABILITY ** power[:, None]
    k = tables.MonthlyK(q, np.trapezoid(q, PROBABILITY, axis=1) * monthly_mean(sun().h0_wh_m2))
    normals = 9.0 - 10.0 * np.cos(2 * np.pi * (np.arange(12) - 0.5) / 12)
    air = seasons.season_air(LATITUDE, normals, np.full(12, 9.0), np.full(12, 3.0))
    clear = tables.clear_sky(LATITUDE, 8.0, 400.0, sun())
    return tables.synthetic_tables(LATITUDE, sun(), clear, k, air, year_weight=year_weight)


def block(
    first: int = 0,
    days: int = 365,
    *,
    unseen: int = 0,
    seed: int = 3,
    dtype: Any = np.float32,
    year_weight: float = 0.0,
) -> tuple[Floats, npt.NDArray[Any]]:
    """Latent states (day, STATE, LANES) and skies (day, SKY, 24, LANES)."""
    states, skies = np.empty((days, STATE, LANES)), np.empty((days, SKY, 24, LANES), dtype)
    cast = synthetic.pack(made(year_weight), dtype)
    key = np.uint64(seed), np.uint64(9)
    preview.draw_block(cast, 0, unseen, np.uint64(first), *key, states, skies)
    return states, skies


@cache
def many() -> tuple[Floats, Floats, Floats]:
    """Scores (day, member), daily GHI [Wh/m2], and (4, day, member): temperature, span, wind."""
    z, ghi, air = [], [], []
    for number in range(BLOCKS):
        states, skies = block(number * LANES)
        z.append(states[:, Z])
        ghi.append(skies[:, GHI].sum(axis=1, dtype=np.float64))
        temp, wind = skies[:, TEMP], skies[:, WIND]
        span = temp.max(axis=1) - temp.min(axis=1)
        air.append(np.stack([temp.mean(axis=1, dtype=np.float64), span, wind[:, 12], wind[:, 3]]))
    return np.concatenate(z, 1), np.concatenate(ghi, 1), np.concatenate(air, 2)


def expected_wh(states: Floats, doys: npt.NDArray[np.int64], year_weight: float = 0.0) -> Floats:
    """Day's irradiation that the latent state asks for, (day, LANES) [Wh/m2]."""
    place = made(year_weight)
    k = np.stack([np.interp(states[i, Z], Z_GRID, place.k_by_z[d]) for i, d in enumerate(doys)])
    wh = k * place.h0_wh_m2[doys, None]
    return np.asarray(np.minimum(wh, CEILING * place.clear_wh_m2[doys, None]))


def test_score_is_standard_normal_every_day() -> None:
    z, _, _ = many()
    n = z.shape[1]
    for day in (0, 1, 100, 364):
        assert stats.kstest(z[day], "norm").pvalue > 1e-3
    assert abs(z.var() - 1.0) < 0.02
    assert np.abs(z.mean(axis=1)).max() < 4.5 / np.sqrt(n)


@pytest.mark.validation
def test_score_remembers_by_the_two_speed_formula() -> None:
    """Correlation at lag k is (1 - w) a^k + w b^k."""
    z, _, _ = many()
    a, b, w = (float(x[0]) for x in tables.default_dependence(LATITUDE))
    for lag in (1, 2, 3, 5, 8, 13):
        wanted = (1 - w) * a**lag + w * b**lag
        found = np.mean(z[lag:] * z[:-lag]) / z.var()
        assert found == pytest.approx(wanted, abs=0.006)


def test_dull_days_follow_dull_days_as_a_gaussian_pair_does() -> None:
    """Chance that two days running are both in their dullest fifth."""
    z, ghi, _ = many()
    dull = ghi < np.quantile(ghi, 0.2, axis=1, keepdims=True)
    rho = float(np.mean(z[1:] * z[:-1]) / z.var())
    at = stats.norm.ppf(0.2)
    wanted = stats.multivariate_normal([0, 0], [[1, rho], [rho, 1]]).cdf([at, at])
    assert np.mean(dull[1:] & dull[:-1]) == pytest.approx(wanted, abs=0.002)
    assert wanted > 0.05  # more than the fifth of a fifth of unrelated days


def test_monthly_means_are_the_tables_own() -> None:
    _, ghi, _ = many()
    place = made()
    wanted = monthly_mean(place.k_mean * place.h0_wh_m2)
    np.testing.assert_allclose(monthly_mean(ghi.mean(axis=1)), wanted, rtol=0.01)


def test_clearness_follows_its_quantiles() -> None:
    _, ghi, _ = many()
    place = made()
    for day in (15, 105, 196, 288):
        k = ghi[day] / place.h0_wh_m2[day]
        p = ndtr(np.interp(k, place.k_by_z[day], Z_GRID))
        assert stats.kstest(p, "uniform").pvalue > 1e-3


@pytest.mark.parametrize(("dtype", "rtol"), [(np.float64, 1e-12), (np.float32, 3e-6)])
def test_hours_add_up_to_the_day(dtype: Any, rtol: float) -> None:
    """Energy is conserved exactly: the hours hold what the day's clearness asks for."""
    for seed in (1, 2):
        states, skies = block(0, 365, seed=seed, dtype=dtype, year_weight=0.1)
        total = skies[:, GHI].sum(axis=1, dtype=np.float64)
        np.testing.assert_allclose(total, expected_wh(states, np.arange(365), 0.1), rtol=rtol)


def test_hours_stay_below_the_ceiling_and_dark_hours_are_dark() -> None:
    _, skies = block(dtype=np.float64)
    clear = made().clear_ghi[:, :, None]
    assert (skies[:, GHI] <= CEILING * clear * (1 + 1e-12)).all()
    assert (skies[:, :TEMP][:, :, :, 0].transpose(0, 2, 1)[clear[..., 0] == 0.0] == 0.0).all()
    assert (skies[:, [GHI, DNI, DHI]] >= 0.0).all()
    assert np.isfinite(skies).all()


def test_global_is_diffuse_and_beam() -> None:
    _, skies = block(dtype=np.float64)
    cos_zenith = made().cos_zenith[:, :, None]
    closed = skies[:, DHI] + skies[:, DNI] * np.maximum(cos_zenith, 0.065)
    high = np.broadcast_to(cos_zenith > np.cos(np.radians(87.0)), closed.shape)
    np.testing.assert_allclose(closed[high], skies[:, GHI][high], atol=1e-9)
    assert (skies[:, DNI][~high] == 0.0).all()
    np.testing.assert_array_equal(skies[:, DHI][~high], skies[:, GHI][~high])
    assert (skies[:, DNI] <= made().dni_extra[:, :, None]).all()


def test_clouds_come_and_go_on_mixed_days_only() -> None:
    """Within a day the clear-sky index varies most at half-clear days, least at clear ones."""
    states, skies = block(days=365)
    noon = slice(9, 15)
    index = skies[:, GHI, noon] / made().clear_ghi[:, noon, None]
    spread = index.std(axis=1)
    c = expected_wh(states, np.arange(365)) / made().clear_wh_m2[:, None]
    mixed, clear = (c > 0.5) & (c < 0.7), c > 1.08
    assert np.median(spread[mixed]) > 0.1
    assert np.median(spread[mixed]) > 3.0 * np.median(spread[clear])


def test_a_member_keeps_its_year_and_the_score_stays_standard_normal() -> None:
    states = np.concatenate([block(n * LANES, 200, year_weight=0.3)[0] for n in range(8)], 2)
    years = states[:, YEAR]
    assert (years == years[0]).all()
    assert states[:, Z].var() == pytest.approx(1.0, abs=0.1)
    kept = np.corrcoef(states[5, Z], states[195, Z])[0, 1]
    assert kept == pytest.approx(0.3, abs=0.15)
    assert np.abs(np.corrcoef(block()[0][5, Z], block()[0][195, Z])[0, 1]) < 0.4


def test_temperature_has_its_mean_spread_and_memory() -> None:
    z, _, (temp, span, _, _) = many()
    place = made()
    off = temp - place.temp_mean_c[:, None]
    assert np.abs(monthly_mean(off.mean(axis=1))).max() < 0.35
    np.testing.assert_allclose(off.std(axis=1), place.temp_sd_c, rtol=0.1)
    for day in (15, 196):
        days = slice(day - 10, day + 11)
        pairs = [np.corrcoef(off[d], z[d])[0, 1] for d in range(day - 10, day + 11)]
        assert np.mean(pairs) == pytest.approx(place.temp_corr[days].mean(), abs=0.03)
        kept = [np.corrcoef(off[d], off[d + 1])[0, 1] for d in range(day - 10, day + 11)]
        r2 = place.temp_corr[day] ** 2
        z1 = (1 - place.slow_weight[day]) * place.fast[day] + place.slow_weight[day] * place.slow[
            day
        ]
        assert np.mean(kept) == pytest.approx(r2 * z1 + (1 - r2) * place.temp_lag[day], abs=0.02)
    # Hours are sampled half past, so the day's span is cos(7.5 degrees) of the range.
    assert span.mean() / np.cos(np.pi / 24) == pytest.approx(9.0, abs=0.15)


def test_clear_days_have_wide_spans() -> None:
    _, ghi, (_, span, _, _) = many()
    place = made()
    k = ghi[196] / place.h0_wh_m2[196]
    slope = np.polyfit(k, span[196] / np.cos(np.pi / 24), 1)[0]
    assert slope == pytest.approx(place.range_slope_c[196], rel=0.1)
    assert span.min() >= 2.0 * np.cos(np.pi / 24) - 1e-4


def test_wind_has_its_mean_spread_and_memory() -> None:
    z, _, (_, _, wind, night) = many()
    np.testing.assert_array_equal(wind, night)
    assert wind.mean() == pytest.approx(3.0, rel=0.01)
    assert wind.std() / wind.mean() == pytest.approx(0.39, abs=0.01)
    ranks = stats.norm.ppf(stats.rankdata(wind, axis=1) / (wind.shape[1] + 1))
    assert np.mean(ranks[1:] * ranks[:-1]) / ranks.var() == pytest.approx(0.52, abs=0.01)
    assert np.corrcoef(ranks.ravel(), z.ravel())[0, 1] == pytest.approx(-0.2, abs=0.01)


def test_single_and_double_precision_tell_the_same_weather() -> None:
    single_states, single = block(days=90)
    double_states, double = block(days=90, dtype=np.float64)
    assert np.abs(single_states - double_states).max() < 1e-5
    off = single.astype(np.float64) - double
    assert np.abs(off[:, [GHI, DHI]]).max() < 0.05
    assert np.abs(off[:, TEMP]).max() < 1e-3


def test_a_member_alone_is_the_same_as_in_its_block() -> None:
    whole, _ = preview.generate_days(made(), 70, 30, 5)
    alone, _ = preview.generate_days(made(), 1, 30, 5, first_member=66)
    np.testing.assert_array_equal(alone[0], whole[66])


def test_unseen_days_leave_the_seen_ones_alone() -> None:
    states, skies = block(days=20)
    later_states, later = block(days=8, unseen=12)
    np.testing.assert_array_equal(later, skies[12:])
    np.testing.assert_array_equal(later_states, states[12:])


def test_members_seeds_and_days_differ() -> None:
    states, _ = block(days=5)
    assert np.unique(states[:, Z]).size == 5 * LANES
    other, _ = block(days=5, seed=4)
    assert abs(np.corrcoef(states[:, Z].ravel(), other[:, Z].ravel())[0, 1]) < 0.25


def digest(number: int) -> str:
    _, skies = block(number * LANES, 40)
    return hashlib.sha256(skies.tobytes()).hexdigest()


def test_threads_do_not_change_a_bit() -> None:
    serial = [digest(number) for number in range(6)]
    with ThreadPoolExecutor(3) as pool:
        assert list(pool.map(digest, reversed(range(6)))) == serial[::-1]
    assert len(set(serial)) == 6


PLAIN = """
import sys, numpy as np
sys.path.insert(0, sys.argv[1])
import test_synthetic
states, skies = test_synthetic.block(days=2, unseen=1, dtype=np.float64, year_weight=0.05)
np.savez(sys.argv[2], states=states, skies=skies)
"""


def test_plain_python_tells_the_same_weather(tmp_path: Any) -> None:
    """The uncompiled functions are the specification; the compiled ones must agree to 1e-9."""
    out = tmp_path / "plain.npz"
    environment = {**os.environ, "NUMBA_DISABLE_JIT": "1", "PYTHONPATH": os.pathsep.join(sys.path)}
    command = [sys.executable, "-W", "error", "-c", PLAIN, os.path.dirname(__file__), str(out)]
    subprocess.run(command, env=environment, check=True, timeout=120)  # noqa: S603
    states, skies = block(days=2, unseen=1, dtype=np.float64, year_weight=0.05)
    with np.load(out) as plain:
        np.testing.assert_allclose(plain["states"], states, atol=1e-9)
        np.testing.assert_allclose(plain["skies"], skies, atol=1e-9, rtol=1e-9)
