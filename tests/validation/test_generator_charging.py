"""Running time, fuel and hours of a generator, and what driving and hookups bring.

Through the main job: dark days, a bank half full, and the sums or hours of the run.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

import numpy as np
import pytest
import xarray as xr

from flatodds import parse_scenario, simulate
from flatodds.battery.chemistry import bank_record
from flatodds.catalog import chemistries
from flatodds.studies.live_one import live_one

if TYPE_CHECKING:
    from tests.validation import square_sun as sq
else:
    import square_sun as sq

pytestmark = pytest.mark.validation

US_GALLON_L = 3.785411784
NIGHTS = 3

DARK_RIG = """
array = {{ watts = 1.0 }}
household = {{ pattern = "none", heat = "none" }}
uncertain = {{ sun_frac = 0.0, use_frac = 0.0 }}
stay = [{{ place = "{place}", elevation_m = 340.0, first_day = "1 Mar", nights = {nights} }}]

[bank]
{bank}
arrival_charge_frac = 0.5
location = "inside"
"""
# A bank that obeys the ampere-hour rule, loses nothing, and holds its rating at any rate.
PURE = """
chemistry = "agm"
volts = 12
amp_hours = {amp_hours}
acceptance_hours = {tau_h}
charge_c_rate = 10.0
charge_efficiency_frac = 1.0
rate_exponent = 1.0
resistance_ohm = 0.0
self_discharge_frac_month = 0.0
cutoff_frac = 0.0
reconnect_frac = 0.0
"""
AT_WILL = """
[generator]
watts = 20000
charger_amps = {amps}
start_frac = {start}
stop_frac = {stop}
hours = ["0-24"]
minimum_run_hours = 0
warm_up_minutes = 0
{more}
"""


def dark(bank: str, tables: str) -> str:
    """Scenario text of a rig without sun."""
    return DARK_RIG.format(bank=bank, place=sq.DESERT, nights=NIGHTS) + tables


def dark_run(bank: str, tables: str) -> xr.Dataset:
    """Sums over the stay of one member."""
    text = dark(bank, tables)
    weather = sq.weather({}, 24 * NIGHTS, first="2001-03-01")
    found = simulate(parse_scenario(text, "check.toml"), weather).dataset
    return found.sel(case="as_estimated", member=0).sum("period")


def dark_hours(bank: str, tables: str) -> xr.Dataset:
    """Every hour of one member."""
    text = dark(bank, tables)
    weather = sq.weather({}, 24 * NIGHTS, first="2001-03-01")
    return live_one(parse_scenario(text, "check.toml"), 0, weather=weather)


def generator(amps: float, stop: float, start: float = 0.501, more: str = "") -> str:
    return AT_WILL.format(amps=amps, stop=stop, start=start, more=more)


@pytest.mark.parametrize(("amps", "hours"), [(10.0, 5.61), (20.0, 3.80), (40.0, 3.246)])
def test_the_ampere_hour_rule(amps: float, hours: float) -> None:
    """Woodbridge 1935: 100 Ah half full to 98 % with tau 1 h.

    20 A: 1.50 h at full current to 80 %, then ln(20 / 2) = 2.30 h; 40 A: to 60 % and 3.246 h in
    all; 10 A: 5.61 h.
    """
    found = dark_run(PURE.format(amp_hours=100.0, tau_h=1.0), generator(amps, 0.98))
    assert float(found["generator_hours"]) == pytest.approx(hours, rel=2e-3)
    assert float(found["generator_starts"]) == 1.0


@pytest.mark.parametrize(
    ("c_rate", "tau_h", "hours"),
    [(0.2, 1.13, 5.68), (0.4, 1.13, 5.21), (0.2, 1.0, 5.19), (0.4, 1.0, 4.63)],
)
def test_an_agm_bench_test(c_rate: float, tau_h: float, hours: float) -> None:
    """95.7 Ah AGM half full to 99.5 % (a tail of 0.5 % of its capacity): bench test 5.5 h.

    The rule with tau 1.0 to 1.13 h, closed form, 2 %; the measurement itself within 20 %. Rule
    and bench disagree: 0.4 C saved about 12 minutes over 0.2 C there, half an hour by the rule.
    """
    bank = PURE.format(amp_hours=95.7, tau_h=tau_h)
    found = dark_run(bank, generator(c_rate * 95.7, 0.995))
    assert float(found["generator_hours"]) == pytest.approx(hours, rel=0.02)
    assert float(found["generator_hours"]) == pytest.approx(5.5, rel=0.2)


@pytest.mark.parametrize(("c_rate", "absorbs_at"), [(0.4, 0.63), (0.2, 0.77)])
def test_where_an_agm_bench_test_began_to_absorb(c_rate: float, absorbs_at: float) -> None:
    """The same bench: full current to 63 % at 0.4 C and to 77 % at 0.2 C; 5 points. By the running
    time to five points below, which full current explains, and to five above, which takes longer.

    The catalogue's tau of 0.93 h; those of 1.0 and 1.13 h that fit the whole time best would
    begin at 60 and 55 % with 0.4 C: one rule and this bench do not agree closer.
    """
    bank = PURE.format(amp_hours=95.7, tau_h=chemistries()["agm"].acceptance_hours)
    for to_frac, tapers in ((absorbs_at - 0.05, False), (absorbs_at + 0.05, True)):
        hours = float(dark_run(bank, generator(c_rate * 95.7, to_frac))["generator_hours"])
        assert (hours > 1.0001 * (to_frac - 0.5) / c_rate) is tapers


AGM = 'chemistry = "agm"\nvolts = 12\namp_hours = 200'
LITHIUM = 'chemistry = "lithium"\nvolts = 12\namp_hours = 200'


def run_hours(bank: str, amps: float, stop: float) -> float:
    return float(dark_run(bank, generator(amps, stop))["generator_hours"])


def test_practitioners_agm_and_lithium() -> None:
    """Lead: full current to 75 to 85 %, 3.5 to 6 h from 80 to 99.5 % at 0.2 C; lithium takes
    full current to 97 % or more (common practice, no source)."""
    slow_h = run_hours(AGM, 40.0, 0.995) - run_hours(AGM, 40.0, 0.80)
    assert 3.5 <= slow_h <= 6.0
    lead = bank_record(parse_scenario(dark(AGM, "")).bank)
    quarter_h = 0.25 * lead.capacity_ah / (40.0 * lead.charge_efficiency)  # below its knee
    to_75_h, to_85_h = run_hours(AGM, 40.0, 0.75), run_hours(AGM, 40.0, 0.85)
    assert to_75_h == pytest.approx(quarter_h, rel=0.01)
    assert to_85_h - to_75_h > 1.01 * 0.4 * quarter_h  # no longer full current all the way
    assert run_hours(AGM, 40.0, 0.90) - to_85_h > 1.1 * 0.2 * quarter_h
    eta = parse_scenario(dark(LITHIUM, "")).bank.charge_efficiency_frac
    to_97_h = run_hours(LITHIUM, 40.0, 0.97)
    assert to_97_h == pytest.approx(94.0 / (40.0 * eta), rel=0.01)


def test_the_last_hours_cost_more_fuel() -> None:
    """Litres for each kilowatt-hour: absorption against bulk, the engine's idle use shared out
    over less energy (no source needed: it follows from a fuel line that does not begin at 0)."""
    bulk = dark_run(AGM, generator(40.0, 0.75))
    whole = dark_run(AGM, generator(40.0, 0.99))
    more_l = float(whole["fuel_l"] - bulk["fuel_l"])
    more_kwh = float(whole["generator_wh"] - bulk["generator_wh"]) / 1000.0
    before = float(bulk["fuel_l"]) / (float(bulk["generator_wh"]) / 1000.0)
    assert more_l / more_kwh > 1.5 * before


def test_part_of_an_hour_counts_as_part() -> None:
    """230 Ah at 100 A are 2.3 hours, not 3; what runs whole hours overstates them."""
    bank = 'chemistry = "ideal"\nvolts = 12\namp_hours = 1000'
    assert run_hours(bank, 100.0, 0.73) == pytest.approx(2.3, rel=1e-5)


@pytest.mark.parametrize(("kw", "litres_h"), [(0.25, 0.400), (0.5, 0.520), (1.0, 0.760)])
def test_fuel_of_a_measured_engine(kw: float, litres_h: float) -> None:
    """A 1 kW two-stroke measured at 0.280 + 0.481 kW litres an hour (public preliminary
    measurement, 2009): 1.60, 1.04 and 0.76 litres a kilowatt-hour at 0.25, 0.5, 1 kW."""
    bank = 'chemistry = "ideal"\nvolts = 12\namp_hours = 20000'
    amps = 1000.0 * kw * 0.85 / 12.0
    line = "idle_l_per_h = 0.280\nload_l_per_kwh = 0.481"
    found = dark_run(bank, generator(amps, 0.9, more=line))
    hours = float(found["generator_hours"])
    assert hours == pytest.approx(24.0 * NIGHTS)
    assert float(found["fuel_l"]) / hours == pytest.approx(litres_h, rel=0.02)
    made_kwh = float(found["generator_wh"]) / 0.85 / 1000.0
    assert float(found["fuel_l"]) / made_kwh == pytest.approx(litres_h / kw, rel=0.02)


@pytest.mark.parametrize(
    ("watts", "kw", "low_gal_h", "high_gal_h"),
    [
        (1600, 0.4, 0.08, 0.12),  # inverter type of 2 kW, 1.6 kW all day: a quarter, half, all
        (1600, 0.8, 0.15, 0.20),
        (1600, 1.6, 0.25, 0.25),
        (5000, 1.25, 0.25, 0.35),  # open frame of 5 kW
        (5000, 2.5, 0.45, 0.60),
        (5000, 5.0, 0.75, 0.75),
    ],
)
def test_fuel_by_size_when_nothing_is_written(
    watts: int, kw: float, low_gal_h: float, high_gal_h: float
) -> None:
    """A public table of US gallons an hour: within its ranges, where it gives one figure 2 %.

    Nothing is added to the ranges; the figure of 0.59 litres a kilowatt-hour at full load, 19 %
    of the fuel's heat, is the small one's 0.25 gallons.
    """
    bank = 'chemistry = "ideal"\nvolts = 12\namp_hours = 20000'
    sea_level = "height_loss_frac_per_km = 0"
    text = generator(1000.0 * kw * 0.85 / 12.0, 0.9, more=sea_level)
    found = dark_run(bank, text.replace("watts = 20000", f"watts = {watts}"))
    litres_h = float(found["fuel_l"]) / float(found["generator_hours"])
    slack = 0.02 if low_gal_h == high_gal_h else 0.0
    assert (1.0 - slack) * low_gal_h <= litres_h / US_GALLON_L <= (1.0 + slack) * high_gal_h
    if kw == 1.6:
        assert litres_h / kw == pytest.approx(0.59, abs=0.005)


QUIET = """
[generator]
watts = 2000
charger_amps = 60
hours = ["8-10:30", "16-19"]

[[appliance]]
name = "load"
watts = 90
side = "dc"
kind = "steady"
"""


@cache
def quiet() -> xr.Dataset:
    return dark_hours('chemistry = "lithium"\nvolts = 12\namp_hours = 60', QUIET)


def test_it_keeps_to_its_hours_and_the_power_still_goes_out() -> None:
    """A small bank under 90 W does not last through the quiet hours, whatever it burns by day."""
    hours = quiet()
    clock = hours["time"].dt.hour.to_numpy()
    runs = hours["generator_w"].to_numpy() > 0.0
    assert set(clock[runs]) <= {8, 9, 10, 16, 17, 18}
    assert runs.sum() > 6
    assert hours["flat"].to_numpy()[(clock < 8) | (clock >= 19)].any()
    assert not hours["flat"].to_numpy()[runs & (clock != 8) & (clock != 16) & (clock != 10)].any()


NEVER_RESTS = "sun_takes_over = false"


def test_it_does_not_run_without_need() -> None:
    """Sun that keeps the bank above the start charge leaves it silent; sun that brings half of
    what the charger would lets it rest below, too."""
    light = np.zeros(24 * NIGHTS, dtype=np.float32)
    light.reshape(NIGHTS, 24)[:, 8:16] = 500.0
    weather = sq.weather({"ghi": light, "dhi": light}, 24 * NIGHTS, first="2001-03-01")
    rig = DARK_RIG.replace("watts = 1.0", "watts = 1500.0").format(
        bank=LITHIUM, place=sq.DESERT, nights=NIGHTS
    )
    for start, more, runs in ((0.45, "", False), (0.9, "", False), (0.9, NEVER_RESTS, True)):
        tables = generator(40.0, 0.95, start, more).replace("0-24", "8-10")
        found = live_one(parse_scenario(rig + tables, "check.toml"), 0, weather=weather)
        assert (float(found["generator_w"].sum()) > 0.0) == runs


def test_a_drive_of_two_hours() -> None:
    """2 h at 40 A are about 1.0 kWh at 12.8 V (common practice, no source)."""
    found = dark_run(LITHIUM, "[drive]\namps = 40\nevery_days = 2\n")
    assert float(found["drive_wh"]) == pytest.approx(1024.0, rel=0.05)
    hours = dark_hours(LITHIUM, "[drive]\namps = 40\nevery_days = 2\n")
    assert float(hours["charge_a"].sum()) == pytest.approx(80.0, rel=0.03)
    assert hours["time"].dt.hour.to_numpy()[hours["drive_w"].to_numpy() > 0.0].tolist() == [10, 11]


HOOKUP = """
[hookup]
charger_amps = 40
hours = ["18-23"]
dates = ["2 Mar"]

[[appliance]]
name = "load"
watts = 50
side = "dc"
kind = "steady"
"""


def test_a_hookup_evening_fills_lithium_and_not_quite_lead() -> None:
    """Bulk to about 80 % and hours of taper for lead, none to speak of for lithium (common
    practice, no source). Loads run from the pedestal meanwhile, also from a flat battery."""
    ends = {}
    for name, bank in (("lithium", LITHIUM), ("lead", AGM)):
        text = bank.replace("amp_hours = 200", "amp_hours = 140")
        hours = dark_hours(text, HOOKUP)
        plugged = hours["hookup_w"].to_numpy() > 0.0
        assert plugged.sum() == 5
        assert not hours["flat"].to_numpy()[plugged].any()
        assert (hours["discharge_a"].to_numpy()[plugged] == 0.0).all()
        served, demand = hours["served_w"].to_numpy(), hours["demand_w"].to_numpy()
        assert served[plugged] == pytest.approx(demand[plugged], rel=1e-4)
        ends[name] = hours["charge_frac"].to_numpy()[plugged][-1]
    assert ends["lithium"] > 0.985
    assert 0.85 < ends["lead"] < 0.97


@pytest.mark.parametrize(
    ("amps", "volts", "gives_w"),
    [(15.0, 120.0, 1440.0), (30.0, 120.0, 2880.0), (50.0, 240.0, 9600.0)],
)
def test_a_pedestal_gives_no_more_than_its_breaker(
    amps: float, volts: float, gives_w: float
) -> None:
    """Loads of three hours or more draw at most 80 % of a breaker (NEC 210.20(A), from memory):
    15 A at 120 V are 1,440 W for loads and charger; 50 A have two legs. Loads come first.
    """
    load_w = 1200.0
    tables = HOOKUP.replace("watts = 50", f"watts = {load_w:g}").replace("= 40", "= 100", 1)
    tables = tables.replace("[hookup]", f"[hookup]\npedestal_amps = {amps:g}")
    bank = LITHIUM.replace("amp_hours = 200", "amp_hours = 600")
    hours = dark_hours(bank, tables)
    plugged = hours["hookup_w"].to_numpy() > 0.0
    given_w = hours["hookup_w"].to_numpy()[plugged]
    left_w = (gives_w - load_w) * 0.85  # through its charger
    assert given_w.max() <= load_w + left_w + 1.0
    if left_w < 1300.0:  # less than 100 A ask for
        assert given_w.max() == pytest.approx(load_w + left_w, rel=0.002)
    assert volts * amps * 0.8 == gives_w


def test_a_pedestal_too_weak_leaves_the_rest_to_the_bank() -> None:
    tables = HOOKUP.replace("watts = 50", "watts = 1500")
    tables = tables.replace("[hookup]", "[hookup]\npedestal_amps = 15")
    tables = tables.replace("18-23", "0-5").replace("2 Mar", "1 Mar")
    hours = dark_hours(LITHIUM, tables)
    plugged = hours["hookup_w"].to_numpy() > 0.0
    assert hours["hookup_w"].to_numpy()[plugged] == pytest.approx(1440.0, rel=1e-4)
    assert (hours["discharge_a"].to_numpy()[plugged] > 0.0).all()


@pytest.mark.parametrize("minutes", [15, 30, 45])
def test_part_of_an_hour_in_the_taper(minutes: int) -> None:
    """A drive of part of an hour on a lead bank that tapers: what the ampere-hour rule gives in
    just that time (integrated by small steps), not what the hour's mean current would.
    """
    tables = f'[drive]\namps = 60\nhours = ["10-10:{minutes}"]\nevery_days = 2\n'
    text = dark(AGM, tables).replace("_frac = 0.5\n", "_frac = 0.95\n")
    scenario = parse_scenario(text, "check.toml")
    hours = live_one(scenario, 0, weather=sq.weather({}, 24 * NIGHTS, first="2001-03-01"))
    at = int(np.flatnonzero(hours["drive_w"].to_numpy() > 0.0)[0])
    bank = bank_record(scenario.bank)
    charge_ah = float(hours["charge_frac"].to_numpy()[at - 1]) * bank.capacity_ah
    eta, took_ah, steps = bank.charge_efficiency, 0.0, 600
    for _ in range(steps):
        amps = min(40.0, (bank.capacity_ah - charge_ah) / bank.acceptance_h)
        step_h = minutes / 60.0 / steps
        took_ah += amps * step_h
        charge_ah += eta * amps * step_h
    assert float(hours["charge_a"].to_numpy()[at]) == pytest.approx(took_ah, rel=0.04)
    mean_a = 60.0 * minutes / 60.0  # what an hour's mean would put in, were it taken all hour
    assert took_ah < 0.85 * min(mean_a, 40.0)
