"""What small rigs come to mean: every table of a scenario, left bare once and written out once.

The shipped scenarios write what they need; here each default is relied on somewhere, and each
derived value comes up. Kept and changed like all golden values, see `test_golden`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from flatodds import parse_scenario

if TYPE_CHECKING:
    from tests.golden import test_golden as golden
else:
    import test_golden as golden

STAY = """
[[stay]]
place = "44.90, -86.02"
first_day = "20 Nov"
nights = 45
"""
LITHIUM = 'bank = { chemistry = "lithium", volts = 12, amp_hours = 400 }\n'
PANEL = "array.watts = 400\n"
LIGHT = 'household.pattern = "light"\n'
RIGS = {
    "flooded-pwm": """
bank.chemistry = "flooded"
bank.unit_volts = 6
bank.unit_amp_hours = 225
bank.units_series = 2
bank.units_parallel = 2
bank.location = "bay"
bank.age_years = 4
array.watts = 300
array.tilt_deg = 35
array.azimuth_deg = 190
array.controller = "a"
controller.name = "a"
controller.kind = "pwm"
controller.amps = 30
household.pattern = "medium"
household.heat = "none"
home = "van"
inverter.watts = 1500
""",
    "gel-cold": """
bank.chemistry = "gel"
bank.volts = 24
bank.amp_hours = 150
bank.charge_cold_limit_c = -10
bank.location = "outside"
bank.rate_exponent = 1.2
bank.health_frac = 0.8
array.watts = 800
array.under_trees = false
"""
    + LIGHT,
    "sodium-pad": """
bank.chemistry = "sodium"
bank.volts = 48
bank.amp_hours = 100
bank.heating_pad_w = 60
bank.heating_pad_when = "always"
bank.cutoff_frac = 0.1
array.watts = 1200
array.aimed_times_a_day = 2
array.out_hours = ["9-15"]
array.wipe_every_days = 10
household.pattern = "heavy"
household.people = 3
household.rise = "late"
household.away_every_days = 4
inverter.watts = 3000
inverter.hours_on = 12
""",
    "strings": LITHIUM
    + """
array.in_series = 2
array.in_parallel = 3
array.watts = 600
array.voc_v = 22.9
array.isc_a = 6.1
array.vmp_v = 18.7
array.voc_frac_per_c = -0.003
array.imp_a = 5.6
array.controller = "roof"
controller.name = "roof"
controller.amps = 50
controller.max_volts = 100
controller.max_input_amps = 40
household.pattern = "light"
household.heat = "air heater"
household.inside_day_f = 66
household.inside_night_f = 55
home = "cabin"
""",
    "generator": LITHIUM + PANEL + LIGHT + "generator.watts = 3500\n",
    "propane": LITHIUM
    + PANEL
    + LIGHT
    + """
generator.watts = 6000
generator.fuel = "propane"
generator.hours = ["8-20"]
generator.charger_amps = 90
drive.amps = 40
drive.every_days = 7
drive.first = 4
hookup.every_days = 14
hookup.first = 11
hookup.pedestal_amps = 50
""",
    "hookup": LITHIUM
    + PANEL
    + LIGHT
    + "hookup = { every_days = 10, first = 11 }\ndrive = { amps = 30, every_days = 3 }\n",
    "cooling": LITHIUM
    + PANEL
    + LIGHT
    + """
inverter.watts = 3000
cooling.unit = "rooftop_13500"
shell.roof = "dark"
shell.shade = "awning"
""",
    "own-cooling": LITHIUM
    + PANEL
    + LIGHT
    + """
cooling.unit = "dc_7000"
cooling.inside_cool_f = 77
cooling.need = "must"
cooling.hours = ["12-20"]
shell.heat_loss_w_per_k = 90
shell.roof = "light"
shell.panels_over_roof_frac = 0.5
""",
    "inverter": LITHIUM
    + PANEL
    + LIGHT
    + "inverter = { watts = 2000, half_load_efficiency_frac = 0.93,"
    + " full_load_efficiency_frac = 0.89 }\n",
    "own-use": 'bank = { chemistry = "ideal", volts = 12, amp_hours = 100 }\n'
    + PANEL
    + """
inverter.watts = 1000
household.pattern = "none"
household.reserve_frac = 0.2
household.away_weekdays = ["Mon", "Tue"]
[[appliance]]
name = "bread maker"
watts = 450
side = "ac"
minutes = 180
times_a_day = 0.5
window = ["9-15"]
[[appliance]]
name = "lamp"
watts = 3
side = "dc"
kind = "steady"
[[appliance]]
use = "water_heater_element"
[[appliance]]
use = "compressor_fridge_12v"
label_kwh_year = 200
""",
    "doubt": LITHIUM + PANEL + LIGHT + "uncertain = { sun_frac = 0.1, use_frac = 0.2 }\n",
}
TREES = """
[[stay]]
place = "40.00, -105.00"
elevation_ft = 5400
first_day = "10 Apr"
nights = 7
tree_shade_frac = 0.4
monthly_sun_kwh_m2 = [2.4, 3.3, 4.4, 5.4, 6.1, 6.9, 6.7, 5.9, 5.0, 3.8, 2.6, 2.1]
monthly_temp_f = [32, 34, 42, 48, 58, 68, 74, 72, 63, 51, 40, 32]
"""


@pytest.mark.parametrize("name", RIGS)
def test_a_rig_means_what_it_did(name: str) -> None:
    scenario = parse_scenario(RIGS[name] + STAY + TREES, f"{name}.toml")
    told = golden.scenario_part(scenario)
    told["cautions_at"] = [caution.where for caution in scenario.cautions]
    golden.compare(f"rigs/{name}", "scenario", told)


def test_no_golden_rig_is_left_over() -> None:
    assert {path.stem for path in (golden.HERE / "rigs").glob("*.json")} == set(RIGS)
