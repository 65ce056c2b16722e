"""Scenarios are complete, comparable, and changed only by making another."""

from __future__ import annotations

import json
import pickle
import subprocess
import sys

import pytest

from flatodds.catalog import chemistries
from flatodds.errors import ScenarioError
from flatodds.scenario import Scenario, parse_scenario
from flatodds.scenario.templates import demo, demos, starter

IDEAL = """\
home = "cabin"
bank.chemistry = "ideal"
bank.volts = 12
bank.amp_hours = 1000
bank.arrival_charge_frac = 1.0
controller.efficiency_frac = 1.0
household.pattern = "none"
household.heat = "none"
uncertain.sun_frac = 0
uncertain.use_frac = 0
[array]
watts = 1000
loss_frac = 0
shade_frac = 0
incidence_loss = false
temp_coefficient_frac_per_c = 0
[[appliance]]
name = "heater"
watts = 100
side = "dc"
kind = "steady"
[[appliance]]
name = "lamp"
watts = 50
side = "dc"
minutes = 360
times_a_day = 1
times_sd = 0
window = ["18-24"]
[[stay]]
place = "45.0, -93.0"
first_day = "1 Jan"
nights = 365
elevation_m = 0
"""


@pytest.fixture
def start() -> Scenario:
    return parse_scenario(starter(), "starter.toml")


@pytest.mark.parametrize(
    ("sun", "use", "gate_c"), [(0, 0, 0.0), (0, 0.1, 1.5), (0.1, 0, 1.5), (0.1, 0.1, 1.5)]
)
def test_the_cold_gate_is_doubted_unless_all_else_is_certain(
    sun: float, use: float, gate_c: float
) -> None:
    text = IDEAL.replace('"ideal"', '"lithium"').replace("sun_frac = 0", f"sun_frac = {sun}")
    text = text.replace("use_frac = 0", f"use_frac = {use}")
    assert parse_scenario(text, "my.toml").uncertain.cold_gate_c == gate_c


def test_a_rig_without_losses_can_be_said() -> None:
    scenario = parse_scenario(IDEAL)
    bank, array = scenario.bank, scenario.arrays[0]
    assert bank.capacity_wh == 12_000.0
    assert (bank.resistance_ohm, bank.charge_efficiency_frac) == (0.0, 1.0)
    assert (bank.cutoff_frac, bank.reconnect_frac, bank.self_discharge_frac_month) == (0, 0, 0)
    assert bank.acceptance_hours is None
    assert bank.charge_cold_limit_c is None
    assert array.loss_frac == array.shade_frac == array.temp_coefficient_frac_per_c == 0.0
    assert array.incidence_loss is False
    assert (scenario.inverter.watts, scenario.inverter.idle_w, scenario.inverter.hours_on) == (
        0.0,
        0.0,
        0.0,
    )
    heater, lamp = scenario.appliances
    assert (heater.kind, heater.windows, heater.times_sd) == ("steady", ((0.0, 24.0),), 0.0)
    assert (lamp.minutes, lamp.windows) == (360.0, ((18.0, 24.0),))
    assert lamp.times_sd == 0.0
    assert scenario.uncertain.sun_frac == 0.0
    assert scenario.household.heat_output_w == 0.0
    assert scenario.cautions == ()


@pytest.mark.parametrize("name", sorted(demos()))
def test_what_was_written_can_be_written_again(name: str) -> None:
    first = parse_scenario(demo(name), f"{name}.toml")
    again = parse_scenario(first.toml, f"{name}.toml")
    assert again == first
    assert again.sha256 == first.sha256
    assert again.assumed == first.assumed
    assert pickle.loads(pickle.dumps(first)) == first  # noqa: S301


def test_order_and_layout_of_the_file_do_not_matter(start: Scenario) -> None:
    text = starter().split("# Some")[0].replace("bank.volts        = 12", "")
    other = text.replace("[[stay]]", "bank.volts = 12\n[[stay]]")
    assert parse_scenario(other, "starter.toml").sha256 == start.sha256


def test_every_value_that_bears_on_results_moves_the_hash(start: Scenario) -> None:
    changes: list[dict[str, object]] = [
        {"bank.amp_hours": 401},
        {"array.shade_frac": 0.04},
        {"stay.nights": 44},
        {"stay.weather": "x.epw"},
        {"household.caution_frac": 0.5},
        {"shell.gains_w": 1},
        {"title": "Other"},
    ]
    hashes = {start.sha256, *(start.with_changes(change).sha256 for change in changes)}
    assert len(hashes) == len(changes) + 1
    assert start.with_changes({"units": "si"}).sha256 == start.sha256


def test_canonical_json_is_plain_json(start: Scenario) -> None:
    values = json.loads(start.canonical_json)
    assert values["bank"]["amp_hours"] == 400.0
    assert "assumed" not in values
    assert "_document" not in values


def test_with_changes_leaves_the_first_alone(start: Scenario) -> None:
    before = start.sha256
    more = start.with_changes({"bank.amp_hours": 600, "array.watts": 900, "array.0.tilt_deg": 30})
    assert (more.bank.amp_hours, more.arrays[0].watts, more.arrays[0].tilt_deg) == (600, 900, 30)
    assert start.sha256 == before
    assert start.bank.amp_hours == 400.0
    assert more.with_changes({"bank.amp_hours": 400, "array.watts": 800, "array.tilt_deg": 0}) == (
        start
    )


def test_changing_the_chemistry_brings_its_own_values(start: Scenario) -> None:
    lead = start.with_changes({"bank.chemistry": "agm", "bank.charge_c_rate": 0.25})
    agm = chemistries()["agm"]
    assert lead.bank.charge_c_rate == 0.25
    assert lead.bank.acceptance_hours == agm.acceptance_hours
    assert lead.bank.charge_cold_limit_c is None
    assert lead.bank.location == "bay"
    assert lead.household.reserve_frac == agm.reserve_frac
    back = lead.with_changes({"bank.chemistry": "lithium", "bank.charge_c_rate": None})
    assert back == start


def test_resistance_follows_size_and_volts(start: Scenario) -> None:
    at_100_ah = chemistries()["lithium"].resistance_ohm_100ah
    assert start.bank.resistance_ohm == pytest.approx(at_100_ah / 4.0)
    wide = start.with_changes({"bank.volts": 24, "bank.amp_hours": 200})
    assert wide.bank.resistance_ohm == pytest.approx(at_100_ah * 2.0 / 2.0)
    assert wide.bank.capacity_wh == pytest.approx(start.bank.capacity_wh)


def test_written_cold_limit_moves_its_release(start: Scenario) -> None:
    bank = start.with_changes({"bank.charge_cold_limit_c": 3.0}).bank
    assert (bank.charge_cold_limit_c, bank.charge_cold_release_c) == (3.0, 5.0)
    assert bank.charge_cold_full_c == 15.0


def test_a_high_cutoff_lifts_the_assumed_reconnection(start: Scenario) -> None:
    bank = start.with_changes({"bank.cutoff_frac": 0.3}).bank
    assert bank.reconnect_frac == pytest.approx(0.35)


def test_either_spelling_replaces_the_other(start: Scenario) -> None:
    warm = start.with_changes({"household.inside_day_f": 68})
    assert warm.household.inside_day_c == pytest.approx(20.0)
    assert warm.with_changes({"household.inside_day_c": 21}).household.inside_day_c == 21.0
    high = start.with_changes({"stay.elevation_ft": 1000})
    assert high.stays[0].elevation_m == pytest.approx(304.8)


@pytest.mark.parametrize(
    ("changes", "found"),
    [
        ({"bank.amphours": 1}, r"bank\.amphours is not a word.*\n.*bank\.amp_hours"),
        ({"bank.amp_hours": -1}, "must be from 0.01 to 20000"),
        ({"bank.amp_hours": float("nan")}, "is nan"),
        ({"bank.amp_hours": "400"}, "should be a number"),
        ({"bank.chemistry": "nickel"}, "is not offered"),
        ({"bank": 3}, "bank should be a table"),
        ({"array.1.watts": 1}, "goes beyond the list"),
        ({"appliance.watts": 1}, "lists 0 of appliance"),
        ({"title.x": 1}, "leads into a value"),
        ({"bank.amp_hours.x": 1}, "too many parts"),
        ({"": 1}, "is not a dotted key"),
        ({"bank..volts": 1}, "is not a dotted key"),
        ({3: 1}, "is not a dotted key"),
        ({"bank.volts": None}, "bank.volts is missing"),
    ],
)
def test_bad_changes_are_refused(start: Scenario, changes: dict[str, object], found: str) -> None:
    with pytest.raises(ScenarioError, match=found):
        start.with_changes(changes)


def test_all_bad_keys_at_once(start: Scenario) -> None:
    with pytest.raises(ScenarioError) as caught:
        start.with_changes({"array.7.watts": 1, "stay.9.nights": 2})
    assert len(caught.value.problems) == 2


def test_several_groups_need_a_number() -> None:
    couple = parse_scenario(demo("plateau-couple"))
    with pytest.raises(ScenarioError, match=r"lists 2 of array"):
        couple.with_changes({"array.watts": 700})
    assert couple.with_changes({"array.1.watts": 300}).arrays[1].watts == 300.0


def test_every_default_is_echoed(start: Scenario) -> None:
    keys = [item.key for item in start.assumed]
    assert len(keys) == len(set(keys))
    assert all(item.why for item in start.assumed)
    for key in ("bank.cutoff_frac", "array.shade_frac", "inverter.idle_w", "uncertain.sun_frac"):
        assert key in keys
    for key in ("bank.volts", "array.watts", "title", "home", "inverter.watts"):
        assert key not in keys
    told = start.with_changes({item.key: item.value for item in start.assumed if writable(item)})
    left = {item.key for item in told.assumed if not item.key.startswith("appliance.")}
    assert left == {
        "controller.amps",
        "stay.elevation_m",
        "stay.monthly_wet_days",
        "stay.weather",
        "uncertain.sun_frac",
    }
    assert told == start


def writable(item: object) -> bool:
    """Whether an assumption could be written as it is echoed."""
    key, value = getattr(item, "key", ""), getattr(item, "value", None)
    return value is not None and not key.startswith("appliance.")


def test_printed_units_follow_the_first_place(start: Scenario) -> None:
    assert start.printed_units == "us"
    assert start.with_changes({"stay.place": "52.1, 5.2"}).printed_units == "si"
    assert start.with_changes({"units": "si"}).printed_units == "si"


def test_importing_scenarios_stays_light() -> None:
    heavy = "{'numpy', 'scipy', 'pandas', 'xarray', 'pvlib', 'numba', 'matplotlib'}"
    code = (
        "import sys, flatodds.scenario as s;"
        "from flatodds.scenario.templates import starter;"
        "s.parse_scenario(starter());"
        f"sys.exit(bool({heavy} & set(sys.modules)))"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0  # noqa: S603
