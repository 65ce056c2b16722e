"""Mistakes that few make, and the words they are refused with."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from flatodds.scenario.load import _remove
from flatodds.scenario.problems import (
    Where,
    _element_bounds,
    _out_of_range,
    _unit_hint,
    _wanted,
    field_at,
    value_text,
)
from flatodds.scenario.text import value_problems

if TYPE_CHECKING:
    from tests.scenario.small_text import LAMP, made, refused
else:
    from small_text import LAMP, made, refused

LAMPS = "".join(
    LAMP.format(
        name=f"lamp {at}",
        more='minutes = 5\ntimes_a_day = 1\nwindow = ["7-9"]\nneed = "spare-sun"\n'
        f"only_above_charge_frac = 0.{at}",
    )
    for at in range(4, 8)
)
HOME = 'household = {{ pattern = "light", {} }}\n'
TOLD: list[tuple[dict[str, str], str]] = [
    (
        {"array": 'array = { watts = 400, incidence_loss = "yes" }\n'},
        'array.incidence_loss should be true or false, but is "yes".\n'
        "  Write it without quotes, in small letters.",
    ),
    (
        {"stay": "horizon_deg = []\n"},
        "stay.horizon_deg should be a list of a sensible length, but is a list.\n"
        "  It holds 4 to 360 entries.",
    ),
    (
        {"stay": "horizon_deg = [1.0, 2.0, 3.0, 95.0]\n"},
        "stay.horizon_deg.3 = 95; it must be from 0 to 89.",
    ),
    ({"stay": 'name = ""\n'}, 'stay.name should be text of ordinary length, but is "".'),
    (
        {"stay": "nights2 = 3\n"},
        "stay.nights2 is not a word that belongs here.\n  Did you mean nights",
    ),
    (
        {"stay": "bank.volts = 24\n"},
        "stay.bank is not a word that belongs here.\n"
        "  Lines below [[stay]] belong to it: write bank above [[stay]].",
    ),
    ({"more": "units = 5\n"}, 'units = 5 is not offered; use "us" or "si".'),
    ({"more": "array2 = 1\n"}, "array2 is not a word that belongs here.\n  Did you mean array?"),
    ({"more": "title = 5\n"}, 'title should be text in quotes, but is 5.\n  Write: title = "..."'),
    (
        {"more": "cooling = 5\n"},
        "cooling should be a table of values, but is 5.\n  Write them one a line, as in cooling.",
    ),
    ({"array": "array = 5\n"}, "array should be a list, but is 5."),
    (
        {"array": "array.watts = '1,200 W'\n"},
        'array.watts should be a number, but is "1,200 W".\n  Write: array.watts = 1200',
    ),
    ({"array": "array.watts = -4\n"}, "array.watts = -4; it must be from 0 to 100000."),
    ({"array": "array.watts = 4e9\n"}, "array.watts = 4e+09; it must be from 0 to 100000"),
    (
        {"array": 'array.panel = "zz"\n'},
        'array.panel "zz" is not in the catalogue of panels.\n  There are: glass-100',
    ),
    (
        {"house": HOME.format("reserve_frac = 20")},
        "household.reserve_frac = 20; it must be from 0 to 1.\n"
        "  Shares go from 0 to 1. If you meant 20 %, write: reserve_frac = 0.2",
    ),
    (
        {"house": HOME.format("inside_day_c = 68")},
        "household.inside_day_c = 68; it must be from 5 to 35.\n"
        "  If that is in Fahrenheit, write: inside_day_f = 68 (or inside_day_c = 20)",
    ),
    (
        {"house": HOME.format("people = 2.5")},
        "household.people should be a whole number, but is 2.5.\n  Write: people = 2",
    ),
    ({"house": HOME.format('people = "4"')}, 'but is "4".\n  Write: people = 4'),
    ({"house": HOME.format('people = "four"')}, "\n  Write the number alone, without quotes"),
    (
        {"house": 'household.pattern = "lite"\n'},
        'household.pattern = "lite" is not offered; use "light", "medium", "heavy" or "none".\n'
        '  Write: household.pattern = "light"',
    ),
    (
        {"more": LAMP.format(name="x", more='minutes = 5\ntimes_a_day = 1\nwindow = "7-9"')},
        'appliance.window should be a list, but is "7-9".\n  Write: window = ["7-9"]',
    ),
    (
        {"more": '[[appliance]]\nuse = "kettel"\n'},
        'appliance.use "kettel" is not in the catalogue of appliances.\n  Nearest: kettle. All',
    ),
    (
        {"more": '[[appliance]]\nuse = "zzzzqq"\n'},
        'appliance.use "zzzzqq" is not in the catalogue of appliances.\n  All names: flatodds',
    ),
    (
        {"more": LAMPS},
        "There are 4 different values of only_above_charge_frac.\n  Use at most 3.",
    ),
    (
        {"more": 'cooling = { unit = "rooftop_13500", need = "must", only_above_charge_frac=1}\n'},
        'cooling.only_above_charge_frac has no meaning with cooling.need = "must".\n'
        '  Write cooling.need = "above-charge", or take this line out.',
    ),
]


@pytest.mark.parametrize(("words", "told"), TOLD, ids=range(len(TOLD)))
def test_refusals_word_for_word(words: dict[str, str], told: str) -> None:
    assert told in refused(**words)


def test_no_more_than_three_likely_words_are_named() -> None:
    told = refused(more='[[appliance]]\nuse = "heater"\n')
    assert "Nearest: air_heater, space_heater, toaster. All names" in told
    told = refused(house=HOME.format("wats = 3"))
    assert told.count(" or ") == 2
    assert "There is " in told


@pytest.mark.parametrize(
    ("value", "in_f"), [(95, True), (95.5, False), (41, True), (40.5, False), (36, False)]
)
def test_the_other_unit_is_only_offered_where_it_would_be_taken(value: float, in_f: bool) -> None:
    told = refused(house=HOME.format(f"inside_day_c = {value}"))
    assert ("If that is in Fahrenheit" in told) is in_f


def test_three_lines_of_charge_are_not_too_many() -> None:
    three = LAMPS.rpartition("[[appliance]]")[0]
    assert len([use for use in made(three).appliances if use.name.startswith("lamp ")]) == 3


@pytest.mark.parametrize(
    ("value", "told"),
    [
        ('""', "should be text of ordinary length"),
        ("[]", "should be a weather file in quotes, or a list of them"),
        ("[1]", "should be a weather file in quotes, or a list of them"),
        (str(["a.csv"] * 500), "lists more than"),
    ],
)
def test_weather_that_is_no_file(value: str, told: str) -> None:
    assert told in refused(stay=f"weather = {value}\n")


def test_a_table_in_another_table() -> None:
    deep: dict[str, Any] = {}
    here = deep
    for _ in range(40):
        here["a"] = {}
        here = here["a"]
    where = Where("x.toml", None, {})
    assert "too deep" in value_problems(deep, where)[-1].found
    wide = {"a": [1] * 10_001}
    assert "holds too much" in value_problems(wide, where)[-1].found
    assert value_problems({"a": [1] * 100}, where) == []


def test_a_key_that_cannot_be_seen() -> None:
    (told,) = value_problems({"a\u200b": 1}, Where("x.toml", None, {}))
    assert "holds characters that cannot be seen" in told.found


@pytest.mark.parametrize(
    ("context", "told"), [({"ge": 3.0}, "at least 3"), ({"le": 4.0}, "at most 4")]
)
def test_a_limit_on_one_side(context: dict[str, float], told: str) -> None:
    problem = _out_of_range("line", "title", "title", 9.0, ("title",), context)
    assert problem.found == f"title = 9; it must be {told}."


def test_no_hint_without_another_unit() -> None:
    assert _unit_hint("x_c", 5.0, ("nothing", "x_c")) == ""
    assert _unit_hint("inside_day_c", 500.0, ("household", "inside_day_c")) == ""
    assert _unit_hint("inside_day_c", 2e9, ("household", "inside_day_c")) == ""
    assert _unit_hint("inside_day_c", "x", ("household", "inside_day_c")) == ""
    assert _unit_hint("watts", 5.0, ("array", "watts")) == ""
    assert _element_bounds(None) == _element_bounds(field_at(("title",))) == {}
    assert _wanted("unheard_of", "key", 1, ("key",)) == ("something else", "")


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (True, "true"),
        (False, "false"),
        ("x", '"x"'),
        ({}, "a table"),
        ([], "a list"),
        (10**18, "a huge number"),
        (10**18 - 1, str(10**18 - 1)),
        (-(10**18), "a huge number"),
        (1.5, "1.5"),
    ],
)
def test_values_as_they_stand_in_a_file(value: object, text: str) -> None:
    assert value_text(value) == text


@pytest.mark.parametrize(
    "path",
    [("a", 0, "x", "y"), ("b", "c"), ("d", 5, "e"), ("d", 0), ("s", "t", "u"), ("l", "k")],
)
def test_removing_what_is_not_there_does_nothing(path: Any) -> None:
    rest: dict[str, Any] = {"a": [1], "d": [{"e": 1}], "s": "text", "l": [1]}
    before = repr(rest)
    _remove(rest, path)
    assert repr(rest) == before or path == ("d", 0)


def test_removing_takes_the_whole_list_or_the_one_value() -> None:
    rest: dict[str, Any] = {"d": [{"e": 1, "f": 2}], "g": {"h": [1, 2]}}
    _remove(rest, ("d", 0, "e"))
    assert rest["d"] == [{"f": 2}]
    _remove(rest, ("g", "h", 1))
    assert rest["g"] == {}
