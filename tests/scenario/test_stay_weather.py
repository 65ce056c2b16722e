"""The keys that say which weather a stay gets."""

from __future__ import annotations

import pytest

from flatodds.errors import ScenarioError
from flatodds.scenario import Scenario, json_schema, load_scenario, parse_scenario

BASE = """title = "weather keys"
bank = { chemistry = "lithium", volts = 12, amp_hours = 100 }
array = { watts = 200 }
household = { pattern = "light" }

[[stay]]
place = "36.10, -79.95"
first_day = "1 Dec"
nights = 9
"""
SUN = [2.4, 3.1, 4.2, 5.3, 5.8, 6.2, 6.0, 5.4, 4.6, 3.8, 2.7, 2.2]


def with_lines(lines: str) -> Scenario:
    return parse_scenario(BASE + lines + "\n", "my.toml")


def test_one_file_or_several() -> None:
    assert with_lines('weather = "a.csv"').stays[0].weather == "a.csv"
    assert with_lines('weather = ["a.csv"]').stays[0].weather == "a.csv"
    several = with_lines('weather = ["a.csv", "b.csv"]\nyears = "shuffled"')
    assert several.stays[0].weather == ("a.csv", "b.csv")
    assert several.stays[0].years == "shuffled"
    assert several == parse_scenario(several.toml, "my.toml")
    assert several.sha256 != with_lines('weather = ["a.csv", "b.csv"]').sha256


def test_monthly_values_in_either_unit() -> None:
    celsius = with_lines(f"monthly_sun_kwh_m2 = {SUN}\nmonthly_temp_c = {[10.0] * 12}")
    fahrenheit = with_lines(f"monthly_sun_kwh_m2 = {SUN}\nmonthly_temp_f = {[50] * 12}")
    assert celsius.stays[0].monthly_sun_kwh_m2 == tuple(SUN)
    assert celsius.stays[0].monthly_temp_c == pytest.approx(fahrenheit.stays[0].monthly_temp_c)
    assert "stay.weather" not in [item.key for item in celsius.assumed]


def test_how_years_are_lived_is_echoed_when_left_out() -> None:
    assert "stay.years" in [item.key for item in with_lines('weather = "a.csv"').assumed]
    assert "stay.years" not in [item.key for item in with_lines("").assumed]


@pytest.mark.parametrize(
    ("lines", "found", "hint"),
    [
        ("weather = 5", "should be a weather file in quotes", 'weather = "my-years.csv"'),
        ("weather = []", "should be a weather file in quotes", "list of them"),
        ('weather = ["a.csv", 5]', "should be a weather file in quotes", "2019.csv"),
        ('weather = ["a.csv", "sample:x"]', "is no packaged sample", "sample:greensboro"),
        ('weather = ""', "ordinary length", "name of a file"),
        ('weather = "a.csv"\nyears = "mixed"', "is not offered", '"shuffled"'),
        ('years = "shuffled"', "there is no weather file", "leave years out"),
        (f'weather = "a.csv"\nmonthly_sun_kwh_m2 = {SUN}', "weather are both written", "Keep one"),
        (f"monthly_sun_kwh_m2 = {SUN[:11]}", "a list of a sensible length", "12 to 12"),
        ("monthly_sun_kwh_m2 = 4.2", "should be a list", ""),
        (
            f"monthly_temp_c = {[1.0] * 12}\nmonthly_temp_f = {[1.0] * 12}",
            "monthly_temp_c are both written",
            "Keep one",
        ),
    ],
)
def test_what_does_not_go_together_is_said_with_its_line(lines: str, found: str, hint: str) -> None:
    with pytest.raises(ScenarioError) as caught:
        with_lines(lines)
    text = str(caught.value)
    assert "my.toml line 1" in text
    assert found in text
    assert hint in text


def test_schema_allows_a_text_and_a_list() -> None:
    stay = json_schema()["$defs"]["WrittenStay"]["properties"]
    kinds = {option["type"] for option in stay["weather"]["anyOf"]}
    assert kinds == {"string", "array"}
    assert stay["monthly_sun_kwh_m2"]["minItems"] == 12


def test_files_load_from_a_scenario_on_disk(tmp_path: object) -> None:
    from pathlib import Path

    file = Path(str(tmp_path)) / "my.toml"
    file.write_text(BASE + 'weather = ["a.csv", "b.csv"]\n')
    assert load_scenario(file).stays[0].weather == ("a.csv", "b.csv")
