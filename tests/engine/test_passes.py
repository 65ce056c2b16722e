"""Many rigs in one pass: as if each had been run alone."""

from __future__ import annotations

import gc
import weakref
from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import pytest

from flatodds import Scenario, parse_scenario
from flatodds.engine import rows as r
from flatodds.engine.many import Kept, live
from flatodds.engine.passes import (
    MOST_DESIGNS,
    plan_passes,
    same_world,
    weighed,
    without_details,
)
from flatodds.engine.plan import make_plan
from flatodds.engine.run import run_block
from flatodds.engine.shared import Shared
from flatodds.studies.simulate import run_scenario

TEXT = """
bank.chemistry = "agm"
bank.volts = 12
bank.amp_hours = 120
array.watts = 250
inverter.watts = 1000
household.pattern = "light"

[[stay]]
place = "36.10, -79.95"
first_day = "27 Dec"
nights = 9

[[stay]]
place = "36.10, -79.95"
first_day = "5 Jan"
nights = 4
"""
PLUGS = ("fridge", "blower", "vent")
SAME_WORLD: tuple[Mapping[str, object], ...] = (
    {"bank.amp_hours": 300},
    {"bank.chemistry": "lithium"},
    {"array.watts": 900},
    {"controller.amps": 10},
    {"bank.arrival_charge_frac": 0.3},
    {"household.reserve_frac": 0.6},
)
OTHER_WORLD: tuple[Mapping[str, object], ...] = (
    {"array.tilt_deg": 40},
    {"household.inside_night_c": 8},
    {"inverter.hours_on": 24},
    {"home": "van"},
    {"appliance": [{"use": "microwave", "times_a_day": 1}]},
    {"uncertain.use_frac": 0.3},
    {"stay.0.nights": 8},
)


@pytest.fixture(scope="module")
def base() -> Scenario:
    return parse_scenario(TEXT, "passes.toml")


@pytest.mark.parametrize("change", SAME_WORLD, ids=str)
def test_changes_of_the_rig_share_a_pass(base: Scenario, change: Mapping[str, object]) -> None:
    shared = Shared()
    other = base.with_changes(change)
    a, b = (weighed(make_plan(one, shared=shared)) for one in (base, other))
    assert same_world(a, b)
    assert same_world(a, weighed(make_plan(other)))  # tables made anew are equal too
    assert len(plan_passes([base, base.with_changes(change)])) == 1


@pytest.mark.parametrize("change", OTHER_WORLD, ids=str)
def test_changes_of_the_world_or_household_do_not(
    base: Scenario, change: Mapping[str, object]
) -> None:
    shared = Shared()
    a, b = make_plan(base, shared=shared), make_plan(base.with_changes(change), shared=shared)
    assert not same_world(a, b)
    passes = plan_passes([base, base.with_changes(change), base])
    assert [one.variants for one in passes] == [(0, 2), (1,)]


def test_what_plans_share_ends_with_them(base: Scenario) -> None:
    """Freed with the last plan, not at the next search for garbage: weather may be gigabytes."""
    gc.disable()
    try:
        shared = Shared()
        make_plan(base, shared=shared)
        kept = weakref.ref(shared)
        del shared
        assert kept() is None
    finally:
        gc.enable()


def test_every_variant_lives_as_if_it_were_alone(base: Scenario) -> None:
    changes: list[Mapping[str, object]] = [{}, *SAME_WORLD[:3], OTHER_WORLD[0]]
    variants = [base.with_changes(change) for change in changes]
    found = live(plan_passes(variants), 100, 3)
    for scenario, lived in zip(variants, found, strict=True):
        alone = run_scenario(scenario, members=100, seed=3)
        hours = alone.sums["hours_flat"]
        assert len(alone.periods) == 3  # December, January; January
        weighed = [case.weight > 0.0 for case in alone.cases]
        assert [c.name for c in lived.cases] == [c.name for c in alone.cases if c.weight > 0.0]
        flat = np.stack([hours[..., :2].sum(axis=2) > 0, hours[..., 2] > 0], axis=2)[weighed]
        assert np.array_equal(lived.flat, flat)
        assert np.array_equal(lived.nights, (alone.sums["nights_flat"] > 0)[weighed])
        weights = np.array([case.weight for case in alone.cases])
        mean = np.einsum("cmp,c->m", alone.sums["energy_not_served_wh"], weights)
        got = lived.amounts["energy_not_served_wh"].sum(axis=1)
        assert got == pytest.approx(mean, rel=1e-12, abs=1e-9)
        assert alone.record_years == lived.record_years


def test_threads_do_not_matter(base: Scenario) -> None:
    variants = [base, base.with_changes({"array.watts": 500})]
    one, two = (live(plan_passes(variants), 130, 1, threads=n) for n in (1, 2))
    for a, b in zip(one, two, strict=True):
        assert np.array_equal(a.flat, b.flat)
        assert all(np.array_equal(a.amounts[name], b.amounts[name]) for name in a.amounts)


def test_many_designs_are_spread_over_passes(base: Scenario) -> None:
    variants = [base.with_changes({"array.watts": 200 + k}) for k in range(40)]
    passes = plan_passes(variants)
    assert sum((one.variants for one in passes), ()) == tuple(range(40))
    assert all(one.plan.bank.shape[1] <= MOST_DESIGNS for one in passes)
    assert len(passes) == -(-40 // (MOST_DESIGNS // len(passes[0].plan.cases)))


def test_only_the_centre_case_and_days_as_periods(base: Scenario) -> None:
    one = live(plan_passes([base], centre_only=True, by_day=True), 64, 1)[0]
    months = live(plan_passes([base]), 64, 1)[0]
    assert one.flat.shape == (1, 64, 2)
    assert [case.weight for case in one.cases] == [1.0]
    assert one.nights.shape == (1, 64, 13)
    assert one.dawn.shape == (64, 13)
    assert np.array_equal(one.flat[0], months.flat[0])
    assert np.array_equal(one.nights[:, :, 9:].any(axis=2), months.nights[:1, :, 2])


@pytest.mark.parametrize("cooled", [False, True])
def test_leaving_details_uncounted_changes_nothing_else(base: Scenario, cooled: bool) -> None:
    """A small inverter, an air conditioner: there is overload to leave out."""
    changes: dict[str, object] = {"inverter.watts": 300, "household.pattern": "medium"}
    if cooled:
        changes |= {"cooling.unit": "window_5000", "stay.0.first_day": "20 Jul"}
        changes |= {"stay.1.first_day": "29 Jul"}
    plan = make_plan(base.with_changes(changes))
    whole, brief = run_block(plan, 0, 1), run_block(without_details(plan), 0, 1)
    left_out = {"hours_overload"}
    left_out |= {f"{what}_{how}_wh" for what in PLUGS for how in ("wanted", "served")}
    for k, name in enumerate(r.SUMS):
        if name in left_out:
            assert not brief.sums[..., k].any()
        else:
            assert np.array_equal(whole.sums[..., k], brief.sums[..., k]), name
    overload = whole.sums[..., r.SUMS.index("hours_overload")]
    assert overload.any()
    for k, name in enumerate(r.EXTREMES):
        same = np.array_equal(whole.extremes[..., k], brief.extremes[..., k], equal_nan=True)
        assert same != (name == "peak_bank_a"), name
    assert np.array_equal(whole.daily, brief.daily)
    assert np.array_equal(whole.served, brief.served)


class Blocks:
    """Keeps blocks in memory."""

    def __init__(self) -> None:
        self.kept: dict[tuple[int, int], Kept] = {}
        self.saved = 0

    def load(self, number: int, first_member: int) -> Kept | None:
        return self.kept.get((number, first_member))

    def save(self, number: int, first_member: int, kept: Kept) -> None:
        self.kept[number, first_member] = kept
        self.saved += 1


def test_blocks_of_a_store_are_not_lived_again(base: Scenario) -> None:
    store = Blocks()
    passes = plan_passes([base, base.with_changes({"array.tilt_deg": 30})])
    whole = live(passes, 130, 1, store=store)
    assert store.saved == 6
    for key in ((0, 64), (1, 0)):
        del store.kept[key]
    again = live(passes, 130, 1, store=store)
    assert store.saved == 8
    for a, b in zip(whole, again, strict=True):
        assert np.array_equal(a.flat, b.flat)
        assert all(np.array_equal(a.amounts[name], b.amounts[name]) for name in a.amounts)


def test_a_plan_notices_a_changed_place(base: Scenario) -> None:
    a = make_plan(base)
    moved = replace(a, stays=(replace(a.stays[0], elevation_m=5.0), *a.stays[1:]))
    assert not same_world(a, moved)
