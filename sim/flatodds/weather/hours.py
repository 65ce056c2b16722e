"""Rows of a weather file put into whole years of 365 days of 24 hours, gaps counted and filled."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace

import numpy as np
import numpy.typing as npt

from flatodds.errors import Problem, WeatherError
from flatodds.sun import DAYS
from flatodds.weather.rows import Floats, Ints, Raw

YEAR_H = DAYS * 24
MAX_YEARS = 200  # judgement: longer than any hourly record; guards memory against a wrong year
# Gaps that may be filled; judgement. Three hours leave the day's shape readable, one hour in a
# hundred cannot move a month's total noticeably.
LONGEST_GAP_H = 3
GAP_SHARE_FRAC = 0.01
MONTH_START = np.array([0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334])
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
RUNS_SHOWN = 3  # own choice


@dataclass(frozen=True, slots=True)
class Grid:
    """Whole years of hours on the file's clock.

    Attributes
    ----------
    raw : Raw
        The rows they come from.
    typical : bool
        Whether months come from different years.
    years : tuple of int
        Calendar years in order; for a typical year the single entry 0.
    values : dict of str to ndarray of float64, (year, 365, 24)
        NaN where there is no value.
    line : ndarray of int64, (year * 8760,)
        0-based line of the file behind each hour, -1 for none.
    notes : list of str
        What was done to the file's rows.
    """

    raw: Raw
    typical: bool
    years: tuple[int, ...]
    values: dict[str, Floats]
    line: Ints
    notes: list[str] = field(default_factory=list)

    def at(self, slot: int) -> str:
        """Name the place of an hour in the file: line, day and hour."""
        moment = moment_name(slot, self.years)
        line = int(self.line[slot])
        name = self.raw.source.name
        return f"{name}: {moment}" if line < 0 else f"{self.raw.source.at(line)} ({moment})"


def moment_name(slot: int, years: tuple[int, ...]) -> str:
    """Day and hour of a slot, with the year when there are real years."""
    year, rest = divmod(slot, YEAR_H)
    doy, hour = divmod(rest, 24)
    month = int(np.searchsorted(MONTH_START, doy, side="right")) - 1
    text = f"{doy - MONTH_START[month] + 1} {MONTHS[month]} {hour:02d}:00"
    known = year < len(years) and years[year] > 0
    return f"{years[year]} {text}" if known else text


def arrange(raw: Raw) -> Grid:
    """Check the calendar of the rows and put them on whole years; 29 February is dropped."""
    raw, dropped = _without_leap_days(raw)
    steps = 60 // raw.step_min
    year, step = _calendar(raw, steps)
    distinct = np.unique(year)
    typical = raw.typical
    if typical is None:
        typical = distinct.size > 1 and year.size <= (DAYS + 1) * 24 * steps
    years = (0,) if typical else tuple(range(int(distinct[0]), int(distinct[-1]) + 1))
    if len(years) > MAX_YEARS:
        raise WeatherError(Problem(raw.source.name, f"Years run from {years[0]} to {years[-1]}."))
    slot = step if typical else (year - years[0]) * YEAR_H * steps + step
    problems = _order_problems(raw, slot, steps, years)
    if problems:
        raise WeatherError(problems)
    grid = _placed(raw, slot, steps, typical, years)
    if dropped:
        grid.notes.append(f"{dropped} rows of 29 February were left out.")
    missing = _gap_problem(grid, grid.line < 0, "rows")
    if missing:
        raise WeatherError(missing)
    return grid


def _without_leap_days(raw: Raw) -> tuple[Raw, int]:
    """Keep the rows that are not on 29 February, and count the others."""
    month_day = raw.start.astype("datetime64[D]") - raw.start.astype("datetime64[M]")
    month = raw.start.astype("datetime64[M]").astype(np.int64) % 12
    leap = (month == 1) & (month_day.astype(np.int64) == 28)
    if not leap.any():
        return raw, 0
    keep = ~leap
    if not keep.any():
        raise WeatherError(Problem(raw.source.name, "All rows are on 29 February."))
    values = {name: column[keep] for name, column in raw.values.items()}
    kept = replace(raw, line=raw.line[keep], start=raw.start[keep], values=values)
    return kept, int(leap.sum())


def _calendar(raw: Raw, steps: int) -> tuple[Ints, Ints]:
    """Year of each row and its step within a year of 365 days."""
    months = raw.start.astype("datetime64[M]")
    day = (raw.start.astype("datetime64[D]") - months).astype(np.int64)
    minute = (raw.start - raw.start.astype("datetime64[D]")).astype(np.int64)
    off = np.flatnonzero(minute % raw.step_min)
    if off.size:
        raise WeatherError(
            Problem(
                raw.source.at(int(raw.line[off[0]])),
                f"The time is not on the file's {raw.step_min}-minute steps. "
                f"{off.size} such rows in all.",
                "flatodds reads hourly files, and half-hourly ones of some kinds.",
            )
        )
    number = months.astype(np.int64)
    year = number // 12 + 1970
    step = (MONTH_START[number % 12] + day) * 24 * steps + minute // raw.step_min
    return year, step


def _order_problems(raw: Raw, slot: Ints, steps: int, years: tuple[int, ...]) -> list[Problem]:
    """Hours given twice and hours out of order."""
    problems = []
    order = np.argsort(slot, kind="stable")
    again = order[1:][np.diff(slot[order]) == 0]
    if again.size:
        at = int(again.min())
        problems.append(
            Problem(
                raw.source.at(int(raw.line[at])),
                f"{moment_name(int(slot[at]) // steps, years)} is there twice. "
                f"{again.size} such rows in all.",
                _summer_time_hint(slot, steps, again.size),
            )
        )
    back = np.flatnonzero(np.diff(slot) < 0) + 1
    if back.size:
        at = int(back[0])
        problems.append(
            Problem(
                raw.source.at(int(raw.line[at])),
                f"{moment_name(int(slot[at]) // steps, years)} comes after "
                f"{moment_name(int(slot[at - 1]) // steps, years)}. "
                f"{back.size} such steps back in all.",
                "Rows must be in order of time.",
            )
        )
    return problems


def _summer_time_hint(slot: Ints, steps: int, again: int) -> str:
    """Say so when as many single hours are missing as are there twice."""
    jumps = int(np.count_nonzero(np.diff(np.unique(slot)) == 1 + steps))
    if jumps == again // steps and jumps:
        return "That looks like summer time. Export standard time for the whole year."
    return "Was the file joined from pieces? Each hour may be there once."


def _placed(raw: Raw, slot: Ints, steps: int, typical: bool, years: tuple[int, ...]) -> Grid:
    """Values at their slots, half hours brought to hours."""
    size = len(years) * YEAR_H * steps
    line = np.full(size, -1, dtype=np.int64)
    line[slot] = raw.line
    line = line.reshape(-1, steps).min(axis=1)
    values = {}
    for name, column in raw.values.items():
        full = np.full(size, np.nan)
        full[slot] = column
        values[name] = _hourly(full, steps, raw.centred).reshape(len(years), DAYS, 24)
    return Grid(raw, typical, years, values, line, list(raw.notes))


def _hourly(full: Floats, steps: int, centred: bool) -> Floats:
    """Hour means of half-hour values.

    A value centred on the full hour belongs half to the hour before and half to the one after.
    """
    if steps == 1:
        return full
    on_hour, on_half = full[0::2], full[1::2]
    if centred:
        on_hour = 0.5 * (on_hour + np.roll(on_hour, -1))
    return 0.5 * (on_hour + on_half)


def runs(mask: npt.NDArray[np.bool_]) -> Iterator[tuple[int, int]]:
    """Start and length of each run of True."""
    edges = np.flatnonzero(np.diff(np.concatenate(([0], mask.astype(np.int8), [0]))))
    for begin, end in zip(edges[0::2], edges[1::2], strict=True):
        yield int(begin), int(end - begin)


def _gap_problem(grid: Grid, missing: npt.NDArray[np.bool_], what: str) -> list[Problem]:
    """Find a gap that is too long, or gaps that are too many, to be filled."""
    total = int(missing.sum())
    found = list(runs(missing))
    long = [run for run in found if run[1] > LONGEST_GAP_H]
    if not long and total <= GAP_SHARE_FRAC * missing.size:
        return []
    listed = ", ".join(
        f"{moment_name(begin, grid.years)} ({length} h)"
        for begin, length in (long or found)[:RUNS_SHOWN]
    )
    return [
        Problem(
            grid.raw.source.name,
            f"{total} of {missing.size} hourly {what} are missing, in {len(found)} gaps; "
            f"the {'long' if long else 'first'} ones begin {listed}.",
            f"Gaps of up to {LONGEST_GAP_H} h are filled, if they are at most "
            f"{GAP_SHARE_FRAC:.0%} of all hours. Whole calendar years are needed.",
        )
    ]


def fill(grid: Grid, scale: dict[str, Floats]) -> None:
    """Fill small gaps in place, and say so in the notes; refuse the others.

    Parameters
    ----------
    scale : dict of str to ndarray of float64, (365, 24)
        For radiation the largest value an hour could have [W/m2]: what is interpolated is the
        share of it. Other names are interpolated as they are.
    """
    problems: list[Problem] = []
    for name, values in grid.values.items():
        flat = values.reshape(-1)
        missing = np.isnan(flat)
        if not missing.any():
            continue
        refused = _gap_problem(grid, missing, f"{name} values")
        problems += refused
        if refused:
            continue
        top = np.tile(scale[name].ravel(), len(grid.years)) if name in scale else None
        _fill_one(flat, missing, top)
        first = moment_name(int(np.flatnonzero(missing)[0]), grid.years)
        grid.notes.append(
            f"{name}: {int(missing.sum())} missing hours were filled from their neighbours, "
            f"the first is {first}."
        )
    if problems:
        raise WeatherError(problems)


def _fill_one(flat: Floats, missing: npt.NDArray[np.bool_], top: Floats | None) -> None:
    """Interpolate in place, as a share of `top` where that is given."""
    at = np.flatnonzero(missing)
    if top is None:
        known = np.flatnonzero(~missing)
        flat[at] = np.interp(at, known, flat[known])
        return
    lit = top > 0.0
    known = np.flatnonzero(~missing & lit)
    share = np.clip(flat[known] / top[known], 0.0, 1.0)
    flat[at] = np.interp(at, known, share) * top[at]
