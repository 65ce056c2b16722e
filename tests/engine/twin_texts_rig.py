"""Scenarios for kernel and twin that turn on the rig: banks, panels, other charging."""

from __future__ import annotations

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
SODIUM_BAY = """
title = "sodium cells in the bay"
bank = { chemistry = "sodium", volts = 48, amp_hours = 40, location = "outside", health_frac = 0.9 }
array = { watts = 800, tilt_deg = 50 }
inverter = { watts = 1000 }
household = { pattern = "medium" }
stay = [{ place = "53.5, -113.5", elevation_m = 660.0, first_day = "10 Jan", nights = 8 }]
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
