"""What is allowed but deserves a look, with the line it stands on."""

from __future__ import annotations

import pytest

from flatodds.errors import Problem, ScenarioError
from flatodds.scenario import parse_scenario
from flatodds.scenario.templates import demo, starter


def cautions(old: str, new: str) -> tuple[Problem, ...]:
    assert old in starter()
    return parse_scenario(starter().replace(old, new), "my.toml").cautions


def test_a_large_bank_may_be_watt_hours() -> None:
    (caution,) = cautions("= 400 ", "= 2000")
    assert caution.where == "my.toml line 7"
    assert "26 kWh, a lot for a trailer" in caution.found
    assert "bank.amp_hours = 156" in caution.hint


def test_an_absurd_bank_is_refused_on_wheels_only() -> None:
    with pytest.raises(ScenarioError, match="66 kWh, more than a trailer can carry"):
        cautions("= 400 ", "= 5120")
    text = starter().replace("= 400 ", "= 5120").replace('"trailer"', '"cabin"')
    assert parse_scenario(text).cautions == ()


def test_the_watt_hour_guess_allows_for_the_volts() -> None:
    text = starter().replace("= 400 ", "= 15360").replace("= 12 ", "= 48 ")
    with pytest.raises(ScenarioError, match=r"write: bank\.amp_hours = 300"):
        parse_scenario(text)


def test_lead_inside_needs_a_vent() -> None:
    (caution,) = cautions('"lithium"', '"agm"\nbank.location = "inside"')
    assert caution.where == "my.toml line 6"
    assert "hydrogen" in caution.found
    assert "vent" in caution.hint


def test_charging_lithium_below_freezing_is_warned_about() -> None:
    (caution,) = cautions("bank.volts ", "bank.charge_cold_limit_c = -4\nbank.volts ")
    assert "Charging at 25 F (-4 C) harms lithium" in caution.found
    assert caution.where == "my.toml line 6"


def test_a_medical_appliance_needs_a_backup() -> None:
    scenario = parse_scenario(demo("plateau-couple"), "c.toml")
    (caution,) = scenario.cautions
    assert "CPAP without humidifier" in caution.found
    assert "backup" in caution.hint
    line = int(caution.where.removeprefix("c.toml line "))
    rows = demo("plateau-couple").splitlines()
    assert rows[line - 1 : line + 1] == ["[[appliance]]", 'use = "cpap_dry"']


def test_an_unlikely_day_is_pointed_out() -> None:
    more = '[[appliance]]\nuse = "satellite_internet_full"\nkind = "steady"\n[[stay]]'
    (caution,) = cautions("[[stay]]", more)
    assert caution.where == "my.toml line 10"
    assert '"light" households use 35 to 110' in caution.found


def test_a_forgotten_minus_is_pointed_out() -> None:
    (caution,) = cautions("44.90, -86.02", "44.90, 86.02")
    assert "in Asia (Asia/" in caution.found
    assert caution.hint == 'If west was meant, write "44.9, -86.02".'
    assert cautions("44.90, -86.02", '44.90, 86.02"\nweather = "x') == (
        cautions("44.90, -86.02", "44.90, 86.02")
    )


def test_metric_users_in_asia_are_left_in_peace() -> None:
    text = 'units = "si"\n' + starter().replace("-86.02", "86.02")
    assert parse_scenario(text).cautions == ()


@pytest.mark.parametrize(
    ("first_day", "more", "told"),
    [
        ("4 Nov", "", ""),  # the day on which 45 nights from 20 Sep end
        ("7 Nov", "", ""),
        ("8 Nov", "", "stay.1.first_day is 4 days after the stay before, whose last charge"),
        ("2 Mar", "", "stay.1.first_day is 118 days after the stay before"),
        ("2 Mar", "arrival_charge_frac = 1", ""),
    ],
)
def test_a_stay_long_after_the_last_begins_with_what_that_one_left(
    first_day: str, more: str, told: str
) -> None:
    """Days between stays are not lived, so that a winter's empty bank would meet the spring."""
    stay = f'\n[[stay]]\nplace = "31.80, -110.30"\nfirst_day = "{first_day}"\nnights = 5\n{more}\n'
    before = parse_scenario(starter()).cautions
    found = parse_scenario(starter() + stay).cautions[len(before) :]
    assert [one.found.startswith(told) for one in found] == [True] * bool(told)
