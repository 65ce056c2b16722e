"""From a scenario to the arrays the kernel reads: one plan per run, no physics decided here."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol, TypeVar

import numpy as np
import numpy.typing as npt

from flatodds.battery.chemistry import bank_record
from flatodds.charging.generator import NONE, generator_record
from flatodds.engine.hour import Design
from flatodds.engine.kept import kept
from flatodds.engine.plan_calendar import calendar_of
from flatodds.engine.plan_charging import WITHOUT_GENERATOR
from flatodds.engine.plan_climate import cabin_fields, thermostatic
from flatodds.engine.plan_habits import ECONOMISED, habit_fields
from flatodds.engine.plan_points import banks_of, model_points, sun_error, with_doubt_named
from flatodds.engine.plan_sun import CLOCK_YEAR as CLOCK_YEAR
from flatodds.engine.plan_sun import (
    clock_shifts_h,
    label_table,
    planes_of,
    surroundings_of,
)
from flatodds.engine.records import DOY, Calendar, Given, Rigs
from flatodds.engine.results import Case, Period
from flatodds.engine.shared import Shared
from flatodds.engine.sites import (
    given_for,
    member_multiple,
    outdoor_start_c,
    record_years,
    sites_of,
)
from flatodds.loads.appliances import Uses
from flatodds.loads.household import (
    NEEDS,
    clock_tables,
    has_slots,
)
from flatodds.scenario.cautions import refuse_sure_estimate
from flatodds.solar.geometry import Plane, Planes, plane_tables
from flatodds.solar.shade import Surroundings
from flatodds.sun import DAYS, SunTable
from flatodds.weather.ensembles import Ensemble
from flatodds.weather.source import WeatherBasis
from flatodds.weather.synthetic import SkyTables, SyntheticTables, pack
from flatodds.weather.travel import weather_kept

if TYPE_CHECKING:
    from flatodds.scenario import Scenario, Stay
    from flatodds.weather.contract import WeatherTable

SPIN_DAYS = 90  # the slow weight's memory is 12 days: exp(-90 / 12) is under 0.1 %
FIRST_YEAR_DAY = DAYS  # counters of the first year start here, so spin-up stays above zero
SPARE_FRAC = 0.90  # spare-sun loads may take charging sun above this: common practice, no source

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class StayPlan:
    """Everything the kernel needs for one stay.

    Attributes
    ----------
    years : Ensemble or None
        Real years whose hours are lived; None when weather is drawn or handed in.
    elevation_m : float
        Height of the place [m].
    outdoor_start_c : float
        Air temperature that the cabin and the bank start from [deg C].
    weather_kept : float
        How much of the last drawn stay's weather is still there, from `weather.travel`; 1
        where no weather was drawn before, or none is drawn here.
    """

    calendar: Calendar
    tables: SyntheticTables
    sky: SkyTables
    given: Given
    years: Ensemble | None
    planes: Planes
    uses: Uses
    cabin: npt.NDArray[Any]
    rigs: Rigs
    basis: WeatherBasis
    elevation_m: float
    outdoor_start_c: float
    weather_kept: float


class Start(Protocol):
    """The weather's latent state on the eve of the first day."""

    def states(
        self, members: npt.NDArray[np.int64], key: tuple[np.uint64, np.uint64]
    ) -> npt.NDArray[np.float64]:
        """States of some members, (STATE, member), a pure function of member and seed."""
        ...


@dataclass(frozen=True, slots=True)
class Plan:
    """One run, ready for the kernel; floats are of one type throughout.

    Attributes
    ----------
    appliances, appliance_needs : tuple
        Appliances that run by the clock, and the need class of each.
    extras : tuple
        Appliances that follow the cabin: (row of the results, name).
    bank : ndarray
        Fields of `Bank` for every design, (field, design).
    day_stay, day_doy : ndarray
        Stay and day of the year of every simulated day, (day,).
    record_years : int or None
        Distinct real years, or weather members given; None when all weather is drawn. Where
        stays differ, the smallest.
    multiple : int
        Members are a multiple of this, so that every real year is lived equally often.
    start : Start or None
        What members know of the weather as they begin; None: nothing.
    """

    scenario: Scenario
    stays: tuple[StayPlan, ...]
    cases: tuple[Case, ...]
    periods: tuple[Period, ...]
    appliances: tuple[str, ...]
    appliance_needs: tuple[int, ...]
    extras: tuple[tuple[str, str], ...]
    bank: npt.NDArray[np.float64]
    day_stay: npt.NDArray[np.int64]
    day_doy: npt.NDArray[np.int64]
    record_years: int | None
    multiple: int
    dtype: Any
    start: Start | None = None


def make_plan(
    scenario: Scenario,
    weather: WeatherTable | None = None,
    *,
    base_dir: Path | None = None,
    dtype: Any = np.float32,
    shared: Shared | None = None,
) -> Plan:
    """Turn a scenario into a plan.

    Parameters
    ----------
    scenario : Scenario
        What the user wrote, with every default filled in.
    weather : WeatherTable, optional
        Hourly weather to use as it is instead of drawing it.
    base_dir : Path, optional
        Folder that relative weather files are looked up in.
    dtype : float32 or float64
        Number type of the kernel.
    shared : Shared, optional
        Tables worked out for earlier plans of the same study.

    Raises
    ------
    WeatherError
        A weather file is unusable, or the given weather does not cover a stay.
    ScenarioError
        It has no doubt of sun that is only estimated.
    """
    if weather is None:
        refuse_sure_estimate(scenario)
    shared = shared or Shared()
    sites = sites_of(scenario, weather, base_dir, shared)
    cases, scores = model_points(scenario, [site.basis for site in sites])
    banks = banks_of(bank_record(scenario.bank), cases)
    starts = _first_days(scenario.stays)
    uses, wait_dc_w, wait_ac_w = shared.once(clock_tables, scenario.appliances, scenario.household)
    stays: list[StayPlan] = []
    periods: list[Period] = []
    day_stay: list[int] = []
    day_doy: list[int] = []
    drawn_until: int | None = None  # counter of the day after the last drawn stay
    drawn_at: tuple[float, float] | None = None  # and where that was
    for n, (stay, site) in enumerate(zip(scenario.stays, sites, strict=True)):
        before = len(day_stay)
        unseen = SPIN_DAYS if drawn_until is None else starts[n] - drawn_until
        calendar = calendar_of(scenario, n, site.sun, (starts[n], unseen, before), periods)
        kept = 1.0
        if weather is None and site.years is None:
            if drawn_at is not None:
                kept = weather_kept(drawn_at, (stay.latitude, stay.longitude))
            drawn_until = starts[n] + stay.nights
            drawn_at = (stay.latitude, stay.longitude)
        day_stay.extend([n] * stay.nights)
        day_doy.extend(int(doy) for doy in calendar.days[:, DOY])
        given = given_for(scenario, weather, n, starts, shared, dtype)
        spread = sun_error(scenario, site.basis)
        stays.append(
            cast_floats(
                StayPlan(
                    calendar=calendar,
                    tables=shared.once(cast_floats, site.tables, dtype),
                    sky=shared.once(pack, site.tables, dtype),
                    given=given,
                    years=site.years,
                    planes=shared.once(
                        _kept_planes,
                        site.sun,
                        planes_of(scenario, stay),
                        surroundings_of(stay),
                        dtype,
                        shift_h=clock_shifts_h(scenario, stay),
                        all_hours=weather is not None or site.years is not None,
                    ),
                    uses=shared.once(cast_floats, uses, dtype),
                    cabin=cabin_fields(scenario, n, SPARE_FRAC, site.elevation_m),
                    rigs=_rigs(
                        scenario,
                        banks,
                        cases,
                        [1.0 + z * spread for z in scores],
                        (n, site.elevation_m, wait_dc_w, wait_ac_w),
                    ),
                    basis=with_doubt_named(scenario, site.basis),
                    elevation_m=site.elevation_m,
                    outdoor_start_c=outdoor_start_c(site, given, int(calendar.days[0, DOY])),
                    weather_kept=kept,
                ),
                dtype,
            )
        )
    clocked = [use for use in scenario.appliances if has_slots(use)]
    return Plan(
        scenario=scenario,
        stays=tuple(stays),
        cases=tuple(cases),
        periods=tuple(periods),
        appliances=tuple(use.name for use in clocked),
        appliance_needs=tuple(NEEDS[use.need] for use in clocked),
        extras=thermostatic(scenario),
        bank=banks,
        day_stay=np.array(day_stay, dtype=np.int64),
        day_doy=np.array(day_doy, dtype=np.int64),
        record_years=record_years(sites, weather),
        multiple=member_multiple(sites),
        dtype=dtype,
    )


def _first_days(stays: Sequence[Stay]) -> list[int]:
    """Absolute day counter of each stay's first day; stays follow one another in time."""
    return [FIRST_YEAR_DAY + stay.start_day for stay in stays]


def _kept_planes(
    sun: SunTable,
    planes: tuple[Plane, ...],
    around: Surroundings,
    dtype: Any,
    *,
    shift_h: tuple[float, ...],
    all_hours: bool,
) -> Planes:
    made = kept(
        plane_tables, sun, planes, around, shift_h=shift_h, all_hours=all_hours, types=(Planes,)
    )
    return cast_floats(made, dtype)


def _rigs(
    scenario: Scenario,
    banks: npt.NDArray[np.float64],
    cases: Sequence[Case],
    sun_factors: list[float],
    of_stay: tuple[int, float, float, float],
) -> Rigs:
    """One design per case; start_frac is NaN where the charge continues from the last stay.

    `of_stay` holds the number of the stay, its height [m], and the most put-off DC and AC use
    caught up at once [W].
    """
    n, elevation_m, wait_dc_w, wait_ac_w = of_stay
    count = len(cases)
    start = scenario.stays[n].arrival_charge_frac
    if start is None:
        start = scenario.bank.arrival_charge_frac if n == 0 else np.nan
    household = scenario.household
    inverter = scenario.inverter
    design = Design(
        inverter_w=inverter.watts,
        idle_w=inverter.idle_w if inverter.watts > 0.0 else 0.0,
        sun_factor=1.0,
        use_factor=1.0,
        reserve_frac=household.reserve_frac,
        caution_frac=household.caution_frac,
        spare_frac=SPARE_FRAC,
        wait_cap_dc_w=wait_dc_w,
        wait_cap_ac_w=wait_ac_w,
        start_frac=start,
        **habit_fields(scenario),
    )
    rows = [
        design._replace(
            sun_factor=max(sun, 0.05),
            use_factor=max(case.use_factor, 0.05),
            economy=float(case.name == ECONOMISED),
        )
        for sun, case in zip(sun_factors, cases, strict=True)
    ]
    generator = generator_record(scenario.generator, elevation_m)
    return Rigs(
        bank=banks,
        design=np.array(
            [
                (*row, *(NONE if case.name == WITHOUT_GENERATOR else generator))
                for row, case in zip(rows, cases, strict=True)
            ],
            dtype=np.float64,
        ).T,
        label_w=np.tile(label_table(scenario), (count, 1, 1)),
    )


def cast_floats(record: T, dtype: Any) -> T:
    """Copy a record with every floating array contiguous and of one type."""
    if isinstance(record, np.ndarray):
        kind = dtype if np.issubdtype(record.dtype, np.floating) else record.dtype
        return np.ascontiguousarray(record, dtype=kind)  # type: ignore[return-value]
    if isinstance(record, tuple) and hasattr(record, "_fields"):
        return type(record)(*[cast_floats(field, dtype) for field in record])
    if isinstance(record, StayPlan):
        fields = {name: getattr(record, name) for name in record.__dataclass_fields__}
        return StayPlan(**{name: cast_floats(value, dtype) for name, value in fields.items()})  # type: ignore[return-value]
    return record
