"""Cold: the bank's own temperature, the charging gate and the heating pad, in closed form."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
import xarray as xr

from flatodds import simulate
from flatodds.studies.live_one import live_one

if TYPE_CHECKING:
    from tests.validation import square_sun as sq
else:
    import square_sun as sq

pytestmark = pytest.mark.validation

DAYS = 6
SETTLED = 48  # hours after which the start is forgotten (a lag of 5 hours)
LAG_H = 5.0
W = 2.0 * math.pi / 24.0


def cold_hours(
    changes: dict[str, Any], air_c: Any, light: float = 1000.0, watts: float = 60.0
) -> xr.Dataset:
    """Hours of a large lithium bank outside that a little light can never fill."""
    rig = sq.Rig(amp_hours=1000.0, arrival_charge_frac=0.3, watts=watts, nights=DAYS)
    scenario = rig.scenario().with_changes(
        {"bank.chemistry": "lithium", "bank.location": "outside", **changes}
    )
    columns = {"ghi": light, "dhi": light, "temp_air": air_c}
    return live_one(scenario, 0, weather=sq.weather(columns, 24 * DAYS))


def swing_c(mean_c: float, amplitude_c: float) -> sq.Floats:
    """Air whose hours are means of a sine, (hour,) [deg C]."""
    edge = np.arange(24 * DAYS + 1.0)
    whole = mean_c * edge - amplitude_c / W * np.cos(W * edge)
    return np.asarray(np.diff(whole))


def test_the_bank_lags_the_air() -> None:
    """A sine of amplitude A and a lag tau: A / sqrt(1 + (w tau)^2), late by atan(w tau) / w.

    The air is held through each hour, which costs less than 0.1 K and 0.1 h.
    """
    mean_c, amplitude_c = 3.0, 7.0
    hours = cold_hours({}, swing_c(mean_c, amplitude_c))
    late_h = math.atan(W * LAG_H) / W
    height_c = amplitude_c / math.sqrt(1.0 + (W * LAG_H) ** 2)
    end = np.arange(1.0, 24 * DAYS + 1.0)
    wanted = mean_c + height_c * np.sin(W * (end - late_h))
    got = hours["bank_temp_c"].to_numpy()
    assert got[SETTLED:] == pytest.approx(wanted[SETTLED:], abs=0.1)
    turn = np.polyfit(end[SETTLED:], np.unwrap(np.angle(_analytic(got[SETTLED:] - mean_c))), 1)
    assert turn[0] == pytest.approx(W, rel=0.01)


def _analytic(values: sq.Floats) -> sq.Floats:
    from scipy.signal import hilbert

    return np.asarray(hilbert(values))


@pytest.mark.parametrize("release_c", [0.0, 2.0, 5.0])
def test_hours_locked_by_cold(release_c: float) -> None:
    """A day that swings by a about m stays below zero, and then below the release on its way
    up: locked for (pi/2 - asin(-m/a) ... ) hours in closed form, counted to the hour.

    Charging stops where the falling sine meets 0 and begins where the rising one meets the
    release.
    """
    mean_c, amplitude_c = 1.0, 9.0
    height_c = amplitude_c / math.sqrt(1.0 + (W * LAG_H) ** 2)
    down_h = (math.pi - math.asin((0.0 - mean_c) / height_c)) / W
    up_h = (2.0 * math.pi + math.asin((release_c - mean_c) / height_c)) / W
    locked_h = up_h - down_h
    changes = {"bank.charge_cold_limit_c": 0.0, "bank.charge_cold_release_c": release_c}
    hours = cold_hours(changes, swing_c(mean_c, amplitude_c))
    shut = hours["charge_a"].to_numpy()[SETTLED:] == 0.0
    assert shut.sum() / (DAYS - 2) == pytest.approx(locked_h, abs=1.0)
    assert 0 < shut.sum() < shut.size


def test_a_frozen_week_takes_no_charge_and_gives_some() -> None:
    """Lithium below 0 C (public notes, seen second-hand): nothing goes in, loads still run."""
    rig = sq.Rig(amp_hours=200.0, arrival_charge_frac=0.6, nights=7, more=sq.steady(5.0))
    changes = {"bank.chemistry": "lithium", "bank.location": "outside", "array.watts": 400.0}
    sun = np.zeros((7, 24))
    sun[:, 9:15] = 500.0
    columns = {"ghi": sun.ravel(), "dhi": sun.ravel(), "temp_air": np.array(-5.0)}
    table = sq.weather(columns, 168)
    result = sq.only(simulate(rig.scenario().with_changes(changes), table))
    direct_wh = 5.0 * 6 * 7
    assert float(result["array_wh"].sum()) == pytest.approx(direct_wh, rel=1e-4)
    assert float(result["spilled_wh"].sum()) > 5000.0
    assert float(result["cold_locked_wh"].sum()) > 5000.0
    assert float(result["hours_flat"].sum()) == 0.0
    assert result["end_ah"].item() < 0.6 * 200.0 - 40.0


def test_a_pad_holds_its_temperature_and_lets_charge_in() -> None:
    """A pad of enough watts holds 5 C in air of -10 C with C dT / tau watts, all of it out of
    charging power: C of 1000 Ah (12 kWh) is 9 kg/kWh x 1000 J/kg K, tau 5 h.
    """
    heat_j_per_k = 9.0 * 12.0 * 1000.0
    steady_w = heat_j_per_k / (5.0 * 3600.0) * 15.0
    pad = {"bank.heating_pad_w": 300.0}
    hours = cold_hours(pad, -10.0, watts=150.0)  # too few to fill the bank in six days
    later = hours.isel(time=slice(SETTLED, None))
    assert later["bank_temp_c"].to_numpy() == pytest.approx(5.0, abs=1e-3)
    to_bank = later["charge_a"].to_numpy() * 13.3
    assert later["array_w"].to_numpy() - to_bank == pytest.approx(steady_w, abs=8.0)
    without = cold_hours({}, -10.0, watts=150.0)["charge_a"].to_numpy()
    assert (without == 0.0).all()


def test_seventy_watts_warm_a_pack_as_the_sum_says() -> None:
    """70 W for an hour into 30 kg of lithium, air as cold as the pack: 8.4 K less the loss,
    tau / C (1 - exp(-1 / tau)) exactly = 7.6 K (own arithmetic)."""
    changes = {"bank.heating_pad_w": 70.0, "bank.mass_kg": 30.0, "bank.heating_pad_to_c": 20.0}
    first = cold_hours(changes, -15.0, watts=500.0)["bank_temp_c"].to_numpy()[0]
    wanted = 70.0 * LAG_H * 3600.0 / 30_000.0 * (1.0 - math.exp(-1.0 / LAG_H))
    assert first - -15.0 == pytest.approx(wanted, abs=1e-3)
    assert 7.0 < wanted < 8.4


def test_a_pad_in_the_dark_costs_nothing_unless_told_to_run_always() -> None:
    rig = sq.Rig(amp_hours=200.0, arrival_charge_frac=0.9, nights=3, more=sq.steady(5.0))
    pad = {
        "bank.chemistry": "lithium",
        "bank.location": "outside",
        "bank.heating_pad_w": 40.0,
    }
    table = sq.weather({"temp_air": -10.0}, 72)
    idle = sq.only(simulate(rig.scenario().with_changes(pad), table))
    assert float(idle["heating_pad_wh"].sum()) == 0.0
    busy = rig.scenario().with_changes({**pad, "bank.heating_pad_when": "always"})
    outcomes = simulate(busy, table)
    used_wh = float(sq.only(outcomes)["heating_pad_wh"].sum())
    assert used_wh > 500.0
    extra = float(sq.only(outcomes)["demand_wh"].sum()) - 5.0 * 72
    assert extra == pytest.approx(used_wh, rel=1e-4)
    assert outcomes.summary()["energy_balance"]["relative_error"] < 1e-5
    pads = outcomes.summary()["stays"][0]["heating_pad_kwh"]
    assert pads["mean"] == pytest.approx(used_wh / 1000.0, rel=1e-6)
