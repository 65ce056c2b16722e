"""What the generator learns from several real years: clearness, its memory, air and wind.

The memory of clearness is fitted to dull days only: the correlation that makes two dull days
as frequent together as they were. Scores of all days would mix in clear spells, which follow
another rule, and the slow drift of an instrument, which is no weather at all.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from flatodds.sun import DAYS
from flatodds.weather.ensembles import HoursOfYears
from flatodds.weather.moisture import clearness_scores
from flatodds.weather.tables import (
    MID_MONTH,
    MONTH_DAYS,
    MONTH_OF_DAY,
    WINDOW_DAYS,
    AirClimate,
    Floats,
    mid_month_weights,
    monthly_mean,
    yearly_course,
)

FIT_YEARS = 8  # fewer years hold too few dull spells to fit their memory; judgement
AIR_YEARS = 5  # the same for the swings of temperature; judgement
DULL_P = (0.2, 0.3)  # what counts as dull: lowest fifth, lowest three tenths; own choice
LAGS = np.arange(1, 16)  # days that memory is fitted to; own choice
LAG_WEIGHT = np.where(LAGS <= 3, 2.0, 1.0)  # the first three count double; judgement
TAU_DAYS = np.arange(4.0, 26.0)  # memory of the slow part that is tried [d]; own choice
SLOW_TRIED = np.arange(0.0, 0.51, 0.02)  # shares of the slow part; own choice
FAST_TRIED = np.arange(0.0, 0.91, 0.01)  # lag-1 of the fast part; own choice
DULL_MONTHS = 6  # half of the year; own choice
AIR_WINDOW_DAYS = 45  # half width of the season that a month's swings are learnt from; judgement
MAX_CORR = 0.9  # of temperature with clearness, and of its memory; keeps both invertible


def season_scores(k: Floats) -> Floats:
    """Rank of each day within its season as a normal score, (year, 365) like k."""
    return clearness_scores(k, WINDOW_DAYS, around=True)


def both_below(p: float, rho: Floats) -> Floats:
    """Chance that two normal scores of correlation rho are both below the p quantile.

    Its slope in rho is the bivariate density at that point (Plackett 1954).
    """
    from scipy.special import ndtri

    z = float(ndtri(p))
    r = np.linspace(-0.99, 0.99, 3961)
    slope = np.exp(-(z * z) / (1.0 + r)) / (2.0 * math.pi * np.sqrt(1.0 - r * r))
    area = np.concatenate([[0.0], np.cumsum(0.5 * (slope[1:] + slope[:-1]) * np.diff(r))])
    area += p * p - np.interp(0.0, r, area)
    return np.asarray(np.interp(rho, r, area))


def dull_correlation(z: Floats, months: npt.NDArray[np.bool_]) -> Floats:
    """Correlation at each of `LAGS` seen in dull days, (15,).

    Parameters
    ----------
    z : ndarray, (year, 365)
        From `season_scores`, years following each other.
    months : ndarray of bool, (365,)
        Days that pairs may begin on.
    """
    from scipy.special import ndtri

    rho = np.linspace(-0.5, 0.95, 291)
    flat = z.ravel()
    begins = np.tile(months, z.shape[0])
    found = np.zeros(LAGS.size)
    for p in DULL_P:
        dull = flat < ndtri(p)
        chance = both_below(p, rho)
        for at, lag in enumerate(LAGS):
            pair = dull[:-lag] & dull[lag:]
            seen = pair[begins[:-lag]].mean()
            found[at] += np.interp(seen, chance, rho) / len(DULL_P)
    return found


def two_speeds(rho: Floats) -> tuple[float, float, float]:
    """Fast and slow correlation and the slow weight that best follow rho at `LAGS`."""
    slow = np.exp(-1.0 / TAU_DAYS)[:, None] ** LAGS
    fast = FAST_TRIED[:, None] ** LAGS
    best = (math.inf, 0.0, 0.0, 0.0)
    for weight in SLOW_TRIED:
        model = (1.0 - weight) * fast[:, None] + weight * slow[None]
        miss = ((model - rho) ** 2 * LAG_WEIGHT).sum(axis=-1)
        i, j = np.unravel_index(int(miss.argmin()), miss.shape)
        if miss[i, j] < best[0]:
            best = (float(miss[i, j]), float(FAST_TRIED[i]), float(slow[j, 0]), float(weight))
    return best[1:]


def fitted_dependence(
    k: Floats, ghi_wh_m2: Floats, year_weight: float
) -> tuple[Floats, Floats, Floats]:
    """Fast and slow day-to-day correlation and slow weight, (365,) each.

    Fitted apart for the six dullest and the six brightest months in a row. What lasts a whole
    year is modelled beside both and is taken off first, or it would count twice.

    Parameters
    ----------
    k, ghi_wh_m2 : ndarray, (year, 365)
        Daily clearness and global irradiation [Wh/m2], years following each other.
    year_weight : float
        Variance share of the score that lasts a whole year, see `tables.year_share` [1].
    """
    by_month = monthly_mean(ghi_wh_m2.mean(axis=0)) * MONTH_DAYS
    halves = [by_month[np.arange(m, m + DULL_MONTHS) % 12].sum() for m in range(12)]
    dull_months = np.arange(DULL_MONTHS) + int(np.argmin(halves))
    dull = np.isin(MONTH_OF_DAY, dull_months % 12)
    z = season_scores(k)
    out = tuple(np.empty(DAYS) for _ in range(3))
    for half in (dull, ~dull):
        rho = (dull_correlation(z, half) - year_weight) / (1.0 - year_weight)
        for array, value in zip(out, two_speeds(rho), strict=True):
            array[half] = value
    return out[0], out[1], out[2]


def air_of_years(record: HoursOfYears, k: Floats, season: AirClimate) -> AirClimate:
    """Temperature and wind learnt from several years of hours.

    With fewer than `AIR_YEARS` years, correlation, memory and the season of the swings come
    from the season table, as for a single year.

    Parameters
    ----------
    k : ndarray, (year, 365)
        Daily clearness.
    season : AirClimate
        Of the place's climate.
    """
    daily = record.temp_air.mean(axis=2)
    mean = yearly_course(daily.mean(axis=0))
    anomaly = daily - mean
    weights = mid_month_weights()
    span = (record.temp_air.max(axis=2) - record.temp_air.min(axis=2)).mean(axis=0)
    sd, corr, lag1 = season.sd_c, season.corr, season.lag1
    if len(record.years) >= AIR_YEARS:
        sd, corr, lag1 = (weights @ part for part in _swings(anomaly, season_scores(k)))
    else:
        sd = sd * float(np.sqrt(np.mean(anomaly**2) / np.mean(sd**2)))
    return AirClimate(
        mean_c=mean,
        sd_c=sd,
        corr=corr,
        lag1=lag1,
        range_c=weights @ monthly_mean(span),
        wind=weights @ monthly_mean(record.wind_speed.mean(axis=(0, 2))),
    )


def _swings(anomaly: Floats, z: Floats) -> tuple[Floats, Floats, Floats]:
    """Sd of the anomaly [degC], its correlation with z and its lag-1, (12,) each."""
    flat, score = anomaly.ravel(), z.ravel()
    doy = np.tile(np.arange(DAYS), anomaly.shape[0])
    out = np.empty((3, 12))
    for month in range(12):
        away = np.abs((doy - MID_MONTH[month] + DAYS / 2.0) % DAYS - DAYS / 2.0)
        here = away <= AIR_WINDOW_DAYS
        pairs = np.flatnonzero(here[:-1])
        out[0, month] = flat[here].std()
        out[1, month] = np.corrcoef(flat[here], score[here])[0, 1]
        out[2, month] = np.corrcoef(flat[pairs], flat[pairs + 1])[0, 1]
    corr = np.clip(np.nan_to_num(out[1]), -MAX_CORR, MAX_CORR)
    lag1 = np.clip(np.nan_to_num(out[2]), 0.0, MAX_CORR)
    return np.maximum(out[0], 0.1), corr, lag1
