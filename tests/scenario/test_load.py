"""Every fault of a file is told with its line, its key and a way out, all at once."""

from __future__ import annotations

import re
import sys
import time
from pathlib import Path

import pytest

from flatodds.errors import ScenarioError
from flatodds.scenario import load_scenario, parse_scenario, scenario_from
from flatodds.scenario.templates import starter

GOOD = """\
home = "trailer"
bank.chemistry = "lithium"
bank.volts = 12
bank.amp_hours = 400
array.watts = 800
inverter.watts = 2000
household.pattern = "light"
[[stay]]
place = "44.90, -86.02"
first_day = "20 Sep"
nights = 45
"""


def problems_of(text: str, name: str = "my.toml") -> list[tuple[str, str, str]]:
    """(where, found, hint) of every problem of a text."""
    with pytest.raises(ScenarioError) as caught:
        parse_scenario(text, name)
    assert caught.value.exit_code == 3
    return [(p.where, p.found, p.hint) for p in caught.value.problems]


def only_problem(text: str) -> tuple[int, str, str]:
    """(line, found, hint) of a text with a single problem."""
    found = problems_of(text)
    assert len(found) == 1, found
    where, words, hint = found[0]
    match = re.fullmatch(r"my\.toml line (\d+)", where)
    assert match, where
    return int(match[1]), words, hint


def test_the_good_text_is_good() -> None:
    scenario = parse_scenario(GOOD)
    assert scenario.bank.amp_hours == 400.0
    assert scenario.stays[0].first_doy == 262
    assert scenario.title == "scenario"


SINGLE = [
    # (text to replace, its replacement, line, words of the message, words of the hint)
    ("amp_hours = 400", "amphours = 400", 4, "bank.amphours is not a word", "bank.amp_hours"),
    ('home = "trailer"', 'hoem = "trailer"', 1, "hoem is not a word", "Did you mean home"),
    ("amp_hours = 400", 'amp_hours = "400 Ah"', 4, "should be a number", "amp_hours = 400"),
    ("amp_hours = 400", "amp_hours = true", 4, "a number, but is true", "without quotes"),
    ("amp_hours = 400", "amp_hours = 0", 4, "bank.amp_hours = 0; it must be from 0.01 to", ""),
    ("amp_hours = 400", "amp_hours = nan", 4, "bank.amp_hours is nan", ""),
    ("amp_hours = 400", "amp_hours = 1e400", 4, "bank.amp_hours is inf", ""),
    ("amp_hours = 400", "amp_hours = [4]", 4, "but is a list", ""),
    ("amp_hours = 400", "amp_hours = 12345678901234567", 4, "bank.amp_hours is 123", "digits"),
    ("amp_hours = 400", "amp_hours = 5120", 4, "66 kWh", "write: bank.amp_hours = 400"),
    ("volts = 12", "volts = 36", 3, "bank.volts = 36 is not offered; use 12, 24 or 48", ""),
    ("volts = 12", 'volts = "12"', 3, 'bank.volts = "12" is not offered', ""),
    ('"lithium"', '"nickel"', 2, '"sodium" or "ideal"', ""),
    ('"lithium"', '"Lithum"', 2, '"Lithum" is not offered', 'bank.chemistry = "lithium"'),
    ('"lithium"', '"LiFePO4"', 2, '"LiFePO4" is not offered', 'bank.chemistry = "lithium"'),
    ('"lithium"', "1", 2, "bank.chemistry = 1 is not offered", ""),
    ("watts = 800", "watts = -800", 5, "array.watts = -800", ""),
    ("array.watts = 800", "array = 5", 5, "array", ""),
    ("array.watts = 800", "array = []", 5, "array should be a list", "1 to 16"),
    ("array.watts = 800", "array.watts = 800\narray.tilt_deg = 91", 6, "from 0 to 90", ""),
    ("nights = 45", "nights = 0", 11, "stay.nights = 0; it must be from 1 to 365", ""),
    ("nights = 45", "nights = 45.5", 11, "a whole number", "Write: nights = 46"),
    ("nights = 45", 'nights = "45 nights"', 11, "a whole number", "Write: nights = 45"),
    ("nights = 45", "nigths = 45", 11, "stay.nigths", "Did you mean nights"),
    ('"20 Sep"', '"12-01"', 10, 'stay.first_day "12-01" can be read', '"12 Jan" or "1 Dec"'),
    ('"20 Sep"', "2026-09-20", 10, "a bare date or time, 2026-09-20", "20 Sep"),
    ('"20 Sep"', "20", 10, "should be text in quotes", ""),
    ('"44.90, -86.02"', '"Bishop"', 9, '"Bishop" could be any of 2 towns', "Bishop, TX"),
    ('"44.90, -86.02"', '"0, -150"', 9, "is at sea", "Check the signs"),
    ('"44.90, -86.02"', '"91, 181"', 9, "off the globe", ""),
    ("nights = 45", "nights = 45\nweather = 'sample:x'", 12, "no packaged sample", "greensboro"),
    ('"light"', '"high"', 7, 'household.pattern = "high" is not offered', ""),
    (
        '"light"',
        '"light"\nhousehold.inside_day_c = 68',
        8,
        "household.inside_day_c = 68; it must be from 5 to 35",
        "Fahrenheit, write: household.inside_day_f = 68 (or household.inside_day_c = 20)",
    ),
    (
        '"light"',
        '"light"\nhousehold.reserve_frac = 15',
        8,
        "must be from 0 to 1",
        "household.reserve_frac = 0.15",
    ),
    (
        "nights = 45",
        "nights = 45\nelevation_m = 10900",
        12,
        "from -450 to 7000",
        "elevation_ft = 10900 (or elevation_m = 3322)",
    ),
    (
        "nights = 45",
        "nights = 45\nelevation_m = 300\nelevation_ft = 900",
        13,
        "stay.elevation_ft and elevation_m are both written",
        "Keep one",
    ),
    (
        '"light"',
        '"light"\nhousehold.inside_day_c = 20\nhousehold.inside_day_f = 68',
        9,
        "household.inside_day_f and inside_day_c are both written",
        "Keep one",
    ),
    (
        "amp_hours = 400",
        "amp_hours = 400\nbank.cutoff_frac = 0.3\nbank.reconnect_frac = 0.2",
        6,
        "bank.reconnect_frac = 0.2 is below bank.cutoff_frac = 0.3",
        "",
    ),
    (
        '"light"',
        '"light"\nhousehold.caution_frac = 0.1',
        8,
        "household.caution_frac = 0.1 is below household.reserve_frac = 0.15",
        "",
    ),
    ("inverter.watts = 2000", "inverter.watts = 2000\nwindmill.watts = 3", 7, "windmill", "home"),
    ("inverter.watts", "inverter.amp_hours", 6, "inverter.amp_hours", "There is bank.amp_hours"),
    ("inverter.watts = 2000", "inverter = 2000", 6, "inverter should be a table", ""),
    ('home = "trailer"', 'title = ""', 1, "title should be text of ordinary length", ""),
    ('home = "trailer"', 'title = "a\\u001b[31m"', 1, "title holds characters", ""),
    ('home = "trailer"', 'title = "a\\u202eb"', 1, "title holds characters", ""),
    ("bank.volts = 12\n", "", 2, "bank.volts is missing", "Write: bank.volts = 12"),
    ("array.watts = 800\n", "", 1, "array is missing", "Write: array.watts = 800"),
    ("nights = 45\n", "", 8, "stay.nights is missing", "Write: nights = 45"),
]


@pytest.mark.parametrize(("old", "new", "line", "found", "hint"), SINGLE)
def test_each_fault_by_itself(old: str, new: str, line: int, found: str, hint: str) -> None:
    assert GOOD.count(old) == 1
    got_line, got_found, got_hint = only_problem(GOOD.replace(old, new))
    assert got_line == line
    assert found in got_found
    assert hint in got_hint


def test_mains_appliances_need_an_inverter() -> None:
    text = GOOD.replace("2000", "0").replace('"light"', '"medium"')
    line, found, hint = only_problem(text)
    assert line == 6
    assert (
        "There is no inverter, but satellite_internet_full, tv_media, desktop_or_console and 2"
        in found
    )
    assert "inverter.watts = 2000" in hint


def test_one_mains_appliance_needs_an_inverter() -> None:
    text = GOOD.replace("2000", "0").replace('"light"', '"none"')
    text += '\n[[appliance]]\nuse = "microwave"\n'
    assert only_problem(text)[1] == "There is no inverter, but microwave needs one."
    two = text + '\n[[appliance]]\nuse = "air_fryer"\n'
    assert only_problem(two)[1] == "There is no inverter, but microwave, air_fryer need one."


def test_all_problems_at_once_in_order_of_lines() -> None:
    text = (
        GOOD.replace("amp_hours = 400", 'amp_hours = "400 Ah"')
        .replace("array.watts", "array.wats")
        .replace('"light"', '"light"\nhousehold.inside_day_c = 20\nhousehold.inside_day_f = 68')
        .replace('"20 Sep"', '"12-01"')
        + '[[appliance]]\nuse = "kettel"\n[[appliance]]\nname = "bread"\nwatts = 450\nside = "ac"\n'
    )
    found = [(where.removeprefix("my.toml line "), words) for where, words, _ in problems_of(text)]
    keys = [
        ("4", "bank.amp_hours should be"),
        ("5", "array.wats is not a word"),
        ("9", "household.inside_day_f and inside_day_c"),
        ("12", "stay.first_day"),
        ("15", "appliance.0.use"),
        ("16", "appliance.1.minutes is missing"),
        ("16", "appliance.1.times_a_day is missing"),
        ("16", "appliance.1.window is missing"),
    ]
    assert len(found) == len(keys), found
    for (line, words), (expected_line, expected) in zip(found, keys, strict=True):
        assert line == expected_line
        assert words.startswith(expected)


def test_messages_stay_ascii_and_short() -> None:
    text = GOOD.replace('"trailer"', '"\u202e' + "x" * 5000 + '"') + 'k\u00e9y = 1\n"\\u001b" = 2\n'
    for where, found, hint in problems_of(text):
        assert (where + found + hint).isascii()
        assert "\x1b" not in found + hint
        assert len(found) < 400


def test_stay_keys_are_numbered_when_there_are_several() -> None:
    text = GOOD + '[[stay]]\nplace = "44.9, -86.0"\nfirst_day = "1 Dec"\nnights = 0\n'
    line, found, _ = only_problem(text)
    assert line == 15
    assert found.startswith("stay.1.nights = 0")


def test_not_toml() -> None:
    line, found, hint = only_problem(GOOD.replace('"20 Sep"', "20 Sep"))
    assert line == 10
    assert found.startswith("This is not TOML")
    assert hint == 'Text needs quotes: first_day = "20 Sep"'


def test_a_key_twice() -> None:
    line, _, hint = only_problem(GOOD.replace("bank.volts", "bank.volts = 24\nbank.volts"))
    assert line == 4
    assert "written twice" in hint


def test_a_table_twice() -> None:
    text = GOOD + '[household]\npattern = "heavy"\n'
    assert "written twice" in problems_of(text)[0][2]


def test_curly_quotes_are_noticed_on_every_line() -> None:
    text = GOOD.replace('"lithium"', "“lithium”").replace('"20 Sep"', "”20 Sep”")
    found = problems_of(text)
    assert [where for where, _, _ in found] == ["my.toml line 2", "my.toml line 10"]
    assert all("Curly quotes" in words for _, words, _ in found)


def test_curly_quotes_inside_a_title_are_fine() -> None:
    assert parse_scenario("title = 'Ann’s “rig”'\n" + GOOD).title == "Ann’s “rig”"


def test_byte_order_mark_and_windows_line_ends_are_fine(tmp_path: Path) -> None:
    file = tmp_path / "notepad.toml"
    file.write_bytes(b"\xef\xbb\xbf" + GOOD.replace("\n", "\r\n").encode())
    assert load_scenario(file).title == "notepad"
    assert load_scenario(file).sha256 == parse_scenario(GOOD, "notepad.toml").sha256


def test_sixteen_bit_text_is_told(tmp_path: Path) -> None:
    file = tmp_path / "my.toml"
    file.write_text(GOOD, encoding="utf-16")
    with pytest.raises(ScenarioError, match="UTF-16"):
        load_scenario(file)


def test_bytes_that_are_no_text_are_told_with_their_line(tmp_path: Path) -> None:
    file = tmp_path / "my.toml"
    file.write_bytes(GOOD.encode() + b'title = "\xff"\n')
    with pytest.raises(ScenarioError, match=r"my\.toml line 12: The file is not UTF-8"):
        load_scenario(file)


def test_missing_files(tmp_path: Path) -> None:
    (tmp_path / "my.toml.txt").write_text(GOOD)
    (tmp_path / "desert.toml").write_text(GOOD)
    with pytest.raises(ScenarioError, match=r"there is my\.toml\.txt"):
        load_scenario(tmp_path / "my.toml")
    with pytest.raises(ScenarioError, match=r"Did you mean desert\.toml\?"):
        load_scenario(tmp_path / "dessert.toml")
    with pytest.raises(ScenarioError, match="flatodds new zzz"):
        load_scenario(tmp_path / "zzz")
    with pytest.raises(ScenarioError, match=r"is a folder, not a scenario file\.\n  In it is de"):
        load_scenario(tmp_path)
    (tmp_path / "bare").mkdir()
    with pytest.raises(ScenarioError, match=r"bare is a folder, not a scenario file\.$"):
        load_scenario(tmp_path / "bare")
    with pytest.raises(ScenarioError, match="cannot be read"):
        load_scenario("nul\0name")


HOSTILE = [
    ("x" * (1024 * 1024 + 1), "larger than 1 MiB"),
    ("# " + "x" * (1024 * 1024 + 1), "larger than 1 MiB"),
    ("a = " + "[" * 500 + "]" * 500, "more than 32 deep"),
    ("a = " + "{b=" * 40 + "1" + "}" * 40, "more than 32 deep"),
    ("a = " + "9" * 5000, "more than 100 digits"),
    ("a = 0x" + "f" * 120 + "1" * 120, "more than 100 digits"),
    ("a = 0x" + "f" * 90, "is a huge number"),
    ("\n".join(f"k{n} = 1" for n in range(1001)), "More than 1000 keys"),
    (".".join("a" * 40) + " = 1", "too deep"),
    ("[" + ".".join("a" * 40) + "]", "too deep"),
    ("a = [" + "1," * 100_000 + "]", "too much"),
    ("[[a]]\n" * 100_000, "too much"),
    ("a = " + '"\\' * 300_000, "not TOML"),
    ('"' * 300_001, "not TOML"),
    ("'''" + "x" * 100_000, "not TOML"),
    ("\x00", "not TOML"),
    ("a = \ud800", "not UTF-8"),
]


@pytest.mark.parametrize(("text", "found"), HOSTILE)
def test_hostile_texts_are_refused_soon(text: str, found: str) -> None:
    begun = time.process_time()
    with pytest.raises(ScenarioError, match=found):
        parse_scenario(text)
    counted = sys.gettrace() is not None  # counting lines makes everything slower
    assert counted or time.process_time() - begun < 1.0


def test_at_most_fifty_problems() -> None:
    assert len(problems_of(GOOD + "".join(f"x{n} = 1\n" for n in range(200)))) == 50


def test_a_document_needs_no_file() -> None:
    scenario = parse_scenario(GOOD)
    assert scenario_from(scenario.document) == scenario
    with pytest.raises(ScenarioError, match="array is missing"):
        scenario_from({})
    with pytest.raises(ScenarioError, match="of a kind a scenario cannot hold"):
        scenario_from({**scenario.document, "title": object()})


def test_the_starter_loads_and_has_twelve_active_lines() -> None:
    scenario = parse_scenario(starter(), "starter.toml")
    assert scenario.stays[0].nights == 45
    assert 44.0 <= scenario.stays[0].latitude <= 46.0
    assert scenario.cautions == ()
    active = [line for line in starter().splitlines() if line.strip() and not line.startswith("#")]
    assert len(active) == 12
    assert starter().isascii()
    assert max(map(len, starter().splitlines())) <= 80


def test_the_commented_part_of_the_starter_is_right_too() -> None:
    head, _, tail = starter().partition("# Some of what else")
    lines = [
        re.sub(r"^# ?", "", line)
        for line in tail.splitlines()[1:]
        if "[household]" not in line and "pattern =" not in line and "inside_day" not in line
    ]
    scenario = parse_scenario(head + "\n".join(lines))
    assert scenario.stays[0].weather == "my-weather.epw"
    assert {use.name for use in scenario.appliances} >= {"microwave", "bread maker"}
