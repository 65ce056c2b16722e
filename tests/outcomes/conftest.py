"""Invented results with known answers: every array is small and made by hand."""

from __future__ import annotations

from collections.abc import Callable
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import numpy.typing as npt
import pytest

from flatodds.engine.results import Case, Period, Results

Fabricate = Callable[..., Results]

PLAIN = (Case("as_estimated", 1.0, 1.0, 1.0),)
DOUBT = (  # three equal guesses in the mixture, and the single cases beside it
    Case("as_estimated", 1.0, 1.0, 0.0),
    Case("sun_low", 0.88, 1.0, 0.0),
    Case("sun_high", 1.12, 1.0, 0.0),
    Case("use_low", 1.0, 0.85, 0.0),
    Case("use_high", 1.0, 1.15, 0.0),
    Case("both_bad", 0.88, 1.15, 0.0),
    Case("theta_01", 1.05, 0.95, 0.25),
    Case("theta_02", 1.0, 1.0, 0.5),
    Case("theta_03", 0.95, 1.05, 0.25),
)
SUM_KEYS = """hours_flat nights_flat energy_not_served_wh demand_wh served_wh array_wh spilled_wh
bank_loss_wh gone_without_wh spare_served_wh hours_reserve hours_overload cold_hours cold_locked_wh
full_days discharge_ah days"""
EXTREME_KEYS = "min_charge_frac first_flat_day best_day_wh peak_array_w longest_days_since_full"


def made_scenario(title: str, stays: int, nights: int, **changes: Any) -> Any:
    """A stand-in with the attributes of a scenario that outcomes may read."""
    stay = [
        SimpleNamespace(
            name=f"stay {at + 1}",
            place="33.66, -114.23",
            first_doy=(334 + at * nights) % 365,
            nights=nights,
        )
        for at in range(stays)
    ]
    scenario = SimpleNamespace(
        title=title,
        sha256="a" * 64,
        home="trailer",
        units=None,
        printed_units="si",
        bank=SimpleNamespace(chemistry="lithium", volts=12, amp_hours=400.0, capacity_wh=5240.0),
        arrays=(SimpleNamespace(watts=800.0, tilt_deg=0.0),),
        household=SimpleNamespace(reserve_frac=0.15, heat="gas furnace", comfort_high_c=29.0),
        appliances=(SimpleNamespace(name="fridge", medical=False),),
        stays=tuple(stay),
        cautions=(SimpleNamespace(found="Panels look large.", hint="Check them."),),
        assumed=(SimpleNamespace(key="bank.arrival_charge_frac", value=0.8, why="default"),),
    )
    for key, value in changes.items():
        setattr(scenario, key, value)
    return scenario


def made_basis(**changes: Any) -> Any:
    """A stand-in for a weather basis."""
    basis = SimpleNamespace(
        kind="world grid",
        sentence="Sun data: invented for a test, typical error ±12 %",
        sources=("invented for a test",),
        sha256="b" * 64,
        typical_error_frac=0.12,
        cautions=("The dull season may be further off.",),
    )
    for key, value in changes.items():
        setattr(basis, key, value)
    return basis


def made_results(
    flat_h: npt.ArrayLike | None = None,
    *,
    cases: tuple[Case, ...] = PLAIN,
    members: int = 40,
    stays: int = 1,
    nights: int = 60,
    title: str = "Desert winter",
    seed: int = 1,
    record_years: int | None = None,
    scenario: dict[str, Any] | None = None,
    basis: dict[str, Any] | None = None,
) -> Results:
    """Fabricate results; `flat_h` is hours flat, (case, member, period), two periods a stay."""
    periods = tuple(Period(stay, month, nights // 2) for stay in range(stays) for month in (12, 1))
    shape = (len(cases), members, len(periods))
    rng = np.random.default_rng(20251203)
    sums = {key: rng.uniform(1000.0, 90000.0, shape) for key in SUM_KEYS.split()}
    hours = np.zeros(shape) if flat_h is None else np.asarray(flat_h, dtype=np.float64)
    assert hours.shape == shape
    sums["hours_flat"] = hours
    sums["nights_flat"] = np.ceil(hours / 5.0)
    sums["hours_reserve"] = hours * 2.0
    sums["hours_overload"] = np.zeros(shape)
    sums["days"] = np.full(shape, nights / 2.0)
    sums["full_days"] = np.floor(rng.uniform(0.0, nights / 2.0, shape))
    extremes = {
        key: rng.uniform(0.1, 0.9, (len(cases), members, stays)) for key in EXTREME_KEYS.split()
    }
    flat = np.stack(
        [hours[:, :, 2 * stay : 2 * stay + 2].sum(axis=2) > 0.0 for stay in range(stays)], axis=2
    )
    extremes["first_flat_day"] = np.where(flat, 7.0, np.inf)
    extremes["start_ah"] = np.full((len(cases), members, stays), 320.0)
    extremes["best_day_wh"] = extremes["best_day_wh"] * 4000.0
    day_count = stays * nights
    daily = {
        "array_wh": rng.uniform(500.0, 2500.0, (members, day_count)).astype(np.float32),
        "demand_wh": rng.uniform(1000.0, 1600.0, (members, day_count)).astype(np.float32),
        "min_charge_frac": rng.uniform(0.1, 0.5, (members, day_count)).astype(np.float32),
        "dawn_charge_frac": rng.uniform(0.5, 0.8, (members, day_count)).astype(np.float32),
    }
    wanted = rng.uniform(10.0, 500.0, (members, stays, 2))
    return Results(
        scenario=made_scenario(title, stays, nights, **(scenario or {})),
        seed=seed,
        members=members,
        record_years=record_years,
        cases=cases,
        periods=periods,
        bases=cast(Any, tuple(made_basis(**(basis or {})) for _ in range(stays))),
        sums=sums,
        extremes=extremes,
        daily=daily,
        day_stay=np.repeat(np.arange(stays, dtype=np.int64), nights),
        day_doy=(334 + np.arange(day_count, dtype=np.int64)) % 365,
        appliances=("fridge", "=lamp"),
        plugs={
            "appliance_wanted_wh": wanted,
            "appliance_served_wh": wanted * 0.75,
            "appliance_shifted_wh": wanted * 0.125,
            "appliance_gone_without_wh": wanted * 0.25,
        },
        balance_error=3e-7,
    )


@pytest.fixture
def fabricate() -> Fabricate:
    """Hand tests the maker of invented results."""
    return made_results


@pytest.fixture
def doubt() -> tuple[Case, ...]:
    """Nine cases: three quantile points in the mixture and six single cases."""
    return DOUBT
