"""How likely an off-grid battery bank is to run flat, over many possible weather years.

`load_scenario` reads what the user wrote, `simulate` answers, `open_result` reads an answer
back. `compare`, `upgrades`, `sweep`, `arrivals`, `air_conditioning` and `days_left` help to
decide; each gives a small result with `.summary()` and `.dataset`. Names are imported when
first used, so that small commands start at once.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from flatodds.errors import FlatoddsError, ScenarioError, UsageError, WeatherError
    from flatodds.outcomes import Outcomes, open_result
    from flatodds.scenario import Scenario, load_scenario, parse_scenario
    from flatodds.scenario.variants import Variant
    from flatodds.studies.arrivals import Arrivals, arrivals
    from flatodds.studies.compare import Comparison, compare, compare_scenarios
    from flatodds.studies.cooling import CoolingStudy, air_conditioning
    from flatodds.studies.days_left import DaysLeft, days_left
    from flatodds.studies.grid import Axis
    from flatodds.studies.simulate import simulate
    from flatodds.studies.sweep import Sweep, sweep
    from flatodds.studies.upgrades import Upgrades, upgrades

__all__ = [
    "Arrivals",
    "Axis",
    "Comparison",
    "CoolingStudy",
    "DaysLeft",
    "FlatoddsError",
    "Outcomes",
    "Scenario",
    "ScenarioError",
    "Sweep",
    "Upgrades",
    "UsageError",
    "Variant",
    "WeatherError",
    "air_conditioning",
    "arrivals",
    "compare",
    "compare_scenarios",
    "days_left",
    "load_scenario",
    "open_result",
    "parse_scenario",
    "simulate",
    "sweep",
    "upgrades",
]

_HOMES = {
    "FlatoddsError": "flatodds.errors",
    "ScenarioError": "flatodds.errors",
    "UsageError": "flatodds.errors",
    "WeatherError": "flatodds.errors",
    "Outcomes": "flatodds.outcomes",
    "open_result": "flatodds.outcomes",
    "Scenario": "flatodds.scenario",
    "load_scenario": "flatodds.scenario",
    "parse_scenario": "flatodds.scenario",
    "simulate": "flatodds.studies.simulate",
    "Variant": "flatodds.scenario.variants",
    "Axis": "flatodds.studies.grid",
    "Arrivals": "flatodds.studies.arrivals",
    "arrivals": "flatodds.studies.arrivals",
    "Comparison": "flatodds.studies.compare",
    "compare": "flatodds.studies.compare",
    "compare_scenarios": "flatodds.studies.compare",
    "CoolingStudy": "flatodds.studies.cooling",
    "air_conditioning": "flatodds.studies.cooling",
    "DaysLeft": "flatodds.studies.days_left",
    "days_left": "flatodds.studies.days_left",
    "Sweep": "flatodds.studies.sweep",
    "sweep": "flatodds.studies.sweep",
    "Upgrades": "flatodds.studies.upgrades",
    "upgrades": "flatodds.studies.upgrades",
}


def __getattr__(name: str) -> Any:
    """Import a public name from its room on first use."""
    from importlib import import_module

    if name not in _HOMES:
        raise AttributeError(f"module 'flatodds' has no attribute {name!r}")
    return getattr(import_module(_HOMES[name]), name)


def __dir__() -> list[str]:
    return __all__
