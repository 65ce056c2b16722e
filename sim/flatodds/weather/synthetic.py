"""The weather generator: one more day of sun, warmth and wind for a block of members.

Daily clearness K (global over extraterrestrial irradiation) is drawn through a Gaussian
copula from the place's own quantiles; its score z is the sum of a fast and a slow
autoregressive part ("two-speed"), because dull spells last longer than one-day memory
makes them, and of a small part that a member keeps all year. Such a dull year has more dull
days, but a clear day in it is as clear as ever. Hours follow the clear-sky shape with
autoregressive cloud noise and conserve the day's energy. Temperature and wind hang on z, so
that a clear winter night is cold.

Every draw is a pure function of (day, stream, member, place) and the seed.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from flatodds.lanes import LANES, inlined, outlined
from flatodds.weather.contract import DHI, DNI, GHI, TEMP, WIND
from flatodds.weather.draws import fill_normal, fill_rough
from flatodds.weather.separation import erbs_driesse

Floats = npt.NDArray[np.float64]

Z_NODES = 257  # from -4 to 4 at 32 a unit
Z_LIMIT = 4.0  # scores beyond +-4 (1 in 16,000 each side) take the outermost quantile
Z_STEPS = 32.0  # nodes per unit of z; own choice

# Streams of the counter; weather owns 1 to 63.
STREAM_DAY = np.uint64(1)  # fast, slow, temperature and wind part of a day
STREAM_YEAR = np.uint64(2)  # what a member keeps all year
STREAM_BEGIN = np.uint64(3)  # latent state before the first day
STREAM_CLOUD = np.uint64(16)  # to 21: four hours each

X, Y, Z, T, W, YEAR = range(6)  # rows of the latent state
STATE = 6

# Own comparison of three ways to spread a day over its hours against measured hours:
CLOUD_KEEP = 0.8  # autoregression of hourly cloud noise
CLOUD_NEW = 0.6  # sqrt(1 - 0.8**2)
CLOUD_SD = 0.24  # largest sd of the hourly clear-sky index, at CLOUD_CENTRE
CLOUD_CENTRE = 0.6  # clear-sky index at which hours differ most
CLOUD_REACH = 0.55  # so far from there they no longer differ
INDEX_LOW = 0.02  # no hour is blacker
CEILING = 1.15  # times clear sky; hours above it were 0 to 4 % in four hourly records

MIN_COS_ZENITH = 0.065  # pvlib.irradiance.erbs_driesse, default
COS_87 = 0.052335956242943835  # the same function's largest zenith, 87 degrees

MIN_RANGE_C = 2.0  # smallest diurnal range of a day; judgement
WARMEST_H = 15.0  # hour of the day's highest temperature; common practice, no source
WIND_KEEP = 0.52  # lag-1 of daily wind and its correlation with z, four Dutch stations
WIND_ON_Z = -0.2  # the same
DAY_WAVE = 0.5 * np.cos(2.0 * np.pi * (np.arange(24) + 0.5 - WARMEST_H) / 24.0)

G, SCALE, SUM, MEAN, SD, V, RANGE, BASE, AIR = range(9)  # rows of a day's scratch values
WORK = 9


class SyntheticTables(NamedTuple):
    """All that the generator needs to know about a place, by day of year.

    Attributes
    ----------
    k_by_z : (365, 257)
        Daily clearness index at normal score z = -4 to 4 in steps of 1/32 [1].
    h0_wh_m2, clear_wh_m2 : (365,)
        Extraterrestrial and clear-sky irradiation of the day [Wh/m2].
    clear_ghi, cos_zenith, dni_extra : (365, 24)
        Clear-sky irradiance [W/m2], sun's height [1], extraterrestrial normal [W/m2].
    fast, slow, slow_weight : (365,)
        Day-to-day correlations of the two parts of z, and the slow part's variance share.
    temp_mean_c, temp_sd_c, temp_corr, temp_lag : (365,)
        Mean, sd of the day's mean temperature [degC]; its correlation with z; the
        autoregression of what z does not explain.
    range_c, range_slope_c, k_mean : (365,)
        Diurnal range at mean clearness [degC], its rise per unit of K [degC], mean K.
    wind_mean : (365,)
        Mean wind speed [m/s].
    wind_by_z : (257,)
        Day's wind over its mean at a normal score [1].
    year_weight : (1,)
        Variance share of z that a member keeps for its whole year [1].
    wet_level : (365,)
        What a wet day's scores stay under, see `weather.moisture` [1].
    """

    k_by_z: Floats
    h0_wh_m2: Floats
    clear_ghi: Floats
    clear_wh_m2: Floats
    cos_zenith: Floats
    dni_extra: Floats
    fast: Floats
    slow: Floats
    slow_weight: Floats
    temp_mean_c: Floats
    temp_sd_c: Floats
    temp_corr: Floats
    temp_lag: Floats
    range_c: Floats
    range_slope_c: Floats
    k_mean: Floats
    wind_mean: Floats
    wind_by_z: Floats
    year_weight: Floats
    wet_level: Floats


BY_DAY = (
    "h0_wh_m2",
    "clear_wh_m2",
    "fast",
    "slow",
    "slow_weight",
    "temp_mean_c",
    "temp_sd_c",
    "temp_corr",
    "temp_lag",
    "range_c",
    "range_slope_c",
    "k_mean",
    "wind_mean",
    "year_weight",
    "wet_level",
)
(
    H0_WH_M2,
    CLEAR_WH_M2,
    FAST,
    SLOW,
    SLOW_WEIGHT,
    TEMP_MEAN_C,
    TEMP_SD_C,
    TEMP_CORR,
    TEMP_LAG,
    RANGE_C,
    RANGE_SLOPE_C,
    K_MEAN,
    WIND_MEAN,
    YEAR_WEIGHT,
    WET_LEVEL,
) = range(len(BY_DAY))  # columns of SkyTables.by_day
CLEAR_GHI, COS_ZENITH, DNI_EXTRA = range(3)  # of SkyTables.by_hour


class SkyTables(NamedTuple):
    """`SyntheticTables` as the compiled functions take them: few arrays compile faster.

    Attributes
    ----------
    k_by_z : (365, 257)
    by_day : (365, 15)
        Columns in the order of `BY_DAY`.
    by_hour : (3, 365, 24)
        Clear-sky irradiance, cosine of zenith, extraterrestrial normal irradiance.
    wind_by_z : (257,)
    """

    k_by_z: npt.NDArray[np.floating]
    by_day: npt.NDArray[np.floating]
    by_hour: npt.NDArray[np.floating]
    wind_by_z: npt.NDArray[np.floating]


def pack(tables: SyntheticTables, dtype: npt.DTypeLike) -> SkyTables:
    """Pack the tables into few arrays of one floating type."""
    columns = [np.broadcast_to(getattr(tables, name), tables.fast.shape) for name in BY_DAY]
    hours = np.stack([tables.clear_ghi, tables.cos_zenith, tables.dni_extra])
    return SkyTables(
        np.ascontiguousarray(tables.k_by_z, dtype=dtype),
        np.ascontiguousarray(np.stack(columns, axis=1), dtype=dtype),
        np.ascontiguousarray(hours, dtype=dtype),
        np.ascontiguousarray(tables.wind_by_z, dtype=dtype),
    )


@outlined
def begin_weather(tables, doy, day, first_member, place, k0, k1, state) -> None:  # type: ignore[no-untyped-def]
    """Latent state, already settled, of the evening before `day`: state (STATE, LANES)."""
    u = np.empty((4, LANES))
    w = float(tables.by_day[doy, SLOW_WEIGHT])
    whole = float(tables.by_day[doy, YEAR_WEIGHT])
    part_x, part_y = math.sqrt((1.0 - whole) * (1.0 - w)), math.sqrt((1.0 - whole) * w)
    part_year = math.sqrt(whole)
    fill_normal(np.uint64(0), STREAM_YEAR, first_member, place, k0, k1, u)
    for lane in range(LANES):
        state[YEAR, lane] = u[0, lane]
    fill_normal(day, STREAM_BEGIN, first_member, place, k0, k1, u)
    for lane in range(LANES):
        state[X, lane] = u[0, lane]
        state[Y, lane] = u[1, lane]
        state[Z, lane] = part_x * u[0, lane] + part_y * u[1, lane] + part_year * state[YEAR, lane]
        state[T, lane] = u[2, lane]
        state[W, lane] = u[3, lane]


@outlined
def advance_weather(tables, doy, day, first_member, place, k0, k1, state) -> None:  # type: ignore[no-untyped-def]
    """Move the latent state from the day before to `day`; draws no hours."""
    u = np.empty((4, LANES))
    fill_normal(day, STREAM_DAY, first_member, place, k0, k1, u)
    a = float(tables.by_day[doy, FAST])
    b = float(tables.by_day[doy, SLOW])
    w = float(tables.by_day[doy, SLOW_WEIGHT])
    t = float(tables.by_day[doy, TEMP_LAG])
    whole = float(tables.by_day[doy, YEAR_WEIGHT])
    # The part of wind that z leaves over keeps just so much that wind as a whole keeps 0.52.
    on_z = WIND_ON_Z * WIND_ON_Z
    keep_z = (1.0 - whole) * ((1.0 - w) * a + w * b) + whole
    c = (WIND_KEEP - on_z * keep_z) / (1.0 - on_z)
    new_a, new_b = math.sqrt(1.0 - a * a), math.sqrt(1.0 - b * b)
    new_t, new_c = math.sqrt(1.0 - t * t), math.sqrt(1.0 - c * c)
    part_x, part_y = math.sqrt((1.0 - whole) * (1.0 - w)), math.sqrt((1.0 - whole) * w)
    part_year = math.sqrt(whole)
    for lane in range(LANES):
        x = a * state[X, lane] + new_a * u[0, lane]
        y = b * state[Y, lane] + new_b * u[1, lane]
        state[X, lane] = x
        state[Y, lane] = y
        state[Z, lane] = part_x * x + part_y * y + part_year * state[YEAR, lane]
        state[T, lane] = t * state[T, lane] + new_t * u[2, lane]
        state[W, lane] = c * state[W, lane] + new_c * u[3, lane]


@inlined
def by_score(row, z: float) -> float:  # type: ignore[no-untyped-def]
    """Value of a table (Z_NODES,) at score z, linear between nodes."""
    at = min(max((z + Z_LIMIT) * Z_STEPS, 0.0), Z_NODES - 1.0)
    i = min(int(at), Z_NODES - 2)
    part = at - i
    low = float(row[i])
    return low + part * (float(row[i + 1]) - low)


@outlined
def _day_values(tables, doy, state, work) -> None:  # type: ignore[no-untyped-def]
    """Find what the day as a whole brings: rows G, RANGE, BASE and AIR of work."""
    f = work.dtype.type
    h0 = float(tables.by_day[doy, H0_WH_M2])
    most = CEILING * float(tables.by_day[doy, CLEAR_WH_M2])
    r = float(tables.by_day[doy, TEMP_CORR])
    sd = float(tables.by_day[doy, TEMP_SD_C])
    rest = math.sqrt(1.0 - r * r)
    mean, wind = float(tables.by_day[doy, TEMP_MEAN_C]), float(tables.by_day[doy, WIND_MEAN])
    range_c, slope = float(tables.by_day[doy, RANGE_C]), float(tables.by_day[doy, RANGE_SLOPE_C])
    k_mean = float(tables.by_day[doy, K_MEAN])
    wind_rest = math.sqrt(1.0 - WIND_ON_Z * WIND_ON_Z)
    k_row, wind_row = tables.k_by_z[doy], tables.wind_by_z
    for lane in range(LANES):
        z = state[Z, lane]
        k = by_score(k_row, z)
        work[G, lane] = f(min(k * h0, most))
        work[RANGE, lane] = f(max(range_c + slope * (k - k_mean), MIN_RANGE_C))
        work[BASE, lane] = f(mean + sd * (r * z + rest * state[T, lane]))
        score = WIND_ON_Z * z + wind_rest * state[W, lane]
        work[AIR, lane] = f(wind * by_score(wind_row, score))


@inlined
def _first_pattern(clear, keep, new, noise, work, g) -> None:  # type: ignore[no-untyped-def]
    """One hour's irradiance before the day's energy is made to fit; all rows (LANES,)."""
    f = work.dtype.type
    for lane in range(LANES):
        v = keep * work[V, lane] + new * noise[lane]
        work[V, lane] = v
        index = min(max(work[MEAN, lane] + work[SD, lane] * v, f(INDEX_LOW)), f(CEILING))
        g[lane] = clear * index
        work[SUM, lane] += clear * index


@inlined
def _scale(work) -> None:  # type: ignore[no-untyped-def]
    """Factor that brings the hours' sum to the day's energy; clears the sum."""
    f = work.dtype.type
    for lane in range(LANES):
        work[SCALE, lane] = work[G, lane] / max(work[SUM, lane], f(1e-6))
        work[SUM, lane] = f(0.0)


@inlined
def _scaled(most, work, g) -> None:  # type: ignore[no-untyped-def]
    """Scale one hour, not above its ceiling."""
    for lane in range(LANES):
        x = min(g[lane] * work[SCALE, lane], most)
        g[lane] = x
        work[SUM, lane] += x


@inlined
def _separate(most, cos_zenith, extra, work, g, direct, diffuse) -> None:  # type: ignore[no-untyped-def]
    """Finish one hour's global irradiance and split it; rows (LANES,)."""
    f = work.dtype.type
    divisor = max(cos_zenith, f(MIN_COS_ZENITH))
    per_cos = f(1.0) / divisor
    per_extra = f(1.0) / (extra * divisor)
    beam = per_cos if cos_zenith > f(COS_87) else f(0.0)
    keep = f(0.0) if cos_zenith > f(COS_87) else f(1.0)
    for lane in range(LANES):
        x = g[lane] + work[SCALE, lane] * (most - g[lane])
        g[lane] = x
        fraction = max(erbs_driesse(min(x * per_extra, f(1.0))), keep)
        diffuse[lane] = fraction * x
        direct[lane] = (x - fraction * x) * beam


@inlined
def _shares(clear_day, work) -> None:  # type: ignore[no-untyped-def]
    """Mean and sd of the hourly clear-sky index from the day's: rows MEAN, SD; SUM, V = 0."""
    f = work.dtype.type
    per_day = f(1.0) / max(clear_day, f(1e-6))
    for lane in range(LANES):
        c = min(max(work[G, lane] * per_day, f(INDEX_LOW)), f(CEILING))
        away = (c - f(CLOUD_CENTRE)) * f(1.0 / CLOUD_REACH)
        work[MEAN, lane] = c
        work[SD, lane] = f(CLOUD_SD) * max(f(1.0) - away * away, f(0.0))
        work[SUM, lane] = f(0.0)
        work[V, lane] = f(0.0)


@inlined
def _left_over(clear_day, work) -> None:  # type: ignore[no-untyped-def]
    """Share of every hour's room below the ceiling that the day's missing energy fills."""
    f = work.dtype.type
    for lane in range(LANES):
        missing = max(work[G, lane] - work[SUM, lane], f(0.0))
        room = f(CEILING) * clear_day - work[SUM, lane]
        work[SCALE, lane] = min(missing / max(room, f(1e-6)), f(1.0))


@outlined
def _sunshine(clear, day_sum, cosines, extras, day, first_member, place, k0, k1, work, sky) -> None:  # type: ignore[no-untyped-def]
    """Hours of global, direct and diffuse irradiance; dark hours are 0.

    clear, cosines, extras (24,): clear sky, sun's height, extraterrestrial of the hours.
    """
    f = sky.dtype.type
    ceiling = f(CEILING)
    keep, new = f(0.0), f(1.0)  # the first hour's cloud is drawn afresh
    _shares(day_sum, work)
    for group in range(6):
        h = 4 * group
        if max(clear[h], clear[h + 1], clear[h + 2], clear[h + 3]) > 0.0:
            stream = STREAM_CLOUD + np.uint64(group)
            fill_rough(day, stream, first_member, place, k0, k1, sky[DHI, h : h + 4])
            for i in range(h, h + 4):
                _first_pattern(f(clear[i]), keep, new, sky[DHI, i], work, sky[GHI, i])
                keep, new = f(CLOUD_KEEP), f(CLOUD_NEW)
    for _ in range(3):
        _scale(work)
        for h in range(24):
            if clear[h] > 0.0:
                _scaled(ceiling * f(clear[h]), work, sky[GHI, h])
    _left_over(day_sum, work)
    for h in range(24):
        if clear[h] > 0.0:
            most = ceiling * f(clear[h])
            cos_zenith, extra = f(cosines[h]), f(extras[h])
            _separate(most, cos_zenith, extra, work, sky[GHI, h], sky[DNI, h], sky[DHI, h])
        else:
            sky[: DHI + 1, h] = f(0.0)


@inlined
def _air(wave, work, temp, wind) -> None:  # type: ignore[no-untyped-def]
    """One hour's temperature and wind; rows (LANES,)."""
    for lane in range(LANES):
        temp[lane] = work[BASE, lane] + wave * work[RANGE, lane]
        wind[lane] = work[AIR, lane]


@outlined
def draw_day(tables, doy, day, first_member, place, k0, k1, state, sky) -> None:  # type: ignore[no-untyped-def]
    """Advance to `day` and write its hours.

    Parameters
    ----------
    tables : SyntheticTables in the dtype of sky
    doy : int
        Day of the year, 0 to 364.
    day, first_member, place, k0, k1 : int
        Counter and key; lane i holds member first_member + i.
    state : float64 (STATE, LANES)
        As `begin_weather` or the day before left it.
    sky : float32 or float64 (SKY, 24, LANES)
        Receives ghi, dni, dhi [W/m2], temp_air [degC], wind_speed [m/s].
    """
    f = sky.dtype.type
    work = np.empty((WORK, LANES), sky.dtype)
    advance_weather(tables, doy, day, first_member, place, k0, k1, state)
    _day_values(tables, doy, state, work)
    clear, day_sum = tables.by_hour[CLEAR_GHI, doy], f(tables.by_day[doy, CLEAR_WH_M2])
    cosines, extras = tables.by_hour[COS_ZENITH, doy], tables.by_hour[DNI_EXTRA, doy]
    _sunshine(clear, day_sum, cosines, extras, day, first_member, place, k0, k1, work, sky)
    for h in range(24):
        _air(f(DAY_WAVE[h]), work, sky[TEMP, h], sky[WIND, h])
