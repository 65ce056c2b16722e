"""Scenarios for kernel and twin that turn on the home: stays, uses, inverter, cooling."""

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
