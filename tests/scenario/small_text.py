"""A small scenario that tests add words to, and what is refused of it."""

from __future__ import annotations

import pytest

from flatodds.errors import ScenarioError
from flatodds.scenario import Scenario, parse_scenario

RIG = """
bank = { chemistry = "lithium", volts = 12, amp_hours = 400 }
inverter.watts = 3000
"""
ARRAY = "array.watts = 400\n"
HOUSE = 'household.pattern = "light"\n'
STAY = """
[[stay]]
place = "36.10, -79.95"
elevation_m = 300
first_day = "20 Nov"
nights = 10
"""
LAMP = '[[appliance]]\nname = "{name}"\nwatts = 3\nside = "dc"\n{more}\n'


def made(more: str = "", *, array: str = ARRAY, house: str = HOUSE, stay: str = "") -> Scenario:
    return parse_scenario(f"{RIG}{array}{house}{more}{STAY}{stay}", "x.toml")


def refused(more: str = "", **words: str) -> str:
    with pytest.raises(ScenarioError) as caught:
        made(more, **words)
    return "\n".join(str(problem) for problem in caught.value.problems)
