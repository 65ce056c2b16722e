"""Plain-Python twin, weather: one member's sun, air and wind, and what panels make of it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

from flatodds.engine.twin_draws import Luck, normal_score, polynomial, table_row, uniform
from flatodds.solar.geometry import Planes
from flatodds.weather import moisture as m
from flatodds.weather import synthetic as w
from flatodds.weather.contract import DHI, DNI, GHI, TEMP, WIND
from flatodds.weather.synthetic import SyntheticTables
from flatodds.weather.travel import STREAM_AWAY, STREAM_AWAY_YEAR

# Diffuse share by clearness between the dull and the clear branch, constant term first:
# Driesse, Jensen and Perez, Solar Energy 267 (2024), as pvlib.irradiance.erbs_driesse has it.
MIDDLING = (
    0.946296633571001,
    -0.11390583806313881,
    4.246926715218317,
    -16.470508424697304,
    12.26911439571261,
)


class SkyHour(NamedTuple):
    """Weather of one hour: global, beam normal, diffuse [W/m2], air [deg C], wind [m/s]."""

    ghi: float
    dni: float
    dhi: float
    temp_air: float
    wind_speed: float


@dataclass(slots=True)
class Mood:
    """What the weather remembers from day to day; all are standard scores.

    `fast`, `slow` and `year` are the memories of clearness, of which a member keeps `year` for
    good, and `clearness` is their mixture; `warmth` and `wind` are what it does not explain.
    """

    fast: float
    slow: float
    clearness: float
    warmth: float
    wind: float
    year: float


def settled(tables: SyntheticTables, doy: int, day: int, luck: Luck) -> Mood:
    """Weather as it may be found after a long time."""
    fast, slow, warmth, wind = luck.scores(day, int(w.STREAM_BEGIN))
    year = luck.scores(0, int(w.STREAM_YEAR))[0]
    return Mood(fast, slow, _mixed(fast, slow, year, tables, doy), warmth, wind, year)


def _mixed(fast: float, slow: float, year: float, tables: SyntheticTables, doy: int) -> float:
    """Mix the clearness score: three parts whose shares of its variance add up to 1."""
    of_slow, of_year = float(tables.slow_weight[doy]), float(tables.year_weight[0])
    days = math.sqrt(1.0 - of_slow) * fast + math.sqrt(of_slow) * slow
    return math.sqrt(1.0 - of_year) * days + math.sqrt(of_year) * year


def pass_a_day(mood: Mood, tables: SyntheticTables, doy: int, day: int, luck: Luck) -> None:
    """Move the weather on from yesterday to `day`: first-order autoregressions of variance 1."""
    weight, of_year = float(tables.slow_weight[doy]), float(tables.year_weight[0])
    keep_fast, keep_slow = float(tables.fast[doy]), float(tables.slow[doy])
    # Wind as a whole keeps WIND_KEEP; part of that comes by way of clearness.
    keep_days = (1.0 - weight) * keep_fast + weight * keep_slow
    by_clearness = w.WIND_ON_Z**2 * ((1.0 - of_year) * keep_days + of_year)
    keep_wind = (w.WIND_KEEP - by_clearness) / (1.0 - w.WIND_ON_Z**2)
    new = luck.scores(day, int(w.STREAM_DAY))
    mood.fast = _remember(mood.fast, keep_fast, new[0])
    mood.slow = _remember(mood.slow, keep_slow, new[1])
    mood.clearness = _mixed(mood.fast, mood.slow, mood.year, tables, doy)
    mood.warmth = _remember(mood.warmth, float(tables.temp_lag[doy]), new[2])
    mood.wind = _remember(mood.wind, keep_wind, new[3])


def travel(mood: Mood, kept: float, day: int, luck: Luck) -> None:
    """Go to another place: of every score a part stays, `kept`, and the rest is that place's."""
    fast, slow, warmth, wind = (
        normal_score(uniform(n)) for n in luck.words(day, int(STREAM_AWAY), 0)
    )
    year = normal_score(uniform(luck.words(day, int(STREAM_AWAY_YEAR), 0)[0]))
    mood.fast = _remember(mood.fast, kept, fast)
    mood.slow = _remember(mood.slow, kept, slow)
    mood.warmth = _remember(mood.warmth, kept, warmth)
    mood.wind = _remember(mood.wind, kept, wind)
    mood.year = _remember(mood.year, kept, year)


def _remember(old: float, keep: float, new: float) -> float:
    return keep * old + math.sqrt(1.0 - keep**2) * new


class Moisture(NamedTuple):
    """Dew point of a day [deg C], and whether rain or snow, and whether snow, falls on it."""

    dew_c: float
    wet: bool
    snow: bool


def moisture(
    hours: list[SkyHour], clearness: float, tables: SyntheticTables, doy: int, day: int, luck: Luck
) -> Moisture:
    """Tell the moisture of a day from its hours and its clearness score."""
    warmth = [hour.temp_air for hour in hours]
    lowest = min(warmth)
    dry = m.DEW_PER_RANGE * (max(warmth) - lowest) - m.DEW_DRY_C
    own = luck.noise(day, int(m.STREAM_WET))[0]
    wet = m.WET_SLOPE * clearness + own < float(tables.wet_level[doy])
    snow = wet and sum(warmth) / 24.0 <= m.SNOW_C
    return Moisture(lowest - max(dry, 0.0), wet, snow)


def drawn_day(mood: Mood, tables: SyntheticTables, doy: int, day: int, luck: Luck) -> list[SkyHour]:
    """Move on to `day` and draw its 24 hours."""
    pass_a_day(mood, tables, doy, day, luck)
    k = by_score(table_row(tables.k_by_z, doy), mood.clearness)
    most_wh_m2 = w.CEILING * float(tables.clear_wh_m2[doy])
    sun_wh_m2 = min(k * float(tables.h0_wh_m2[doy]), most_wh_m2)
    correlation = float(tables.temp_corr[doy])
    alone = math.sqrt(1.0 - correlation**2)
    warmth = correlation * mood.clearness + alone * mood.warmth
    mean_c = float(tables.temp_mean_c[doy]) + float(tables.temp_sd_c[doy]) * warmth
    clearer = k - float(tables.k_mean[doy])
    range_c = float(tables.range_c[doy]) + float(tables.range_slope_c[doy]) * clearer
    range_c = max(range_c, w.MIN_RANGE_C)
    windy = w.WIND_ON_Z * mood.clearness + math.sqrt(1.0 - w.WIND_ON_Z**2) * mood.wind
    wind_m_s = float(tables.wind_mean[doy]) * by_score(table_row(tables.wind_by_z), windy)
    return [
        SkyHour(ghi, dni, dhi, mean_c + range_c * _day_wave(hour), wind_m_s)
        for hour, (ghi, dni, dhi) in enumerate(_sunshine(tables, doy, day, sun_wh_m2, luck))
    ]


def _day_wave(hour: int) -> float:
    """Course of temperature over the day, as a share of its range about the mean."""
    return 0.5 * math.cos(2.0 * math.pi * (hour + 0.5 - w.WARMEST_H) / 24.0)


def by_score(values: list[float], score: float) -> float:
    """Value of a table over standard scores, straight between its nodes and flat outside."""
    at = (score + w.Z_LIMIT) * w.Z_STEPS
    at = min(max(at, 0.0), w.Z_NODES - 1.001)
    node = int(at)
    return values[node] + (at - node) * (values[node + 1] - values[node])


def _sunshine(
    tables: SyntheticTables, doy: int, day: int, sun_wh_m2: float, luck: Luck
) -> list[tuple[float, float, float]]:
    """Global, beam normal and diffuse irradiance of each hour [W/m2], from the day's sum."""
    clear = table_row(tables.clear_ghi, doy)
    clear_wh_m2 = float(tables.clear_wh_m2[doy])
    ghi = _cloudy_pattern(clear, sun_wh_m2, clear_wh_m2, day, luck)
    most = [w.CEILING * value for value in clear]
    for _ in range(3):  # bring the sum to the day's, hours never above their ceilings
        scale = sun_wh_m2 / max(sum(ghi), 1e-6)
        ghi = [min(value * scale, limit) for value, limit in zip(ghi, most, strict=True)]
    missing = max(sun_wh_m2 - sum(ghi), 0.0)
    room = w.CEILING * clear_wh_m2 - sum(ghi)
    fill = min(missing / max(room, 1e-6), 1.0)
    ghi = [value + fill * (limit - value) for value, limit in zip(ghi, most, strict=True)]
    height = table_row(tables.cos_zenith, doy)
    extra = table_row(tables.dni_extra, doy)
    return [
        _separated(ghi[h], height[h], extra[h]) if clear[h] > 0.0 else (0.0, 0.0, 0.0)
        for h in range(24)
    ]


def _cloudy_pattern(
    clear: list[float], sun_wh_m2: float, clear_wh_m2: float, day: int, luck: Luck
) -> list[float]:
    """Clear-sky hours under autoregressive clouds, not yet of the right sum [W/m2].

    Clouds are drawn four hours at a time from the first four with any light.
    """
    index = min(max(sun_wh_m2 / max(clear_wh_m2, 1e-6), w.INDEX_LOW), w.CEILING)
    away = (index - w.CLOUD_CENTRE) / w.CLOUD_REACH
    spread = w.CLOUD_SD * max(1.0 - away**2, 0.0)
    cloud: float | None = None
    ghi = [0.0] * 24
    for group in range(6):
        hours = range(4 * group, 4 * group + 4)
        if all(clear[hour] <= 0.0 for hour in hours):
            continue
        for hour, noise in zip(hours, luck.noise(day, int(w.STREAM_CLOUD) + group), strict=True):
            cloud = noise if cloud is None else w.CLOUD_KEEP * cloud + w.CLOUD_NEW * noise
            ghi[hour] = clear[hour] * min(max(index + spread * cloud, w.INDEX_LOW), w.CEILING)
    return ghi


def _separated(ghi: float, cos_zenith: float, extra: float) -> tuple[float, float, float]:
    """Global irradiance with its beam normal and diffuse parts [W/m2].

    All is diffuse when the sun stands under 3 degrees.
    """
    if cos_zenith <= w.COS_87:
        return ghi, 0.0, ghi
    sine = max(cos_zenith, w.MIN_COS_ZENITH)
    diffuse = diffuse_share(min(ghi / (extra * sine), 1.0)) * ghi
    return ghi, (ghi - diffuse) / sine, diffuse


def diffuse_share(clearness: float) -> float:
    """Diffuse over global irradiance at an hourly clearness index (Erbs-Driesse model)."""
    if clearness > 0.792:
        return 0.165
    if clearness > 0.216:
        return polynomial(MIDDLING, clearness)
    return 1.0 - 0.09 * clearness


def panel_share(planes: Planes, group: int, doy: int, hour: int, sky: SkyHour) -> float:
    """Power of an array group over its label power [1].

    Light on the cells is beam, diffuse partly from round the sun and partly from the whole
    sky (Hay-Davies), and light from the ground; warm cells give less.
    """
    if not planes.daylight[doy, hour]:
        return 0.0
    per_kelvin, loss_still, loss_wind, stow_wind = table_row(planes.groups, group)[:4]
    if sky.wind_speed > stow_wind:
        return 0.0
    beam, round_sun, sky_seen, ground_seen = table_row(planes.taken, group, doy, hour)
    clear_part = sky.dni * float(planes.per_extra[doy, hour])
    diffuse = sky.dhi * (sky.dni * round_sun + (1.0 - clear_part) * sky_seen)
    light = max(sky.dni * beam + diffuse + sky.ghi * ground_seen, 0.0)
    cell_c = sky.temp_air + light / (loss_still + loss_wind * sky.wind_speed)
    return max(light / 1000.0 * (1.0 + per_kelvin * (cell_c - 25.0)), 0.0)


def table_day(values: list[list[float]]) -> list[SkyHour]:
    """Hours of a weather table, each in the order of the weather contract."""
    return [SkyHour(row[GHI], row[DNI], row[DHI], row[TEMP], row[WIND]) for row in values]
