"""How people live, through the main job: rain, weekends, saving, waiting and spare sun."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import pytest

from flatodds import Outcomes, Scenario, parse_scenario, simulate
from flatodds.catalog import appliances
from flatodds.studies.live_one import live_one

if TYPE_CHECKING:
    from tests.validation import square_sun as sq
else:
    import square_sun as sq

pytestmark = [pytest.mark.validation, pytest.mark.usefixtures("estimate_taken_for_exact")]
Floats = npt.NDArray[np.float64]
MEMBERS = 128

HOME = """
bank = {{ chemistry = "ideal", volts = 12, amp_hours = {amp_hours}, arrival_charge_frac = {full} }}
array = {{ watts = {watts} }}
inverter = {{ watts = 4000, idle_w = 0 }}
household = {{ pattern = "{pattern}", heat = "none" }}
shell = {{ gains_w = 0, sun_aperture_m2 = 0 }}
uncertain = {{ sun_frac = 0, use_frac = 0 }}
stay = [{{ place = "33.45, -112.07", first_day = "1 Mar", nights = {nights}{stay} }}]
"""


def home(pattern: str = "none", more: str = "", **words: object) -> Scenario:
    usual = {"amp_hours": 19000, "full": 1.0, "watts": 1, "nights": 14, "stay": ""}
    return parse_scenario(HOME.format(pattern=pattern, **{**usual, **words}) + more, "home.toml")


def plug(outcomes: Outcomes, what: str, name: str) -> Floats:
    """Energy of one appliance over the stay by member [Wh]."""
    found = outcomes.dataset[f"appliance_{what}_wh"].sel(appliance=name)
    return np.asarray(found.to_numpy()[:, 0], dtype=float)


# --- rain and weekends --------------------------------------------------------------------


def march(wet_share: float) -> str:
    """Words of a stay where such a share of March's days brings rain."""
    days = [28.0 * wet_share, 28.0 * wet_share, 31.0 * wet_share] + [28.0 * wet_share] * 9
    return f", monthly_wet_days = {days}"


def test_a_wet_day_keeps_people_at_the_television() -> None:
    """Catalogue: 2.3 hours on a dry weekday, 3 on a dry weekend day, 1.3 times that in rain.

    Over two weeks of drawn weather with rain on one day in ten and on eight in ten; other use
    stays bit for bit as it was.
    """
    item = appliances()["tv_media"]
    found = {
        share: simulate(home("medium", stay=march(share)), members=2048, seed=7)
        for share in (0.1, 0.8)
    }
    usual = 10.0 * item.times_a_day + 4.0 * item.times_a_day_weekend
    assert item.times_a_day_weekend > item.times_a_day
    assert item.wet_day_factor > 1.2
    for share, outcomes in found.items():
        hours = plug(outcomes, "wanted", "tv_media") / item.watts
        error = hours.std() / len(hours) ** 0.5
        expected = usual * (1.0 + (item.wet_day_factor - 1.0) * share)
        assert hours.mean() == pytest.approx(expected, abs=4.5 * error)
    for name in ("laptop", "microwave", "drip_coffee", "led_lights"):
        before, after = (plug(one, "wanted", name) for one in found.values())
        assert np.array_equal(before, after), name


# --- saving -------------------------------------------------------------------------------


def some_sun(nights: int) -> Floats:
    """Days of six hours of light, every other day a quarter of the last."""
    light = np.zeros((nights, 24))
    light[0::2, 10:16], light[1::2, 10:16] = 200.0, 800.0
    return np.asarray(light.ravel())


def saved(amp_hours: float, more: str = "") -> Outcomes:
    """A hungry household whose bank falls below its caution level."""
    hours = some_sun(12)
    weather = sq.weather(
        {"ghi": hours, "dhi": hours, "temp_air": 25.0}, 24 * 12, first="2021-03-01"
    )
    words = {"amp_hours": amp_hours, "watts": 1500, "nights": 12}
    return simulate(home("heavy", more, **words), weather, members=MEMBERS, seed=5)


PUMP = '\n[[appliance]]\nname = "pump"\nwatts = 40\nside = "dc"\nkind = "steady"\nmedical = true\n'


def test_what_people_did_without_is_told_by_appliance_as_planned_and_economised() -> None:
    """Given up, in stays that do not run flat: what the appliances went without is what was
    saved in all; each gave up at most its share, and medical use nothing."""
    outcomes = saved(4000.0, PUMP)
    frugal = outcomes.dataset.sel(case="economised")
    never_flat = frugal["hours_flat"].to_numpy().sum(axis=1) == 0.0
    assert never_flat.sum() > 10
    uses = {use.name: use for use in home("heavy", PUMP).appliances}
    musts = [name for name, use in uses.items() if use.need == "must" and use.kind != "fridge"]
    total = np.zeros(MEMBERS)
    for name in musts:
        wanted, gone = (plug(outcomes, w, name) for w in ("wanted", "gone_without_economised"))
        served = plug(outcomes, "served_economised", name)
        assert np.all(gone <= uses[name].shrink_frac * wanted + 1.0 + wanted * ~never_flat)
        left = wanted - served - gone
        assert np.all(left >= -1.0)
        assert np.all(left <= uses[name].watts * uses[name].minutes / 60.0 * 3.0 + 1.0)
        total += gone
    whole = frugal["saved_wh"].to_numpy().sum(axis=1)
    assert whole.max() > 100.0
    assert total[never_flat] == pytest.approx(whole[never_flat], rel=1e-4, abs=1.0)
    assert plug(outcomes, "gone_without_economised", "pump")[never_flat].max() < 1e-3
    assert plug(outcomes, "gone_without_economised", "hair_dryer").mean() > 10.0


def test_saving_leaves_more_of_the_rest_served() -> None:
    """In a bank that does run flat, a medical pump misses less where comfort use gives way."""
    outcomes = saved(500.0, PUMP)
    planned, frugal = (
        plug(outcomes, f"gone_without{ending}", "pump").mean() for ending in ("", "_economised")
    )
    assert 0.0 < frugal < planned
    row = next(one for one in outcomes.summary()["stays"][0]["appliances"] if one["name"] == "pump")
    assert row["gone_without_kwh"]["mean"] == pytest.approx(planned * 1e-3)
    assert row["if_economised"]["gone_without_kwh"]["mean"] == pytest.approx(frugal * 1e-3)
    assert row["if_economised"]["served_frac"]["mean"] > row["served_frac"]["mean"]


# --- spare sun ------------------------------------------------------------------------------


def lived_hours(
    use: str, watts: float, amp_hours: float, full: float
) -> tuple[Floats, Floats, Floats]:
    """Spare-sun power by hour, charge each hour began with, amperes drawn, of six sunny days."""
    light = np.zeros((6, 24))
    light[:, 9:17] = 600.0
    hours = light.ravel()
    weather = sq.weather({"ghi": hours, "dhi": hours, "temp_air": 20.0}, 24 * 6, first="2021-03-01")
    more = f'\n[[appliance]]\nuse = "{use}"\n' + sq.steady(150.0)
    words = {"amp_hours": amp_hours, "full": full, "watts": watts, "nights": 6}
    found = live_one(home("none", more, **words), 0, 5, weather)
    charge = found["charge_frac"].to_numpy()
    began = np.concatenate([[full], charge[:-1]])
    return found["spare_w"].to_numpy(), began, found["discharge_a"].to_numpy()


@pytest.mark.parametrize(
    ("use", "line"), [("absorption_fridge_on_mains", 0.8), ("absorption_fridge_12v_element", 0.9)]
)
def test_a_fridge_goes_to_electricity_in_sun_hours_above_its_charge(use: str, line: float) -> None:
    """From 10 to 16 h, above 80 % (12 V: 90 %) of charge and not below; on gas else."""
    spare_w, began, _ = lived_hours(use, 2500.0, 300.0, 0.5)
    clock = np.arange(len(spare_w)) % 24
    runs = spare_w > 1.0
    assert runs.sum() > 12
    assert began[runs].min() >= line - 1e-5
    assert set(clock[runs]) <= set(range(10, 16))
    sun_hours = (clock >= 10) & (clock < 16)
    assert runs[sun_hours & (began >= line + 0.01)].all()
    assert (began[sun_hours] < line).any()


def test_spare_sun_use_never_draws_on_the_bank() -> None:
    """Water is heated with sun that is left over; where the sun never fills the bank, never."""
    spare_w, began, drawn_a = lived_hours("water_heater_element", 2500.0, 300.0, 0.5)
    assert spare_w.sum() > 1000.0
    assert drawn_a[spare_w > 0.0].max() == 0.0
    assert began[spare_w > 1.0].min() > 0.8  # in hours in which it becomes full, and later ones
    scarce_w, began, _ = lived_hours("water_heater_element", 300.0, 600.0, 0.3)
    assert scarce_w.max() == 0.0
    assert began.max() < 0.9
