"""What runs at the same minute: overloads, pairs and peak amperes, through the main job.

Against geometry, simulations that look every few seconds, and a trade list.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt
import pytest

from flatodds import Outcomes
from flatodds.catalog import appliances

if TYPE_CHECKING:
    from tests.validation.home_rig import appliance, lived, steady
else:
    from home_rig import appliance, lived, steady

pytestmark = pytest.mark.validation
Floats = npt.NDArray[np.float64]


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


# A kitchen of the catalogue: minutes, times a day and windows of the catalogue, spread by hand.
KITCHEN = ("microwave", "drip_coffee", "kettle", "toaster", "hair_dryer", "induction_hob")
LOOK_H = 0.1 / 60.0


def chances_of(mean: float, sd: float) -> list[float]:
    """Chances of single runs with that mean and spread, found by search."""
    from scipy.optimize import brentq

    count = next(n for n in range(1, 30) if n >= mean and mean * (1 - mean / n) >= sd**2 - 1e-9)
    sure = [min(max(mean - k, 0.0), 1.0) for k in range(count)]

    def mixed(weight: float) -> list[float]:
        return [weight * one + (1.0 - weight) * mean / count for one in sure]

    def over(weight: float) -> float:
        return sum(p * (1.0 - p) for p in mixed(weight)) - sd**2

    if over(0.0) <= 1e-9:
        return mixed(0.0)
    return mixed(1.0) if over(1.0) >= -1e-9 else mixed(float(brentq(over, 0.0, 1.0)))


def kitchen_by_the_minute(rating_w: float, days: int) -> Floats:
    """Hours a day in which more is drawn than the rating, from starts drawn anew, (day,)."""
    rng = np.random.default_rng(77)
    looks = np.arange(14400) * LOOK_H
    watts = np.zeros((days, len(looks)), dtype=np.float32)
    for name in KITCHEN:
        item = appliances()[name]
        on = np.zeros(watts.shape, dtype=bool)
        room = np.array([end - start - item.minutes / 60.0 for start, end in item.windows])
        for chance in chances_of(item.times_a_day, item.times_sd):
            window = rng.choice(len(room), size=days, p=room / room.sum())
            begin = np.array([start for start, _ in item.windows])[window]
            begin = begin + rng.uniform(0.0, 1.0, days) * room[window]
            happens = rng.uniform(0.0, 1.0, days) < chance
            for day in np.flatnonzero(happens):
                first, last = np.searchsorted(looks, [begin[day], begin[day] + item.minutes / 60.0])
                on[day, first:last] = True
        watts += np.float32(item.watts) * on
    hours: Floats = (watts > rating_w).reshape(days, 24, -1).any(axis=2).sum(axis=1).astype(float)
    return hours


def test_a_kitchen_overloads_as_often_as_looked_at_every_six_seconds() -> None:
    """Six appliances of the catalogue with several windows and uneven chances, 2,000 W.

    Odds of a stay with an overload and hours of overload a day, both within 3.3 standard errors
    of the two samples.
    """
    more = "".join(f'\n[[appliance]]\nuse = "{name}"\n' for name in KITCHEN)
    nights, members, days = 2, 2048, 2000
    outcomes = lived(more=more, nights=nights, members=members, inverter_w=2000.0)
    brute = kitchen_by_the_minute(2000.0, days)
    hours, day_odds = overloads(outcomes), float((brute > 0.0).mean())
    found, stays = float((hours > 0.0).mean()), 1.0 - (1.0 - day_odds) ** nights
    slope = nights * (1.0 - day_odds) ** (nights - 1)  # of the stay's odds by the day's
    error = (found * (1 - found) / members + slope**2 * day_odds * (1 - day_odds) / days) ** 0.5
    assert found == pytest.approx(stays, abs=3.3 * error)
    spread = (hours.var() / members / nights**2 + brute.var() / days) ** 0.5
    assert hours.mean() / nights == pytest.approx(brute.mean(), abs=3.3 * float(spread))
    assert 0.05 < day_odds < 0.95


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


@pytest.mark.parametrize(("celsius", "gives_w"), [(5.0, 2400.0), (25.0, 2400.0), (40.0, 2200.0)])
def test_a_hot_inverter_gives_less(celsius: float, gives_w: float) -> None:
    """A unit of 2,400 W at 25 C gives about 2,200 W at 40 C (from memory; 1 %): what it carries
    of a load of 2,600 W that never stops, and that the hours it cannot are overloads.
    """
    words: dict[str, Any] = {"celsius": celsius, "nights": 2, "members": 64, "inverter_w": 2400.0}
    result = lived(more=steady(2600.0), **words)
    unserved = result.dataset["energy_not_served_wh"].sum("period").to_numpy()
    assert 2600.0 - unserved / 48.0 == pytest.approx(gives_w, rel=0.01)
    just_over = lived(more=steady(gives_w + 30.0), **words)
    assert (overloads(just_over) == 48.0).all()
    assert not overloads(lived(more=steady(gives_w - 30.0), **words)).any()


def test_a_pair_that_fits_in_cool_air_only() -> None:
    """Trade list: an air conditioner of 1,350 W beside a hair dryer of 1,500 W on 3,000 W is well
    in a cool cabin and too much in a hot one; data of one's own inverter may say otherwise.
    """
    pair = appliance("cooler", 1350.0, 60.0, "7-8") + appliance("dryer", 1500.0, 60.0, "7-8")
    for celsius, trips in ((22.0, False), (40.0, True)):
        outcomes = lived(more=pair, nights=2, members=64, celsius=celsius)
        assert bool((overloads(outcomes) > 0.0).all()) is trips
    sturdy = lived(
        more=pair, nights=2, members=64, celsius=40.0, inverter=", heat_loss_frac_per_c = 0"
    )
    assert not overloads(sturdy).any()


def test_the_bank_s_current_at_the_peak() -> None:
    """Trade practice: 2 kW take about 185 A at 12 V; by arithmetic 2,000 W x 1.0915 + 28 W over
    12 V is 184 A, four times what the hour's mean suggests for a quarter of an hour."""
    load = appliance("kettle", 2000.0, 15.0, "7-8")
    outcomes = lived(more=load, nights=2, members=64, inverter_w=2000.0, idle_w=28.0)
    amps = outcomes.dataset["peak_bank_a"].to_numpy()[0]
    assert amps == pytest.approx((2000.0 * 1.0915 + 28.0) / 12.0, rel=0.01)


def test_what_a_weak_bank_lets_through_is_an_overload_and_no_more_amperes() -> None:
    """12 V behind 0.05 ohm give at most V^2 / 4 R = 720 W, at V / 2 R = 120 A: a kettle of 2,000 W
    for a tenth of an hour, 200 W in the mean, is too much; one of 600 W is not, and takes
    (V - sqrt(V^2 - 4 R P)) / 2 R. Inverters of just their watts.
    """
    for watts, trips in ((2000.0, True), (600.0, False)):
        load = appliance("kettle", watts, 6.0, "7-8")
        outcomes = lived(more=load, nights=2, members=64, inverter_w=watts, bank=SOFT_BANK)
        assert bool((overloads(outcomes) > 0.0).all()) is trips
        left = max(144.0 - 0.2 * 1.0915 * watts, 0.0)  # what the inverter draws at its rating
        amps = outcomes.dataset["peak_bank_a"].to_numpy()[0]
        assert amps == pytest.approx((12.0 - left**0.5) / 0.1, rel=0.02)


SOFT_BANK = ", resistance_ohm = 0.05"
