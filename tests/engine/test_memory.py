"""Members that no memory could hold are refused before the work, with a number that would fit."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from flatodds import parse_scenario, simulate
from flatodds.engine import memory
from flatodds.engine.memory import needed_bytes
from flatodds.engine.plan import make_plan
from flatodds.errors import UsageError

QUESTION = """
bank.chemistry = "lithium"
bank.volts = 12
bank.amp_hours = 100
array.watts = 300
household.pattern = "light"
inverter.watts = 0
[[stay]]
place = "45.1, -93.2"
first_day = "3 May"
nights = 40
"""


def test_too_many_members_are_refused_and_what_is_offered_would_fit(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(memory, "memory_bytes", lambda: 4e9)
    scenario = parse_scenario(QUESTION, "many.toml")
    with pytest.raises(UsageError, match="GB of memory; this machine has 4") as caught:
        simulate(scenario, members=1_000_000)
    offered = re.search(r"--members (\d+)", str(caught.value))
    assert offered is not None
    plan = make_plan(scenario, base_dir=Path())
    assert needed_bytes(plan, int(offered[1])) <= memory.SHARE * 4e9
    assert int(offered[1]) >= 1000


def test_where_the_system_does_not_tell_nothing_is_refused(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(memory, "memory_bytes", lambda: None)
    plan = make_plan(parse_scenario(QUESTION, "many.toml"), base_dir=Path())
    memory.refuse_too_many(plan, 10**9)
