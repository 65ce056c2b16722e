"""How likely an off-grid battery bank is to run flat, over many possible weather years.

`load_scenario` reads what the user wrote, `simulate` answers, `open_result` reads an
answer back. Names are imported when first used, so that small commands start at once.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from flatodds.errors import FlatoddsError, ScenarioError, UsageError, WeatherError
    from flatodds.outcomes import Outcomes, open_result
    from flatodds.scenario import Scenario, load_scenario, parse_scenario
    from flatodds.studies.simulate import simulate

__all__ = [
    "FlatoddsError",
    "Outcomes",
    "Scenario",
    "ScenarioError",
    "UsageError",
    "WeatherError",
    "load_scenario",
    "open_result",
    "parse_scenario",
    "simulate",
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
}


def __getattr__(name: str) -> Any:
    """Import a public name from its room on first use."""
    from importlib import import_module

    if name not in _HOMES:
        raise AttributeError(f"module 'flatodds' has no attribute {name!r}")
    return getattr(import_module(_HOMES[name]), name)


def __dir__() -> list[str]:
    return __all__
