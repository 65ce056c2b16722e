"""Living several scenarios with the same draws, and what they have in common."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

from flatodds.studies.simulate import check_numbers

if TYPE_CHECKING:
    import xarray as xr

    from flatodds.engine.many import Lived, Store
    from flatodds.engine.plan import Plan, Start
    from flatodds.outcomes.record import BasisFacts
    from flatodds.scenario import Scenario
    from flatodds.weather.source import WeatherBasis

Progress = Callable[[int, int], None]


def live_scenarios(
    scenarios: Sequence[Scenario],
    *,
    members: int,
    seed: int,
    weather: xr.Dataset | None = None,
    threads: int | None = None,
    progress: Progress | None = None,
    centre_only: bool = False,
    by_day: bool = False,
    start: Callable[[Plan], Start] | None = None,
    store: Store | None = None,
) -> list[Lived]:
    """Live scenarios side by side where they share a world, with the same draws in any case.

    Parameters
    ----------
    scenarios : sequence of Scenario
    members, seed, threads
        As for `simulate`.
    weather : xarray.Dataset, optional
        Hourly weather to use as it is, as for `simulate`.
    progress : callable, optional
        Called with the blocks finished, and their number in all.
    centre_only, by_day, start
        As for `plan_passes`.
    store : Store, optional
        Where finished blocks are kept.
    """
    from flatodds.engine import prepare
    from flatodds.engine.many import live
    from flatodds.engine.passes import plan_passes
    from flatodds.weather.contract import check_weather

    table = None if weather is None else check_weather(weather)
    check_numbers(members, seed, threads, None if table is None else table.members)
    prepare.begin()
    passes = plan_passes(scenarios, table, centre_only=centre_only, by_day=by_day, start=start)
    return live(passes, members, seed, threads=threads, progress=progress, store=store)


def head_of(study: str, scenario: Scenario, lived: Lived) -> dict[str, Any]:
    """First keys of every study's summary: what was run, and how."""
    from flatodds.outcomes.lived import sample
    from flatodds.outcomes.record import package_version

    counted = sample(lived)
    return {
        "flatodds": package_version(),
        "study": study,
        "scenario": {"title": scenario.title, "sha256": scenario.sha256},
        "seed": lived.seed,
        "members": lived.members,
        "record_years": lived.record_years,
        "confidence": counted.confidence,
        "interval_basis": counted.basis,
        "theta_points": sum(case.weight > 0.0 for case in lived.cases),
        "weather": weather_told(lived.bases),
    }


def weather_told(bases: Sequence[WeatherBasis | BasisFacts]) -> list[dict[str, Any]]:
    """Tell in a summary what each stay's weather rests on."""
    return [
        {
            "basis": basis.sentence,
            "sha256": basis.sha256,
            "typical_error_frac": basis.typical_error_frac,
            "cautions": list(basis.cautions),
        }
        for basis in bases
    ]
