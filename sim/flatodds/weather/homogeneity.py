"""What in a long record is the instrument's doing, or a copy: found by tests, taken out.

No stationary generator should copy a sensor that was changed, a year that failed, or years
that were filled in from others. Each is looked for by a published test of yearly means; what
the tests do not find stays in.
"""

from __future__ import annotations

import math

import numpy as np

from flatodds.weather.ensembles import Floats

LEVEL = 0.05  # of both tests; common practice
SHUFFLES = 2000  # of the step test; its critical value moves by less than 2 % with more
COPIED_FRAC = 0.05  # of days alike to the last digit; chance alone reaches .03 in the records
COPIED_WH_M2 = 1.0  # less than files tell apart; judgement
LEAST_YEARS = 8  # no record is shortened below this, and none so short is tested for steps
LEAST_PART = 2  # years on either side of a step; judgement


def copies(ghi_wh_m2: Floats) -> np.ndarray[tuple[int, ...], np.dtype[np.bool_]]:
    """Years (year,) whose days repeat those of an earlier year, from (year, 365)."""
    out = np.zeros(len(ghi_wh_m2), dtype=bool)
    for year in range(1, len(ghi_wh_m2)):
        alike = np.abs(ghi_wh_m2[:year] - ghi_wh_m2[year]) < COPIED_WH_M2
        out[year] = (alike.mean(axis=1) > COPIED_FRAC).any()
    return out


def outlier(yearly: Floats) -> int | None:
    """Tell which year is no year of this record, if any.

    Grubbs, "Procedures for detecting outlying observations in samples", Technometrics 11
    (1969), two-sided.
    """
    from scipy.stats import t

    n = yearly.size
    away = np.abs(yearly - yearly.mean()) / yearly.std(ddof=1)
    beyond = float(t.isf(LEVEL / (2 * n), n - 2)) ** 2
    limit = (n - 1) / math.sqrt(n) * math.sqrt(beyond / (n - 2 + beyond))
    worst = int(np.argmax(away))
    return worst if away[worst] > limit else None


def step(yearly: Floats) -> int | None:
    """First year after the likeliest step of the mean, None if chance may have made it.

    Standard normal homogeneity test: Alexandersson, "A homogeneity test applied to
    precipitation data", Journal of Climatology 6 (1986); its critical value by permutation.
    """
    n = yearly.size
    if n < LEAST_YEARS:
        return None
    scores = (yearly - yearly.mean()) / yearly.std(ddof=1)
    rng = np.random.default_rng(1986)
    mixed = rng.permuted(np.tile(scores, (SHUFFLES, 1)), axis=1)
    first = np.arange(LEAST_PART, n - LEAST_PART + 1)

    def strength(rows: Floats) -> Floats:
        sums = np.cumsum(rows, axis=-1)[..., first - 1]
        return np.asarray(sums**2 * (1.0 / first + 1.0 / (n - first)))

    found = strength(scores)
    chance = np.mean(strength(mixed).max(axis=1) >= found.max())
    return int(first[np.argmax(found)]) if chance < LEVEL else None


def parts(yearly: Floats) -> list[slice]:
    """Stretches of years between steps, found by splitting at the likeliest again and again."""
    at = step(yearly)
    if at is None:
        return [slice(0, yearly.size)]
    after = [slice(at + p.start, at + p.stop) for p in parts(yearly[at:])]
    return parts(yearly[:at]) + after


def sound_years(ghi_wh_m2: Floats) -> np.ndarray[tuple[int, ...], np.dtype[np.int64]]:
    """Rows of a record that are neither copies of others nor outliers, in order."""
    keep = np.flatnonzero(~copies(ghi_wh_m2))
    while keep.size > LEAST_YEARS:
        bad = outlier(ghi_wh_m2[keep].mean(axis=1))
        if bad is None:
            break
        keep = np.delete(keep, bad)
    return keep


def without_steps(ghi_wh_m2: Floats) -> Floats:
    """Record (year, 365) with every stretch between steps brought to the same mean."""
    out = ghi_wh_m2.copy()
    for part in parts(ghi_wh_m2.mean(axis=1)):
        out[part] *= ghi_wh_m2.mean() / ghi_wh_m2[part].mean()
    return out
