"""Where more panels, more bank or less load does make it worse: known rigs, each with its case.

For a lossless rig that no rate, habit or protection limits it never does (`test_identities`,
and generated rigs in drawn weather in `tests/hardening/test_laws.py`; no exception known).
Each rule here that waits for a *level* of charge breaks the law, in reality as in the program.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
import xarray as xr

from flatodds import simulate

if TYPE_CHECKING:
    from tests.validation import square_sun as sq
else:
    import square_sun as sq

pytestmark = [pytest.mark.validation, pytest.mark.law]

CAN_WAIT = """
[[appliance]]
name = "kettle"
side = "dc"
watts = 1200
minutes = 60
times_a_day = 1
times_sd = 0
window = ["16-17"]
need = "can-wait"
"""


def light(days: int, until_h: int) -> xr.Dataset:
    """Days of 500 W/m2 from 8 o'clock on."""
    hours = np.zeros((days, 24))
    hours[:, 8:until_h] = 500.0
    return sq.weather({"ghi": hours.ravel(), "dhi": hours.ravel()}, 24 * days)


def unserved_wh(rig: sq.Rig, changes: dict[str, Any] | None = None, *, until_h: int = 16) -> float:
    scenario = rig.scenario().with_changes(changes or {})
    result = sq.only(simulate(scenario, light(rig.nights, until_h)))
    return float(result["energy_not_served_wh"].sum())


def test_a_larger_bank_reconnects_later() -> None:
    """Protection that closes at half charge: after a cut-off 100 Ah need 600 Wh of sun, which
    a day brings, but 200 Ah need 1,200 Wh, which it does not.
    """
    small = sq.Rig(amp_hours=100.0, watts=150.0, nights=3, more=sq.steady(20.0))
    large = sq.Rig(amp_hours=200.0, watts=150.0, nights=3, more=sq.steady(20.0))
    closes = {"bank.reconnect_frac": 0.5}
    assert unserved_wh(large, closes) > 1.3 * unserved_wh(small, closes)
    assert unserved_wh(large) <= unserved_wh(small) + 0.1  # without protection the law holds


def test_more_panels_let_what_can_wait_drain_the_night() -> None:
    """Above its caution level the household boils water with the bank's charge; a rig with
    fewer panels never gets there, waits, and keeps its lights on until morning.
    """
    few = sq.Rig(amp_hours=100.0, watts=180.0, nights=1, more=sq.steady(30.0) + CAN_WAIT)
    more = sq.Rig(amp_hours=100.0, watts=280.0, nights=1, more=sq.steady(30.0) + CAN_WAIT)
    cautious = {"bank.arrival_charge_frac": 0.3, "household.caution_frac": 0.65}
    assert unserved_wh(few, cautious) < 1.0
    assert unserved_wh(more, cautious) > 30.0


@pytest.mark.parametrize("rests", [True, False])
def test_sun_that_rests_a_generator_can_leave_less(*, rests: bool) -> None:
    """Two hours of sun, and a generator that may run in just these: one that rests while the
    sun charges about as well (210 W, 190 after the load, of its 240 W) leaves a rig with more
    panels with 420 Wh a day, and one with few panels, where it runs, with 580 Wh; 480 are used.
    """
    generator = """
[generator]
watts = 1000
charger_amps = 20
charger_efficiency_frac = 1.0
start_frac = 0.7
stop_frac = 1.0
hours = ["8-10"]
minimum_run_hours = 0
warm_up_minutes = 0
"""
    words = f"sun_takes_over = {str(rests).lower()}\n"
    lines = sq.steady(20.0) + generator + words
    few = sq.Rig(amp_hours=100.0, watts=100.0, nights=10, more=lines)
    more = sq.Rig(amp_hours=100.0, watts=420.0, nights=10, more=lines)
    start = {"bank.arrival_charge_frac": 0.3}
    worse = unserved_wh(more, start, until_h=10) - unserved_wh(few, start, until_h=10)
    assert (worse > 100.0) is rests
