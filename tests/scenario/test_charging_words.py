"""Generator, drives and hookup in a scenario: defaults, days, and what is refused."""

from __future__ import annotations

import pytest

from flatodds.errors import ScenarioError
from flatodds.scenario import Scenario, parse_scenario

PLAIN = """
bank = { chemistry = "lithium", volts = 24, amp_hours = 200 }
array = { watts = 600 }
household = { pattern = "none" }
"""
STAYS = """
[[stay]]
place = "36.9, -111.5"
first_day = "20 Oct"
nights = 20
{first}
[[stay]]
place = "31.8, -110.5"
first_day = "9 Nov"
nights = 12
{second}
"""


def scenario(tables: str = "", first: str = "", second: str = "") -> Scenario:
    text = PLAIN + tables + STAYS.format(first=first, second=second)
    return parse_scenario(text, "my.toml")


def refused(tables: str = "", first: str = "", second: str = "") -> str:
    with pytest.raises(ScenarioError) as caught:
        scenario(tables, first, second)
    return str(caught.value)


def test_a_rig_without_them_has_none_and_the_same_hash_as_ever() -> None:
    plain = scenario()
    assert (plain.generator, plain.drive, plain.hookup) == (None, None, None)
    assert '"generator"' not in plain.canonical_json


def test_defaults_of_a_generator_are_told() -> None:
    found = scenario("generator.watts = 1600\n")
    generator = found.generator
    assert generator is not None
    assert generator.charger_amps == 27.5  # half the amperes at twice the volts
    assert generator.start_frac == pytest.approx(0.25)
    assert generator.windows == (((7.0, 22.0),),) * 2
    assert (generator.idle_l_per_h, generator.load_l_per_kwh) == pytest.approx((0.21, 0.46))
    why = {item.key: item.why for item in found.assumed}
    assert "36 CFR 2.10" in why["generator.hours"]
    assert "manual" in why["generator.height_loss_frac_per_km"]


def test_carbon_monoxide_is_always_told() -> None:
    said = [f"{c.found} {c.hint}" for c in scenario("generator.watts = 1600\n").cautions]
    text = next(words for words in said if "carbon monoxide" in words)
    for word in ("Safety: ", "outdoors only", "20 ft (6 m)", "awning", "alarm"):
        assert word in text
    assert not any("carbon monoxide" in c.hint for c in scenario().cautions)


def test_gasoline_is_petrol_and_propane_burns_more() -> None:
    lines = []
    for fuel in ("petrol", "gasoline", "propane"):
        generator = scenario(f'generator.watts = 1600\ngenerator.fuel = "{fuel}"\n').generator
        assert generator is not None
        lines.append((generator.idle_l_per_h, generator.load_l_per_kwh))
    assert lines[0] == lines[1]
    assert lines[2][1] / lines[0][1] == pytest.approx(8.9 / 6.5)


def test_days_by_number_by_date_and_by_stay() -> None:
    tables = "[drive]\namps = 30\nevery_days = 5\n[hookup]\ndates = ['24 Oct', '12 Nov']\n"
    found = scenario(tables, second="drive_every_days = 4")
    assert found.drive is not None
    assert found.drive.days == ((4, 9, 14, 19), (3, 7, 11))
    assert found.hookup is not None
    assert found.hookup.days == ((4,), (3,))
    assert found.hookup.windows == ((18.0, 32.0),)


def test_the_first_day_may_be_another_and_a_stay_may_have_none() -> None:
    tables = "[drive]\namps = 30\nevery_days = 7\nfirst = 1\n"
    found = scenario(tables, second="drive_every_days = 0").drive
    assert found is not None
    assert found.days == ((0, 7, 14), ())


def test_a_stay_may_forbid_the_generator() -> None:
    tables = '[generator]\nwatts = 1600\nhours = ["8-10", "16-19"]\n'
    found = scenario(tables, first="generator_hours = []").generator
    assert found is not None
    assert found.windows == ((), ((8.0, 10.0), (16.0, 19.0)))


def test_a_change_reaches_the_generator() -> None:
    found = scenario("generator.watts = 1600\n").with_changes({"generator.watts": 5000.0})
    assert found.generator is not None
    assert found.generator.idle_l_per_h == pytest.approx(0.69)


@pytest.mark.parametrize(
    ("tables", "first", "words"),
    [
        ("[drive]\namps = 30\n", "", "drive does not say on which days."),
        ("[drive]\namps = 3\nevery_days = 2\ndates = ['24 Oct']\n", "", "are both written."),
        ("[drive]\namps = 3\ndates = ['24 Dec']\n", "", "names a day on which nobody stays"),
        ("[drive]\namps = 3\nevery_days = 2\n", "drive_dates = ['24 Dec']", "nobody stays there"),
        ("", "hookup_every_days = 7", "there is no hookup."),
        ("", "generator_hours = ['8-10']", "there is no generator."),
        ("[generator]\nwatts = 1e3\nstop_frac = 0.2\n", "", "is not above generator.start_frac"),
        ("[generator]\nwatts = 1e3\nhours = ['8-10', '9-11']\n", "", "hours that overlap"),
        (
            "[generator]\nwatts = 1e3\nidle_l_per_h = 0\nload_l_per_kwh = 0.3\n",
            "",
            "less than 0.37",
        ),
    ],
)
def test_what_is_refused(tables: str, first: str, words: str) -> None:
    assert words in refused(tables, first)


@pytest.mark.parametrize(
    ("tables", "words"),
    [
        ("[generator]\nwatts = 900\ncharger_amps = 60\n", "more than the generator's 900 W"),
        ("[generator]\nwatts = 5000\ncharger_amps = 90\n", "more than this bank takes (60 A"),
        ("[drive]\namps = 90\nevery_days = 3\n", "drive.amps = 90 is more"),
        (
            '[generator]\nwatts = 900\nhours = ["8-10", "16-19"]\n[[appliance]]\nname = "a"\n'
            'watts = 90\nside = "dc"\nkind = "steady"\n',
            "In the 13 hours without generator the household uses about",
        ),
        ("[generator]\nwatts = 1000\nload_l_per_kwh = 2.5\n", "is a lot"),
    ],
)
def test_what_deserves_a_look(tables: str, words: str) -> None:
    assert any(words in caution.found for caution in scenario(tables).cautions)


def test_what_the_hours_without_generator_take_is_told() -> None:
    """330 W for the 13 hours from 19 to 8, of 200 Ah at 24 V."""
    tables = (
        '[generator]\nwatts = 900\nhours = ["8-10", "16-19"]\nstart_frac = 0.9\nstop_frac = 0.95\n'
        '[[appliance]]\nname = "a"\nwatts = 330\nside = "dc"\nkind = "steady"\n'
    )
    found = scenario(tables)
    used = 100.0 * 330.0 * 13.0 / found.bank.capacity_wh
    assert 80.0 < used < 85.0
    [told] = [one.found for one in found.cautions if "hours without generator" in one.found]
    assert f"uses about {used:.0f} % of the bank; just above its start at 90 %" in told
    assert told.endswith(f"that would leave {90.0 - used:.0f} %.")
    low = scenario(tables.replace("start_frac = 0.9", "start_frac = 0.3"))
    assert any("that would not do." in one.found for one in low.cautions)
    short = scenario(tables.replace("330", "3"))
    assert not any("hours without generator" in one.found for one in short.cautions)


def test_fuel_at_full_load_is_that_of_the_load_and_of_idling() -> None:
    generator = scenario(
        "[generator]\nwatts = 500\nidle_l_per_h = 0.25\nload_l_per_kwh = 0.4\n"
    ).generator
    assert generator is not None
    assert generator.full_load_l_per_kwh == pytest.approx(0.9, rel=1e-12)


@pytest.mark.parametrize(("amps", "volts"), [(30, 120.0), (49, 120.0), (50, 240.0)])
def test_receptacles_of_50_amperes_have_two_legs(amps: int, volts: float) -> None:
    hookup = scenario(f"hookup = {{ every_days = 5, pedestal_amps = {amps} }}\n").hookup
    assert hookup is not None
    assert hookup.pedestal_volts == volts
