"""One simulated year again, hour by hour: what running flat looks like.

Any member can be computed alone, because every draw is keyed by seed, day and member. Only the
``as_estimated`` case is lived here.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any, Literal

import numpy as np
import numpy.typing as npt

from flatodds.errors import UsageError
from flatodds.studies.arguments import MOST_MEMBERS, check_scenario, number_problem
from flatodds.studies.simulate import folder_of, how_many

if TYPE_CHECKING:
    import xarray as xr

    from flatodds.engine.plan import Plan
    from flatodds.outcomes import Outcomes
    from flatodds.scenario import Scenario

WEEK_DAYS = 7
LONG_NAMES = {
    "ghi": "global horizontal irradiance",
    "temp_air": "outdoor air temperature",
    "array_offered_w": "panel power on offer after the controller's efficiency",
    "array_w": "panel power taken in",
    "demand_w": "power asked for at the bank",
    "served_w": "power served at the bank",
    "spare_w": "power of spare-sun use",
    "charge_frac": "state of charge at the end of the hour",
    "bank_temp_c": "temperature of the bank",
    "cabin_temp_c": "temperature inside",
    "charge_a": "current into the bank",
    "discharge_a": "current out of the bank",
    "loads_off": "1 while the bank's protection keeps the loads off",
    "generator_w": "power from the generator's charger",
    "drive_w": "power from driving",
    "hookup_w": "power from the pedestal",
    "cooling_w": "power of the air conditioner at its plug",
}
WEATHER_UNITS = {"ghi": "W m-2", "temp_air": "degC"}


def live_one(
    scenario: Scenario, member: int, seed: int = 1, weather: xr.Dataset | None = None
) -> xr.Dataset:
    """Live one member of a run again and keep every hour.

    Parameters
    ----------
    scenario, seed, weather
        As for `simulate`; with the same values the hours are those the run lived.
    member : int
        Which simulated year, from 0.

    Returns
    -------
    xarray.Dataset
        Means of each hour of all stays, in order, (time,): the variables of ``LONG_NAMES``
        with their units, and ``flat``, whether must-have demand was refused. ``time`` is the
        start of the hour on the household's own clock, daylight saving included (so an hour
        may come twice in autumn), in years that stand for any year. ``stay`` counts the
        stays from 0, ``day`` the days of each from 1.

    Raises
    ------
    UsageError
        If there can be no such member.
    WeatherError
        As for `simulate`.
    """
    from flatodds.engine.plan import make_plan
    from flatodds.weather.contract import check_weather

    check_scenario(scenario)
    found = (
        number_problem("member", member, 0, MOST_MEMBERS - 1),
        number_problem("seed", seed, 0, 2**64 - 1),
    )
    if any(found):
        raise UsageError([problem for problem in found if problem is not None])
    member, seed = int(member), int(seed)
    table = None if weather is None else check_weather(weather)
    return _traced(make_plan(scenario, table, base_dir=folder_of(scenario)), member, seed)


def _traced(plan: Plan, member: int, seed: int) -> xr.Dataset:
    from flatodds.engine.run import run_block

    plan = first_case(plan)
    trace = run_block(plan, member, seed, trace=True).trace[:, :, 0]
    return _labelled(plan, trace.astype(np.float64), member, seed)


def first_case(plan: Plan) -> Plan:
    """Keep only the first design, ``as_estimated``."""
    from flatodds.engine.records import pick_rigs

    stays = tuple(replace(stay, rigs=pick_rigs(stay.rigs, 0, 1)) for stay in plan.stays)
    bank = np.ascontiguousarray(plan.bank[:, :1])
    return replace(plan, stays=stays, cases=plan.cases[:1], bank=bank)


def _labelled(plan: Plan, trace: npt.NDArray[np.float64], member: int, seed: int) -> xr.Dataset:
    """Give the hours (hour, TRACE) names, units and the household's clock."""
    import xarray as xr

    from flatodds.engine.hour import FLAT_FRAC, FLAT_WH
    from flatodds.engine.rows import TRACE
    from flatodds.units import unit_of

    variables: dict[str, Any] = {}
    for k, name in enumerate(TRACE):
        units = WEATHER_UNITS.get(name) or unit_of(name) or "1"
        variables[name] = ("time", trace[:, k], {"units": units, "long_name": LONG_NAMES[name]})
    demand_w, served_w = trace[:, TRACE.index("demand_w")], trace[:, TRACE.index("served_w")]
    flat = demand_w - served_w > np.maximum(FLAT_WH, FLAT_FRAC * demand_w)
    variables["flat"] = ("time", flat, {"long_name": "must-have demand refused"})
    nights = [stay.nights for stay in plan.scenario.stays]
    days = np.concatenate([np.arange(1, count + 1) for count in nights])
    coords: dict[str, Any] = {
        "time": ("time", _clock(plan), {"long_name": "start of the hour, household's clock"}),
        "stay": ("time", np.repeat(plan.day_stay, 24), {"long_name": "index of the stay"}),
        "day": ("time", np.repeat(days, 24), {"long_name": "day of the stay, from 1"}),
    }
    attrs = {"member": member, "seed": str(seed), "case": "as_estimated"}
    return xr.Dataset(variables, coords, attrs)


def _clock(plan: Plan) -> npt.NDArray[np.datetime64]:
    """Start of every hour on the household's clock, (hour,)."""
    from flatodds.engine.plan import CLOCK_YEAR

    new_year = np.datetime64(f"{CLOCK_YEAR}-01-01T00:00", "m")
    parts = []
    for stay, given in zip(plan.stays, plan.scenario.stays, strict=True):
        day = given.start_day + np.arange(given.nights)  # these years have no 29 February
        ahead_min = np.rint(np.asarray(stay.calendar.shift_h, dtype=np.float64) * 60.0)
        minute = (day * 1440 + ahead_min)[:, np.newaxis] + 60 * np.arange(24)
        parts.append(new_year + minute.ravel().astype("timedelta64[m]"))
    return np.concatenate(parts).astype("datetime64[ns]")


def telling_member(outcomes: Outcomes, stay: int) -> int:
    """Choose the member that shows best how a stay goes wrong, as estimated.

    Of the members that run flat, the one whose flat hours are nearest their median (the
    lowest number of equals); if none does, the one with the lowest charge.
    """
    found = outcomes.dataset
    here = found["period_stay"].to_numpy() == stay
    hours = found["hours_flat"].to_numpy()[0][:, here].sum(axis=1)
    flat = np.flatnonzero(hours > 0.0)
    if flat.size == 0:
        return int(np.argmin(found["min_charge_frac"].to_numpy()[0, :, stay]))
    return int(flat[np.argmin(np.abs(hours[flat] - np.median(hours[flat])))])


def bad_week(hours: xr.Dataset, stay: int) -> xr.Dataset:
    """Cut the worst seven days (or the whole of a shorter stay) out of one member's hours.

    The days with most flat hours; of several such weeks the middle one, so that the days
    before and after are seen. If no hour is flat, the week around the lowest charge.
    """
    here = hours.isel(time=np.flatnonzero(hours["stay"].to_numpy() == stay))
    day = here["day"].to_numpy()
    length = min(WEEK_DAYS, int(day[-1]))
    badness = here["flat"].to_numpy().astype(float)
    if not badness.any():
        badness[int(np.argmin(here["charge_frac"].to_numpy()))] = 1.0
    a_day = np.bincount(day - 1, weights=badness)
    weeks = np.convolve(a_day, np.ones(length), mode="valid")
    best = np.flatnonzero(weeks == weeks.max())
    first = int(best[(len(best) - 1) // 2])
    week = here.isel(time=slice(24 * first, 24 * (first + length)))
    return week.assign_attrs(stay_flat_hours=int(here["flat"].to_numpy().sum()))


def simulate_then_look(
    scenario: Scenario,
    *,
    members: int | Literal["auto"] = "auto",
    seed: int = 1,
    threads: int | None = None,
    progress: Callable[[int], None] | None = None,
) -> tuple[Outcomes, Callable[[Sequence[int]], dict[int, xr.Dataset]]]:
    """Simulate, and hand over what cuts out one telling bad week of each stay asked for.

    The same answer as `simulate`, and the same weeks as `telling_member`, `live_one` and
    `bad_week` give, but the weather is prepared only once. Arguments and errors as in `simulate`.
    """
    from flatodds.engine import prepare
    from flatodds.engine.plan import make_plan
    from flatodds.engine.run import run_plan
    from flatodds.outcomes import Outcomes

    check_scenario(scenario)
    count, more = how_many(members, seed, threads)
    seed = int(seed)
    prepare.begin()
    plan = make_plan(scenario, base_dir=folder_of(scenario))
    results = run_plan(plan, count, seed, threads=threads, progress=progress, more=more)
    outcomes = Outcomes.from_results(results)

    def look(stays: Sequence[int]) -> dict[int, xr.Dataset]:
        chosen = {stay: telling_member(outcomes, stay) for stay in stays}
        lived = {member: _traced(plan, member, seed) for member in sorted(set(chosen.values()))}
        return {stay: bad_week(lived[member], stay) for stay, member in chosen.items()}

    return outcomes, look
