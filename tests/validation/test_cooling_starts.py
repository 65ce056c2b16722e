"""What an air conditioner's start and running take off an inverter, and what it can hold.

Through the main job: scenarios are simulated in weather that is the same every day.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import pytest

from flatodds import Outcomes, parse_scenario, simulate

if TYPE_CHECKING:
    from tests.validation import square_sun as sq
else:
    import square_sun as sq

pytestmark = pytest.mark.validation

NIGHTS = 3
TEXT = """
bank = {{ chemistry = "ideal", volts = 12, amp_hours = 19000, arrival_charge_frac = 1.0 }}
array = {{ watts = 1 }}
inverter = {{ watts = {rated_w}, surge_ratio = {surge}, idle_w = 0, heat_loss_frac_per_c = 0 }}
household = {{ pattern = "none", heat = "none" }}
shell = {{ gains_w = {gains_w}, sun_aperture_m2 = 0 }}
uncertain = {{ sun_frac = 0, use_frac = 0 }}
stay = [{{ place = "33.45, -112.07", first_day = "1 Mar", nights = 3 }}]

[cooling]
unit = "rooftop_13500"
soft_start = {soft}
inside_cool_c = 25
inside_wet_bulb_c = 17
need = "must"
hours = ["{hours}"]
"""
BESIDE = """
[[appliance]]
name = "{}"
watts = {}
side = "ac"
minutes = {}
times_a_day = 1
times_sd = 0
window = ["{}"]
"""


def lived(
    outdoor_c: float = 33.0,
    *,
    members: int = 64,
    rated_w: float = 3000.0,
    surge: float = 1.5,
    soft: bool = True,
    gains_w: float = 0.0,
    hours: str = "0-24",
    more: str = "",
) -> Outcomes:
    words = {"rated_w": rated_w, "surge": surge, "soft": str(soft).lower(), "gains_w": gains_w}
    text = TEXT.format(hours=hours, **words) + more
    weather = sq.weather({"temp_air": outdoor_c}, 24 * NIGHTS, first="2021-03-01")
    return simulate(parse_scenario(text, "starts.toml"), weather, members=members, seed=5)


def overload_hours(outcomes: Outcomes) -> float:
    """Hours a day in which something switches off."""
    found = outcomes.dataset["hours_overload"].to_numpy()[0].sum(axis=1)
    return float(found.mean()) / NIGHTS


def test_a_plain_start_trips_what_a_soft_starter_does_not() -> None:
    """Over 50 A at 120 V at a start, about 24 A with a soft starter (trade column).

    An inverter of 3,000 W gives 4,500 W for seconds, less than the one and more than the other.
    In a steady 33 C the unit cycles, so that every hour has a start.
    """
    assert overload_hours(lived(soft=False)) == 24.0
    assert overload_hours(lived(soft=True)) == 0.0
    assert overload_hours(lived(soft=False, surge=2.1)) == 0.0


def test_what_runs_through_starts_once() -> None:
    """3,956 W x 0.9 cannot keep 25 C in 33 C and 4 kW of gains: one start when its hours begin."""
    never_rests = lived(soft=False, gains_w=4000.0, hours="12-20")
    assert overload_hours(never_rests) == 1.0
    assert float(never_rests.dataset["cooling_hours"].sum()) / 64.0 / NIGHTS == pytest.approx(8.0)


def test_a_start_comes_on_top_of_what_runs_in_the_mean() -> None:
    """2,900 W with a soft starter and 600 W beside it are more than 3,400 W, alone not."""
    steady = BESIDE.format("press", 600, 60, "7-8")
    outcomes = lived(rated_w=2000.0, surge=1.7, more=steady)
    assert overload_hours(outcomes) == 1.0
    assert overload_hours(lived(rated_w=2000.0, surge=1.7)) == 0.0


@pytest.mark.parametrize(
    ("name", "watts", "rated_w", "outdoor_c", "soft", "trips"),
    [
        ("microwave", 1050, 2000.0, 35.0, True, True),
        ("microwave", 1050, 3000.0, 35.0, True, False),
        ("microwave", 1050, 3000.0, 35.0, False, True),
        ("hair dryer", 1500, 2000.0, 35.0, True, True),
        ("hair dryer", 1500, 3000.0, 35.0, True, False),
        ("hair dryer", 1500, 3000.0, 46.0, True, True),
    ],
)
def test_the_trade_list_beside_an_air_conditioner(
    name: str, watts: int, rated_w: float, outdoor_c: float, soft: bool, trips: bool
) -> None:
    """Air conditioner of 1,350 W with microwave 2,400 W, with hair dryer 2,850 W.

    Trade list: a 2,000 W inverter trips on both; one of 3,000 W carries the microwave with a
    soft starter, and the hair dryer on mild days but not in great heat.
    """
    more = BESIDE.format(name, watts, 60, "15-16")  # so long that it meets the unit for certain
    outcomes = lived(outdoor_c, rated_w=rated_w, surge=2.0, soft=soft, more=more)
    data = outcomes.dataset
    assert float(data["cooling_hours"].sum()) > 0.0
    hit = data["hours_overload"].to_numpy()[0].sum(axis=1) > 0.0
    assert hit.all() if trips else not hit.any()


def thermostat(outdoor_c: float, band_k: float) -> npt.NDArray[np.bool_]:
    """Whether a compressor runs, looked at every six seconds of ten days, by its thermostat alone.

    A home of 150 W/K and 1.5 MJ/K held at 25 C within a band; capacity by the published curve at
    a wet bulb of 17 C, of which 1 - 0.057 x 2 cools.
    """
    w, t = 17.0, outdoor_c
    capacity = 0.6405 + 0.01568 * w + 0.0004531 * w**2
    capacity += 0.001615 * t - 0.0001825 * t**2 + 0.00006614 * w * t
    taken_w = 3956.0 * capacity * (1.0 - 0.057 * (w - 15.0))
    inside_c, on, looks = 25.0, False, []
    keeps = np.exp(-150.0 * 6.0 / 1.5e6)
    for _ in range(10 * 14400):
        on = inside_c > 25.0 + band_k / 2.0 or (on and inside_c > 25.0 - band_k / 2.0)
        settles_c = outdoor_c - taken_w * on / 150.0
        inside_c = settles_c + (inside_c - settles_c) * keeps
        looks.append(on)
    return np.array(looks)


BAND_K = 0.64  # starts it three times an hour at a duty of a half, as thermostats of homes do
LOOKS = 60  # of a run of six minutes


@pytest.mark.parametrize("outdoor_c", [28.0, 33.0, 39.0])
@pytest.mark.parametrize("starting", [False, True])
def test_a_microwave_meets_a_compressor_as_often_as_in_a_simulation_by_the_minute(
    outdoor_c: float, starting: bool
) -> None:
    """1,050 W for 6 minutes once between 8 and 20 h: beside 1,350 W too much for 2,000 W; beside a
    plain start too much for the seconds' power of 3,000 W.

    Against a thermostat looked at every six seconds, that shares the heat balance and the curves,
    not the chances; odds of a stay within 3.3 standard errors.
    """
    on = thermostat(outdoor_c, BAND_K)[14400:]
    begins = on[1:] & ~on[:-1]
    counted = np.cumsum(np.concatenate([[0], begins if starting else on[1:]]))
    a_day = float((counted[LOOKS:] > counted[:-LOOKS]).mean())
    more = BESIDE.format("microwave", 1050, 6, "8-20")
    rated_w, surge = (3000.0, 2.1) if starting else (2000.0, 2.5)
    outcomes = lived(
        outdoor_c, members=1024, more=more, rated_w=rated_w, surge=surge, soft=not starting
    )
    hit = outcomes.dataset["hours_overload"].to_numpy()[0].sum(axis=1) > 0.0
    expected = 1.0 - (1.0 - a_day) ** NIGHTS
    assert 0.1 < a_day < 0.99
    assert hit.mean() == pytest.approx(
        expected, abs=3.3 * (expected * (1 - expected) / 1024) ** 0.5
    )


def test_hot_and_cold_hours_with_and_without() -> None:
    """In a day of 30 C the home without cooling is beyond 29 C in every hour, windows open or
    not; with it never. In 3 C and with 750 W of gains, 8 C, it is below 10 C day and night."""
    warm = lived(30.0, gains_w=750.0)
    data = warm.dataset.isel(case=0)
    days = 64.0 * NIGHTS
    assert float(data["hot_hours"].sum()) == 0.0
    assert float(data["hot_hours_uncooled"].sum()) / days > 22.0  # it warms up first
    assert float(data["days_held"].sum()) == float(data["hot_days_uncooled"].sum()) == days
    cold = lived(3.0, gains_w=750.0).dataset.isel(case=0)
    assert float(cold["cold_hours"].sum()) / days > 20.0
    assert float(data["cold_hours"].sum()) == 0.0


def test_at_any_charge_in_the_hours_of_the_dog() -> None:
    """13 to 16 h whatever the charge, else above 60 %: a bank at 30 % cools three hours a day."""
    text = TEXT.format(rated_w=3000, surge=2.0, soft="true", gains_w=0, hours="0-24").replace(
        'need = "must"\nhours = ["0-24"]', 'must_hours = ["13-16"]\n' + ABOVE
    )
    text = text.replace("arrival_charge_frac = 1.0", "arrival_charge_frac = 0.3")
    weather = sq.weather({"temp_air": 40.0}, 24 * NIGHTS, first="2021-03-01")
    outcomes = simulate(parse_scenario(text, "dog.toml"), weather, members=64, seed=5)
    assert float(outcomes.dataset["cooling_hours"].sum()) / 64.0 / NIGHTS == pytest.approx(3.0)


ABOVE = 'need = "above-charge"\nonly_above_charge_frac = 0.6'


def test_words_of_the_summary_count_the_overloads() -> None:
    """What a plain start does is told as the odds of an overload, beside those of flat."""
    stay = lived(soft=False).summary()["stays"][0]
    assert stay["odds_overload"]["estimate"] == 1.0
    assert stay["odds_flat"]["estimate"] == 0.0
    assert np.isclose(stay["odds_overload"]["high"], 1.0)
