"""Points of what nobody knows exactly, as cases of a plan: sun, use and the bank's cold gate.

Each is one unknown per household, not noise per member. Points of equal weight stand for normal
spreads, and named cases stand beside them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from flatodds.battery.bank import Bank
from flatodds.engine.plan_charging import WITHOUT_GENERATOR
from flatodds.engine.plan_habits import ECONOMISED, can_economise
from flatodds.engine.results import Case
from flatodds.errors import WARNING

if TYPE_CHECKING:
    from flatodds.scenario import Scenario
    from flatodds.weather.source import WeatherBasis

# Means of the five equal parts of a standard normal distribution (own computation), so that
# five points of equal weight stand for a normal spread with 95 % of its standard deviation.
FIFTHS = (-1.399810, -0.531914, 0.0, 0.531914, 1.399810)
MIDDLE = FIFTHS.index(0.0)
GATE_LATE = "gate_late"  # the case whose cold gate opens later by the whole of its spread

NARROW = WARNING + (  # its first sentence fits a line of the screen
    "this range leaves out doubt of the sun: sun_frac {stated:g} instead of {typical:g}. "
    "The worldwide estimate is off by that much; leave uncertain.sun_frac away, or give weather "
    "of the place."
)

Point = tuple[str, float, float, float, float]  # name, scores of sun, use and gate, weight


def sun_error(scenario: Scenario, basis: WeatherBasis) -> float:
    """Spread of the place's sun about the estimate [1]: the user's, or the basis's own."""
    stated = scenario.uncertain.sun_frac
    return basis.typical_error_frac if stated is None else stated


def with_doubt_named(scenario: Scenario, basis: WeatherBasis) -> WeatherBasis:
    """Warn where the user has the worldwide estimate better known than it is."""
    stated, typical = scenario.uncertain.sun_frac, basis.typical_error_frac
    if basis.kind != "world grid" or stated is None or stated >= typical:
        return basis
    said = NARROW.format(stated=stated, typical=typical)
    return replace(basis, cautions=(said, *basis.cautions))


def model_points(
    scenario: Scenario, bases: Sequence[WeatherBasis]
) -> tuple[list[Case], list[float]]:
    """Cases to run, and each one's standard score of the sun error.

    Five by five points of sun and use; named cases stand beside; in one of those the cold gate
    opens later by its spread; one, where there is a generator, lives without it; in another,
    where that is possible, the household economises. Factors in the cases are those of the place
    whose sun is known least.
    """
    sun = max(sun_error(scenario, basis) for basis in bases)
    use, gate = scenario.uncertain.use_frac, scenario.uncertain.cold_gate_c
    bare: list[Point] = []
    if gate > 0.0:
        bare.append((GATE_LATE, 0.0, 0.0, 1.0, 0.0))
    if scenario.generator is not None:
        bare.append((WITHOUT_GENERATOR, 0.0, 0.0, 0.0, 0.0))
    if can_economise(scenario):
        bare.append((ECONOMISED, 0.0, 0.0, 0.0, 0.0))
    if sun > 0.0 or use > 0.0:
        points = _of_sun_and_use(sun > 0.0, use > 0.0, bare)
    elif gate > 0.0:
        points = _of_the_gate(bare)
    else:
        points = [("as_estimated", 0.0, 0.0, 0.0, 1.0), *bare]
    cases = [
        Case(name, 1.0 + a * sun, 1.0 + b * use, weight, gate * c)
        for name, a, b, c, weight in points
    ]
    return cases, [point[1] for point in points]


def _of_sun_and_use(has_sun: bool, has_use: bool, bare: list[Point]) -> list[Point]:
    """Points of all pairs of fifths, each with a fifth of the cold gate's spread.

    Which one is a Latin square: every fifth of the gate meets every fifth of sun and of use
    once, so that it costs no further points, and with the middle of both goes its own. Where
    one of the two is certain the rest is still uncorrelated with the other.
    """
    suns = range(len(FIFTHS)) if has_sun else (MIDDLE,)
    uses = range(len(FIFTHS)) if has_use else (MIDDLE,)
    weight = 1.0 / (len(suns) * len(uses))
    named: list[Point] = [
        ("as_estimated", 0.0, 0.0, 0.0, weight),
        ("sun_low", -1.0, 0.0, 0.0, 0.0),
        ("sun_high", 1.0, 0.0, 0.0, 0.0),
        ("use_low", 0.0, -1.0, 0.0, 0.0),
        ("use_high", 0.0, 1.0, 0.0, 0.0),
        ("both_bad", -1.0, 1.0, 0.0, 0.0),
        *bare,
    ]
    pairs = [(i, j) for i in suns for j in uses if (i, j) != (MIDDLE, MIDDLE)]
    return named + [
        (
            f"theta_{k:02d}",
            FIFTHS[i],
            FIFTHS[j],
            FIFTHS[(2 * i + 3 * j + MIDDLE) % len(FIFTHS)],
            weight,
        )
        for k, (i, j) in enumerate(pairs, 1)
    ]


def _of_the_gate(bare: list[Point]) -> list[Point]:
    """Five points of the cold gate alone."""
    weight = 1.0 / len(FIFTHS)
    others = [score for score in FIFTHS if score != 0.0]
    return [
        ("as_estimated", 0.0, 0.0, 0.0, weight),
        *bare,
        *[(f"theta_{k:02d}", 0.0, 0.0, c, weight) for k, c in enumerate(others, 1)],
    ]


def banks_of(bank: Bank, cases: Sequence[Case]) -> npt.NDArray[np.float64]:
    """Fields of the bank in every case, (field, case); a cold gate opens as late as its case says.

    Its limit, release and full current move together.
    """
    found = []
    for case in cases:
        later_c = case.gate_later_c
        moved = bank._replace(
            cold_cut_c=bank.cold_cut_c + later_c,
            cold_release_c=bank.cold_release_c + later_c,
            cold_ramp_c=bank.cold_ramp_c + later_c,
        )
        found.append(moved)
    return np.array(found, dtype=np.float64).T
