"""Values used where a scenario says nothing of generator, drives and hookup, with sources."""

from __future__ import annotations

PRACTICE = "common practice, no source"

# value, why
CHARGER_AMPS_12V = (55.0, "converters of 40 to 100 A at 12 V are usual: " + PRACTICE)
CHARGER_EFFICIENCY_FRAC = (0.85, PRACTICE)
START_ABOVE_RESERVE_FRAC = (0.10, "the reserve and 0.10 more: " + PRACTICE)
STOP_FRAC = (0.80, "about where charging slows down: " + PRACTICE)
GENERATOR_HOURS = (
    "7-22",
    "outside the quiet hours 22 to 6 of United States national parks (36 CFR 2.10), and an hour"
    " later in the morning as a courtesy; parks and campgrounds may allow less",
)
MINIMUM_RUN_HOURS = (1.0, PRACTICE)
WARM_UP_MINUTES = (3.0, PRACTICE)
SUN_TAKES_OVER = (True, "owners of monitored systems ask for it: " + PRACTICE)
FUEL = ("petrol", PRACTICE)
HEIGHT_LOSS_FRAC_PER_KM = (0.117, "3.5 % each 300 m (a generator's manual)")
HEAT_LOSS_FRAC_PER_C = (0.006, "3 % each 5 degrees above 40 Celsius (a generator's manual)")
SERVICE_HOURS = (100.0, "oil every 50 to 100 hours (generators' manuals); see yours")
DRIVE_HOURS = ("10-12", PRACTICE)
HOOKUP_HOURS = ("18-8", PRACTICE)
# Receptacles of recreational vehicle sites, National Electrical Code (NFPA 70) 551.71 and 551.81,
# from memory: 20 A and 30 A at 120 V, 50 A at 120/240 V on two legs.
PEDESTAL_AMPS = (30.0, "a receptacle of most campsites in North America: " + PRACTICE)
TWO_LEGS_AMPS = 50.0  # as above
PEDESTAL_VOLTS = (120.0, "15, 20 and 30 A receptacles in North America: NEC 551.71, from memory")
TWO_LEGS_VOLTS = (240.0, "50 A receptacles have two legs of 120 V: NEC 551.71, from memory")

# Fuel lines, litres an hour = idle + load x kW, laid through a public table of US gallons an hour
# at a quarter, half and full load: inverter generators that give 1.6 kW all day (0.08 to 0.12,
# 0.15 to 0.20, 0.25) and open frames of 5 kW (0.25 to 0.35, 0.45 to 0.60, 0.75). Other published
# figures lie up to 20 % off; 0.60 + 0.38 x kW for 3.5 kW (from memory) up to 7 %.
SMALL_W, SMALL_IDLE, SMALL_LOAD = 1600.0, 0.21, 0.46
LARGE_W, LARGE_IDLE, LARGE_LOAD = 5000.0, 0.69, 0.43
# Heat of combustion, lower [kWh/l]: petrol 33.7 kWh a US gallon (from memory), propane 46.4 MJ/kg
# at 0.508 kg/l (from memory).
KWH_PER_L = {"petrol": 8.9, "propane": 6.5}
# An engine with 30 % efficiency, more than any of this size has: from memory.
LEAST_L_PER_KWH = {fuel: round(1.0 / (0.30 * heat), 2) for fuel, heat in KWH_PER_L.items()}
FUEL_WHY = {
    "petrol": "through a public table of generators at part load, by size, 20 % either way",
    "propane": "the petrol figure by heat content, 20 % either way",
}


def fuel_line(watts: float, fuel: str) -> tuple[float, float]:
    """Litres an hour without load, and litres for each kilowatt-hour, by size and fuel.

    Between the two known sizes on straight lines; outside them the use at idle goes with
    the size of the engine.
    """
    share = min(max((watts - SMALL_W) / (LARGE_W - SMALL_W), 0.0), 1.0)
    idle = SMALL_IDLE + share * (LARGE_IDLE - SMALL_IDLE)
    idle *= min(watts / SMALL_W, 1.0) * max(watts / LARGE_W, 1.0)
    load = SMALL_LOAD + share * (LARGE_LOAD - SMALL_LOAD)
    more = KWH_PER_L["petrol"] / KWH_PER_L[fuel]
    return idle * more, load * more
