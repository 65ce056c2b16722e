"""A generator against exact results for random walks, and against published running times.

Through the main job: a scenario with a generator is simulated and its sums are read.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

import numpy as np
import pytest
import xarray as xr

from flatodds import simulate

if TYPE_CHECKING:
    from tests.validation import square_sun as sq
else:
    import square_sun as sq

pytestmark = pytest.mark.validation

YEARS = 1024
SETTLED = 7  # first month that is counted: a full bank in January is forgotten by July
BANK_DAYS, REFILL_DAYS = 10, 5

# Refills at once, on reaching empty: 0.05 of the bank is below the last hour's sixth of a day.
AT_ONCE = """
[generator]
watts = 50000
charger_amps = 10000
start_frac = 0.01
stop_frac = 0.5
hours = ["0-24"]
minimum_run_hours = 0
warm_up_minutes = 0
sun_takes_over = false
"""


@cache
def refilled_year(p: float) -> xr.Dataset:
    """Days of two units of sun with chance p; a bank of ten units, refilled to five."""
    draws = np.random.default_rng(11).random((YEARS, 365)) < p
    rig = sq.Rig(
        amp_hours=sq.UNIT_AH * BANK_DAYS,
        arrival_charge_frac=1.0,
        watts=sq.ARRAY_W,
        nights=365,
        more=sq.SIX_HOURS + AT_ONCE,
    )
    return simulate(rig.scenario(), sq.square_weather(2 * draws.astype(np.int64))).dataset


@pytest.mark.parametrize(
    ("p", "starts", "units"), [(0.5, 0.0125, 0.0625), (0.6, 1.3773e-3, 6.8864e-3)]
)
def test_refills_of_a_random_walk(p: float, starts: float, units: float) -> None:
    """Starts and energy per day of a walk refilled to level 5 of 10 on reaching empty.

    Closed form at p = 1/2: 1 / (R (2 N + 1 - R)) starts a day, R times as many units; at
    p = 0.6 by transition matrix. 1,024 members, July to December.
    """
    result = refilled_year(p)
    got, tolerance = sq.mean_and_tolerance(sq.per_day(result, "generator_starts", SETTLED))
    assert got == pytest.approx(starts, abs=tolerance)
    got, tolerance = sq.mean_and_tolerance(sq.per_day(result, "generator_wh", SETTLED) / sq.UNIT_WH)
    assert got == pytest.approx(units, abs=tolerance)
    assert float(result["hours_flat"].sel(case="as_estimated").sum()) == 0.0
