"""How much cooling a rig can hold: hours a day, share of hot days, and the odds with it.

The scenario's air conditioner is lived by the scenario's own rule and running whenever it is
hot, each without and with a generator, beside the same home without any. All live the same
weather and household. A hot day is held when it is never warmer inside than the household's
comfort at the end of an hour, on a day that would have had such an hour without cooling.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from flatodds.catalog.coolers import coolers
from flatodds.errors import Problem, UsageError
from flatodds.outcomes import Outcomes
from flatodds.outcomes.amounts import mixture_mean
from flatodds.outcomes.odds import mixture_proportion, mixture_range, sample_of
from flatodds.scenario.dates import LENGTHS, MONTHS
from flatodds.studies.simulate import check_numbers, simulate
from flatodds.studies.variants import Progress, weather_told

if TYPE_CHECKING:
    import xarray as xr

    from flatodds.scenario import Scenario

MEMBERS = 512  # chances to about 2 of 100, hours to a few hundredths; own choice
GENERATOR_W = 2000  # where the scenario has none: common practice, no source
ABOVE_LINE_FRAC = 0.05  # charge over the cooling's line at which that one starts: own choice
SHARED = ("case_weight", "sun_factor", "use_factor")  # coordinates
KEPT = ("hours_flat", "nights_flat", "generator_hours", "fuel_l", "hot_hours", "cooling_hours")
KEPT_OF_COOLING = ("hot_hours_uncooled", "cooling_served_wh", "hot_days_uncooled", "days_held")

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Way:
    """One way to cool.

    Attributes
    ----------
    name : str
    rule : str
        ``none``, ``as written`` or ``whenever hot``.
    generator : bool
        Whether a generator may run.
    changes : mapping
        What differs from the scenario, by dotted keys.
    """

    name: str
    rule: str
    generator: bool
    changes: Mapping[str, Any]


@dataclass(frozen=True)
class CoolingStudy:
    """The ways to cool, over the same members.

    Attributes
    ----------
    scenario : Scenario
        With its air conditioner, and the stays lived.
    ways : tuple of Way
        First without an air conditioner.
    found : tuple of Outcomes
        What each way lived through.
    """

    scenario: Scenario
    ways: tuple[Way, ...]
    found: tuple[Outcomes, ...]

    @cached_property
    def dataset(self) -> xr.Dataset:
        """Sums by way, case, member and period; zero where a way has no such thing."""
        import xarray as xr

        names = [way.name for way in self.ways]
        first = self.found[0].dataset
        cases = [str(case) for case in first["case"].to_numpy()]
        sets = [one.dataset.sel(case=cases) for one in self.found]
        variables = {}
        for key in (*KEPT, *KEPT_OF_COOLING):
            having = [data for data in sets if key in data]
            if not having:
                continue
            empty = np.zeros(having[0][key].shape)
            values = [data[key].to_numpy() if key in data else empty for data in sets]
            dims = ("way", *having[0][key].dims)
            variables[key] = (dims, np.stack(values), dict(having[0][key].attrs))
        coords = {key: value for key, value in first.coords.items() if "day" not in value.dims}
        return xr.Dataset(variables, {**coords, "way": names}, {**first.attrs, "study": "cooling"})

    def summary(self) -> dict[str, Any]:
        """Everything people are told, as plain numbers."""
        told = self.found[0].summary()
        facts = self.found[0].facts
        head = ("flatodds", "scenario", "seed", "members", "confidence", "theta_points")
        cooling = self.scenario.cooling
        machine = self.scenario.with_changes({"variant": None, **self.ways[2].changes}).generator
        assert machine is not None  # noqa: S101  (the third way has one)
        assert cooling is not None  # noqa: S101  (`air_conditioning` has seen to it)
        return {
            **{key: told[key] for key in head},
            "study": "cooling",
            "record_years": facts.record_years,
            "weather": weather_told(facts.bases),
            "unit": cooling.unit,
            "hold_c": cooling.hold_c,
            "need": cooling.need,
            "only_above_charge_frac": cooling.only_above_charge_frac,
            "generator_watts": machine.watts,
            "generator_start_frac": machine.start_frac,
            "comfort_high_c": facts.comfort_high_c,
            "nights": sum(stay.nights for stay in self.scenario.stays),
            "ways": [self._way(k) for k in range(len(self.ways))],
        }

    def _way(self, k: int) -> dict[str, Any]:
        data, way = self.found[k].dataset, self.ways[k]
        every = list(range(data.sizes["period"]))
        months = [
            {
                "stay": self.scenario.stays[int(data["period_stay"][at])].name,
                "month": int(data["period_month"][at]),
                **self._told(k, [at]),
            }
            for at in every
        ]
        return {
            "name": way.name,
            "rule": way.rule,
            "generator": way.generator,
            **self._told(k, every),
            "months": months,
        }

    def _told(self, k: int, periods: Sequence[int]) -> dict[str, Any]:
        """Chance, and means a day, over some periods of one way."""
        data = self.found[k].dataset
        weights = data["case_weight"].to_numpy()
        nights = int(data["period_nights"].to_numpy()[list(periods)].sum())

        def sums(key: str) -> Floats:
            return np.asarray(data[key].to_numpy()[:, :, list(periods)].sum(axis=2))

        def each_day(key: str, scale: float = 1.0) -> float | None:
            return mixture_mean(sums(key) * scale / nights, weights) if key in data else None

        counted = sample_of(data.sizes["member"], self.found[k].facts.record_years)
        flat = sums("nights_flat") > 0.0
        cooled = "cooling_hours" in data
        hot = mixture_mean(sums("hot_days_uncooled"), weights) if cooled else None
        held = mixture_mean(sums("days_held"), weights) if cooled else None
        hot_hours = each_day("hot_hours") or 0.0
        bare = each_day("hot_hours_uncooled")
        return {
            "nights": nights,
            "odds_flat": mixture_proportion(flat, weights, counted),
            "odds_flat_range": mixture_range(flat, weights, counted),
            "hot_hours_day": hot_hours,
            "held_hours_day": None if bare is None else max(bare - hot_hours, 0.0),
            "cooling_hours_day": each_day("cooling_hours"),
            "cooling_kwh_day": each_day("cooling_served_wh", 1e-3),
            "hot_days": hot,
            "held_frac": held / hot if hot and held is not None else None,
            "generator_hours_day": each_day("generator_hours") or 0.0,
        }


def ways_of(scenario: Scenario) -> tuple[Way, ...]:
    """Ways to cool that a scenario with an air conditioner is asked about."""
    cooling = scenario.cooling
    assert cooling is not None  # noqa: S101  (`air_conditioning` has seen to it)
    own = "generator" in scenario.document
    if own:
        off: dict[str, Any] = {"generator": None}
        on: dict[str, Any] = {}
    else:
        start = {}
        if cooling.need == "above-charge":
            start["start_frac"] = min(cooling.only_above_charge_frac + ABOVE_LINE_FRAC, 0.75)
        off, on = {}, {"generator": {"watts": GENERATOR_W, **start}}
    rules: list[tuple[str, str, dict[str, Any]]] = [("as written", "by its rule", {})]
    if cooling.need != "must":
        always = {"cooling.need": "must", "cooling.only_above_charge_frac": None}
        rules.append(("whenever hot", "whenever hot", always))
    ways = [Way("no cooling", "none", False, {**off, "cooling": None})]
    for rule, words, changes in rules:
        ways.append(Way(words, rule, False, {**off, **changes}))
        ways.append(Way(f"{words} + generator", rule, True, {**on, **changes}))
    return tuple(ways)


def with_months(scenario: Scenario, months: tuple[int, int]) -> Scenario:
    """Scenario of one stay through whole months at its first place, first and last of them."""
    first, last = months
    count = (last - first) % 12 + 1
    nights = sum(LENGTHS[(first - 1 + k) % 12] for k in range(count))
    written = scenario.document["stay"]
    entry = dict(written if isinstance(written, dict) else written[0])
    stay = {**entry, "first_day": f"1 {MONTHS[first - 1][:3]}", "nights": nights}
    return scenario.with_changes({"stay": [stay], "variant": None})


def parse_months(text: str) -> tuple[int, int]:
    """Read months from ``"may-sep"``, ``"5-9"`` or a single one.

    Raises
    ------
    UsageError
        If the text names no months.
    """
    parts = [part.strip().lower() for part in text.split("-")]
    found = []
    for part in parts:
        named = [k + 1 for k, name in enumerate(MONTHS) if name.lower().startswith(part)]
        if part.isascii() and part.isdigit() and 1 <= int(part[:3]) <= 12:
            found.append(int(part[:3]))
        elif len(part) >= 3 and len(named) == 1:
            found.append(named[0])
    if len(found) != len(parts) or not 1 <= len(parts) <= 2:
        hint = "Write: --months may-sep"
        raise UsageError(Problem("months", f"{text[:40]!r} names no months.", hint))
    return found[0], found[-1]


def air_conditioning(
    scenario: Scenario,
    *,
    unit: str | None = None,
    months: tuple[int, int] | None = None,
    members: int = MEMBERS,
    seed: int = 1,
    threads: int | None = None,
    progress: Progress | None = None,
) -> CoolingStudy:
    """Work out how much cooling a rig can hold, without and with a generator.

    Parameters
    ----------
    scenario : Scenario
        With an air conditioner under ``[cooling]``, or `unit` says which.
    unit : str, optional
        Kind of air conditioner by its name in the catalogue, in place of the scenario's.
    months : tuple of int, optional
        First and last month to live through at the first place, 1 to 12, instead of the
        scenario's stays.
    members, seed, threads, progress
        As for `compare`.

    Raises
    ------
    UsageError
        There is no air conditioner, or a number is outside its range.
    ScenarioError
        The air conditioner cannot be used with this rig.
    """
    check_numbers(members, seed, threads, None)
    kinds = ", ".join(coolers())
    if unit is not None and unit not in coolers():
        raise UsageError(Problem("unit", f"There is no {unit[:60]!r}.", f"There are: {kinds}."))
    if unit is not None:
        scenario = scenario.with_changes({"cooling": {"unit": unit}})
    if scenario.cooling is None:
        hint = f"Add a table [cooling] with its unit, or: --unit NAME. There are: {kinds}."
        raise UsageError(Problem("cooling", "The scenario has no air conditioner.", hint))
    if months is not None:
        scenario = with_months(scenario, months)
    ways = ways_of(scenario)
    others = [scenario.with_changes({"variant": None, **way.changes}) for way in ways]
    found = []
    for at, other in enumerate(others):
        found.append(simulate(other, members=members, seed=seed, threads=threads))
        if progress is not None:
            progress(at + 1, len(ways))
    return CoolingStudy(scenario, ways, tuple(found))
