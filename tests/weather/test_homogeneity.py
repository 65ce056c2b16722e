"""Copies, outliers and steps are found where they were put in, and seldom where they were not."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest

from flatodds.weather.homogeneity import copies, outlier, parts, sound_years, step, without_steps

Floats = npt.NDArray[np.float64]


def record(years: int, seed: int = 0, spread: float = 0.04) -> Floats:
    """Invented days (year, 365) [Wh/m2] whose years differ by `spread`."""
    rng = np.random.default_rng(seed)
    level = 1.0 + spread * rng.normal(size=(years, 1))
    return np.asarray(4000.0 * level * rng.uniform(0.3, 1.3, (years, 365)))


def test_copied_years_are_dropped_and_their_first_stays() -> None:
    days = record(12)
    days[7] = days[2]
    days[9, 100:180] = days[4, 100:180]  # a fifth of the year filled in
    assert np.flatnonzero(copies(days)).tolist() == [7, 9]
    assert sound_years(days).tolist() == [0, 1, 2, 3, 4, 5, 6, 8, 10, 11]


def test_a_failed_year_is_no_year() -> None:
    days = record(20)
    assert outlier(days.mean(axis=1)) is None
    days[13] *= 0.6
    assert outlier(days.mean(axis=1)) == 13
    assert 13 not in sound_years(days)


def test_grubbs_limit_is_the_published_one() -> None:
    """Two-sided at 5 %: 2.290 for ten values, 2.709 for twenty (Grubbs 1969, table of limits)."""
    for n, limit in ((10, 2.290), (20, 2.709)):
        others = np.random.default_rng(1).normal(size=n - 1)
        others = (others - others.mean()) / others.std()

        def away(x: float, others: Floats = others) -> tuple[float, bool]:
            values = np.append(others, x)
            worst = (values - values.mean()) / values.std(ddof=1)
            return float(worst[-1]), outlier(values) is not None

        reach = [away(x) for x in np.linspace(1.5, 8.0, 2000)]
        first = next(z for z, found in reach if found)
        assert first == pytest.approx(limit, abs=0.01)


def test_a_changed_instrument_is_found_and_mended() -> None:
    days = record(24)
    days[:9] *= 1.15
    assert step(days.mean(axis=1)) == 9
    mended = without_steps(days)
    assert mended.mean() == pytest.approx(days.mean(), rel=1e-3)
    yearly, before = mended.mean(axis=1), days.mean(axis=1)
    assert yearly.std() < 0.7 * before.std()
    assert [part.start for part in parts(before)][:2] == [0, 9]


def test_sound_records_are_seldom_called_stepped() -> None:
    """One in twenty by chance; 200 records, so 3 to 8 % with sampling error."""
    found = [step(record(20, seed).mean(axis=1)) is not None for seed in range(200)]
    assert 0.01 < np.mean(found) < 0.09
    days = record(20, 2)
    if step(days.mean(axis=1)) is None:
        assert (without_steps(days) == days).all()
