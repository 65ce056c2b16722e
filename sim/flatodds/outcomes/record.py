"""What outcomes keep of a run: its arrays, and the facts of the scenario that people read.

A `Record` stands between the engine's results and a saved file, so that a result opened from
disk gives the same odds, summary and tables as the run itself did.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from flatodds.engine.holding import parts_of
from flatodds.engine.results import Case, Period

if TYPE_CHECKING:
    from flatodds.engine.results import Results
    from flatodds.scenario import Scenario
    from flatodds.weather.source import WeatherBasis

Floats = npt.NDArray[np.float64]
Floats32 = npt.NDArray[np.float32]
Ints = npt.NDArray[np.int64]

MAY_BE_INFINITE = frozenset({"first_flat_day"})  # infinite: the bank never runs flat


@dataclass(frozen=True, slots=True)
class StayFacts:
    """Where and when one stay is; `first_doy` counts from 0 on 1 January."""

    name: str
    place: str
    first_doy: int
    nights: int


@dataclass(frozen=True, slots=True)
class BasisFacts:
    """What the weather of one stay rests on."""

    kind: str
    sentence: str
    sources: tuple[str, ...]
    sha256: str
    typical_error_frac: float
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Assumption:
    """A value the user did not give."""

    key: str
    value: str
    why: str


@dataclass(frozen=True, slots=True)
class Facts:
    """What of the scenario is needed to tell people about a result."""

    version: str
    title: str
    sha256: str
    home: str
    units: str | None
    chemistry: str
    bank_v: float
    bank_ah: float
    bank_wh: float
    array_w: float
    tilts_deg: tuple[float, ...]
    reserve_frac: float
    heat: str
    medical: tuple[str, ...]
    record_years: int | None
    cases: tuple[Case, ...]
    stays: tuple[StayFacts, ...]
    bases: tuple[BasisFacts, ...]
    assumed: tuple[Assumption, ...]
    cautions: tuple[str, ...]
    comfort_high_c: float = 29.0  # of results saved before it was asked for

    def to_json(self) -> str:
        """Write the facts as one line of JSON."""
        return json.dumps(asdict(self), sort_keys=True, allow_nan=False)


@dataclass(frozen=True, slots=True)
class Record:
    """Arrays of a run with the facts of its scenario; shapes as in the engine's `Results`."""

    facts: Facts
    seed: int
    members: int
    record_years: int | None
    cases: tuple[Case, ...]
    periods: tuple[Period, ...]
    sums: Mapping[str, Floats]
    extremes: Mapping[str, Floats]
    daily: Mapping[str, Floats32]
    day_stay: Ints
    day_doy: Ints
    appliances: tuple[str, ...]
    plugs: Mapping[str, Floats]
    balance_error: float

    @property
    def weights(self) -> Floats:
        """Share of each case in the mixture, (case,) [1]."""
        return np.array([case.weight for case in self.cases], dtype=np.float64)

    def periods_of(self, stay: int) -> list[int]:
        """List the indices of the periods of a stay, in time order."""
        return [at for at, period in enumerate(self.periods) if period.stay == stay]

    def stay_sum(self, key: str, stay: int) -> Floats:
        """Sum of a quantity over one stay, (case, member)."""
        total: Floats = parts_of(self.sums, key, self.periods_of(stay), 2).sum(axis=2)
        return total

    def extreme(self, key: str, stay: int) -> Floats:
        """Extreme of one stay, (case, member)."""
        found: Floats = parts_of(self.extremes, key, [stay], 2)[:, :, 0]
        return found

    def has(self, key: str) -> bool:
        """Whether the engine filled a sum."""
        return key in self.sums


def record_of(results: Results) -> Record:
    """Take over what the engine produced, after checking that it is whole.

    Raises
    ------
    ValueError
        If an array has a shape that does not fit, or holds a number that is not finite.
    """
    record = Record(
        facts=facts_of(results),
        seed=results.seed,
        members=results.members,
        record_years=results.record_years,
        cases=results.cases,
        periods=results.periods,
        sums=results.sums,
        extremes=results.extremes,
        daily=results.daily,
        day_stay=results.day_stay,
        day_doy=results.day_doy,
        appliances=results.appliances,
        plugs=results.plugs,
        balance_error=float(results.balance_error),
    )
    check_record(record)
    return record


def facts_of(results: Results) -> Facts:
    """Collect the facts people read from the scenario and the weather bases of a run."""
    scenario = results.scenario
    return Facts(
        version=package_version(),
        title=scenario.title,
        sha256=scenario.sha256,
        home=scenario.home,
        units=scenario.printed_units,
        chemistry=scenario.bank.chemistry,
        bank_v=float(scenario.bank.volts),
        bank_ah=float(scenario.bank.amp_hours),
        bank_wh=float(scenario.bank.capacity_wh),
        array_w=float(sum(array.watts for array in scenario.arrays)),
        tilts_deg=tuple(float(array.tilt_deg) for array in scenario.arrays),
        reserve_frac=float(scenario.household.reserve_frac),
        heat=scenario.household.heat,
        comfort_high_c=float(scenario.household.comfort_high_c),
        medical=tuple(use.name for use in scenario.appliances if use.medical),
        record_years=results.record_years,
        cases=results.cases,
        stays=stay_facts(scenario),
        bases=tuple(basis_facts(basis) for basis in results.bases),
        assumed=tuple(Assumption(a.key, str(a.value), a.why) for a in scenario.assumed),
        cautions=tuple(f"{c.found} {c.hint}".strip() for c in scenario.cautions),
    )


def stay_facts(scenario: Scenario) -> tuple[StayFacts, ...]:
    """Collect name, place, first day and nights of every stay."""
    return tuple(
        StayFacts(stay.name, stay.place, int(stay.first_doy), int(stay.nights))
        for stay in scenario.stays
    )


def basis_facts(basis: WeatherBasis) -> BasisFacts:
    """Copy a weather basis into plain facts."""
    return BasisFacts(
        kind=str(basis.kind),
        sentence=basis.sentence,
        sources=tuple(basis.sources),
        sha256=basis.sha256,
        typical_error_frac=float(basis.typical_error_frac),
        cautions=tuple(basis.cautions),
    )


def facts_from_json(text: str) -> Facts:
    """Read the facts written by :meth:`Facts.to_json`."""
    raw: dict[str, Any] = json.loads(text)
    raw["cases"] = tuple(Case(**case) for case in raw["cases"])
    raw["stays"] = tuple(StayFacts(**stay) for stay in raw["stays"])
    raw["assumed"] = tuple(Assumption(**one) for one in raw["assumed"])
    raw["bases"] = tuple(
        BasisFacts(**{**one, "sources": tuple(one["sources"]), "cautions": tuple(one["cautions"])})
        for one in raw["bases"]
    )
    raw["tilts_deg"] = tuple(raw["tilts_deg"])
    for key in ("medical", "cautions"):
        raw[key] = tuple(raw[key])
    return Facts(**raw)


def check_record(record: Record) -> None:
    """Refuse arrays that do not fit together or hold numbers that are not finite."""
    cases, members, stays = len(record.cases), record.members, len(record.facts.stays)
    days, uses = len(record.day_stay), len(record.appliances)
    check_arrays(record.sums, (cases, members, len(record.periods)))
    check_arrays(record.extremes, (cases, members, stays))
    check_arrays(record.daily, (members, days))
    check_arrays({"day_doy": record.day_doy}, (days,))
    check_arrays(record.plugs, (members, stays, uses))
    if record.cases[0].name != "as_estimated":
        raise ValueError("the first case is not as_estimated")
    if abs(float(record.weights.sum()) - 1.0) > 1e-9:
        raise ValueError("the weights of the cases do not sum to 1")
    if len(record.facts.bases) != stays:
        raise ValueError("not one weather basis per stay")


def check_arrays(arrays: Mapping[str, npt.NDArray[Any]], shape: tuple[int, ...]) -> None:
    """Refuse an array of another shape, or one with a number that is not finite."""
    for key, array in arrays.items():
        if array.shape != shape:
            raise ValueError(f"{key} has shape {array.shape}, expected {shape}")
        bad = np.isnan(array) if key in MAY_BE_INFINITE else ~np.isfinite(array)
        if bad.any():
            raise ValueError(f"{key} holds {np.count_nonzero(bad)} numbers that are not finite")


def package_version() -> str:
    """Version of the installed package, or ``unknown`` when run from a bare work tree."""
    from importlib.metadata import PackageNotFoundError, version

    try:
        return version("flatodds")
    except PackageNotFoundError:
        return "unknown"
