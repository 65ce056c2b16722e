"""Damaged scenarios are valid or refused in our own words; never a traceback, never slow.

FLATODDS_SCENARIOS sets how many are tried.
"""

from __future__ import annotations

import json
import os
import resource
import sys
import time
import tomllib
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from flatodds.errors import ScenarioError
from flatodds.scenario import Scenario, load_scenario, parse_scenario, scenario_from

if TYPE_CHECKING:
    from tests.hardening import scenario_damage as damage
else:
    import scenario_damage as damage

COUNT = int(os.environ.get("FLATODDS_SCENARIOS", "10000"))
PARTS = 8
LONGEST_S = 1.0  # of processor time
MOST_MB = 150.0  # more memory than before, for all of them
MOST_WORDS = 40_000  # characters of one error
NAME = "x.toml"


def read(content: str | bytes, folder: Path) -> Scenario:
    if isinstance(content, str):
        return parse_scenario(content, NAME)
    file = folder / NAME
    file.write_bytes(content)
    return load_scenario(file)


def check_refusal(error: ScenarioError) -> None:
    """Every refusal tells where, and what, in text that any terminal may show."""
    assert 0 < len(error.problems) <= 50
    assert len(str(error)) < MOST_WORDS
    for problem in error.problems:
        assert problem.where.startswith(NAME)
        assert len(problem.found) > 10
        for line in str(problem).split("\n"):
            assert line.isprintable()


def check_scenario(scenario: Scenario) -> None:
    """Every accepted scenario is finite, and its own text gives it back."""
    json.loads(scenario.canonical_json)
    again = scenario_from(tomllib.loads(scenario.toml), title=scenario.title)
    assert again.sha256 == scenario.sha256


def megabytes() -> float:
    unit = 1024.0**2 if sys.platform == "darwin" else 1024.0
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / unit


def try_cases(first: int, last: int, folder: Path) -> Counter[str]:
    seen: Counter[str] = Counter()
    before = megabytes()
    for number in range(first, last):
        content = damage.case(number)
        begun = time.process_time()
        try:
            scenario = read(content, folder)
        except ScenarioError as error:
            check_refusal(error)
            seen["refused"] += 1
        except BaseException as error:
            pytest.fail(f"case {number}: {type(error).__name__}: {error}")
        else:
            seen["accepted"] += 1
            if number % 10 == 0:
                check_scenario(scenario)
        took = time.process_time() - begun
        assert took < LONGEST_S, f"case {number} took {took:.1f} s"
    assert megabytes() - before < MOST_MB
    return seen


@pytest.mark.law
@pytest.mark.parametrize("part", range(PARTS))
def test_damaged_scenarios(part: int, tmp_path: Path) -> None:
    count = COUNT // PARTS
    seen = try_cases(part * count, (part + 1) * count, tmp_path)
    assert seen["accepted"] > count / 50, "nearly all are refused: the depth is not reached"
    assert seen["refused"] > count / 4


def test_every_word_is_written_now_and_then() -> None:
    """The damage reaches every word of the schema, whatever words there are."""
    missing = damage.words_of_schema()
    assert len(missing) > 60
    for number in range(1, 4000):
        text = str(damage.case(number))
        missing = {word for word in missing if word not in text}
        if not missing:
            return
    pytest.fail(f"never written: {sorted(missing)}")


BOMBS = {
    "too large": "# " + "x" * 1_100_000,
    "deep lists": "a = " + "[" * 100_000,
    "deep tables": "a = " + "{a=" * 20_000,
    "deep keys": "a" + ".a" * 50_000 + " = 1",
    "many keys": "\n".join(f"k{n} = 1" for n in range(60_000)),
    "many tables": "[[stay]]\n" * 60_000,
    "long number": "a = " + "9" * 200_000,
    "long float": "a = 0." + "9" * 200_000,
    "long exponent": "a = 1e" + "9" * 5000,
    "endless text": 'a = "' + "\\" * 300_000,
    "endless lines": 'a = """' + '\\"' * 200_000,
    "quotes": '"' * 300_000,
    "marks": "'" * 300_001,
    "commas": "a = [" + "," * 300_000,
    "numbers": "a = [" + "1," * 200_000 + "]",
    "one long list of text": "a = [" + '"x",' * 100_000 + "]",
    "many dots": "[" + "." * 200_000 + "]",
    "blank lines": "\n" * 500_000,
    "comments": "#\n" * 300_000,
    "equals signs": "=" * 300_000,
    "escapes": 'a = "' + "\\u0041" * 100_000 + '"',
    "underscores": "a = " + "1_" * 100_000 + "1",
    "dates": "a = [" + "1979-05-27T07:32:00Z, " * 4_000 + "]",
    "long key": "k" * 500_000 + " = 1",
    "curly quotes": "a = “x”\n" * 50_000,
}


@pytest.mark.parametrize("name", BOMBS)
def test_bombs_are_refused_at_once(name: str) -> None:
    before, begun = megabytes(), time.process_time()
    with pytest.raises(ScenarioError) as caught:
        parse_scenario(BOMBS[name], NAME)
    assert time.process_time() - begun < LONGEST_S
    assert megabytes() - before < MOST_MB
    check_refusal(caught.value)
