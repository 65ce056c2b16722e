"""What the user wrote: read, checked, completed, and never changed in place."""

from flatodds.scenario.load import load_scenario, parse_scenario, scenario_from
from flatodds.scenario.model import Scenario
from flatodds.scenario.parts import (
    ApplianceUse,
    Assumed,
    Bank,
    Household,
    Inverter,
    Shell,
    Stay,
    Uncertain,
)
from flatodds.scenario.parts_arrays import Array, Controller, Panel, Shade
from flatodds.scenario.parts_charging import Drive, Generator, Hookup
from flatodds.scenario.parts_cooling import Cooling
from flatodds.scenario.schema import json_schema

__all__ = [
    "ApplianceUse",
    "Array",
    "Assumed",
    "Bank",
    "Controller",
    "Cooling",
    "Drive",
    "Generator",
    "Hookup",
    "Household",
    "Inverter",
    "Panel",
    "Scenario",
    "Shade",
    "Shell",
    "Stay",
    "Uncertain",
    "json_schema",
    "load_scenario",
    "parse_scenario",
    "scenario_from",
]
