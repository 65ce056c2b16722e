"""The kernel against its twin on drawn scenarios."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from flatodds.engine.plan import make_plan
from flatodds.engine.run import run_block
from flatodds.engine.twin import live
from flatodds.lanes import LANES
from flatodds.scenario import parse_scenario

if TYPE_CHECKING:
    from tests.engine.twin_apart import appliances_apart, hours_apart, sums_apart
else:
    from twin_apart import appliances_apart, hours_apart, sums_apart


pytestmark = pytest.mark.usefixtures("estimate_taken_for_exact")


def number(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False)


PLACES = ("44.90, -86.02", "32.22, -110.97", "-41.3, 174.8", "61.2, -149.9")
CHEMISTRIES = ("lithium", "agm", "flooded", "gel", "sodium", "ideal")
DAYS = ("29 Dec", "7 Mar", "20 Jun", "1 Nov")
WINDOWS = ('["0-24"]', '["6-10", "17-23"]', '["20-4"]', '["0-3", "5:30-9", "11-15", "22-24"]')


@st.composite
def charging_lines(draw: st.DrawFn) -> list[str]:
    """Any of generator, drives and hookup, or none."""
    lines: list[str] = []
    if draw(st.booleans()):
        start = draw(number(0.1, 0.8))
        lines += [
            "[generator]",
            f"watts = {draw(number(200.0, 4000.0))}",
            f"charger_amps = {draw(number(1.0, 150.0))}",
            f"start_frac = {start}",
            f"stop_frac = {draw(number(start + 0.05, 1.0))}",
            f"hours = {draw(st.sampled_from(WINDOWS))}",
            f"minimum_run_hours = {draw(number(0.0, 4.0))}",
            f"warm_up_minutes = {draw(number(0.0, 20.0))}",
            f"sun_takes_over = {draw(st.sampled_from(('true', 'false')))}",
        ]
    if draw(st.booleans()):
        lines += ["[drive]", f"amps = {draw(number(1.0, 90.0))}", "every_days = 2", "first = 1"]
    if draw(st.booleans()):
        lines += ["[hookup]", f"charger_amps = {draw(number(1.0, 90.0))}", "every_days = 3"]
    return lines


@st.composite
def scenario_texts(draw: st.DrawFn) -> str:
    """Rigs of any size with two appliances of their own, a few days somewhere."""
    clip = draw(st.one_of(st.none(), number(2.0, 60.0)))
    # Near the most that a resistance lets through, the current's slope is infinite and any
    # rounding shows; the weak bank above is for that.
    weak = draw(st.one_of(st.none(), number(0.0, 0.05)))
    rate = draw(st.one_of(st.none(), number(1.0, 1.4)))
    lines = [
        'home = "cabin"',
        "uncertain = { sun_frac = 0.0, use_frac = 0.0 }",
        "[bank]",
        f'chemistry = "{draw(st.sampled_from(CHEMISTRIES))}"',
        f"volts = {draw(st.sampled_from((12, 24, 48)))}",
        f"amp_hours = {draw(number(15.0, 400.0))}",
        f"arrival_charge_frac = {draw(number(0.0, 1.0))}",
        f'location = "{draw(st.sampled_from(("inside", "bay", "outside")))}"',
        *([] if weak is None else [f"resistance_ohm = {weak}"]),
        *([] if rate is None else [f"rate_exponent = {rate}"]),
        f"heating_pad_w = {draw(st.sampled_from((0.0, 0.0, 30.0, 400.0)))}",
        f'heating_pad_when = "{draw(st.sampled_from(("sun", "always")))}"',
        *([] if clip is None else ["[controller]", f"amps = {clip}"]),
        "[[array]]",
        f"watts = {draw(number(20.0, 3000.0))}",
        f"tilt_deg = {draw(number(0.0, 90.0))}",
        f"azimuth_deg = {draw(number(0.0, 360.0))}",
        "[inverter]",
        f"watts = {draw(number(200.0, 4000.0))}",
        f"hours_on = {draw(number(0.0, 24.0))}",
        "[household]",
        f'pattern = "{draw(st.sampled_from(("light", "medium", "heavy")))}"',
        f'heat = "{draw(st.sampled_from(("gas furnace", "none")))}"',
        *draw(charging_lines()),
        "[[stay]]",
        f'place = "{draw(st.sampled_from(PLACES))}"',
        f'first_day = "{draw(st.sampled_from(DAYS))}"',
        f"nights = {draw(st.integers(1, 5))}",
    ]
    for name in ("first", "second"):
        lines += [
            "[[appliance]]",
            f'name = "{name}"',
            f"watts = {draw(number(1.0, 1500.0))}",
            f'side = "{draw(st.sampled_from(("dc", "ac")))}"',
            f'need = "{draw(st.sampled_from(("must", "can-wait", "spare-sun")))}"',
            f"minutes = {draw(number(0.5, 120.0))}",
            f"times_a_day = {draw(number(0.1, 30.0))}",
            f"window = {draw(st.sampled_from(WINDOWS))}",
        ]
    return "\n".join(lines)


# More is asked of a weak bank than its resistance lets through, beside a generator: the current's
# root is that of 0, and what rounding left there showed as 1e-8 hours later, in a hookup's taper.
SAGGING = """
home = "cabin"
uncertain = { sun_frac = 0.0, use_frac = 0.0 }
[bank]
chemistry = "lithium"
volts = 12
amp_hours = 399.99999999999994
arrival_charge_frac = 5.960464477539063e-08
location = "bay"
resistance_ohm = 0.033992448113907954
heating_pad_w = 400.0
heating_pad_when = "always"
[[array]]
watts = 1697.7945616138645
tilt_deg = 89.99883775436908
azimuth_deg = 159.22901961329956
[inverter]
watts = 3811.4181914724454
hours_on = 4.03371530312226
[household]
pattern = "light"
heat = "none"
[generator]
watts = 3465.862692157871
charger_amps = 100.45733084307409
start_frac = 0.20083143853708976
stop_frac = 0.25189112523917423
hours = ["0-3", "5:30-9", "11-15", "22-24"]
minimum_run_hours = 1.192092896e-07
warm_up_minutes = 8.114143084729257
sun_takes_over = false
[drive]
amps = 86.38831350609921
every_days = 2
first = 1
[hookup]
charger_amps = 85.3050337274467
every_days = 3
[[stay]]
place = "-41.3, 174.8"
first_day = "7 Mar"
nights = 3
[[appliance]]
name = "first"
watts = 796.9717639022741
side = "dc"
need = "spare-sun"
minutes = 4.189949093133405
times_a_day = 2.00001
window = ["20-4"]
[[appliance]]
name = "second"
watts = 788.5811492005615
side = "dc"
need = "can-wait"
minutes = 79.85680370117309
times_a_day = 4.430003527772987
window = ["0-24"]
"""


@pytest.mark.law
@example(SAGGING, 402, 264, 49)
@settings(max_examples=12, deadline=None, derandomize=True)
@given(
    scenario_texts(), st.integers(0, 2**64 - 1), st.integers(0, 2**20), st.integers(0, LANES - 1)
)
def test_the_kernel_lives_as_its_twin_does(text: str, seed: int, block: int, lane: int) -> None:
    plan = make_plan(parse_scenario(text, "test.toml"), dtype=np.float64)
    lived = run_block(plan, block * LANES, seed, trace=True)
    twin = live(plan, block * LANES + lane, seed)
    assert hours_apart(twin, lived, lane) == []
    assert sums_apart(twin, lived, lane, 0) == []
    assert appliances_apart(twin, lived, lane, plan) == []
