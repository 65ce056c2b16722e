"""Damaged scenarios are valid or refused in our own words, never anything else."""

from __future__ import annotations

import json
import tomllib
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from flatodds.errors import ScenarioError
from flatodds.scenario import Scenario, parse_scenario, scenario_from
from flatodds.scenario.problems import models
from flatodds.scenario.templates import demo, demos
from flatodds.scenario.written import WrittenScenario

TEXTS = [demo(name) for name in demos()]
MARKS = ['"', "'", "[", "]", "{", "}", "=", ".", "#", "\n", '"""', "-", "\\", "\x00", "“", "é", ","]
WORDS = ["nan", "1e999", "9" * 30, "[[stay]]\n", "[bank]\n", "true", "0x", "1979-05-27", "[[", "12"]
BITS = st.sampled_from(MARKS + WORDS)
SETTINGS = settings(max_examples=300, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def judged(scenario: Scenario) -> None:
    """Check what every accepted scenario must satisfy."""
    json.loads(scenario.canonical_json)
    assert scenario.stays
    assert scenario.arrays
    bank = scenario.bank
    assert 0.0 <= bank.cutoff_frac <= bank.reconnect_frac <= 1.0
    assert bank.capacity_wh > 0.0
    for use in scenario.appliances:
        for start_h, end_h in use.windows:
            assert 0.0 <= start_h < end_h <= start_h + 24.0
            assert use.minutes <= 60.0 * (end_h - start_h) + 1e-9
    again = scenario_from(tomllib.loads(scenario.toml), title=scenario.title)
    assert again.sha256 == scenario.sha256


def refused(error: ScenarioError) -> None:
    """Check what every refusal must tell."""
    assert error.problems
    for problem in error.problems:
        assert problem.where.startswith("x.toml")
        assert len(problem.found) > 10
        assert str(problem).isprintable() or "\n" in str(problem)
        assert "\x1b" not in str(problem)


@pytest.mark.law
@SETTINGS
@given(st.data())
def test_mutated_texts(data: st.DataObject) -> None:
    text = data.draw(st.sampled_from(TEXTS))
    for _ in range(data.draw(st.integers(1, 4))):
        start = data.draw(st.integers(0, len(text)))
        end = min(len(text), start + data.draw(st.sampled_from([0, 0, 1, 2, 8, 60])))
        text = text[:start] + data.draw(st.one_of(BITS, st.just(""))) + text[end:]
    try:
        scenario = parse_scenario(text, "x.toml")
    except ScenarioError as error:
        refused(error)
        return
    judged(scenario)


VALUES = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-5, 500),
    st.integers(),
    st.floats(),
    st.floats(0.0, 1.0),
    st.text(max_size=12),
    st.sampled_from(["light", "medium", "agm", "ideal", "22-6", "1 Dec", "45 N 93 W", "kettle"]),
    st.lists(st.sampled_from(["7-9", "8-20", "22-6", "x"]), max_size=3),
    st.dictionaries(st.sampled_from(["watts", "use", "name", "kind", "side"]), st.integers(0, 9)),
    st.lists(st.dictionaries(st.text(max_size=3), st.integers()), max_size=2),
)
KEYS = st.one_of(
    st.sampled_from(sorted(WrittenScenario.model_fields)).map(lambda key: (key,)),
    st.sampled_from(
        [(table, key) for table, model in models().items() for key in model.model_fields]
    ),
    st.tuples(st.text(max_size=5)),
)


@pytest.mark.law
@SETTINGS
@given(st.sampled_from(sorted(demos())), st.lists(st.tuples(KEYS, VALUES), min_size=1, max_size=4))
def test_mutated_documents(name: str, changes: list[tuple[tuple[str, ...], Any]]) -> None:
    document = parse_scenario(demo(name)).document
    for path, value in changes:
        table: Any = document
        if len(path) == 2:
            table = document.setdefault(path[0], {})
            table = table[-1] if isinstance(table, list) and table else table
        if not isinstance(table, dict):
            continue
        if value is None:
            table.pop(path[-1], None)
        else:
            table[path[-1]] = value
    try:
        scenario = scenario_from(document, "x.toml")
    except ScenarioError as error:
        refused(error)
        return
    judged(scenario)
