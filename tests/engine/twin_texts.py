"""Scenarios that between them reach every rule that kernel and twin both state."""

from __future__ import annotations

LIGHT_AUTUMN = """
title = "light, over the end of summer time"
bank = { chemistry = "lithium", volts = 12, amp_hours = 100 }
array = { watts = 220 }
household = { pattern = "light" }
stay = [{ place = "44.90, -86.02", first_day = "28 Oct", nights = 12 }]
"""
MEDIUM_COLD = """
title = "medium, lead in the bay, deep cold"
bank = { chemistry = "agm", volts = 24, amp_hours = 220 }
array = { watts = 900, tilt_deg = 45 }
controller = { amps = 12.0 }
inverter = { watts = 1000 }
household = { pattern = "medium" }
stay = [{ place = "46.80, -100.78", elevation_m = 510.0, first_day = "27 Jan", nights = 14 }]
"""
HEAVY_LOCKED = """
title = "heavy, 48 V lithium outside in the cold, ampere clip"
home = "cabin"
bank = { chemistry = "lithium", volts = 48, amp_hours = 200, location = "outside" }
array = [{ watts = 2000, tilt_deg = 60 }, { watts = 900, azimuth_deg = 90, mount = "roof" }]
controller = { amps = 25.0 }
inverter = { watts = 3000 }
household = { pattern = "heavy" }
stay = [{ place = "39.74, -104.99", first_day = "1 Mar", nights = 14 }]
"""
TWO_STAYS = """
title = "two stays over the new year, the second on other weather and charge"
bank = { chemistry = "agm", volts = 12, amp_hours = 200 }
array = { watts = 600 }
inverter = { watts = 1500, hours_on = 5 }
household = { pattern = "medium", heat = "none" }

[[stay]]
place = "32.22, -110.97"
first_day = "27 Dec"
nights = 8
weather = "sample:greensboro"

[[stay]]
place = "-33.87, 151.21"
first_day = "9 Jan"
nights = 6
arrival_charge_frac = 0.55

[[stay]]
place = "19.08, 72.88"
first_day = "15 Jan"
nights = 5
"""
SPARE_AND_WAIT = """
title = "spare-sun and can-wait use on both sides, a small inverter"
home = "van"
bank = { chemistry = "lithium", volts = 12, amp_hours = 150, arrival_charge_frac = 0.6 }
array = { watts = 700 }
inverter = { watts = 600, hours_on = 12.5 }
household = { pattern = "light" }
stay = [{ place = "36.07, -79.79", first_day = "5 Mar", nights = 14 }]

[[appliance]]
name = "hot water rod"
watts = 250
side = "ac"
minutes = 120
times_a_day = 2
window = ["9-17"]
need = "spare-sun"

[[appliance]]
name = "cool box"
watts = 60
side = "dc"
minutes = 300
times_a_day = 1.4
window = ["8-20"]
need = "spare-sun"

[[appliance]]
name = "tool batteries"
watts = 180
side = "ac"
minutes = 90
times_a_day = 2
times_sd = 1.0
window = ["6-9", "12-15:30", "21-2"]
need = "can-wait"

[[appliance]]
name = "night radio"
watts = 22
side = "dc"
minutes = 200
times_a_day = 1
window = ["23-5"]

[[appliance]]
name = "mixer"
watts = 900
side = "ac"
minutes = 10
times_a_day = 3
window = ["0-1", "7-8:30", "12-13", "18-20"]
"""
NO_INVERTER = """
title = "no inverter at all"
bank = { chemistry = "lithium", volts = 24, amp_hours = 60, location = "bay" }
array = { watts = 260, tilt_deg = 20, azimuth_deg = 250 }
inverter = { watts = 0 }
household = { pattern = "light" }
stay = [{ place = "53.0, -8.0", first_day = "20 Mar", nights = 14 }]
"""
IDEAL_STORE = """
title = "a store without losses or limits"
bank = { chemistry = "ideal", volts = 12, amp_hours = 40 }
array = { watts = 150 }
inverter = { watts = 300 }
household = { pattern = "light" }
stay = [{ place = "48.2, 16.4", first_day = "1 Nov", nights = 14 }]
"""
WEAK_BANK = """
title = "a bank whose resistance lets through less than is asked"
bank = { chemistry = "agm", volts = 12, amp_hours = 80, resistance_ohm = 0.4 }
array = { watts = 400 }
inverter = { watts = 1200 }
household = { pattern = "medium" }
stay = [{ place = "35.0, -106.5", first_day = "1 Jun", nights = 8 }]
"""
GENERATOR_TRIP = """
title = "generator, drives and hookup; lead in the bay, two stays on one clock change"
bank = { chemistry = "agm", volts = 12, amp_hours = 300 }
array = { watts = 300 }
inverter = { watts = 1500 }
household = { pattern = "medium" }
generator = { watts = 1600, charger_amps = 70, hours = ["8-10:30", "16-19"], stop_frac = 0.9 }
drive = { amps = 30, hours = ["9:30-12"], every_days = 3 }
hookup = { charger_amps = 45, every_days = 5 }

[[stay]]
place = "38.5, -109.5"
first_day = "29 Oct"
nights = 8

[[stay]]
place = "36.9, -111.5"
first_day = "6 Nov"
nights = 7
generator_hours = ["7-22"]
drive_every_days = 0
"""
GENERATOR_COLD = """
title = "weak generator on a 24 V lithium bank outside in the cold; hookup over midnight"
bank = { chemistry = "lithium", volts = 24, amp_hours = 100, location = "outside" }
array = { watts = 500 }
inverter = { watts = 2000 }
household = { pattern = "medium" }
hookup = { dates = ["14 Mar"], hours = ["17-9:45"] }

[generator]
watts = 900
charger_amps = 60
start_frac = 0.45
stop_frac = 0.995
minimum_run_hours = 2.5
sun_takes_over = false
fuel = "propane"

[[stay]]
place = "40.6, -110.9"
elevation_m = 2600.0
first_day = "7 Mar"
nights = 12
"""
GENERATOR_IDEAL = """
title = "a huge charger on a store without limits, in the heat"
bank = { chemistry = "ideal", volts = 12, amp_hours = 60 }
array = { watts = 90 }
inverter = { watts = 600 }
household = { pattern = "light" }
drive = { amps = 12, dates = ["22 Jul", "25 Jul"] }
generator = { watts = 50000, charger_amps = 9000, minimum_run_hours = 0, warm_up_minutes = 0 }
stay = [{ place = "33.45, -112.07", first_day = "20 Jul", nights = 9 }]
"""
UNDER_SNOW = """
title = "flat panels under snow until noon, steep ones that shed it, dusty ones never brushed"
home = "cabin"
bank = { chemistry = "lithium", volts = 24, amp_hours = 200 }
inverter = { watts = 500 }
household = { pattern = "light" }
array = [
    { watts = 300 },
    { watts = 200, tilt_deg = 60, brush = "never" },
    { watts = 100, brush = "never", dust_per_day_frac = 0.03, wipe_every_days = 4 },
    { watts = 100, snow_cover = false, dust_per_day_frac = 0.0 },
]

[[stay]]
place = "46.80, -100.78"
elevation_m = 510.0
first_day = "10 Feb"
nights = 20
"""
TWO_CONTROLLERS = """
title = "flat panels on one controller, aimed and shaded ones straight on the bank"
home = "trailer"
bank = { chemistry = "agm", volts = 12, amp_hours = 300, charge_c_rate = 0.05 }
inverter = { watts = 1500 }
household = { pattern = "medium" }

[[controller]]
name = "roof"
amps = 25.0
watts = 260.0

[[controller]]
name = "ground"
kind = "pwm"
amps = 12.0

[[array]]
controller = "roof"
watts = 400
tilt_by_month = [50, 45, 35, 20, 10, 0, 0, 10, 20, 35, 45, 50]

[[array]]
controller = "ground"
panel = "folding-200"
aimed_times_a_day = 3
out_hours = ["8:30-17"]
stow_wind_m_s = 3.5
stowed_days_frac = 0.3
under_trees = true

[[array]]
controller = "ground"
watts = 100

[[stay]]
place = "44.90, -86.02"
first_day = "20 Apr"
nights = 12
horizon_deg = [0, 10, 25, 12, 3, 8, 30, 10]
tree_shade_frac = 0.3
leaves = ["1 May", "20 Oct"]
"""
COOLED_HALF = """
title = "rooftop cooling above a charge, must at noon, a hookup night, a vent fan, damp heat"
bank = { chemistry = "lithium", volts = 12, amp_hours = 300 }
array = { watts = 1200 }
inverter = { watts = 1400 }
household = { pattern = "light", comfort_high_c = 27 }
hookup = { every_days = 5 }
shell = { roof = "dark", shade = "awning" }
appliance = [
  { use = "night_vent_fan" }, { use = "tv_media" }, { use = "satellite_internet_full" }
]

[cooling]
unit = "rooftop_13500"
start_w = 2000
inside_cool_c = 25.0
only_above_charge_frac = 0.55
hours = ["10-23:30"]
must_hours = ["12-13:15"]

[[stay]]
place = "29.76, -95.37"
first_day = "8 Jul"
nights = 7

[[stay]]
place = "24.6, 46.7"
first_day = "15 Jul"
nights = 6
home_shade = "half"
"""
COOLED_SPARE = """
title = "a small battery-voltage unit on spare sun, fixed humidity, air heater at night"
home = "van"
bank = { chemistry = "lithium", volts = 24, amp_hours = 100 }
array = { watts = 900 }
household = { pattern = "light", heat = "air heater", inside_night_c = 17 }
cooling = { unit = "dc_7000", need = "spare-sun", inside_cool_c = 22, sensible_frac = 0.8 }
stay = [{ place = "37.5, -5.0", elevation_m = 900, first_day = "25 May", nights = 12 }]
"""
HABITS = """
title = "away some days, charge lines, big mains use past midnight, an economised case"
bank = { chemistry = "lithium", volts = 12, amp_hours = 300, arrival_charge_frac = 0.7 }
array = { watts = 1200 }
inverter = { watts = 2000 }
household = { pattern = "heavy", rise = "late", people = 3, away_weekdays = ["Mon", "Tue", "Sun"] }
stay = [{ place = "33.66, -114.23", first_day = "30 Mar", nights = 6 }]

[[appliance]]
use = "water_heater_element"
only_above_charge_frac = 0.6

[[appliance]]
use = "absorption_fridge_12v_element"
only_above_charge_frac = 0.85

[[appliance]]
use = "tool_or_ebike_charging"

[[appliance]]
name = "night heater"
watts = 900
side = "ac"
minutes = 420
times_a_day = 0.6
window = ["20-5"]
shrink_frac = 0.3
duty_frac = 0.5

[[appliance]]
name = "lamp"
watts = 40
side = "ac"
kind = "steady"
when_away = false

[[appliance]]
name = "wash"
watts = 700
side = "ac"
minutes = 50
times_a_day = 1
window = ["8-20"]
need = "can-wait"
surge_ratio = 2
"""
GIVEN = """
title = "weather handed in"
bank = { chemistry = "agm", volts = 12, amp_hours = 120, location = "outside" }
array = { watts = 350, tilt_deg = 30 }
inverter = { watts = 800 }
household = { pattern = "medium" }

[[stay]]
place = "46.80, -100.78"
elevation_m = 510.0
first_day = "27 Feb"
nights = 6

[[stay]]
place = "44.90, -86.02"
elevation_m = 180.0
first_day = "6 Mar"
nights = 6
"""
FLOODED_FAST = """
title = "old flooded cells, small for what is drawn from them"
bank.chemistry = "flooded"
bank.unit_volts = 6
bank.unit_amp_hours = 110
bank.units_series = 2
bank.age_years = 3
array = { watts = 420 }
inverter = { watts = 1500 }
household = { pattern = "medium" }
stay = [{ place = "45.5, -122.7", elevation_m = 60.0, first_day = "20 Oct", nights = 14 }]
"""
PAD_IN_THE_SUN = """
title = "a heating pad that takes what would charge"
bank.chemistry = "lithium"
bank.volts = 12
bank.amp_hours = 200
bank.location = "outside"
bank.heating_pad_w = 45
array = { watts = 700, tilt_deg = 50 }
inverter = { watts = 600 }
household = { pattern = "light" }
stay = [{ place = "46.80, -100.78", elevation_m = 510.0, first_day = "20 Feb", nights = 14 }]
"""
PAD_AT_ANY_TIME = """
title = "a heating pad like any other load, until the bank gives up"
bank.chemistry = "gel"
bank.volts = 24
bank.amp_hours = 100
bank.location = "outside"
bank.heating_pad_w = 80
bank.heating_pad_to_c = 12
bank.heating_pad_when = "always"
array = { watts = 300, tilt_deg = 50 }
household = { pattern = "light" }
stay = [{ place = "46.80, -100.78", elevation_m = 510.0, first_day = "1 Mar", nights = 10 }]
"""
SODIUM_BAY = """
title = "sodium cells in the bay"
bank = { chemistry = "sodium", volts = 48, amp_hours = 40, location = "outside", health_frac = 0.9 }
array = { watts = 800, tilt_deg = 50 }
inverter = { watts = 1000 }
household = { pattern = "medium" }
stay = [{ place = "53.5, -113.5", elevation_m = 660.0, first_day = "10 Jan", nights = 8 }]
"""
HOT_INVERTER = """
title = "an inverter that gives less in a hot van, asked by all kinds of use and a cooler"
home = "van"
bank = { chemistry = "lithium", volts = 24, amp_hours = 200, location = "inside" }
array = { watts = 1500 }
inverter = { watts = 1200, heat_loss_frac_per_c = 0.02 }
household = { pattern = "medium" }
cooling = { unit = "rooftop_13500", watts = 900, cooling_w = 2600, hours = ["18-22"] }
stay = [{ place = "33.45, -112.07", elevation_m = 340.0, first_day = "5 Jul", nights = 8 }]

[[appliance]]
name = "rod"
watts = 1100
side = "ac"
minutes = 120
times_a_day = 2
window = ["9-17"]
need = "spare-sun"

[[appliance]]
name = "wash"
watts = 1150
side = "ac"
minutes = 70
times_a_day = 2
window = ["10-18"]
need = "can-wait"

[[appliance]]
name = "press"
watts = 1100
side = "ac"
minutes = 50
times_a_day = 2
window = ["10-22"]
"""
TEXTS = {
    "light autumn": LIGHT_AUTUMN,
    "medium cold": MEDIUM_COLD,
    "heavy locked": HEAVY_LOCKED,
    "two stays": TWO_STAYS,
    "spare and wait": SPARE_AND_WAIT,
    "no inverter": NO_INVERTER,
    "ideal store": IDEAL_STORE,
    "weak bank": WEAK_BANK,
    "generator trip": GENERATOR_TRIP,
    "generator cold": GENERATOR_COLD,
    "generator ideal": GENERATOR_IDEAL,
    "cooled half": COOLED_HALF,
    "cooled spare": COOLED_SPARE,
    "habits": HABITS,
    "given": GIVEN,
    "two controllers": TWO_CONTROLLERS,
    "flooded fast": FLOODED_FAST,
    "pad in the sun": PAD_IN_THE_SUN,
    "pad at any time": PAD_AT_ANY_TIME,
    "sodium bay": SODIUM_BAY,
    "under snow": UNDER_SNOW,
    "hot inverter": HOT_INVERTER,
}

OVERDRAWN = """
title = "a tiny bank with hundreds of watts on it, and a charger of one ampere"
bank = { chemistry = "lithium", volts = 12, amp_hours = 15, arrival_charge_frac = 0.0 }
array = { watts = 20 }
household = { pattern = "light" }
generator = { watts = 200, charger_amps = 1.0, start_frac = 0.5, stop_frac = 1.0, hours = ["0-24"] }
stay = [{ place = "44.90, -86.02", first_day = "29 Dec", nights = 3 }]

[[appliance]]
name = "much"
watts = 135
side = "dc"
minutes = 117
times_a_day = 13
window = ["0-3", "5:30-9", "11-15", "22-24"]
"""

BOTH_BUILDS = (
    "generator trip",
    "light autumn",
    "medium cold",
    "spare and wait",
    "heavy locked",
    "flooded fast",
    "pad in the sun",
)
