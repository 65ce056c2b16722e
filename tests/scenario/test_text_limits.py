"""Limits that a text is held to before it is parsed: what just fits, and what just does not."""

from __future__ import annotations

import pytest

from flatodds.errors import ScenarioError
from flatodds.scenario.problems import Where
from flatodds.scenario.text import (
    MOST_BYTES,
    MOST_DIGITS,
    MOST_KEYS,
    MOST_LINES,
    MOST_MARKS,
    MOST_NESTING,
    MOST_WHOLE,
    decoded,
    text_problems,
    value_problems,
)


def told(text: str) -> list[str]:
    return [str(problem) for problem in text_problems(text, "x")]


@pytest.mark.parametrize(
    ("unit", "most", "words"),
    [
        ("\n", MOST_LINES, "x holds too much for a scenario: over 20,000 lines"),
        ("k = 1\n", MOST_KEYS, "x line 1001: More than 1000 keys"),
        (",", MOST_MARKS, "x line 1: Holds too much for a scenario"),
        ("[", MOST_NESTING, "x line 1: Brackets are nested more than 32 deep"),
        ("{", MOST_NESTING, "x line 1: Brackets are nested more than 32 deep"),
        (".k", MOST_NESTING, "x line 1: A key goes too deep: it has more than 32 parts"),
    ],
)
def test_so_much_fits_and_no_more(unit: str, most: int, words: str) -> None:
    assert told(unit * most) == []
    (problem,) = told(unit * (most + 1))
    assert problem.replace("\n", " ").startswith(words)


def test_brackets_that_close_and_keys_that_end_count_no_more() -> None:
    assert told("[]{}" * 100) == []
    for end in ("=", ",", "[", "{", "\n"):
        assert not [one for one in told(f"{'.k' * 20}{end}{'.k' * 20}") if "too deep" in one]


def test_long_numbers_are_told_each_with_its_line() -> None:
    fits, beyond = "9" * MOST_DIGITS, "9" * (MOST_DIGITS + 1)
    assert told(f"a = {fits}\nb = '{beyond}' # {beyond}\n") == []
    found = told(f'a = """\n\n"""\nb = {beyond}\nc = {beyond}\n')
    assert [one.split(":")[0] for one in found] == ["x line 4", "x line 5"]


def test_bytes_of_a_file() -> None:
    assert len(decoded(b"#" * MOST_BYTES, "x")) == MOST_BYTES
    with pytest.raises(ScenarioError, match="larger than 1 MiB"):
        decoded(b"#" * (MOST_BYTES + 1), "x")
    with pytest.raises(ScenarioError, match="x line 3"):
        decoded(b"a = 1\nb = 2\nc = \xff\n", "x")
    assert decoded(b"\xef\xbb\xbfa = 1\r\n", "x") == "a = 1\n"


def deep(levels: int) -> dict[str, object]:
    document: dict[str, object] = {"k": 1}
    for _ in range(levels - 1):
        document = {"k": document}
    return document


def test_values_of_a_document() -> None:
    where = Where("x", None, {})
    assert value_problems(deep(MOST_NESTING), where) == []
    (problem,) = value_problems(deep(MOST_NESTING + 1), where)
    assert "too much, or too deep" in problem.found
    assert value_problems({"k": [0] * (10 * MOST_KEYS - 2)}, where) == []
    assert len(value_problems({"k": [0] * (10 * MOST_KEYS - 1)}, where)) == 1
    for sign in (1, -1):
        assert value_problems({"k": sign * MOST_WHOLE}, where) == []
        (problem,) = value_problems({"k": sign * (MOST_WHOLE + 1)}, where)
        assert problem.hint == "Check its digits."
