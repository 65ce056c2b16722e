"""Every key of a TOML text is found on its own line."""

from __future__ import annotations

import tomllib
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from flatodds.scenario.lines import Lines

TEXT = '''\
# comment with = and [brackets]
title = "a # b = c"
bank.volts = 12
bank . "amp_hours" = 400
'lit eral' = 1

[[stay]]
place = "x"
nights = 3

[[stay]]   # second
place = """
several
lines = here
"""
nights = 4
[stay.deep]
key = 1

[household]
pattern = "light"
windows = [
  "7-9",   # first
  "17-19",
]
[[list.inner]]
a = { b = 1, c = [ { d = 2 },
  { d = 3 } ] }
last = 'z'
'''

EXPECTED: list[tuple[tuple[str | int, ...], int]] = [
    (("title",), 2),
    (("bank",), 3),
    (("bank", "volts"), 3),
    (("bank", "amp_hours"), 4),
    (("lit eral",), 5),
    (("stay",), 7),
    (("stay", 0), 7),
    (("stay", 0, "place"), 8),
    (("stay", 0, "nights"), 9),
    (("stay", 1), 11),
    (("stay", 1, "place"), 12),
    (("stay", 1, "nights"), 16),
    (("stay", 1, "deep", "key"), 18),
    (("household", "pattern"), 21),
    (("household", "windows", 0), 23),
    (("household", "windows", 1), 24),
    (("list", "inner", 0, "a", "b"), 27),
    (("list", "inner", 0, "a", "c", 0, "d"), 27),
    (("list", "inner", 0, "a", "c", 1, "d"), 28),
    (("list", "inner", 0, "last"), 29),
]


def test_the_text_is_toml() -> None:
    tomllib.loads(TEXT)


@pytest.mark.parametrize(("path", "line"), EXPECTED)
def test_finds_lines(path: tuple[str | int, ...], line: int) -> None:
    assert Lines(TEXT).of(path) == line


def test_a_missing_key_is_where_its_table_is() -> None:
    lines = Lines(TEXT)
    assert lines.of(("stay", 1, "first_day")) == 11
    assert lines.of(("bank", "chemistry")) == 3
    assert lines.of(("nowhere",)) == 1


def leaves(value: Any, path: tuple[str | int, ...] = ()) -> list[tuple[tuple[str | int, ...], int]]:
    """Paths of all whole numbers of a document."""
    if isinstance(value, dict):
        return [leaf for key, item in value.items() for leaf in leaves(item, (*path, key))]
    if isinstance(value, list):
        return [leaf for key, item in enumerate(value) for leaf in leaves(item, (*path, key))]
    return [(path, value)] if isinstance(value, int) else []


CHUNKS = st.sampled_from(
    [
        "a{n} = @",
        "b.c{n} = @",
        "'q w'.\"x\\u00e9{n}\" = @",
        "[t{n}]\nk = @",
        "[[m]]\nk = @",
        "[[m.n]]\nk = @",
        "# note = [",
        "s{n} = '''\nx = 1\n'''",
        "i{n} = {{ p = @, q.r = [@, {{ z = @ }}] }}",
        "l{n} = [\n  @, # c ]\n  [@,\n @],\n]",
    ]
)


@pytest.mark.law
@given(st.lists(CHUNKS, min_size=1, max_size=12))
def test_each_number_stands_on_the_line_found(chunks: list[str]) -> None:
    rows = "\n".join(chunk.format(n=n) for n, chunk in enumerate(chunks)).split("\n")
    text = "\n".join(row.replace("@", str(100 + n)) for n, row in enumerate(rows, start=1))
    try:
        document = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return
    lines = Lines(text)
    for path, value in leaves(document):
        assert lines.of(path) == value - 100


@pytest.mark.law
@given(st.text(max_size=60))
def test_never_fails_on_any_text(text: str) -> None:
    Lines(text).of(("a", 0, "b"))


@pytest.mark.parametrize(
    "text",
    [
        "a = [1,",
        "a = [1, ~",
        "a = { b = 1,",
        "a = { b = 1 ~",
        "a = { ",
        "[a",
        "[[a]]\nb = 1\n[[a.c]]\n[a.c.d]\ne = 1",
        "a = [ } ]",
        "'a.b'.\"c\" = 1",
        "= 1",
        "~",
    ],
)
def test_lines_are_found_in_text_that_is_not_toml(text: str) -> None:
    """The walk over a broken text ends, and what it has found stays."""
    lines = Lines(text)
    assert lines.of(("nothing",)) == 1
    assert 1 <= lines.of(("a", "c", "d")) <= text.count("\n") + 1


def test_lines_of_nested_values() -> None:
    lines = Lines("[[a]]\nb = [1,\n 2]\n[[a.c]]\n[a.c.d]\ne = { f = 1, 'g' = [3] }\n")
    assert lines.of(("a", 0, "b")) == 2
    assert lines.of(("a", 0, "b", 1)) == 3
    assert lines.of(("a", 0, "c", 0, "d", "e", "g")) == 6
