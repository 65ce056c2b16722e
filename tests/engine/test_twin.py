"""The kernel against its readable twin: every hour, every sum, and the energy balance."""

from __future__ import annotations

import dataclasses
from functools import cache
from itertools import pairwise
from statistics import NormalDist
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt
import pytest
import xarray as xr

from flatodds.engine import rows as r
from flatodds.engine.plan import Plan, make_plan
from flatodds.engine.records import MOST_A, Rigs
from flatodds.engine.results import Results
from flatodds.engine.run import BlockResult, run_block, run_plan
from flatodds.engine.twin import live
from flatodds.engine.twin_bank import bank_of, energy_wh, floor_ah
from flatodds.engine.twin_draws import normal_score, philox
from flatodds.engine.twin_lived import Lived, TwinHour
from flatodds.lanes import LANES
from flatodds.scenario import parse_scenario
from flatodds.weather.contract import WeatherTable, check_weather

if TYPE_CHECKING:
    from tests.engine.twin_apart import (
        RELATIVE,
        UNIT,
        appliances_apart,
        hours_apart,
        sums_apart,
        table,
    )
    from tests.engine.twin_texts import BOTH_BUILDS, TEXTS
    from tests.engine.twin_texts_home import HOT_INVERTER
    from tests.engine.twin_texts_rig import OVERDRAWN
else:
    from twin_apart import RELATIVE, UNIT, appliances_apart, hours_apart, sums_apart, table
    from twin_texts import BOTH_BUILDS, TEXTS
    from twin_texts_home import HOT_INVERTER
    from twin_texts_rig import OVERDRAWN

Floats = npt.NDArray[np.float64]

SEED = 20_250_101_123_456_789  # uses both words of the key
MEMBERS = (0, min(41, LANES - 1))
CAME = ("array_wh", "generator_wh", "drive_wh", "hookup_wh")


def invented_weather(members: int, days: int) -> WeatherTable:
    """Hours of an invented cold spring, with some sun at night as a careless table may have."""
    rng = np.random.default_rng(7)
    hour = np.arange(24 * days)
    height = np.maximum(np.sin((hour % 24 - 13.0) / 24.0 * 2.0 * np.pi), -0.02) + 0.02
    dull = np.repeat(rng.uniform(0.05, 1.0, (members, days)), 24, axis=1)
    ghi = 800.0 * height * dull
    dhi = ghi * np.clip(1.1 - dull, 0.1, 1.0)
    air = -6.0 + 8.0 * np.sin(hour / 24.0 * 2.0 * np.pi) + rng.normal(0.0, 3.0, ghi.shape)
    columns = {
        "ghi": ghi,
        "dni": np.clip((ghi - dhi) / np.maximum(height, 0.1), 0.0, 1000.0),
        "dhi": dhi,
        "temp_air": air,
        "wind_speed": rng.uniform(0.0, 9.0, ghi.shape),
    }
    time = np.datetime64("2021-02-26T00", "ns") + hour * np.timedelta64(1, "h")
    data = {name: (("member", "time"), values) for name, values in columns.items()}
    return check_weather(xr.Dataset(data, coords={"time": time}))


@cache
def plan_of(name: str, dtype: Any = np.float64) -> Plan:
    scenario = parse_scenario(TEXTS[name], "test.toml")
    weather = invented_weather(3, 20) if name == "given" else None
    return make_plan(scenario, weather, dtype=dtype)


@cache
def block_of(name: str) -> BlockResult:
    return run_block(plan_of(name), 0, SEED, trace=True)


@cache
def lived_by(name: str, member: int, case: int = 0) -> Lived:
    return live(plan_of(name), member, SEED, case)


def test_random_numbers_are_philox() -> None:
    """Known answers published with the Random123 library (kat_vectors, philox4x32 10)."""
    ones = 0xFFFFFFFF
    pi = (0x243F6A88, 0x85A308D3, 0x13198A2E, 0x03707344)
    assert philox((0, 0, 0, 0), (0, 0)) == (0x6627E8D5, 0xE169C58D, 0xBC57AC4C, 0x9B00DBD8)
    assert philox((ones,) * 4, (ones, ones)) == (0x408F276D, 0x41C83B0E, 0xA20BC7C6, 0x6D5451FD)
    got = philox(pi, (0xA4093822, 0x299F31D0))
    assert got == (0xD16CFE09, 0x94FDCCEB, 0x5001E420, 0x24126EA1)


def test_normal_scores_follow_the_normal_law() -> None:
    """Seven digits are what the algorithm promises."""
    exact = NormalDist().inv_cdf
    for u in (*np.linspace(1e-3, 0.999, 101).tolist(), 1e-11, 3e-8, 1.0 - 3e-8):
        assert normal_score(u) == pytest.approx(exact(u), rel=2e-7, abs=2e-7)


def test_an_hour_of_the_twin_is_named_like_the_trace() -> None:
    assert tuple(field.name for field in dataclasses.fields(TwinHour)) == r.TRACE


@pytest.mark.parametrize("member", MEMBERS)
@pytest.mark.parametrize("name", TEXTS)
def test_every_hour_agrees(name: str, member: int) -> None:
    assert hours_apart(lived_by(name, member), block_of(name), member) == []


@pytest.mark.parametrize("name", TEXTS)
def test_every_sum_and_extreme_agrees(name: str) -> None:
    for member in MEMBERS:
        names = [case.name for case in plan_of(name).cases]
        frugal = [names.index("economised")] if "economised" in names else []
        for case in (0, *frugal, len(names) - 1):
            lived = lived_by(name, member, case)
            assert sums_apart(lived, block_of(name), member, case) == []


@pytest.mark.parametrize("name", TEXTS)
def test_every_appliance_and_day_agrees(name: str) -> None:
    plan, block = plan_of(name), block_of(name)
    for member in MEMBERS:
        lived = lived_by(name, member)
        assert appliances_apart(lived, block, member, plan) == []
        names = [case.name for case in plan.cases]
        if "economised" in names:
            frugal = lived_by(name, member, names.index("economised"))
            assert appliances_apart(frugal, block, member, plan, noted=1) == []
        daily = table(lived.daily, r.DAILY)  # kept in float32, whatever the kernel's type
        assert daily == pytest.approx(block.daily[member], rel=1.2e-7, abs=1e-12)


def test_a_generator_gives_no_less_than_nothing_and_no_more_than_its_charger() -> None:
    """What the bank cannot give is not drawn from it, however much is asked for."""
    plan = make_plan(parse_scenario(OVERDRAWN, "test.toml"), dtype=np.float64)
    block = run_block(plan, 0, SEED, trace=True)
    made_w = block.trace[:, r.TRACE.index("generator_w")]
    asked_w = block.trace[:, r.TRACE.index("demand_w")]
    assert made_w.max() < 1.0 * 15.5
    assert made_w.min() >= 0.0
    assert block.trace[:, r.TRACE.index("served_w")].min() >= 0.0
    assert asked_w.max() > 400.0
    for lane in MEMBERS:
        assert hours_apart(live(plan, lane, SEED), block, lane) == []


def test_a_member_does_not_depend_on_its_block() -> None:
    plan = plan_of("spare and wait")
    block = run_block(plan, 5 * LANES, SEED, trace=True)
    lane = min(9, LANES - 1)
    assert hours_apart(live(plan, 5 * LANES + lane, SEED), block, lane) == []


def total(name: str, key: str) -> float:
    return sum(period[key] for m in MEMBERS for period in lived_by(name, m).sums)


def test_the_scenarios_reach_what_they_are_there_for() -> None:
    """Without this the comparison could pass by never leaving the easy hours."""
    shifts = plan_of("light autumn").stays[0].calendar.shift_h
    assert len(set(shifts.tolist())) == 2
    assert total("light autumn", "nights_flat") > 0.0
    assert total("light autumn", "gone_without_wh") > 100.0
    assert total("medium cold", "cold_hours") > 10.0
    assert total("heavy locked", "cold_locked_wh") > 1000.0
    assert total("spare and wait", "spare_served_wh") > 100.0
    assert total("spare and wait", "wait_served_wh") > 100.0
    assert total("habits", "hours_overload") > 3.0
    assert total("cooled half", "cooling_hours") > total("cooled half", "hours_overload") > 3.0
    assert total("habits", "spare_served_wh") > 100.0
    names = [case.name for case in plan_of("habits").cases]
    frugal = lived_by("habits", 0, names.index("economised"))
    assert sum(period["saved_wh"] for period in frugal.sums) > 100.0
    off = [hour.loads_off for hour in lived_by("two stays", 0).hours]
    assert any(before > after for before, after in pairwise(off))


def test_the_scenarios_reach_the_rate_limit_and_the_heating_pad() -> None:
    bank = bank_of(plan_of("flooded fast").stays[0].rigs.bank, 0)
    least_frac = floor_ah(bank, 25.0) / bank.capacity_ah
    hours = lived_by("flooded fast", 0).hours
    assert any(h.loads_off and h.charge_frac > least_frac + 0.05 for h in hours)
    assert total("pad in the sun", "heating_pad_wh") > 1000.0
    assert total("pad at any time", "heating_pad_wh") > 1000.0
    warm = [hour.bank_temp_c for hour in lived_by("pad in the sun", 0).hours]
    assert sum(abs(temp_c - 5.0) < 1e-6 for temp_c in warm) >= 3  # what the pad is set to


def test_the_scenarios_reach_hot_and_cooled_hours() -> None:
    for name in ("cooled half", "cooled spare"):
        wanted, served = total(name, "cooling_wanted_wh"), total(name, "cooling_served_wh")
        assert 1000.0 < served < 0.95 * wanted
    assert total("cooled half", "days_held") < total("cooled half", "hot_days_uncooled")
    assert total("cooled spare", "days_held") > 0.0
    assert total("cooled half", "hot_hours_uncooled") > total("cooled half", "hot_hours") > 0.0
    assert total("cooled half", "vent_served_wh") > 100.0
    assert total("cooled spare", "blower_served_wh") > 100.0


def test_the_scenarios_reach_an_inverter_that_heat_limits() -> None:
    """Against the same inverter without the effect: heat touches use of every kind."""
    cool = HOT_INVERTER.replace("heat_loss_frac_per_c = 0.02", "heat_loss_frac_per_c = 0")
    plan = make_plan(parse_scenario(cool, "test.toml"), dtype=np.float64)
    lives = [live(plan, member, SEED) for member in MEMBERS]
    cooler = {key: sum(p[key] for one in lives for p in one.sums) for key in r.SUMS}
    for key in ("wait_served_wh", "energy_not_served_wh"):  # less use now is more charge later
        assert abs(total("hot inverter", key) - cooler[key]) > 10.0, key
    for key in ("spare_served_wh", "cooling_served_wh"):
        assert total("hot inverter", key) < cooler[key] - 1.0, key
    assert total("hot inverter", "hours_overload") > cooler["hours_overload"] + 1.0


def test_the_scenarios_reach_the_clip_and_the_weak_banks_limit() -> None:
    clipped = plan_of("heavy locked").stays[0].rigs
    most_w = clipped.label_w[0, 0, MOST_A] * 60.0
    assert any(hour.array_offered_w > most_w for hour in lived_by("heavy locked", 0).hours)
    weak = bank_of(plan_of("weak bank").stays[0].rigs.bank, 0)
    most_w = 13.0**2 / (4.0 * weak.resistance_ohm)
    hours = lived_by("weak bank", 0).hours
    assert any(not h.loads_off and h.demand_w - h.array_w > 2.0 * most_w for h in hours)


@pytest.mark.parametrize("name", TEXTS)
def test_the_twins_energy_balance_closes(name: str) -> None:
    plan, lived = plan_of(name), lived_by(name, MEMBERS[0])
    for n, (stay, ends) in enumerate(zip(plan.stays, lived.extremes, strict=True)):
        bank = bank_of(stay.rigs.bank, 0)
        here = [s for p, s in zip(plan.periods, lived.sums, strict=True) if p.stay == n]
        came = sum(s[name] for s in here for name in CAME) + energy_wh(bank, ends["start_ah"])
        went = sum(s["served_wh"] + s["bank_loss_wh"] for s in here)
        assert came == pytest.approx(went + energy_wh(bank, ends["end_ah"]), rel=RELATIVE)


@cache
def results_of(name: str, dtype: Any) -> Results:
    return run_plan(plan_of(name, dtype), 4 * LANES, SEED)


@pytest.mark.parametrize("name", BOTH_BUILDS)
def test_energy_balance_closes_in_both_builds(name: str) -> None:
    assert results_of(name, np.float64).balance_error < 1e-9
    assert results_of(name, np.float32).balance_error < 1e-5


# Both builds live the same members, so nothing here is sampling error: they differ only where
# rounding tips an hour over a line, and with it perhaps a member's whole night. Looked at hour by
# hour, those that part do so within one hour, alike to some 1e-6 before it. In "flooded fast" a
# member was refused 1.0004 Wh in single precision and 0.9997 in double, 1 Wh being what counts as
# without power: one came back hours later than the other, and its greatest current was 16 A in
# place of 107. Others met that same line, or the level below which what can wait waits.
# No member is left out; few may part, those in one hour, and means move far less than chance.
STATISTICS_RELATIVE = 1e-4
STATISTICS_FLOOR = 1e-4  # of any unit: what rounds to nothing
OF_STANDARD_ERROR = 0.1  # .037 was the most seen
PARTED_RELATIVE = 1e-3
PARTED_FLOOR = {"_wh": 0.02}  # .012 seen where sun just failed to fill the bank; else 1e-3
ROUNDING = 5e-5  # of a column's greatest value, any hour before the tip; 8e-6 was the most seen
MOST_TIPPED = 2  # of 256 members in a case; 1 was the most seen


def of_members(found: Results) -> dict[str, Floats]:
    """Every sum and extreme told of a run, (case, member)."""
    told = {key: values.sum(axis=2) for key, values in found.sums.items()}
    for key, values in found.extremes.items():
        told |= {f"{key} of stay {n}": values[:, :, n] for n in range(values.shape[2])}
    return told


@cache
def parted(name: str) -> npt.NDArray[np.bool_]:
    """Whether the builds tell different things of a member, (case, member)."""
    quick, exact = (of_members(results_of(name, dtype)) for dtype in (np.float32, np.float64))
    found = np.zeros_like(exact["hours_flat"], dtype=bool)
    for key, want in exact.items():
        floor = PARTED_FLOOR.get(key.split(" ")[0][-3:], 1e-3)
        with np.errstate(invalid="ignore"):  # infinite where a bank never runs flat
            apart = np.abs(quick[key] - want) > PARTED_RELATIVE * np.abs(want) + floor
        found |= apart & (quick[key] != want)
    return found


@pytest.mark.parametrize("name", BOTH_BUILDS)
def test_the_float32_build_agrees_in_statistics(name: str) -> None:
    quick, exact = results_of(name, np.float32), results_of(name, np.float64)
    flat_h = [found.sums["hours_flat"].sum(axis=2) for found in (quick, exact)]
    assert ((flat_h[0] > 0.0) != (flat_h[1] > 0.0)).sum(axis=1).max() <= 1  # the odds themselves
    for key, values in exact.sums.items():
        got, want = quick.sums[key].sum(axis=2), values.sum(axis=2)
        error = want.std(axis=1, ddof=1) / np.sqrt(want.shape[1])
        mean = want.mean(axis=1)
        allowed = OF_STANDARD_ERROR * error + STATISTICS_RELATIVE * np.abs(mean) + STATISTICS_FLOOR
        assert (np.abs(got.mean(axis=1) - mean) <= allowed).all(), key


@pytest.mark.parametrize("name", BOTH_BUILDS)
def test_the_float32_build_lives_almost_every_member_as_the_exact_one(name: str) -> None:
    assert parted(name).sum(axis=1).max() <= MOST_TIPPED


@pytest.mark.parametrize("name", BOTH_BUILDS)
def test_members_part_within_an_hour_and_not_by_drifting(name: str) -> None:
    """Up to three of them: every column of every hour before the one that tips agrees; where no
    hour tips, only a count did, of an hour at the reserve."""
    for case, member in np.argwhere(parted(name))[:3].tolist():
        hours = [traced(plan_of(name, dtype), case, member) for dtype in (np.float32, np.float64)]
        apart = np.abs(hours[0] - hours[1]) / np.maximum(np.abs(hours[1]).max(axis=0), UNIT)
        far = (apart > PARTED_RELATIVE).any(axis=1)
        before = int(np.argmax(far)) if far.any() else len(far)
        assert apart[:before].max(initial=0.0) < ROUNDING


def traced(plan: Plan, case: int, member: int) -> Floats:
    """Hours of a member in one case, (hour, TRACE)."""

    def alone(rigs: Rigs) -> Rigs:
        kept = (rigs.bank[:, [case]], rigs.design[:, [case]], rigs.label_w[[case]])
        return Rigs(*(np.ascontiguousarray(table) for table in kept))

    stays = tuple(dataclasses.replace(stay, rigs=alone(stay.rigs)) for stay in plan.stays)
    cases = (plan.cases[case],)
    one = dataclasses.replace(plan, stays=stays, cases=cases, bank=plan.bank[:, [case]])
    block = run_block(one, member // LANES * LANES, SEED, trace=True)
    return np.asarray(block.trace[:, :, member % LANES], dtype=np.float64)


def test_the_float32_build_agrees_with_the_twin_in_statistics() -> None:
    name = "spare and wait"
    quick = results_of(name, np.float32)
    lives = [lived_by(name, member) for member in range(LANES)]
    for key in quick.sums.keys() & set(r.SUMS):  # without what is told from others
        got = float(quick.sums[key][0, :LANES].sum(axis=1).mean())
        want = float(np.mean([sum(period[key] for period in life.sums) for life in lives]))
        assert got == pytest.approx(want, rel=STATISTICS_RELATIVE, abs=5.0 / LANES), key
