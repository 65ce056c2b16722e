"""The plain question: how likely is this household to run flat on these stays."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from flatodds.errors import Problem, refuse
from flatodds.studies.arguments import MOST_MEMBERS, MOST_THREADS, check_scenario, number_problem

if TYPE_CHECKING:
    import xarray as xr

    from flatodds.engine.results import Results
    from flatodds.outcomes import Outcomes
    from flatodds.scenario import Scenario


def simulate(
    scenario: Scenario,
    weather: xr.Dataset | None = None,
    *,
    members: int | Literal["auto"] = "auto",
    seed: int = 1,
    threads: int | None = None,
    progress: Callable[[int], None] | None = None,
) -> Outcomes:
    """Simulate the household through many possible weather years.

    Parameters
    ----------
    scenario : Scenario
        From `load_scenario`; weather files it names are looked up beside its file.
    weather : xarray.Dataset, optional
        Hourly weather to use as it is: variables ghi, dni, dhi [W/m2], temp_air [degC],
        wind_speed [m/s] with dims (member, time); time is the start of each hour, UTC.
        Member i of the run lives weather member i modulo their number.
    members : int or "auto"
        Simulated years. "auto": every given weather member once; else from 1,024 on, doubled
        until chance in the drawing is small beside the doubt about sun and use (at most
        16,384). Where real years are lived as they were, rounded up so that each is lived
        equally often.
    seed : int
        Key of all random draws, 0 to 2**64 - 1.
    threads : int, optional
        Worker threads; all processors unless stated. The results do not depend on it.
    progress : callable, optional
        Called with the number of finished members.

    Raises
    ------
    UsageError
        A number outside its range, or given weather whose members do not divide `members`.
    WeatherError
        Weather that cannot be used or does not cover a stay.
    """
    from flatodds.outcomes import Outcomes

    return Outcomes.from_results(
        run_scenario(
            scenario, weather, members=members, seed=seed, threads=threads, progress=progress
        )
    )


def run_scenario(
    scenario: Scenario,
    weather: xr.Dataset | None = None,
    *,
    members: int | Literal["auto"] = "auto",
    seed: int = 1,
    threads: int | None = None,
    progress: Callable[[int], None] | None = None,
) -> Results:
    """Arrays of a run before any statistics; arguments and errors as in `simulate`."""
    from flatodds.engine import prepare
    from flatodds.engine.plan import make_plan
    from flatodds.engine.run import run_plan
    from flatodds.weather.contract import check_weather

    check_scenario(scenario)
    table = None if weather is None else check_weather(weather)
    given = None if table is None else table.members
    count, more = how_many(members, seed, threads, given)
    prepare.begin()
    plan = make_plan(scenario, table, base_dir=folder_of(scenario))
    return run_plan(plan, count, int(seed), threads=threads, progress=progress, more=more)


def how_many(
    members: int | Literal["auto"], seed: int, threads: int | None, given: int | None = None
) -> tuple[int, Callable[[Results], int] | None]:
    """Members to begin with, and what decides whether there shall be more.

    `given` is the number of weather members handed in, if any.

    Raises
    ------
    UsageError
        A number outside its range.
    """
    from flatodds.outcomes.record import record_of
    from flatodds.outcomes.stopping import FIRST_MEMBERS, next_members

    auto = isinstance(members, str) and members == "auto"
    count = members if not auto else (FIRST_MEMBERS if given is None else given)
    check_numbers(count, seed, threads, given)
    count = int(count)
    if not auto or given is not None:
        return count, None
    return count, lambda results: next_members(record_of(results))


def folder_of(scenario: Scenario) -> Path:
    """Folder that the scenario's relative file names start from."""
    return scenario.folder or Path()


def check_numbers(members: Any, seed: Any, threads: Any, given: int | None) -> None:
    """Refuse what is no whole number, and numbers outside their range.

    `given` is the number of weather members, if any.
    """
    problems = [
        number_problem("members", members, 1, MOST_MEMBERS, "Try 1000."),
        number_problem("seed", seed, 0, 2**64 - 1, "Try 1."),
    ]
    if problems[0] is None and given is not None and members % given:
        problems[0] = Problem(
            "members",
            f"{members} is not a multiple of the {given} weather members given.",
            "Each must be lived equally often; leave members out to live each once.",
        )
    if threads is not None:
        problems.append(number_problem("threads", threads, 1, MOST_THREADS))
    refuse(*problems)
