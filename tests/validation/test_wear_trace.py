"""Cycles counted in charge that a run lived, against the standard's example and a package."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

import numpy as np
import pytest
import xarray as xr

from flatodds import parse_scenario, simulate
from flatodds.battery.wear import days_trace, rainflow
from flatodds.catalog import chemistries
from flatodds.studies.live_one import live_one

if TYPE_CHECKING:
    from tests.validation import square_sun as sq
else:
    import square_sun as sq

pytestmark = [pytest.mark.validation, pytest.mark.usefixtures("estimate_taken_for_exact")]

# ASTM E1049-85, figure 6 (seen in a public library's tests): values and counted ranges.
EXAMPLE = (-2, 1, -3, 5, -1, 3, -4, 4, -2)
RANGES = {3: 0.5, 4: 1.5, 6: 0.5, 8: 1.0, 9: 0.5}
STEP = 5.0  # percent of charge for one of the example's units
STEP_AH = 8.0
HOLD, UP, DOWN = 0.5, 1.0, 0.0  # of the array's light: as much as the load, or twice it

# Hours of five days in which the charge goes through the example's turns, each day with one low
# and one high of them.
DAYS = (
    ((HOLD, 6), (UP, 3), (HOLD, 15)),  # from -2 up to 1
    ((DOWN, 4), (UP, 8), (DOWN, 6), (HOLD, 6)),  # down to -3, up to 5, down to -1
    ((HOLD, 7), (UP, 4), (HOLD, 13)),  # up to 3
    ((DOWN, 7), (UP, 8), (DOWN, 6), (HOLD, 3)),  # down to -4, up to 4, down to -2
    ((HOLD, 24),),
)


def rig() -> tuple[sq.Rig, xr.Dataset]:
    """A bank of 160 Ah whose charge an hour's light or dark moves by 8 Ah, exact in float32."""
    light = np.concatenate([np.repeat(share, hours) for day in DAYS for share, hours in day])
    watts = 2.0 * STEP_AH * 12.0
    one = sq.Rig(
        amp_hours=20.0 * STEP_AH,
        arrival_charge_frac=0.5 + EXAMPLE[0] * STEP / 100.0,
        watts=watts,
        nights=len(DAYS),
        more=sq.steady(watts / 2.0),
    )
    flat = 1000.0 * light
    return one, sq.weather({"ghi": flat, "dhi": flat}, light.size)


def table(charge_frac: list[float]) -> dict[float, float]:
    """Count cycles by range [% of charge]; rounded, for equal turns are equal, as ties must be."""
    found: Counter[float] = Counter()
    for height, count in rainflow([round(100.0 * x, 3) for x in charge_frac]):
        found[round(height, 3)] += count  # type: ignore[assignment]
    return {height: count for height, count in found.items() if height > 0.0}


WANTED = {STEP * height: count for height, count in RANGES.items()}


def test_cycles_of_the_hours_of_a_run() -> None:
    """The example at 50 % and 5 % a unit: ranges of 15, 20, 30, 40 and 45 %."""
    one, weather = rig()
    hours = live_one(one.scenario(), 0, weather=weather)
    trace = [one.arrival_charge_frac, *hours["charge_frac"].to_numpy().tolist()]
    assert table(trace) == WANTED
    assert WANTED == {15.0: 0.5, 20.0: 1.5, 30.0: 0.5, 40.0: 1.0, 45.0: 0.5}


def test_cycles_of_the_days_of_a_run() -> None:
    """The same from the lows and highs that a run keeps of each day, which wear is counted from."""
    one, weather = rig()
    result = sq.only(simulate(one.scenario(), weather))
    lows, highs = (
        result[f"daily_{end}_charge_frac"].to_numpy()[0].astype(float) for end in ("min", "max")
    )
    assert table(days_trace(lows, highs)) == WANTED


LEAD = """
bank = { chemistry = "flooded", volts = 12, amp_hours = 220 }
array = { watts = 350 }
household.pattern = "light"
uncertain = { sun_frac = 0, use_frac = 0 }
stay = [{ place = "46.8, -100.8", elevation_m = 510, first_day = "15 Nov", nights = 60 }]
"""


def test_years_of_a_run_are_those_of_an_independent_count() -> None:
    """Miner's sum over the package `rainflow`'s cycles of the days that each member lived, and
    the warning that lead which is never full dies sooner than either clock says."""
    package = pytest.importorskip("rainflow")
    outcomes = simulate(parse_scenario(LEAD, "lead.toml"), members=64)
    kind = chemistries()["flooded"]
    assert kind.cycle_life is not None
    assert kind.cycle_depth_frac is not None
    assert kind.cycle_exponent is not None
    data = sq.only(outcomes)
    lows, highs = (data[f"daily_{end}_charge_frac"].to_numpy() for end in ("min", "max"))
    years = []
    for low, high in zip(lows.astype(float), highs.astype(float), strict=True):
        used = sum(
            count * (height / kind.cycle_depth_frac) ** kind.cycle_exponent
            for height, count in package.count_cycles(days_trace(low, high))
            if height >= 0.005
        )
        years.append(60.0 / 365.0 * kind.cycle_life / used)
    wear = outcomes.summary()["stays"][0]["wear"]
    told = wear["years_to_80pct"]
    assert told["by_cycles"]["mean"] == pytest.approx(np.mean(np.minimum(years, 99.0)), rel=1e-6)
    assert told["by_calendar"] == kind.calendar_years
    assert wear["longest_days_since_full"]["mean"] > 14.0
    assert any("without being full" in text for text in outcomes.summary()["cautions"])
