"""Volts on a cold dawn, currents and room, against worked examples seen elsewhere."""

from __future__ import annotations

import pytest

from flatodds.errors import ScenarioError
from flatodds.scenario import Panel, Scenario, parse_scenario
from flatodds.scenario.limits import (
    cold_factor,
    cold_string_v,
    estimated_c,
    limit_rows,
    short_circuit_a,
)
from flatodds.scenario.templates import starter

RIG = """
bank = {{ chemistry = "lithium", volts = 12, amp_hours = 300 }}
household = {{ pattern = "light" }}
roof_m2 = 60
[array]
voc_v = {voc}
isc_a = 10.07
vmp_v = {vmp}
imp_a = 9.5
voc_frac_per_c = -0.0027
in_series = {series}
in_parallel = {parallel}
[controller]
amps = 60
{controller}
[[stay]]
place = "33.66, -114.23"
first_day = "1 Dec"
nights = 20
{stay}
"""


def rig(
    series: int = 2,
    parallel: int = 1,
    *,
    voc: float = 38.9,
    vmp: float = 31.0,
    controller: str = "max_volts = 150",
    stay: str = "coldest_c = -20",
) -> Scenario:
    return parse_scenario(
        RIG.format(
            series=series, parallel=parallel, voc=voc, vmp=vmp, controller=controller, stay=stay
        ),
        "rig.toml",
    )


def test_every_row_of_the_codes_table() -> None:
    """NEC table 690.7(A), crystalline silicon, 24-20 C down to -36 to -40 C."""
    table = "1.02 1.04 1.06 1.08 1.10 1.12 1.14 1.16 1.18 1.20 1.21 1.23 1.25"
    for k, factor in enumerate(table.split()):
        for temp_c in (24 - 5 * k, 20 - 5 * k):
            assert cold_factor(temp_c) == float(factor), temp_c
    assert cold_factor(25.0) == 1.0


def test_worked_string_of_a_public_course() -> None:
    """49.5 V, -0.27 % per kelvin, -10 C: 54.18 V (11 in series stay below 600 V); by the
    table 56.43 V (10 in series)."""
    panel = Panel(49.5, 10.07, 41.0, 9.5, -0.0027)
    by_table, by_sheet = cold_string_v(panel, 1, -10.0)
    assert by_sheet == pytest.approx(54.18, abs=0.01)
    assert by_table == pytest.approx(56.43, abs=0.01)
    assert (int(600.0 / by_sheet), int(600.0 / by_table)) == (11, 10)


def test_four_in_series_are_refused_and_three_pass() -> None:
    """38.9 V each at -20 C on 150 V: 91.8 V and 137.7 V pass, 183.6 V does not."""
    for series, volts in ((2, 91.8), (3, 137.7)):
        scenario = rig(series)
        assert not [c for c in scenario.cautions if "in series" in c.found]
        assert f"{volts} V open" in dict(limit_rows_of(scenario))["array 0"]
    with pytest.raises(ScenarioError) as error:
        rig(4)
    assert "183.6 V" in str(error.value)
    assert "At most 3 in series" in str(error.value)
    assert "licensed electrician" in str(error.value)


def limit_rows_of(scenario: Scenario) -> list[tuple[str, str]]:
    return limit_rows(scenario.arrays, scenario.controllers, scenario.stays)


def test_without_panels_there_are_no_limits_to_tell() -> None:
    whole = parse_scenario(starter())
    none = whole.with_changes({"array": [{"watts": 0}]})
    assert "all panels" in dict(limit_rows_of(whole))
    assert limit_rows_of(none) == []


def test_a_guessed_cold_only_warns() -> None:
    scenario = rig(2, controller="max_volts = 85", stay="")
    found = [c for c in scenario.cautions if "in series reach" in c.found]
    assert len(found) == 1
    assert "rough guess" in found[0].hint
    assert "by latitude and height alone" in found[0].hint


def test_what_a_cold_rests_on_is_told() -> None:
    """By latitude, from the months written, or as written where only another stay's is guessed."""
    months = {"stay.monthly_temp_c": [4.0] * 11 + [-1.0]}
    written = rig(stay="").with_changes(months)
    assert estimated_c(written.stays[0]) == -21.0
    assert "20 C below the coldest month you wrote" in dict(limit_rows_of(written))["array 0"]
    assert "latitude and height" in dict(limit_rows_of(rig(stay="")))["array 0"]
    assert "guess" not in dict(limit_rows_of(rig(stay="coldest_c = 0")))["array 0"]
    second = '\n[[stay]]\nplace = "33.66, -114.23"\nfirst_day = "25 Dec"\nnights = 5'
    both = rig(stay="coldest_c = -40" + second)
    row = dict(limit_rows_of(both))["array 0"]
    assert "-40 C (-40 F), as you wrote it, while that of other stays is our rough guess" in row


def test_label_volts_beyond_the_controller_are_always_refused() -> None:
    with pytest.raises(ScenarioError):
        rig(4, stay="")


def test_currents_by_the_code() -> None:
    """10.07 A x 3 strings x 1.25 = 37.76 A, conductors a further 1.25 (public course notes)."""
    scenario = rig(1, 3, controller="max_input_amps = 37", voc=22.9, vmp=18.65)
    amps = short_circuit_a(scenario.arrays, 0)
    assert amps is not None
    assert 1.25 * amps == pytest.approx(37.76, abs=0.005)
    rows = dict(limit_rows_of(scenario))
    assert "37.8 A" in rows["controller"]
    assert "47.2 A" in rows["controller"]
    assert any("made for 37 A" in c.found for c in scenario.cautions)


def test_strings_too_low_for_the_bank_are_said() -> None:
    low = rig(1, 1, voc=21.0, vmp=15.0)
    assert any("bank needs 14.4 V" in c.found for c in low.cautions)
    assert not any("bank needs" in c.found for c in rig(1, 1, voc=22.9, vmp=18.65).cautions)


def test_roof_too_small_is_said() -> None:
    scenario = rig(2).with_changes({"roof_m2": 2.0})
    assert any("m2 of roof" in c.found for c in scenario.cautions)
    assert not any("m2 of roof" in c.found for c in rig(2).cautions)


def test_a_guess_is_a_usual_winter_and_records_are_colder() -> None:
    """Coldest hours of the TMY3 files that come with pvlib: Greensboro (36.10 N, 273 m) -16.7 C,
    a record month; Sand Point's sea -10.6 C. The guess is 3 K milder than that record, as told,
    and far too cold for the coast, which only warns too early.
    """
    inland = rig(stay="elevation_m = 273").with_changes({"stay.place": "36.10, -79.95"})
    coast = rig(stay="elevation_m = 7").with_changes({"stay.place": "55.317, -160.517"})
    assert -16.7 < estimated_c(inland.stays[0]) < -16.7 + 10.0
    assert estimated_c(coast.stays[0]) < -10.6
    assert "records are some 10 C colder" in dict(limit_rows_of(inland))["array 0"]


def test_guessed_cold_falls_with_latitude_and_height() -> None:
    places = [rig(stay="").with_changes({"stay.place": p}) for p in ("30, -100", "45, -100")]
    low, high = (estimated_c(scenario.stays[0]) for scenario in places)
    assert high < low < 5.0
    up = places[0].with_changes({"stay.elevation_m": 2000.0}).stays[0]
    assert estimated_c(up) == pytest.approx(low - 10.0)
