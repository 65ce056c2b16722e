"""Demand as people have it, against outside values, through the main job.

The cabin is held at the air's temperature (no heat of its own, no sun), so that fridges see
the temperature stated; the bank is large, ideal and never flat.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt
import pytest
import xarray as xr

from flatodds import Outcomes, parse_scenario, simulate
from flatodds.catalog import patterns
from flatodds.loads.household import NEEDS

if TYPE_CHECKING:
    from tests.validation import square_sun as sq
else:
    import square_sun as sq

pytestmark = pytest.mark.validation
Floats = npt.NDArray[np.float64]
MEMBERS = 128
AH_V = 12.8  # volts of the bands' ampere-hours

HOME = """
bank = {{ chemistry = "ideal", volts = 12, amp_hours = 19000, arrival_charge_frac = 1.0 }}
array = {{ watts = 1 }}
inverter = {{ watts = {inverter_w}, idle_w = {idle_w}{inverter} }}
household = {{ pattern = "{pattern}", heat = "none"{habits} }}
shell = {{ gains_w = 0, sun_aperture_m2 = 0 }}
uncertain = {{ sun_frac = 0, use_frac = 0 }}
stay = [{{ place = "33.45, -112.07", first_day = "1 Mar", nights = {nights} }}]
"""


def held_at(celsius: float, nights: int) -> xr.Dataset:
    """Dark weather of one temperature, one member."""
    return sq.weather({"temp_air": celsius}, 24 * nights, first="2021-03-01")


def some_sun(nights: int) -> xr.Dataset:
    """Days of six hours of light, every other day a quarter of the last, at 25 C."""
    light = np.zeros((nights, 24))
    light[0::2, 10:16], light[1::2, 10:16] = 200.0, 800.0
    hours = light.ravel()
    return sq.weather(
        {"ghi": hours, "dhi": hours, "temp_air": 25.0}, 24 * nights, first="2021-03-01"
    )


@cache
def lived(
    pattern: str = "none",
    *,
    celsius: float = 25.0,
    nights: int = 10,
    members: int = MEMBERS,
    more: str = "",
    **words: Any,
) -> Outcomes:
    fields = {"inverter_w": 3000.0, "idle_w": 0.0, "inverter": "", "habits": "", **words}
    text = HOME.format(pattern=pattern, nights=nights, **fields) + more
    return simulate(
        parse_scenario(text, "home.toml"), held_at(celsius, nights), members=members, seed=5
    )


def daily_wh(outcomes: Outcomes) -> Floats:
    """Demand of the whole days, (member, day) [Wh]."""
    return outcomes.dataset["daily_demand_wh"].to_numpy().astype(float)


def appliance(name: str, watts: float, minutes: float, window: str, **more: Any) -> str:
    words = {"side": "ac", "times_a_day": 1, "times_sd": 0, **more}
    lines = [f"{key} = {value!r}" for key, value in words.items()]
    return (
        f'\n[[appliance]]\nname = "{name}"\nwatts = {watts}\nminutes = {minutes}\n'
        f'window = ["{window}"]\n' + "\n".join(lines)
    )


def steady(watts: float, side: str = "ac") -> str:
    return f'\n[[appliance]]\nname = "steady"\nwatts = {watts}\nside = "{side}"\nkind = "steady"\n'


# --- energy of single appliances ---------------------------------------------------------


def test_heating_ten_gallons_takes_a_kilowatt_and_a_half_for_an_hour() -> None:
    """Heat of 37.78 kg of water from 60 to 120 F at 4.182 kJ/kg/K is 1.463 kWh: 58.5 min."""
    kelvin = 60.0 / 1.8
    minutes = 37.78 * 4.182 * kelvin / 1.5 / 60.0
    assert 50.0 < minutes < 70.0  # owners say "about an hour"
    outcomes = lived(more=appliance("heater", 1500.0, minutes, "8-11", side="dc"))
    assert daily_wh(outcomes) == pytest.approx(1463.0, rel=0.01)


def test_the_catalogue_s_water_heater_holds_the_heat_it_says() -> None:
    """23 litres lifted by 40 K need 1.069 kWh (4.182 kJ/kg/K)."""
    heater = '\n[[appliance]]\nuse = "water_heater_element"\nneed = "must"\ntimes_sd = 0\n'
    plug = lived(more=heater).dataset["appliance_wanted_wh"].to_numpy().mean() / 10.0
    assert plug == pytest.approx(23.0 * 4.182 * 40.0 / 3.6, rel=0.01)


def test_an_idle_inverter() -> None:
    """20 W for 24 h: 480 Wh, 37.5 Ah at 12.8 V (arithmetic)."""
    outcomes = lived(idle_w=20.0, inverter=", hours_on = 24")
    assert daily_wh(outcomes) == pytest.approx(480.0, rel=1e-5)
    assert daily_wh(outcomes) / AH_V == pytest.approx(37.5, rel=1e-5)


# Efficiency by load [1] of 33 inverters with input below 70 V in the CEC list, median: table
# shipped with pvlib (2019-03-05). Its tolerance here is 0.02.
LOADS = (0.05, 0.10, 0.20, 0.30, 0.50, 0.75, 1.00)
MEDIAN = (0.782, 0.865, 0.911, 0.924, 0.921, 0.918, 0.909)


@cache
def efficiency(load: float) -> float:
    rated_w = 2000.0
    outcomes = lived(
        inverter_w=rated_w, idle_w=28.0, more=steady(load * rated_w), nights=2, members=1
    )
    return 24.0 * load * rated_w / float(daily_wh(outcomes).mean())


def missed(*values: Any, figure: str) -> Any:
    """Mark a case that misses the outside value by the figure measured."""
    return pytest.param(*values, marks=pytest.mark.xfail(strict=True, reason=figure))


@pytest.mark.parametrize(
    ("load", "median"),
    [
        missed(0.05, 0.782, figure="0.761 at 5 % load, 0.021 below the list's median"),
        *list(zip(LOADS, MEDIAN, strict=True))[1:5],
        missed(0.75, 0.918, figure="0.896 at 75 % load, 0.022 below the list's median"),
        missed(1.00, 0.909, figure="0.882 at full load, 0.027 below the list's median"),
    ],
)
def test_the_inverter_is_near_listed_ones(load: float, median: float) -> None:
    """Where the two differ: our curve is a fit to trade practice for battery inverters, 88 %
    at full load, and stays on the cautious side of the list's median."""
    assert efficiency(load) == pytest.approx(median, abs=0.02)


def test_the_inverter_is_poorer_than_grid_ones_at_every_load() -> None:
    """1,133 grid inverters of 1 to 5 kW in the same list, tenth percentile: a battery one has
    ten times the current, and none should come out better."""
    tenth = (0.782, 0.872, 0.919, 0.935, 0.946, 0.945, 0.939)
    assert all(efficiency(load) < least for load, least in zip(LOADS, tenth, strict=True))


# --- fridges ------------------------------------------------------------------------------


@pytest.mark.parametrize("use", ["compressor_fridge_12v", "chest_freezer_12v"])
def test_a_warmer_room_makes_a_fridge_work_harder(use: str) -> None:
    """Duty goes with (room - inside) / COP: 32 C takes 1.4 to 2.2 times 21 C."""
    fridge = f'\n[[appliance]]\nuse = "{use}"\n'
    cool, warm = (daily_wh(lived(celsius=c, more=fridge))[:, 5:].mean() for c in (21.0, 32.0))
    assert 1.4 <= warm / cool <= 2.2


def share_of_label(celsius: float) -> float:
    """Use of the household fridge in a kitchen so warm, as a share of that at 90 F."""
    fridge = '\n[[appliance]]\nuse = "residential_fridge"\n'
    found, label = (daily_wh(lived(celsius=c, more=fridge))[:, 5:].mean() for c in (celsius, 32.2))
    return float(found / label)


FIELD = (0.94 * 1160.0 - 85.0) / 1160.0  # of 209 units, LBNL; a label of 1,160 kWh a year


def test_the_household_fridge_reaches_field_use_between_a_cool_and_a_warm_kitchen() -> None:
    """Labels are measured at 90 F, doors closed (10 CFR 430, subpart B, app. A1); the study's
    kitchens are not known, so 24 and 28 C must lie on either side."""
    assert share_of_label(24.0) < FIELD < share_of_label(28.0)


@pytest.mark.xfail(
    strict=True, reason="0.840 of the label at 26 C, 3 % below the field study's 0.867"
)
def test_the_household_fridge_uses_what_field_studies_find_in_a_middle_kitchen() -> None:
    assert share_of_label(26.0) == pytest.approx(FIELD, rel=0.02)


# --- whole households ---------------------------------------------------------------------

# Own sums over 20,000 random days of a trade catalogue at 25 C: 5 and 95 % of days [Ah].
DAYS_AH = {"light": (66.0, 85.0), "medium": (234.0, 292.0), "heavy": (502.0, 653.0)}


def days_ah(pattern: str) -> tuple[float, float]:
    """5 and 95 % of a pattern's days [Ah]; the cabin has settled, the last run-over is whole."""
    words: dict[str, Any] = {} if pattern == "light" else {"idle_w": 28.0}
    ah = daily_wh(lived(pattern, nights=28, **words))[:, 6:-1] / AH_V
    low, high = np.quantile(ah, [0.05, 0.95])
    return float(low), float(high)


@pytest.mark.parametrize("pattern", list(DAYS_AH))
def test_days_of_a_pattern_lie_in_its_band(pattern: str) -> None:
    low, high = days_ah(pattern)
    band = patterns()[pattern].band_ah
    assert band[0] <= low < high <= band[1]


@pytest.mark.parametrize(
    "pattern",
    [
        missed("light", figure="89 to 100 Ah against 66 to 85"),
        missed("medium", figure="205 to 272 Ah against 234 to 292"),
        missed("heavy", figure="404 to 507 Ah against 502 to 653"),
    ],
)
def test_days_of_a_pattern_are_those_of_the_sums(pattern: str) -> None:
    assert days_ah(pattern) == pytest.approx(DAYS_AH[pattern], rel=0.10)


def test_a_frugal_trailer_is_far_from_a_house_on_the_grid() -> None:
    """Trailer owners tell of 70 to 100 Ah a day, 0.9 to 1.3 kWh; a US house takes about 29 kWh
    a day (EIA, from memory)."""
    kwh = float(daily_wh(lived("light", nights=28))[:, 6:-1].mean()) / 1000.0
    assert 0.9 <= kwh <= 1.3
    heavy = float(daily_wh(lived("heavy", nights=28, idle_w=28.0))[:, 6:-1].mean()) / 1000.0
    assert 4.0 * kwh < heavy < 29.0 / 2.0


def test_what_an_appliance_wanted_it_got_or_went_without() -> None:
    """Nothing is lost between plugs and pools: served and gone without make what was asked for
    up to what still runs or waits as the stay ends; and the pool's sum is the appliances' sum."""
    text = HOME.format(
        pattern="medium", nights=20, inverter_w=2000, idle_w=28, inverter="", habits=""
    ).replace("19000", "250")
    more = '\n[[appliance]]\nuse = "tool_or_ebike_charging"\nneed = "can-wait"\n'
    scenario = parse_scenario(text.replace("watts = 1 }", "watts = 900 }") + more, "home.toml")
    outcomes = simulate(scenario, some_sun(20), members=MEMBERS, seed=5)
    data = outcomes.dataset
    wanted, served, later, gone = (
        data[f"appliance_{name}_wh"].to_numpy()[:, 0]
        for name in ("wanted", "served", "shifted", "gone_without")
    )
    names = [str(name) for name in data["appliance"].to_numpy()]
    needs = {use.name: NEEDS[use.need] for use in scenario.appliances}
    waits = np.array([needs.get(name) == NEEDS["can-wait"] for name in names])
    assert gone[:, waits].sum() > 0.0
    assert later[:, waits].sum() > 0.0
    assert not later[:, ~waits].any()
    assert np.all(later <= served + 1e-3)
    left = wanted - served - gone
    biggest = np.array([use.watts * use.minutes / 60.0 for use in scenario.appliances]).max()
    assert np.all(left >= -1.0)
    assert np.all(left[:, waits] <= 2.0 * biggest + wanted[:, waits] / 5.0)
    pooled = data["gone_without_wh"].to_numpy()[0].sum(axis=1)
    assert gone[:, waits].sum(axis=1) == pytest.approx(pooled, rel=1e-3, abs=1.0)


# --- at the same minute -------------------------------------------------------------------

COFFEE = appliance("coffee", 1000.0, 9.0, "7-9:09")
MICROWAVE = appliance("microwave", 1050.0, 6.0, "7-9:06")


def overloads(outcomes: Outcomes) -> Floats:
    return np.asarray(outcomes.dataset["hours_overload"].to_numpy()[0].sum(axis=1), dtype=float)


def minute_by_minute(nights: int, stays: int, rating_w: float) -> float:
    """Share of stays with an overload, from starts drawn anew and looked at every 6 seconds."""
    rng = np.random.default_rng(12)
    looks = np.arange(0.0, 140.0, 0.1)
    hit = np.zeros(stays, dtype=bool)
    for _ in range(nights):
        watts = np.zeros((stays, len(looks)))
        for draw_w, minutes in ((1000.0, 9.0), (1050.0, 6.0)):
            start = rng.uniform(0.0, 120.0, stays)[:, None]
            watts += draw_w * ((looks >= start) & (looks < start + minutes))
        hit |= (watts > rating_w).any(axis=1)
    return float(hit.mean())


def test_overload_odds_are_those_of_a_minute_simulation_and_of_geometry() -> None:
    """Trade list: microwave and coffee, 2,050 W together, trip a 2,000 W inverter.

    Starts are uniform in two hours, runs 9 and 6 minutes: P = 1 - ((W - d1)^2 + (W - d2)^2)
    / (2 W^2) a day.
    """
    nights, members = 5, 1024
    outcomes = lived(more=COFFEE + MICROWAVE, nights=nights, members=members, inverter_w=2000.0)
    found = float((overloads(outcomes) > 0.0).mean())
    a_day = 1.0 - (111.0**2 + 114.0**2) / (2.0 * 120.0**2)
    exact = 1.0 - (1.0 - a_day) ** nights
    spread = (exact * (1.0 - exact) / members) ** 0.5
    assert found == pytest.approx(exact, abs=3.3 * spread)
    brute = minute_by_minute(nights, 4000, 2000.0)
    assert found == pytest.approx(brute, abs=3.3 * (spread**2 + spread**2 / 4.0) ** 0.5)
    part = outcomes.summary()["stays"][0]["odds_overload"]
    assert part["estimate"] == pytest.approx(found)
    assert part["low"] < exact < part["high"]
    assert outcomes.summary()["stays"][0]["odds_flat"]["estimate"] == 0.0


@pytest.mark.parametrize(
    ("watts", "trips_2000", "trips_3000"),
    [
        ((1050.0, 1000.0), True, False),  # microwave and coffee
        ((1500.0, 1050.0), True, False),  # hair dryer and microwave
        ((1400.0, 1200.0), True, False),  # air fryer and kettle
        ((1400.0, 1050.0, 1000.0), True, True),  # water heater, microwave and coffee
    ],
)
def test_the_trade_list_of_overloads(
    watts: tuple[float, ...], trips_2000: bool, trips_3000: bool
) -> None:
    """Continuous watts of each pair against inverters of 2,000 and 3,000 W."""
    more = "".join(
        appliance(f"thing {k}", w, 60.0, "7-8") for k, w in enumerate(watts)
    )  # the same hour, so that they always meet
    for rated_w, trips in ((2000.0, trips_2000), (3000.0, trips_3000)):
        outcomes = lived(more=more, nights=2, members=64, inverter_w=rated_w)
        assert bool((overloads(outcomes) > 0.0).all()) is trips


def test_watts_are_not_volt_amperes() -> None:
    """A "3,000 VA" unit gives 2,400 W at a power factor of 0.8: 2,500 W is too much for it."""
    load = appliance("oven", 2500.0, 60.0, "7-8")
    outcomes = lived(more=load, nights=2, members=64, inverter_w=2400.0)
    assert (overloads(outcomes) > 0.0).all()
    assert any("Alone more than" in text for text in outcomes.facts.cautions)


def test_the_bank_s_current_at_the_peak() -> None:
    """Trade practice: 2 kW take about 185 A at 12 V; by arithmetic 2,000 W x 1.12 + 28 W over
    12 V is 189 A, four times what the hour's mean suggests for a quarter of an hour."""
    load = appliance("kettle", 2000.0, 15.0, "7-8")
    outcomes = lived(more=load, nights=2, members=64, inverter_w=2000.0, idle_w=28.0)
    amps = outcomes.dataset["peak_bank_a"].to_numpy()[0]
    assert amps == pytest.approx((2000.0 * 1.12 + 28.0) / 12.0, rel=0.01)


# --- saving -------------------------------------------------------------------------------


def test_those_who_economise_run_flat_later_and_never_shed_what_is_medical() -> None:
    text = HOME.format(
        pattern="heavy", nights=12, inverter_w=3000, idle_w=28, inverter="", habits=""
    ).replace("19000", "1200")
    pump = (
        '\n[[appliance]]\nname = "pump"\nwatts = 40\nside = "dc"\nkind = "steady"\nmedical = true'
    )
    scenario = parse_scenario(text.replace("watts = 1 }", "watts = 1200 }") + pump, "home.toml")
    outcomes = simulate(scenario, some_sun(12), members=MEMBERS, seed=5)
    data = outcomes.dataset
    planned, frugal = (data.sel(case=name) for name in ("as_estimated", "economised"))
    assert float(planned["saved_wh"].sum()) == 0.0
    assert float(frugal["saved_wh"].sum()) > 0.0
    less = (planned["hours_flat"] - frugal["hours_flat"]).sum("period").to_numpy()
    assert less.mean() > 0.0
    assert np.all(less >= -1.0)
    parts = outcomes.summary()["stays"][0]["odds_flat_if"]
    assert parts["economised"]["estimate"] <= parts["as_estimated"]["estimate"]
    assert next(use for use in scenario.appliances if use.name == "pump").shrink_frac == 0.0
