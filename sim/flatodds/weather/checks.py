"""Whether whole years of hours can be weather at their place, and by a right clock.

What these checks cannot see is a wrong value that is still possible.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from flatodds.errors import Problem, WeatherError
from flatodds.weather.clock import SunHours, clock_problems, sun_hours
from flatodds.weather.contract import (
    BOUNDS,
    DIFFUSE_ABOVE_GLOBAL,
    DIFFUSE_LIT_W_M2,
    DIFFUSE_SHARE_FRAC,
)
from flatodds.weather.hours import YEAR_H, Grid
from flatodds.weather.rows import Floats, Raw

Bools = npt.NDArray[np.bool_]

# Physically possible limits, Long and Dutton, BSRN Global Network recommended QC tests, v2.0
# (2002): factor and added constant [W/m2] of Sa * mu0**1.2; DNI at most Sa; nothing below -4.
POSSIBLE = {"ghi": (1.5, 100.0), "dhi": (0.95, 50.0)}
POWER = 1.2
LOWEST_W_M2 = -4.0
DARK_ZENITH_DEG = 90.0  # apparent: the sun's centre on the horizon
DARK_W_M2 = 10.0  # judgement: twilight gives a few W/m2 at most
DAY_LIT_WH_M2 = 500.0  # judgement: below it the day's share of the top of the atmosphere is noise
# Share of the yearly radiation at the top of the atmosphere; judgement: dullest and brightest
# places known lie near 0.25 and 0.78, from memory.
YEAR_SHARE = (0.15, 0.85)
NOTED_SHARE_FRAC = 0.01  # judgement: fewer hours of dhi above ghi are not worth a word
WINDIEST_YEAR_M_S = 20.0  # judgement: the windiest station's yearly mean, from memory
CLOSURE_FRAC = 0.10  # judgement: yearly dhi + dni * cos(zenith) against ghi
UNIT_FACTORS = (
    (3.6, "kJ/m2 an hour: divide by 3.6"),
    (10.0, "ten times too large"),
    (0.001, "kW/m2: multiply by 1000"),
    (1.0 / 24.0, "kWh/m2 a day in Wh, spread over the hours"),
)


def judge(grid: Grid) -> SunHours:
    """Refuse hours that cannot be; returns the sun they were judged by."""
    sun = sun_hours(grid.raw.site, grid.raw.mid_h, _beyond_h(grid.raw))
    problems = _bound_problems(grid, sun) + _night_problems(grid, sun)
    problems += _wind_problem(grid) + _share_problems(grid, sun)
    problems += _diffuse_problem(grid)
    if not problems:
        problems = _closure_problem(grid, sun) + clock_problems(grid)
    if problems:
        raise WeatherError(problems)
    return sun


def _beyond_h(raw: Raw) -> float:
    """How far values that stand for the time around a full hour reach beyond their hour [h]."""
    on_the_hour = raw.centred or raw.mid_h == 0.0
    return raw.step_min / 120.0 if on_the_hour else 0.0


def _report(grid: Grid, name: str, bad: Bools, why: str, hint: str) -> list[Problem]:
    """One problem for all the hours that break one rule, placed at the first of them."""
    if not bad.any():
        return []
    slot = int(np.flatnonzero(bad.ravel())[0])
    value = float(grid.values[name].ravel()[slot])
    count = int(bad.sum())
    more = f" {count} such hours in all." if count > 1 else ""
    return [Problem(grid.at(slot), f"{name} is {value:g}; {why.format(slot=slot)}.{more}", hint)]


def _bound_problems(grid: Grid, sun: SunHours) -> list[Problem]:
    """Values outside what is physically possible for the hour."""
    problems = []
    hint = _unit_hint(grid, sun)
    limits = {
        name: factor * sun.dni_extra * sun.cos_high**POWER + added
        for name, (factor, added) in POSSIBLE.items()
    }
    limits["dni"] = sun.dni_extra
    for name, limit in limits.items():
        if name not in grid.values:
            continue
        values = grid.values[name]
        bad = (values > limit) | (values < LOWEST_W_M2)
        if bad.any():
            slot = int(np.flatnonzero(bad.ravel())[0])
            top = float(limit.ravel()[slot % YEAR_H])
            why = f"{LOWEST_W_M2:g} to {top:.0f} W/m2 is possible then"
            problems += _report(grid, name, bad, why, hint)
    for name in ("temp_air", "wind_speed"):
        low, high, unit, _ = BOUNDS[name]
        values = grid.values[name]
        bad = (values < low) | (values > high)
        why = f"{low:g} to {high:g} {unit} is possible"
        problems += _report(grid, name, bad, why, _temperature_hint(values, name))
    return problems


def _temperature_hint(values: Floats, name: str) -> str:
    """Which other scale the temperatures may be in."""
    if name != "temp_air":
        return ""
    middle = float(np.nanmean(values))
    if 220.0 < middle < 320.0:
        return "These look like kelvin: subtract 273.15."
    if 20.0 < middle < 110.0:
        return "Are these degrees Fahrenheit? flatodds takes degC."
    return ""


def _year_share(grid: Grid, sun: SunHours) -> float:
    """Global radiation over that at the top of the atmosphere, all years."""
    ghi = grid.values["ghi"]
    top = np.broadcast_to(sun.cos_mid * sun.dni_extra, ghi.shape)[~np.isnan(ghi)].sum()
    return float(np.nansum(ghi) / top) if top > 0 else 0.0


def _unit_hint(grid: Grid, sun: SunHours) -> str:
    """Name the unit that would make the year's radiation possible, if one does."""
    share = _year_share(grid, sun)
    low, high = YEAR_SHARE
    if low <= share <= high:
        return ""
    for factor, what in UNIT_FACTORS:
        if low <= share / factor <= high:
            return f"The values look like {what}. flatodds takes W/m2."
    return "Radiation is taken in W/m2, as the mean of each hour."


def _night_problems(grid: Grid, sun: SunHours) -> list[Problem]:
    """Sunshine while the sun is down for the whole hour."""
    problems = []
    dark = sun.lowest_zenith_deg > DARK_ZENITH_DEG
    for name in ("ghi", "dni", "dhi"):
        if name in grid.values:
            bad = (grid.values[name] > DARK_W_M2) & dark
            problems += _report(
                grid,
                name,
                bad,
                f"the sun is down for the whole hour, at most {DARK_W_M2:g} W/m2 is possible",
                "Check the file's place, time zone and clock (no summer time).",
            )
    return problems


def _wind_problem(grid: Grid) -> list[Problem]:
    """Find a yearly mean wind that no place has."""
    mean = float(np.nanmean(grid.values["wind_speed"]))
    if mean <= WINDIEST_YEAR_M_S:
        return []
    where = grid.raw.source.name
    found = f"wind_speed is {mean:.1f} m/s on average; up to {WINDIEST_YEAR_M_S:g} is possible."
    return [Problem(where, found, "Are columns exchanged, or is it in km/h?")]


def _share_problems(grid: Grid, sun: SunHours) -> list[Problem]:
    """Days brighter than the top of the atmosphere, and impossible years."""
    problems = []
    top = (sun.cos_mid * sun.dni_extra).sum(axis=1)
    day = np.nansum(grid.values["ghi"], axis=2)
    bad = np.repeat(((day > top) & (top > DAY_LIT_WH_M2))[..., None], 24, axis=2)
    if bad.any():
        slot = int(np.flatnonzero(bad.ravel())[0])
        problems.append(
            Problem(
                grid.at(slot + 12),
                f"ghi adds up to {float(day.ravel()[slot // 24]):.0f} Wh/m2 on this day; "
                f"{float(top[(slot % YEAR_H) // 24]):.0f} reach the top of the atmosphere. "
                f"{int(bad.sum()) // 24} such days in all.",
                "Check the latitude's sign and the units.",
            )
        )
    share = _year_share(grid, sun)
    low, high = YEAR_SHARE
    if not low <= share <= high:
        problems.append(
            Problem(
                grid.raw.source.name,
                f"ghi is {share:.3g} of what reaches the top of the atmosphere over the year; "
                f"{low:g} to {high:g} is possible.",
                _unit_hint(grid, sun),
            )
        )
    return problems


def _diffuse_problem(grid: Grid) -> list[Problem]:
    """More diffuse than global radiation, in a share of the sunny hours."""
    if "dhi" not in grid.values:
        return []
    ghi, dhi = grid.values["ghi"], grid.values["dhi"]
    lit = ghi > DIFFUSE_LIT_W_M2
    bad = lit & (dhi > DIFFUSE_ABOVE_GLOBAL * ghi)
    if int(bad.sum()) <= DIFFUSE_SHARE_FRAC * int(lit.sum()):
        if int(bad.sum()) > NOTED_SHARE_FRAC * int(lit.sum()):
            grid.notes.append(f"dhi is above ghi in {int(bad.sum())} sunny hours.")
        return []
    return _report(grid, "dhi", bad, "ghi is smaller, which cannot be", "Are columns exchanged?")


def _closure_problem(grid: Grid, sun: SunHours) -> list[Problem]:
    """Yearly sums of the parts and of the whole that do not agree."""
    if "dni" not in grid.values:
        return []
    values = grid.values
    parts = values["dhi"] + values["dni"] * sun.cos_mid
    both = ~np.isnan(parts) & ~np.isnan(values["ghi"])
    ratio = float(parts[both].sum() / values["ghi"][both].sum())
    if abs(ratio - 1.0) <= CLOSURE_FRAC:
        return []
    found = (
        f"dhi + dni x cos(zenith) is {ratio:.2f} of ghi over the year; "
        f"{1 - CLOSURE_FRAC:.2f} to {1 + CLOSURE_FRAC:.2f} is accepted."
    )
    return [Problem(grid.raw.source.name, found, "Are columns exchanged, or is dni horizontal?")]
