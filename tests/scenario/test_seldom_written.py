"""Words that few people write, and mistakes that few make."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from flatodds.errors import ScenarioError
from flatodds.scenario import Scenario, parse_scenario
from flatodds.scenario.bank import _above
from flatodds.scenario.dates import DayError, parse_day
from flatodds.scenario.filled import filled, refusal
from flatodds.scenario.limits import estimated_c, limit_rows
from flatodds.scenario.lines import Lines
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


def test_an_appliance_used_no_times_is_none() -> None:
    times = 'minutes = 5\ntimes_a_day = {}\nwindow = ["7-9"]'
    never = made(LAMP.format(name="lamp", more=times.format(0)))
    assert "lamp" not in {use.name for use in never.appliances}
    twice = made(LAMP.format(name="lamp", more=times.format(2)))
    (lamp,) = (use for use in twice.appliances if use.name == "lamp")
    assert (lamp.times_a_day, lamp.times_a_day_weekend) == (2.0, 2.0)


def test_a_steady_appliance_takes_no_times() -> None:
    steady = 'kind = "steady"'
    assert "lamp" in {u.name for u in made(LAMP.format(name="lamp", more=steady)).appliances}
    told = refused(LAMP.format(name="lamp", more=f"{steady}\nminutes = 5"))
    assert "minutes has no meaning: a steady appliance is always on" in told


def test_two_controllers_need_names() -> None:
    arrays = 'array = [{ watts = 400, controller = "a" }, { watts = 200, controller = "b" }]\n'
    told = refused("[[controller]]\n[[controller]]\n", array=arrays)
    assert "controller.0.name is missing: there are several controllers" in told
    assert "controller.1.name is missing" in told
    told = refused('[[controller]]\nname = "a"\n[[controller]]\nname = "a"\n', array=arrays)
    assert 'controller.1.name "a" is given twice' in told


def test_strings_of_panels() -> None:
    panel = "voc_v = 38.9, isc_a = 10, vmp_v = 31.0, imp_a = 9.5, voc_frac_per_c = -0.0027"
    text = "array = {{ {panel}, {more} }}\n"

    def strings(more: str) -> tuple[int, int]:
        (found,) = made(array=text.format(panel=panel, more=more)).arrays
        return found.in_series, found.in_parallel

    assert strings("count = 6, in_parallel = 2") == (3, 2)
    assert strings("count = 6, in_series = 2") == (2, 3)
    assert strings("count = 6") == (1, 6)
    told = refused(array=text.format(panel=panel, more="count = 5, in_parallel = 2"))
    assert "array.in_parallel does not fit: 2 in series, 2 such strings, 5 panels" in told
    told = refused(array=text.format(panel=panel, more="count = 5, in_series = 3"))
    assert "array.in_series does not fit: 3 in series, 1 such strings, 5 panels" in told


def test_trees_without_leaves_to_lose() -> None:
    stay = made(stay="tree_shade_frac = 0.4\n").stays[0]
    key = {item.key: item.why for item in made(stay="tree_shade_frac = 0.4\n").assumed}
    assert any(name.endswith("leaves") for name in key)
    assert (stay.shade.tree_shade_frac, stay.shade.leaf_doys) == (0.4, ())
    bare = made(stay='tree_shade_frac = 0.4\nleaves = ["1 May", "20 Oct"]\n').stays[0]
    assert bare.shade.leaf_doys == (120, 292)
    assert bare.shade.bare_shade_frac < stay.shade.bare_shade_frac == 1.0


def test_days_of_a_pedestal_are_said_once() -> None:
    hookup = "hookup.charger_amps = 30\n"
    both = 'hookup_every_days = 3\nhookup_dates = ["22 Nov"]\n'
    assert "hookup_every_days" in refused(hookup, stay=both)
    own = made(hookup, stay='hookup_dates = ["22 Nov"]\n')
    assert own.hookup is not None
    assert own.hookup.days == ((2,),)


@pytest.mark.parametrize(
    ("text", "hint"),
    [("40 Sep 2026", "20 Sep"), ("2026-13-05", "20 Sep"), ("2026-09-32", "20 Sep")],
)
def test_days_that_no_year_has(text: str, hint: str) -> None:
    with pytest.raises(DayError) as caught:
        parse_day(text)
    assert hint in str(vars(caught.value)) + str(caught.value)


def test_the_release_above_a_limit() -> None:
    from flatodds.catalog import chemistries

    lithium, lead = chemistries()["lithium"], chemistries()["agm"]
    assert lead.charge_cold_limit_c is None
    assert _above(-5.0, lead, 7.0) == _above(-5.0, lithium, None)
    assert _above(-5.0, lithium, (lithium.charge_cold_limit_c or 0.0) + 3.0) == -2.0


def test_a_record_low_is_guessed() -> None:
    stay = made().stays[0]
    months = tuple(float(at) - 3.0 for at in range(12))
    assert estimated_c(replace(stay, monthly_temp_c=months)) == -23.0
    plain = replace(stay, monthly_temp_c=None, elevation_m=None)
    assert estimated_c(replace(plain, latitude=10.0)) == 15.0
    assert estimated_c(replace(plain, latitude=-30.0)) == pytest.approx(-2.0)
    assert estimated_c(replace(plain, latitude=30.0, elevation_m=2000.0)) == pytest.approx(-12.0)
    assert estimated_c(replace(plain, latitude=80.0)) == -45.0


def test_panels_without_a_data_sheet_have_only_area_and_mass() -> None:
    plain = made()
    rows = dict(limit_rows(plain.arrays, plain.controllers, plain.stays))
    assert "not checked" in rows["array 0"]  # no data plate, no volts
    watts = sum(array.watts for array in plain.arrays)
    assert f"about {watts / 200.0:.1f} m2, {watts / 200.0 * 11.0:.0f} kg" in rows["all panels"]
    assert "licensed electrician" in rows["mind"]


def test_strings_side_by_side() -> None:
    panel = "voc_v = 38.9, isc_a = 10, vmp_v = {}, imp_a = 9.5, voc_frac_per_c = -0.0027"
    pair = "array = [{{ {}, count = 1 }}, {{ {}, count = 1 }}]\n"
    same = made(array=pair.format(panel.format(31), panel.format(31)))
    apart = made(array=pair.format(panel.format(31), panel.format(20)))
    told = "\n".join(caution.found for caution in apart.cautions)
    assert "strings of 20 and 31 V side by side share one voltage" in told
    assert "side by side" not in "\n".join(caution.found for caution in same.cautions)


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


def test_three_lines_of_charge_are_not_too_many() -> None:
    three = LAMPS.rpartition("[[appliance]]")[0]
    assert len([use for use in made(three).appliances if use.name.startswith("lamp ")]) == 3


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


def test_wet_days_written_are_not_assumed() -> None:
    keys = {item.key for item in made(stay=f"monthly_wet_days = {[5] * 12}\n").assumed}
    assert not any(key.endswith("monthly_wet_days") for key in keys)
    assert any(item.key.endswith("monthly_wet_days") for item in made().assumed)


def test_hours_out_that_are_written() -> None:
    aimed = "array = {{ watts = 200, aimed_times_a_day = 2{} }}\n"
    usual = {item.key for item in made(array=aimed.format("")).assumed}
    written = made(array=aimed.format(', out_hours = ["9-16"]'))
    assert "array.out_hours" in usual
    assert "array.out_hours" not in {item.key for item in written.assumed}
    assert written.arrays[0].out_hours == ((9.0, 16.0),)


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


def test_answers_and_a_title_of_their_own() -> None:
    text = filled({"place": "40.0, -105.0", "nights": "9"})
    assert '= "9 nights at 40.0, -105.0"' in text
    assert "(invented)" not in text
    own = filled({"place": "40.0, -105.0", "title": "Mine"})
    assert '= "Mine"' in own
    assert filled({}).count("\n") == own.count("\n")


def test_answers_put_into_the_starter() -> None:
    assert refusal({"bank.amp_hours": "200"}) is None
    told = refusal({"bank.amp_hours": "-3"})
    assert told is not None
    assert told.startswith("-3; it must be")
    with pytest.raises(KeyError, match=r"no\.such"):
        filled({"no.such": "1"})
