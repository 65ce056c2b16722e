"""Many rigs in few passes: variants that meet the same days are lived side by side.

Each variant is planned by itself. Plans that are equal in everything but their tables of
designs share one pass over the weather and the household; a variant that changes the world or
the household (another tilt, another appliance) gets a pass of its own. Draws depend on seed,
day, stream, member and place only, so all passes see the same weather years, and variants
differ by what was changed and by nothing else.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, fields, is_dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from flatodds.engine.plan import Plan, StayPlan, make_plan
from flatodds.engine.records import DETAILED, PERIOD, SPIN_DAYS, Calendar, join_rigs, pick_rigs
from flatodds.engine.results import Case, Period
from flatodds.engine.shared import Shared

if TYPE_CHECKING:
    from flatodds.engine.plan import Start
    from flatodds.scenario import Scenario
    from flatodds.weather.contract import WeatherTable

MOST_DESIGNS = 512  # in one pass: some 10 MB of lane state and 60 MB of sums a thread

OF_PLAN = frozenset({"scenario", "bank"})  # of a plan: differs between variants of one pass
OF_STAY = frozenset({"rigs"})  # and of its stays
OF_CASE = frozenset({"gate_later_c"})  # and of its cases: the bank's table holds it

SKIPPED: Mapping[type, frozenset[str]] = {StayPlan: OF_STAY, Case: OF_CASE}


@dataclass(frozen=True, slots=True)
class Pass:
    """Variants that are lived side by side.

    Attributes
    ----------
    plan : Plan
        Designs of all variants: those of the first, then of the second, and so on. Its cases
        are those of one variant.
    variants : tuple of int
        Which variants of the study these are.
    """

    plan: Plan
    variants: tuple[int, ...]


def plan_passes(
    scenarios: Sequence[Scenario],
    weather: WeatherTable | None = None,
    *,
    centre_only: bool = False,
    by_day: bool = False,
    start: Callable[[Plan], Start] | None = None,
    shared: Shared | None = None,
    told: Callable[[int], None] | None = None,
) -> list[Pass]:
    """Plan all variants of a study in as few passes as their worlds allow.

    Parameters
    ----------
    scenarios : sequence of Scenario
        The variants; weather files they name are looked up beside each one's own file.
    weather : WeatherTable, optional
        Hourly weather to use as it is.
    centre_only : bool
        Leave out the points of what is not known about sun and use: only ``as_estimated``.
    by_day : bool
        Let every day be a result period of its own instead of every month.
    start : callable, optional
        Gives a plan's weather state as it begins.
    shared : Shared, optional
        Tables of earlier plans.
    told : callable, optional
        Called with the number of variants planned.
    """
    shared = shared or Shared()
    groups: list[tuple[list[Plan], list[int]]] = []
    for k, scenario in enumerate(scenarios):
        folder = scenario.folder or Path()
        plan = make_plan(scenario, weather, base_dir=folder, shared=shared)
        plan = without_details(_centre(plan) if centre_only else weighed(plan))
        plan = _daily_periods(plan) if by_day else plan
        if start is not None:
            plan = _begun(plan, start(plan))
        for plans, variants in groups:
            room = (len(plans) + 1) * len(plan.cases) <= MOST_DESIGNS
            if room and same_world(plans[0], plan):
                plans.append(plan)
                variants.append(k)
                break
        else:
            groups.append(([plan], [k]))
        if told is not None:
            told(k + 1)
    return [Pass(_joined(plans), tuple(variants)) for plans, variants in groups]


def same_world(a: Plan, b: Plan) -> bool:
    """Whether two plans are equal in everything but their tables of designs."""
    return all(
        _same(getattr(a, part.name), getattr(b, part.name))
        for part in fields(Plan)
        if part.name not in OF_PLAN
    )


def _same(a: Any, b: Any) -> bool:
    """Whether two values hold the same, arrays and records included."""
    if a is b:
        return True
    if type(a) is not type(b):
        return False
    if isinstance(a, np.ndarray):
        return a.dtype == b.dtype and np.array_equal(a, b, equal_nan=a.dtype.kind == "f")
    if isinstance(a, (tuple, list)):
        return len(a) == len(b) and all(map(_same, a, b))
    if is_dataclass(a):
        skipped = SKIPPED.get(type(a), frozenset())
        names = [part.name for part in fields(a) if part.name not in skipped]
        return all(_same(getattr(a, name), getattr(b, name)) for name in names)
    return bool(a == b)


def _joined(plans: Sequence[Plan]) -> Plan:
    """One plan with the designs of all, in the world of the first."""
    if len(plans) == 1:
        return plans[0]
    stays = tuple(
        replace(stay, rigs=join_rigs([plan.stays[n].rigs for plan in plans]))
        for n, stay in enumerate(plans[0].stays)
    )
    bank = np.concatenate([plan.bank for plan in plans], axis=1)
    return replace(plans[0], stays=stays, bank=bank)


def designs_of(plan: Plan, first: int, count: int) -> Plan:
    """Plan of some of a plan's designs."""
    stays = tuple(replace(stay, rigs=pick_rigs(stay.rigs, first, count)) for stay in plan.stays)
    return replace(plan, stays=stays, bank=plan.bank[:, first : first + count])


def _centre(plan: Plan) -> Plan:
    """Keep only the first case, with all the weight."""
    first = replace(plan.cases[0], weight=1.0)
    return replace(designs_of(plan, 0, 1), cases=(first,))


def weighed(plan: Plan) -> Plan:
    """Leave out the cases that are only shown by name: studies tell of the mixture."""
    cases = tuple(case for case in plan.cases if case.weight > 0.0)
    if len(cases) == len(plan.cases):
        return plan
    kept = [designs_of(plan, k, 1) for k, case in enumerate(plan.cases) if case.weight > 0.0]
    return replace(_joined(kept), cases=cases)


def without_details(plan: Plan) -> Plan:
    """Leave uncounted what studies do not tell and a sixth of the hour's work goes into."""

    def calendar(stay: StayPlan) -> Calendar:
        stated = stay.calendar.stay.copy()
        stated[DETAILED] = 0
        return stay.calendar._replace(stay=stated)

    stays = tuple(replace(stay, calendar=calendar(stay)) for stay in plan.stays)
    return replace(plan, stays=stays)


def _daily_periods(plan: Plan) -> Plan:
    """Let every day be a period, so that each night's sums are kept."""
    stays: list[StayPlan] = []
    periods: list[Period] = []
    for n, stay in enumerate(plan.stays):
        days = stay.calendar.days.copy()
        for at in range(len(days)):
            month = plan.periods[int(stay.calendar.days[at, PERIOD])].month
            days[at, PERIOD] = len(periods)
            periods.append(Period(n, month, 1))
        stays.append(replace(stay, calendar=stay.calendar._replace(days=days)))
    return replace(plan, stays=tuple(stays), periods=tuple(periods))


def _begun(plan: Plan, start: Start) -> Plan:
    """Let the first stay begin in a known state, without drawing the days before it."""
    first = plan.stays[0].calendar
    known = first.stay.copy()
    known[SPIN_DAYS] = 0
    stay = replace(plan.stays[0], calendar=first._replace(stay=known))
    return replace(plan, stays=(stay, *plan.stays[1:]), start=start)
