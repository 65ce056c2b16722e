"""The same question has the same answer, bit for bit, however it is worked out."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest
import xarray as xr

from flatodds import Outcomes, parse_scenario, simulate
from flatodds.engine.plan import make_plan
from flatodds.engine.run import BlockResult, run_block
from flatodds.weather.contract import check_weather

if TYPE_CHECKING:
    from tests.validation import square_sun as sq
else:
    import square_sun as sq

pytestmark = [pytest.mark.validation, pytest.mark.usefixtures("estimate_taken_for_exact")]

RIG = """
bank.chemistry = "lithium"
bank.volts = 12
bank.amp_hours = 200
array.watts = 500
inverter.watts = 2000
household.pattern = "light"
"""
STAY = '\n[[stay]]\nplace = "36.1, -79.95"\nfirst_day = "{}"\nnights = {}\nelevation_m = 270\n'
MICROWAVE = '\n[[appliance]]\nuse = "microwave"\n'
HEATER = '\n[[appliance]]\nuse = "water_heater_element"\n'
SURE = "\n[uncertain]\nsun_frac = 0.0\nuse_frac = 0.0\n"
MEMBERS = 130  # two whole blocks and a rest


def text(*stays: tuple[str, int], more: str = SURE) -> str:
    return RIG + more + "".join(STAY.format(*stay) for stay in stays)


@cache
def run(scenario_text: str, threads: int | None = None) -> Outcomes:
    scenario = parse_scenario(scenario_text, "same.toml")
    return simulate(scenario, members=MEMBERS, seed=7, threads=threads)


@pytest.mark.parametrize("threads", [2, 4])
def test_threads_change_nothing(threads: int) -> None:
    """Any number of threads: the same summary and the same arrays (definition, exact)."""
    question = text(("20 Nov", 25), more="")
    one, several = run(question, 1), run(question, threads)
    assert several.summary() == one.summary()
    assert several.dataset.identical(one.dataset)
    assert 0.0 < one.summary()["stays"][0]["odds_flat"]["estimate"] < 1.0


def same_member(alone: BlockResult, block: BlockResult, at: int) -> None:
    np.testing.assert_array_equal(alone.sums[:, 0], block.sums[:, at])
    np.testing.assert_array_equal(alone.extremes[:, 0], block.extremes[:, at])
    np.testing.assert_array_equal(alone.daily[0], block.daily[at])
    np.testing.assert_array_equal(alone.wanted[..., 0], block.wanted[..., at])
    np.testing.assert_array_equal(alone.served[..., 0], block.served[..., at])


@pytest.mark.parametrize("member", [1, 37, 63])
def test_a_member_alone_is_the_member_in_its_block(member: int) -> None:
    """Weather and household of a member depend on nothing but its number (exact)."""
    plan = make_plan(parse_scenario(text(("20 Nov", 25)), "same.toml"), base_dir=Path())
    block = run_block(plan, 0, 7)
    same_member(run_block(plan, member, 7), block, member)
    assert (block.daily[member] != block.daily[0]).any()


def test_a_given_member_alone_is_the_member_in_its_block() -> None:
    """The same with weather handed in: member i lives weather member i modulo their number."""
    units = np.random.default_rng(3).integers(0, 4, (5, 20))
    rig = sq.Rig(amp_hours=300.0, watts=sq.ARRAY_W, nights=20, more=sq.SIX_HOURS)
    table = check_weather(sq.square_weather(units))
    plan = make_plan(rig.scenario(), table, base_dir=Path())
    block = run_block(plan, 0, 7)
    same_member(run_block(plan, 12, 7), block, 12)
    np.testing.assert_array_equal(block.sums[:, 2], block.sums[:, 12])
    assert (block.sums[:, 2] != block.sums[:, 3]).any()


def test_another_appliance_leaves_the_others_as_they_were() -> None:
    """Every other appliance wants the same energy in every member (exact)."""
    plain = run(text(("20 Nov", 25))).dataset["appliance_wanted_wh"]
    joined = run(text(("20 Nov", 25), more=SURE + MICROWAVE + HEATER)).dataset
    names = set(plain["appliance"].to_numpy())
    assert set(joined["appliance"].to_numpy()) - names == {"microwave", "water_heater_element"}
    # What follows the cabin's temperature also follows whether the bank still runs the furnace.
    clocked = [n for n in plain["appliance"].to_numpy() if "fridge" not in n and "furnace" not in n]
    assert len(clocked) >= 4
    after = joined["appliance_wanted_wh"].sel(appliance=clocked)
    np.testing.assert_array_equal(after.to_numpy(), plain.sel(appliance=clocked).to_numpy())


def total(result: xr.Dataset, name: str) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    """Sum over all stays and months, (case, member)."""
    return np.asarray(result[name].sum("period"))


@pytest.mark.parametrize(
    ("first", "nights", "second"),
    [("10 Jan", 14, "24 Jan"), ("20 Dec", 12, "1 Jan"), ("25 Oct", 14, "8 Nov")],
    ids=["january", "new year", "clock goes back"],
)
def test_a_stay_split_in_two_is_the_stay(first: str, nights: int, second: str) -> None:
    """One place, one stay or two that follow each other: the same days, the same charge at
    the end and the same odds (exact).
    """
    whole = run(text((first, nights + 16)))
    parts = run(text((first, nights), (second, 16)))
    one, two = whole.dataset, parts.dataset
    for name in one.data_vars:
        if str(name).startswith("daily_"):
            np.testing.assert_array_equal(two[name].to_numpy(), one[name].to_numpy(), str(name))
    np.testing.assert_array_equal(
        two["end_ah"].to_numpy()[..., 1], one["end_ah"].to_numpy()[..., 0]
    )
    assert parts.summary()["trip"] == whole.summary()["trip"]
    for name in ("hours_flat", "energy_not_served_wh", "array_wh", "full_days"):
        np.testing.assert_allclose(total(two, name), total(one, name), 1e-12, err_msg=name)


def test_a_night_across_the_split_counts_once() -> None:
    """A night is flat or not, in whichever stay its hours lie (exact)."""
    whole = run(text(("10 Jan", 30))).dataset
    parts = run(text(("10 Jan", 14), ("24 Jan", 16))).dataset
    np.testing.assert_array_equal(total(parts, "nights_flat"), total(whole, "nights_flat"))
