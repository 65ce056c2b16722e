"""Names of the rows of the engine's lane arrays.

Lane arrays are flat, and a name is where its row of LANES numbers begins: row number times
LANES, a constant of the compiled code. With constant distances between rows the compiler
can prove that they do not overlap, and keeps the loops over lanes vectorised; with a
two-dimensional array it gives up ("too many memory checks", measured: 30 times slower).
"""

from __future__ import annotations

from flatodds.lanes import LANES as L

# Inputs of one hour, shared by every design: (24, INPUTS * LANES). The first are the loads
# room's channels, 2 * need + (1 if AC), of which three pairs are spare-sun use above a charge
# line [Wh]; then outdoor air [deg C] and global horizontal irradiance [W/m2]; must-have use
# that economising gives up, and must-have mains use not followed to the minute [Wh]; and the
# most that is drawn at once as things run and as one starts, of must-have use, with can-wait
# use, with spare-sun use [W]; with an air conditioner how long the first three last [h], the wet
# bulb at the temperature it holds [deg C], the share of its capacity that cools [1], and where in
# its cycle it is (uniform) [1]; and how much harder fridges work that day than usual [1].
INPUTS = 30
MUST_DC, MUST_AC, WAIT_DC, WAIT_AC, SPARE_DC, SPARE_AC = range(0, 6 * L, L)
LINE_A_DC, LINE_A_AC, LINE_B_DC, LINE_B_AC, LINE_C_DC, LINE_C_AC = range(6 * L, 12 * L, L)
OUTDOOR_C, SUNSHINE, SHRINK_DC, SHRINK_AC, SMALL_AC = range(12 * L, 17 * L, L)
PEAK_MUST, PEAK_WAIT, PEAK_ALL, START_MUST, START_WAIT, START_ALL = range(17 * L, 23 * L, L)
LASTS_MUST, LASTS_WAIT, LASTS_ALL = range(23 * L, 26 * L, L)
WET_C, SENSIBLE, COOL_PHASE, FRIDGE_DAY = range(26 * L, 30 * L, L)

# State of one design: (design, ROWS * LANES).
CHARGE_AH = 0 * L  # charge of the bank [Ah]
OFF = 1 * L  # 1 while the bank's protection keeps the loads off
BANK_C = 2 * L  # bank temperature [deg C]
LOCKED = 3 * L  # 1 while cold bars charging
CABIN_C = 4 * L  # cabin temperature [deg C]
OLD_DC, OLD_AC = 5 * L, 6 * L  # use put off since yesterday [Wh]
NEW_DC, NEW_AC = 7 * L, 8 * L  # and since this midnight [Wh]
NIGHT = 9 * L  # 1 once this noon-to-noon night has had a flat hour
SINCE_FULL = 10 * L  # days since the bank was last full
FULL_TODAY = 11 * L  # 1 once the bank has been full today
SUN_W = 12 * L  # sun on offer this hour, within the limits of the controllers [W]
DAY_WH = 13 * L  # sun taken so far today [Wh]
DAY_NEED_WH = 14 * L  # used or wanted so far today [Wh]
DAY_LOW = 15 * L  # least charge fraction today [1]
DAWN = 16 * L  # charge fraction at dawn [1]

# Extremes over one stay.
LOWEST = 17 * L  # least charge fraction [1]
FIRST_FLAT = 18 * L  # day of the stay with the first flat hour, from 1; infinity if none
BEST_DAY = 19 * L  # most sun taken in a day [Wh]
PEAK_W = 20 * L  # most sun taken in an hour [W]
LONGEST = 21 * L  # longest run of days without a full bank
START_AH = 22 * L

AVAILABLE_AH = 23 * L  # part of the charge that is at once available [Ah]
DAY_HIGH = 24 * L  # greatest charge fraction today [1]

# Sums over the day, added to the member's results in float64 each midnight.
SUMS = (
    "hours_flat",
    "nights_flat",
    "energy_not_served_wh",
    "demand_wh",
    "served_wh",
    "array_wh",
    "spilled_wh",
    "bank_loss_wh",
    "gone_without_wh",
    "spare_served_wh",
    "saved_wh",
    "hours_reserve",
    "hours_overload",
    "cold_hours",
    "cold_locked_wh",
    "spilled_clip_wh",
    "spilled_rate_wh",
    "full_days",
    "discharge_ah",
    "generator_wh",
    "generator_hours",
    "generator_starts",
    "fuel_l",
    "drive_wh",
    "hookup_wh",
    "heating_pad_wh",
    "hot_hours",
    "hot_hours_uncooled",
    "cooling_hours",
    "cooling_wanted_wh",
    "cooling_served_wh",
    "hot_days_uncooled",
    "days_held",
    "days",
    "wait_wanted_wh",
    "wait_served_wh",
    "fridge_wanted_wh",
    "fridge_served_wh",
    "blower_wanted_wh",
    "blower_served_wh",
    "vent_wanted_wh",
    "vent_served_wh",
)
FIRST_SUM = 25  # row number of the first sum
(
    HOURS_FLAT,
    NIGHTS_FLAT,
    NOT_SERVED,
    DEMAND,
    SERVED,
    ARRAY,
    SPILLED,
    BANK_LOSS,
    GONE_WITHOUT,
    SPARE_SERVED,
    SAVED,
    HOURS_RESERVE,
    HOURS_OVERLOAD,
    COLD_HOURS,
    COLD_LOCKED,
    SPILLED_CLIP,
    SPILLED_RATE,
    FULL_DAYS,
    DISCHARGE_AH,
    GENERATOR,
    GENERATOR_HOURS,
    GENERATOR_STARTS,
    FUEL_L,
    DRIVE,
    HOOKUP,
    HEATING_PAD,
    HOT_HOURS,
    HOT_UNCOOLED,
    COOLING_HOURS,
    COOLING_WANTED,
    COOLING_SERVED,
    HOT_DAYS,
    DAYS_HELD,
    DAYS,
    WAIT_WANTED,
    WAIT_SERVED,
    FRIDGE_WANTED,
    FRIDGE_SERVED,
    BLOWER_WANTED,
    BLOWER_SERVED,
    VENT_WANTED,
    VENT_SERVED,
) = range(FIRST_SUM * L, (FIRST_SUM + len(SUMS)) * L, L)

# Passed between the stages of one hour, of no meaning after it.
FIRST_SCRATCH = FIRST_SUM + len(SUMS)  # row number
(
    MUST_W,  # must-have demand at the battery, wanted
    OVER_W,  # must-have mains demand above the inverter's rating, never served
    WAIT_W,  # can-wait use granted, from stage 4 on: served, at the battery
    WAIT_DC_W,  # the same at the plug, by side
    WAIT_AC_W,
    SPARE_WANTED_W,
    POTENTIAL_W,  # sun after the controllers, not clipped
    DIRECT_W,  # sun used as it comes
    SURPLUS_W,  # sun left after the loads
    SPARE_W,  # spare-sun use served
    NET_W,  # offered to (or wanted from) the bank
    GATE,  # share of the charge current that cold allows
    FLOOR_AH,
    BEFORE_FRAC,  # charge fraction at the start of the hour
    ACCEPTED_W,  # by the bank; from the sun alone once other charging is shared out
    DELIVERED_W,  # by the bank; with what other charging gave the loads, likewise
    LOSS_W,
    INTO_A,
    OUT_A,
    REFUSED_W,  # must-have demand not served
    FLAT,
    FRIDGE_W,
    BLOWER_W,
    VOLTS,  # first estimate of the bank's mean open-circuit voltage
    ONE_W,  # sun (or amperes) of one controller
    LEVEL_AH,  # charge as it seems to whoever draws
    PAD_W,  # heating pad of the bank: wanted, from stage 3 on: had
    WAS_LOCKED,  # 1 if cold barred charging in the hour before
    TERMINAL_V,  # voltage at which controllers count their amperes
    AMPS,  # current on offer to the bank, or wanted from it, negative
    ETA,  # coulombic efficiency of the hour's charging
) = range(FIRST_SCRATCH * L, (FIRST_SCRATCH + 31) * L, L)
FIRST_CHARGING = FIRST_SCRATCH + 31  # row number

# Charging other than sun: kept from hour to hour, then passed between stages.
(
    GENERATOR_ON,  # 1 while it runs on into the next hour
    RUN_LEFT_H,  # what is left of its shortest run [h]
    SUN_NET_W,  # NET_W before any other charging
    HOOKUP_W,  # on offer from the pedestal, from then on: taken
    DRIVE_W,
    GENERATOR_W,
) = range(FIRST_CHARGING * L, (FIRST_CHARGING + 6) * L, L)
FIRST_CLIMATE = FIRST_CHARGING + 6  # row number

# The cabin's climate: kept from hour to hour, then passed between stages; air conditioner's
# rows stay 0 without one.
(
    HEATER_ON,  # 1 if the heater ran in the last hour
    COOL_ON,  # 1 if charge granted cooling in the last hour
    UNCOOLED_C,  # a second cabin without air conditioner [deg C]
    HOT_TODAY,  # 1 once the cabin has been hot today, and the second one
    HOT_BARE_TODAY,
    FAN_W,  # vent fan
    UNIT_W,  # air conditioner while it runs, at its plug
    SENSIBLE_W,  # heat it then takes out of the air
    COOL_MOST,  # largest share of the hour it may run, and the share it ran
    COOL_SHARE,
    COOL_AC_W,  # its mean power by side
    COOL_DC_W,
    COOL_START_W,  # what a start on mains takes for a moment; 0 in an hour without a start
    COOL_MEETS,  # 1 if it runs during the hour's peak of followed use, and if it starts then
    COOL_BEGINS,
) = range(FIRST_CLIMATE * L, (FIRST_CLIMATE + 15) * L, L)
FIRST_HABITS = FIRST_CLIMATE + 15  # row number

# Of habits and peaks: an extreme of the stay, then passed between stages.
(
    PEAK_A,  # most current drawn from the bank at any minute [A]
    ASKED_AC_W,  # must-have mains demand, more than the inverter gives or not
    MUST_DC_W,  # must-have DC demand
    FIRST_SPARE_W,  # spare-sun use that takes sun before the bank, whatever its charge
) = range(FIRST_HABITS * L, (FIRST_HABITS + 4) * L, L)
ROWS = FIRST_HABITS + 4

EXTREMES = {
    "min_charge_frac": LOWEST,
    "first_flat_day": FIRST_FLAT,
    "best_day_wh": BEST_DAY,
    "peak_array_w": PEAK_W,
    "longest_days_since_full": LONGEST,
    "peak_bank_a": PEAK_A,
    "start_ah": START_AH,
    "end_ah": CHARGE_AH,
}

# Per day, of the first design: (LANES, day, DAILY).
DAILY = (
    "array_wh",
    "demand_wh",
    "min_charge_frac",
    "dawn_charge_frac",
    "generator_h",
    "max_charge_frac",
)

# Per hour, of the first design, when a trace is asked for: (hour, TRACE, LANES).
TRACE = (
    "ghi",
    "temp_air",
    "array_offered_w",
    "array_w",
    "demand_w",
    "served_w",
    "spare_w",
    "charge_frac",
    "bank_temp_c",
    "cabin_temp_c",
    "charge_a",
    "discharge_a",
    "loads_off",
    "generator_w",
    "drive_w",
    "hookup_w",
    "cooling_w",
)
