"""A rig that several checks of outlooks share."""

from __future__ import annotations

import pytest

from flatodds import Scenario, parse_scenario

TRAILER = """
bank.chemistry = "lithium"
bank.volts = 12
bank.amp_hours = 200
array.watts = 350
household.pattern = "light"
household.heat = "none"
uncertain.sun_frac = 0.0
uncertain.use_frac = 0.0

[[stay]]
place = "36.10, -79.95"
first_day = "24 Nov"
nights = 20
"""


@pytest.fixture(scope="module")
def trailer() -> Scenario:
    """An invented trailer in late autumn, with no doubt about sun and use."""
    return parse_scenario(TRAILER, "trailer.toml")
