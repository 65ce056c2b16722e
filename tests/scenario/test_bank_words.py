"""The bank's words: its batteries in place of the whole, ageing, and limits."""

from __future__ import annotations

import pytest

from flatodds.catalog import chemistries
from flatodds.errors import ScenarioError
from flatodds.scenario import Scenario, parse_scenario
from flatodds.scenario.limits_bank import inverter_a, limit_words, low_v, panels_a

REST = """
array.watts = 800
inverter.watts = 2000
household.pattern = "light"
stay = [{ place = "44.90, -86.02", first_day = "20 Sep", nights = 45 }]
"""


def with_bank(lines: str, rest: str = REST) -> Scenario:
    return parse_scenario(lines + rest, "my.toml")


def problems_of(lines: str) -> str:
    with pytest.raises(ScenarioError) as caught:
        with_bank(lines)
    return str(caught.value)


def units(kind: str, volts: float, amp_hours: float, series: int, rows: int) -> str:
    return (
        f'bank.chemistry = "{kind}"\nbank.unit_volts = {volts}\n'
        f"bank.unit_amp_hours = {amp_hours}\nbank.units_series = {series}\n"
        f"bank.units_parallel = {rows}\n"
    )


@pytest.mark.parametrize(
    ("volts", "series", "whole"),
    [(6.0, 2, 12), (2.0, 12, 24), (12.8, 1, 12), (12.8, 2, 24), (3.2, 16, 48), (6.0, 8, 48)],
)
def test_batteries_make_the_same_bank_as_the_whole(volts: float, series: int, whole: int) -> None:
    built = with_bank(units("flooded", volts, 225.0, series, 2)).bank
    written = f'bank.chemistry = "flooded"\nbank.volts = {whole}\nbank.amp_hours = 450\n'
    assert built == with_bank(written).bank


def test_series_and_parallel_are_one_unless_written() -> None:
    lines = 'bank.chemistry = "lithium"\nbank.unit_volts = 12.8\nbank.unit_amp_hours = 100\n'
    scenario = with_bank(lines)
    assert (scenario.bank.volts, scenario.bank.amp_hours) == (12, 100.0)
    assert {"bank.units_series", "bank.units_parallel"} <= {a.key for a in scenario.assumed}


def test_both_ways_at_once_is_an_error() -> None:
    text = problems_of(units("agm", 6.0, 200.0, 2, 1) + "bank.volts = 12\n")
    assert "bank.volts and bank.unit_volts are both written" in text


LEAD = 'bank.chemistry = "agm"\nbank.volts = 12\nbank.amp_hours = 100\n'


def test_wells_come_in_place_of_an_exponent() -> None:
    both = "bank.available_well_frac = 0.3\nbank.well_rate_per_h = 0.5\n"
    bank = with_bank(LEAD + both).bank
    assert (bank.wells, bank.rate_exponent) == ((0.3, 0.5), 1.0)
    assert "bank.rate_exponent" not in {a.key for a in with_bank(LEAD + both).assumed}
    assert with_bank(LEAD).bank.wells is None
    text = problems_of(LEAD + both + "bank.rate_exponent = 1.2\n")
    assert "bank.rate_exponent and bank.available_well_frac are both written" in text
    assert "bank.well_rate_per_h is missing" in problems_of(LEAD + both.split("\n")[0] + "\n")
    assert "bank.available_well_frac is missing" in problems_of(LEAD + both.split("\n")[1] + "\n")


def test_batteries_that_make_no_usual_voltage() -> None:
    text = problems_of(units("agm", 6.0, 200.0, 3, 1))
    assert "3 x 6 V in a row make 18 V" in text


@pytest.mark.parametrize(
    ("lines", "missing"),
    [
        ('bank.chemistry = "agm"\nbank.units_series = 2\n', "bank.unit_volts is missing"),
        ('bank.chemistry = "agm"\nbank.unit_volts = 12\n', "bank.unit_amp_hours is missing"),
        ('bank.chemistry = "agm"\nbank.amp_hours = 200\n', "bank.volts is missing"),
    ],
)
def test_what_is_missing_is_named_once(lines: str, missing: str) -> None:
    assert problems_of(lines).count(missing) == 1


def test_a_misspelt_size_is_not_also_missing() -> None:
    text = problems_of('bank.chemistry = "agm"\nbank.volts = 12\nbank.amphours = 200\n')
    assert "bank.amp_hours is missing" not in text
    assert "Did you mean bank.amp_hours" in text


def test_two_banks_are_refused_with_a_reason() -> None:
    two = '[[bank]]\nchemistry = "agm"\nvolts = 12\namp_hours = 100\n'
    rest = "\n".join(line for line in REST.splitlines() if line)
    with pytest.raises(ScenarioError, match="more than one bank"):
        parse_scenario(rest + "\n" + two + two, "my.toml")


def test_age_lowers_health_and_raises_resistance() -> None:
    line = 'bank.chemistry = "{}"\nbank.volts = 12\nbank.amp_hours = 200\n'
    kind = chemistries()["lithium"]
    new = with_bank(line.format("lithium")).bank
    old = with_bank(line.format("lithium") + "bank.age_years = 12\n").bank
    assert kind.calendar_years == 12.0
    assert new.health_frac == 1.0
    assert old.health_frac == pytest.approx(0.8)
    assert old.resistance_ohm == pytest.approx(kind.aged_resistance_ratio * new.resistance_ohm)
    assert old.capacity_wh == pytest.approx(0.8 * new.capacity_wh)
    told = with_bank(line.format("lithium") + "bank.age_years = 12\nbank.health_frac = 0.95\n").bank
    assert told.health_frac == 0.95
    assert new.resistance_ohm < told.resistance_ohm < old.resistance_ohm
    assert with_bank(line.format("ideal") + "bank.age_years = 30\n").bank.health_frac == 1.0


def test_a_written_efficiency_is_the_same_at_every_charge() -> None:
    line = 'bank.chemistry = "flooded"\nbank.volts = 12\nbank.amp_hours = 200\n'
    assert with_bank(line).bank.efficiency_falls_from_frac == 0.6
    plain = with_bank(line + "bank.charge_efficiency_frac = 0.85\n").bank
    assert (plain.charge_efficiency_frac, plain.efficiency_falls_from_frac) == (0.85, 1.0)


def test_amperes_by_hand() -> None:
    """800 W times .97 into a lithium bank of 12.8 V at 20 %; 2,000 W times 1.0915 out of it."""
    scenario = with_bank('bank.chemistry = "lithium"\nbank.volts = 12\nbank.amp_hours = 100\n')
    bank = scenario.bank
    assert low_v(bank) == pytest.approx(12.8)
    pushed = panels_a(bank, scenario.arrays, scenario.controllers)
    assert pushed == pytest.approx(800.0 * 0.97 / 12.8)
    assert inverter_a(bank, scenario.inverter) == pytest.approx(2000.0 * 1.0915 / 12.8)
    words = limit_words(bank, scenario.arrays, scenario.controllers, scenario.inverter)
    assert words == (
        "takes 30 A and gives 100 A at most; panels push up to 61 A, inverter draws up to"
        " 171 A; weighs about 11 kg"
    )


def test_a_bank_alone_is_pushed_and_drawn_by_nothing() -> None:
    line = 'bank.chemistry = "lithium"\nbank.volts = 12\nbank.amp_hours = 100\n'
    scenario = with_bank(line, REST.replace("array.watts = 800", "array.watts = 0"))
    words = limit_words(scenario.bank, scenario.arrays, scenario.controllers, scenario.inverter)
    assert "panels" not in words


def cautions(lines: str, rest: str = REST) -> str:
    return " ".join(str(caution) for caution in with_bank(lines, rest).cautions)


def test_a_rig_beyond_the_banks_limits_is_told() -> None:
    small = 'bank.chemistry = "lithium"\nbank.volts = 12\nbank.amp_hours = 100\n'
    told = cautions(small)
    assert "Panels can push 61 A into a bank that takes 30 A" in told
    assert "draws 171 A at 12.8 V, from a bank that gives 100 A" in told
    assert "licensed electrician" in told
    assert "can push" not in cautions(small, REST + "controller.amps = 30\n")
    large = 'bank.chemistry = "lithium"\nbank.volts = 12\nbank.amp_hours = 400\n'
    assert "electrician" not in cautions(large)
    much = cautions(large, REST.replace("2000", "3000"))
    assert "heat poor joints" in much
    assert "heat poor joints" not in cautions(
        large.replace("= 12", "= 24"), REST.replace("2000", "3000")
    )


@pytest.mark.parametrize("size", ["4.001e-317", "0.0", "-100.0"])
def test_a_bank_of_nothing_is_refused(size: str) -> None:
    """Next to nothing would have a resistance without end."""
    told = problems_of(f'bank.chemistry = "lithium"\nbank.volts = 12\nbank.amp_hours = {size}\n')
    assert "bank.amp_hours" in told
