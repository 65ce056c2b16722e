"""From what is known about a place to the tables the weather generator reads."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Protocol

import numpy as np
import numpy.typing as npt

from flatodds.sun import DAYS, REFERENCE_YEAR, SunTable
from flatodds.weather.moisture import share_by_clearness, wet_level
from flatodds.weather.synthetic import CEILING, Z_LIMIT, Z_NODES, SyntheticTables

Floats = npt.NDArray[np.float64]

P_NODES = 129  # quantiles are kept at p = 0, 1/128 ... 1
PROBABILITY = np.linspace(0.0, 1.0, P_NODES)
Z_GRID = np.linspace(-Z_LIMIT, Z_LIMIT, Z_NODES)

MONTH_DAYS = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
MONTH_OF_DAY = np.repeat(np.arange(12), MONTH_DAYS)
MID_MONTH = np.cumsum(MONTH_DAYS) - MONTH_DAYS / 2.0  # in days since 1 January 0 h

MIN_K = 0.01  # a day is never blacker than this; cleaned station records reach 0.012
MIN_H0_WH_M2 = 200.0  # below this K is noise: the sun hardly rises; judgement
POLAR_K = 0.35  # K given to such days; judgement, it multiplies next to nothing
# Variance share of the clearness score that lasts a whole year. Months of the records above 50
# degrees know nothing of the month before (correlation .0 to .1); nearer the equator they keep
# .1 to .4 over half a year, and without such a share their years came out a third too alike
# (own comparison, DEVELOPERS.md; the values are judgement).
YEAR_WEIGHT_AT_DEG = (33.0, 45.0)
YEAR_WEIGHT = (0.015, 0.0)

# Default two-speed dependence, from nine multi-year daily records and tested on six others:
SLOW_WEIGHT = 0.04  # .10 asked too much sun for week-long draining; rest: YEAR_WEIGHT
SLOW_DAYS = 12.0  # memory of the slow part
FAST_AT_DEG = (0.0, 7.0, 15.0, 33.0, 42.0)
FAST = (0.20, 0.25, 0.42, 0.42, 0.25)

RANGE_SLOPE_C = 14.0  # rise of the diurnal range per unit K within a month: same records
WIND_CV = 0.39  # sd over mean of daily wind within a month: four Dutch stations

WINDOW_DAYS = 15  # quantiles of a month come from its middle +-15 days
SPREAD_TURNS = 15  # enough for a month's spread to settle to 1 in 1,000
SPREAD_BAND = 0.05  # a month's sd is not known better from some twenty years; judgement
SPREAD_LEAST = 0.8  # how far dull days may be drawn in; judgement
WARM_HARMONICS = 3  # of the yearly course of temperature fitted to one year; judgement
SD_RATIO = (0.7, 1.4)  # how far one file may move the season table's sd; judgement


class YearOfHours(Protocol):
    """The part of one year's hourly record that the generator learns from, (365, 24) each."""

    @property
    def ghi(self) -> Floats: ...  # noqa: D102  [W/m2]
    @property
    def temp_air(self) -> Floats: ...  # noqa: D102  [degC]
    @property
    def wind_speed(self) -> Floats: ...  # noqa: D102  [m/s]


@dataclass(frozen=True, slots=True)
class MonthlyK:
    """Distribution of daily clearness in each month.

    Attributes
    ----------
    quantiles : ndarray, (12, 129)
        Daily clearness index at p = j/128 around the middle of each month [1].
    ghi_wh_m2 : ndarray, (12,)
        Mean daily global irradiation of the calendar month, met exactly [Wh/m2].
    sd_wh_m2 : ndarray, (12,), or None
        Sd of the month's days, exceeded by at most `SPREAD_BAND` [Wh/m2]; None: not known.
    """

    quantiles: Floats
    ghi_wh_m2: Floats
    sd_wh_m2: Floats | None = None


@dataclass(frozen=True, slots=True)
class AirClimate:
    """Temperature and wind by day of year, (365,) each.

    Attributes
    ----------
    mean_c, sd_c : ndarray
        Mean and sd of the day's mean temperature [degC].
    corr, lag1 : ndarray
        Correlation of its anomaly with the clearness score; lag-1 autocorrelation.
    range_c : ndarray
        Mean diurnal range [degC].
    wind : ndarray
        Mean wind speed [m/s].
    """

    mean_c: Floats
    sd_c: Floats
    corr: Floats
    lag1: Floats
    range_c: Floats
    wind: Floats


def mid_month_weights() -> Floats:
    """Weights (365, 12) of the two nearest mid-months for the middle of every day."""
    day = np.arange(DAYS) + 0.5
    nodes = np.concatenate([[MID_MONTH[-1] - DAYS], MID_MONTH, [MID_MONTH[0] + DAYS]])
    weights = np.zeros((DAYS, 12))
    upper = np.searchsorted(nodes, day, side="right")
    part = (day - nodes[upper - 1]) / (nodes[upper] - nodes[upper - 1])
    rows = np.arange(DAYS)
    weights[rows, (upper - 2) % 12] += 1.0 - part
    weights[rows, (upper - 1) % 12] += part
    return weights


def monthly_mean(by_day: Floats) -> Floats:
    """Calendar-month means (12, ...) of something by day of year (365, ...)."""
    starts = np.concatenate([[0], np.cumsum(MONTH_DAYS)[:-1]])
    sums = np.add.reduceat(by_day, starts, axis=0)
    return np.asarray(sums / MONTH_DAYS.reshape(-1, *[1] * (by_day.ndim - 1)))


def score_weights() -> Floats:
    """Weights (257,) whose sum with a table over z is its mean under the normal law.

    Exact for a table that is linear between nodes and constant beyond the ends.
    """
    from scipy.special import ndtr

    step = Z_GRID[1] - Z_GRID[0]
    density = np.exp(-0.5 * Z_GRID**2) / math.sqrt(2.0 * math.pi)
    mass = np.diff(ndtr(Z_GRID))
    moment = -np.diff(density)  # integral of z times the density over each cell
    upper = (moment - Z_GRID[:-1] * mass) / step
    weights = np.zeros(Z_NODES)
    weights[:-1] += mass - upper
    weights[1:] += upper
    weights[0] += ndtr(-Z_LIMIT)
    weights[-1] += ndtr(-Z_LIMIT)
    return weights


def clear_sky(latitude: float, longitude: float, elevation_m: float, sun: SunTable) -> Floats:
    """Clear-sky global irradiance at mid-hour, (365, 24) [W/m2].

    Ineichen and Perez (Solar Energy 73, 2002) with the monthly Linke turbidity that pvlib
    carries. It gives the day's shape and, times 1.15, its ceiling.
    """
    import pandas as pd
    from pvlib import atmosphere, clearsky

    middle = pd.to_datetime([f"{REFERENCE_YEAR}-{month:02d}-15" for month in range(1, 13)])
    by_month = clearsky.lookup_linke_turbidity(
        middle.tz_localize("UTC"), latitude, longitude, interp_turbidity=False
    )
    turbidity = mid_month_weights() @ by_month.to_numpy(dtype=np.float64)
    airmass = atmosphere.get_absolute_airmass(
        atmosphere.get_relative_airmass(sun.zenith_deg), atmosphere.alt2pres(elevation_m)
    )
    with np.errstate(divide="ignore", invalid="ignore"):
        sky = clearsky.ineichen(
            sun.zenith_deg, airmass, turbidity[:, None], elevation_m, sun.dni_extra
        )
    return np.maximum(np.nan_to_num(np.asarray(sky["ghi"], dtype=np.float64)), 0.0)


def daily_clearness(ghi_wh_m2: Floats, h0_wh_m2: Floats) -> Floats:
    """Divide daily global by extraterrestrial irradiation [Wh/m2], any shape."""
    h0 = np.broadcast_to(h0_wh_m2, ghi_wh_m2.shape)
    lit = h0 >= MIN_H0_WH_M2
    return np.where(lit, ghi_wh_m2 / np.where(lit, h0, 1.0), POLAR_K)


def windowed_quantiles(k: Floats, half_width: int = WINDOW_DAYS) -> Floats:
    """Quantiles (12, 129) of daily clearness k (year, 365) around each mid-month."""
    out = np.empty((12, P_NODES))
    for month in range(12):
        middle = int(MID_MONTH[month])
        days = np.arange(middle - half_width, middle + half_width + 1) % DAYS
        out[month] = np.quantile(k[:, days], PROBABILITY)
    return out


def clearness_from_days(ghi_wh_m2: Floats, h0_wh_m2: Floats) -> MonthlyK:
    """Monthly clearness of a record's own days: ghi_wh_m2 (year, 365) [Wh/m2]."""
    quantiles = windowed_quantiles(daily_clearness(ghi_wh_m2, h0_wh_m2))
    spread = [ghi_wh_m2[:, m == MONTH_OF_DAY].std() for m in range(12)]
    return MonthlyK(quantiles, monthly_mean(ghi_wh_m2.mean(axis=0)), np.array(spread))


def clearness_table(k: MonthlyK, h0_wh_m2: Floats, clear_wh_m2: Floats) -> Floats:
    """Daily clearness at every score, (365, 257), with every month's mean irradiation exact.

    Months are scaled again and again, because interpolation in time and the clear-sky
    ceiling both move their means. A month that comes out too wide, because it borrows its
    neighbours' dull days, has its dull side drawn in; none is drawn out, since that would
    make days duller than any of the record.
    """
    from scipy.special import ndtr

    p = np.asarray(ndtr(Z_GRID))
    nodes = np.stack([np.interp(p, PROBABILITY, row) for row in k.quantiles])
    weights, by_score = mid_month_weights(), score_weights()
    most = CEILING * clear_wh_m2 / np.maximum(h0_wh_m2, 1.0)
    scale, wide = np.ones((12, 1)), np.ones((12, 1))
    middle = (nodes @ by_score)[:, None]
    away = nodes - middle
    table = np.empty((DAYS, Z_NODES))
    for turn in range(60):
        months = scale * (middle + np.where(away > 0.0, 1.0, wide) * away)
        table = np.minimum(np.maximum(weights @ months, MIN_K), most[:, None])
        mean = monthly_mean(table @ by_score * h0_wh_m2)
        ratio = np.where(mean > 1.0, k.ghi_wh_m2 / np.maximum(mean, 1.0), 1.0)
        if np.abs(ratio - 1.0).max() < 1e-9 and turn >= SPREAD_TURNS:
            break
        scale = np.clip(scale * ratio[:, None], 0.2, 5.0)
        if k.sd_wh_m2 is not None and turn < SPREAD_TURNS:
            squares = monthly_mean((table * h0_wh_m2[:, None]) ** 2 @ by_score)
            sd = np.sqrt(np.maximum(squares - mean**2, 1.0))
            off = np.minimum(k.sd_wh_m2 * (1.0 + SPREAD_BAND) / sd, 1.0)
            wide = np.maximum(wide * off[:, None], SPREAD_LEAST)
    return table


def default_dependence(latitude: float) -> tuple[Floats, Floats, Floats]:
    """Fast and slow day-to-day correlation and the slow part's weight, (365,) each."""
    fast = float(np.interp(abs(latitude), FAST_AT_DEG, FAST))
    slow = math.exp(-1.0 / SLOW_DAYS)
    return np.full(DAYS, fast), np.full(DAYS, slow), np.full(DAYS, SLOW_WEIGHT)


def year_share(latitude: float) -> float:
    """Variance share of the clearness score that lasts a whole year, by latitude [1]."""
    return float(np.interp(abs(latitude), YEAR_WEIGHT_AT_DEG, YEAR_WEIGHT))


def wind_table() -> Floats:
    """Day's wind over its mean at every score, (257,): a gamma law of cv 0.39."""
    from scipy.special import gammaincinv, ndtr

    shape = 1.0 / WIND_CV**2
    return np.asarray(gammaincinv(shape, ndtr(Z_GRID)) / shape)


def synthetic_tables(
    latitude: float,
    sun: SunTable,
    clear_ghi: Floats,
    k: MonthlyK,
    air: AirClimate,
    dependence: tuple[Floats, Floats, Floats] | None = None,
    year_weight: float | None = None,
) -> SyntheticTables:
    """Put a place's sun, clearness and air together for the generator.

    Parameters
    ----------
    clear_ghi : ndarray, (365, 24)
        Clear-sky global irradiance [W/m2].
    dependence : three ndarrays (365,), optional
        Fast and slow correlation and slow weight; by default those of the latitude.
    year_weight : float, optional
        Share of what lasts a whole year; by default that of the latitude.
    """
    if year_weight is None:
        year_weight = year_share(latitude)
    fast, slow, weight = dependence or default_dependence(latitude)
    clear_wh = clear_ghi.sum(axis=1)
    table = clearness_table(k, sun.h0_wh_m2, clear_wh)
    k_mean = table @ score_weights()
    lag1_z = (1.0 - year_weight) * ((1.0 - weight) * fast + weight * slow) + year_weight
    r2 = air.corr**2
    return SyntheticTables(
        k_by_z=table,
        h0_wh_m2=sun.h0_wh_m2,
        clear_ghi=clear_ghi,
        clear_wh_m2=clear_wh,
        cos_zenith=sun.cos_zenith,
        dni_extra=sun.dni_extra,
        fast=fast,
        slow=slow,
        slow_weight=weight,
        temp_mean_c=air.mean_c,
        temp_sd_c=air.sd_c,
        temp_corr=air.corr,
        temp_lag=np.clip((air.lag1 - r2 * lag1_z) / (1.0 - r2), 0.0, 0.98),
        range_c=air.range_c,
        range_slope_c=np.full(DAYS, RANGE_SLOPE_C),
        k_mean=k_mean,
        wind_mean=air.wind,
        wind_by_z=wind_table(),
        year_weight=np.array([year_weight]),
        wet_level=wet_level(share_by_clearness(k_mean)),
    )


def yearly_course(by_day: Floats, harmonics: int = WARM_HARMONICS) -> Floats:
    """Smooth yearly course (365,) of a daily series (365,): mean and lowest harmonics."""
    spectrum = np.fft.rfft(by_day)
    spectrum[harmonics + 1 :] = 0.0
    return np.fft.irfft(spectrum, DAYS)


def air_of_year(year: YearOfHours, season: AirClimate) -> AirClimate:
    """Temperature and wind learnt from one year of hours.

    Mean, range and wind are the file's own; correlation, memory and the seasonal pattern of
    the sd come from the season table, scaled by one ratio, because a season of one year
    holds too few independent spells (about a dozen) to give its own sd.
    """
    daily = year.temp_air.mean(axis=1)
    mean = yearly_course(daily)
    sd = season.sd_c
    ratio = float(np.sqrt(np.mean((daily - mean) ** 2) / np.mean(sd**2)))
    weights = mid_month_weights()
    span = year.temp_air.max(axis=1) - year.temp_air.min(axis=1)
    return AirClimate(
        mean_c=mean,
        sd_c=sd * float(np.clip(ratio, *SD_RATIO)),
        corr=season.corr,
        lag1=season.lag1,
        range_c=weights @ monthly_mean(span),
        wind=np.maximum(weights @ monthly_mean(year.wind_speed.mean(axis=1)), 0.0),
    )
