"""Which of several rigs: the same weather and household for all, differences paired."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

from flatodds.errors import UsageError
from flatodds.outcomes.lived import (
    chance,
    chance_range,
    dataset_of_variants,
    difference,
    ever,
    ever_flat,
    mean_difference,
    total,
)
from flatodds.scenario.variants import Variant, changed, prices_in
from flatodds.studies.prices import Extra, extra_of, extra_of_whole, usual_masses
from flatodds.studies.variants import Progress, head_of, live_scenarios

if TYPE_CHECKING:
    import xarray as xr

    from flatodds.engine.many import Lived
    from flatodds.scenario import Scenario

MEMBERS = 2000  # a paired difference of 1 of 100 shows at about half this; own choice
A_WEEK = 7  # nights wholly without: what one more member might bring; judgement, wide side
AS_WRITTEN = "as written"
NOTHING = Extra(0.0, 0.0, 0.0)


@dataclass(frozen=True)
class Comparison:
    """Several rigs over the same members.

    Attributes
    ----------
    scenarios, names : tuple
        What was compared; the first is what the others are held against.
    changes : tuple of mapping
        What differs from the first, by dotted keys.
    extras : tuple of Extra
        What each costs, weighs and takes more than the first.
    lived : tuple of Lived
        What each lived through.
    """

    scenarios: tuple[Scenario, ...]
    names: tuple[str, ...]
    changes: tuple[Mapping[str, Any], ...]
    extras: tuple[Extra, ...]
    lived: tuple[Lived, ...]

    @cached_property
    def dataset(self) -> xr.Dataset:
        """Yes or no by variant, case, member and stay; amounts by variant, member and stay."""
        first = self.scenarios[0]
        attrs = {"title": first.title, "sha256": first.sha256, "study": "compare"}
        return dataset_of_variants(self.names, self.lived, attrs)

    def summary(self) -> dict[str, Any]:
        """Everything people are told, as plain numbers."""
        return {
            **head_of("compare", self.scenarios[0], self.lived[0]),
            "currency": prices_in(self.scenarios[0]).currency,
            "usual_masses": usual_masses(prices_in(self.scenarios[0])),
            "variants": [self._row(k) for k in range(len(self.names))],
        }

    def _row(self, k: int) -> dict[str, Any]:
        first, lived, extra = self.lived[0], self.lived[k], self.extras[k]
        flat = ever_flat(lived)
        nights = sum(stay.nights for stay in self.scenarios[k].stays)
        without = total(lived, "energy_not_served_wh") + total(lived, "gone_without_wh")
        before = total(first, "energy_not_served_wh") + total(first, "gone_without_wh")
        row: dict[str, Any] = {
            "name": self.names[k],
            "changes": dict(self.changes[k]),
            "odds_flat": chance(lived, flat),
            "odds_flat_range": chance_range(lived, flat),
            "odds_reserve": chance(lived, ever(lived.reserve)),
            "nights": nights,
            "nights_flat": float(total(lived, "nights_flat").mean()),
            "did_without_kwh": float(without.mean() / 1000.0),
            "spilled_kwh": float(total(lived, "spilled_wh").mean() / 1000.0),
            "generator_hours": self._hours(lived),
            "extra_cost": extra.cost,
            "extra_mass_kg": extra.mass_kg,
            "extra_area_m2": extra.area_m2,
            "stays": [
                {"name": stay.name, "odds_flat": chance(lived, lived.flat[:, :, n])}
                for n, stay in enumerate(self.scenarios[k].stays)
            ],
            "difference": None,
            "did_without_difference_kwh": None,
        }
        if k > 0:
            row["difference"] = difference(first, lived, (ever_flat(first), flat))
            a_week_wh = total(lived, "demand_wh").mean() / nights * min(nights, A_WEEK)
            row["did_without_difference_kwh"] = mean_difference(
                first, lived, (before / 1000.0, without / 1000.0), float(a_week_wh) / 1000.0
            )
        return row

    def _hours(self, lived: Lived) -> float | None:
        """Mean generator hours of the itinerary; None where no rig has run one."""
        ran = [total(one, "generator_hours").any() for one in self.lived]
        return float(total(lived, "generator_hours").mean()) if any(ran) else None


def compare(
    scenario: Scenario,
    variants: Sequence[Variant],
    *,
    weather: xr.Dataset | None = None,
    members: int = MEMBERS,
    seed: int = 1,
    threads: int | None = None,
    progress: Progress | None = None,
) -> Comparison:
    """Compare a scenario with variants of itself over the same weather and household.

    Parameters
    ----------
    scenario : Scenario
        What the variants are held against.
    variants : sequence of Variant
        From `variants_in`, `typed_variant`, or made by hand.
    weather : xarray.Dataset, optional
        Hourly weather to use as it is, as for `simulate`.
    members, seed, threads
        As for `simulate`.
    progress : callable, optional
        Called with the blocks finished, and their number in all.

    Raises
    ------
    UsageError
        There is nothing to compare with, or a number is outside its range.
    ScenarioError
        A variant cannot be used; tells of all.
    """
    if not variants:
        raise UsageError(
            "There is nothing to compare with.\n"
            "  List variants under [[variant]], or: --change bank.amp_hours=400"
        )
    others = changed(scenario, variants)
    prices = prices_in(scenario)
    found = live_scenarios(
        [scenario, *others],
        members=members,
        seed=seed,
        weather=weather,
        threads=threads,
        progress=progress,
    )
    priced = [extra_of(scenario, o, v, prices) for o, v in zip(others, variants, strict=True)]
    return Comparison(
        scenarios=(scenario, *others),
        names=(AS_WRITTEN, *(variant.name for variant in variants)),
        changes=({}, *(variant.changes for variant in variants)),
        extras=(NOTHING, *priced),
        lived=tuple(found),
    )


def compare_scenarios(
    scenarios: Sequence[Scenario],
    *,
    members: int = MEMBERS,
    seed: int = 1,
    threads: int | None = None,
    progress: Progress | None = None,
) -> Comparison:
    """Compare whole scenarios, which may differ in everything; arguments as for `compare`."""
    if len(scenarios) < 2:
        raise UsageError("There is nothing to compare with; give several scenarios.")
    found = live_scenarios(
        scenarios, members=members, seed=seed, threads=threads, progress=progress
    )
    first, *others = scenarios
    return Comparison(
        scenarios=tuple(scenarios),
        names=_distinct([scenario.title for scenario in scenarios]),
        changes=tuple({} for _ in scenarios),
        extras=(NOTHING, *[extra_of_whole(first, o, prices_in(first)) for o in others]),
        lived=tuple(found),
    )


def _distinct(names: Sequence[str]) -> tuple[str, ...]:
    """Names with a number behind those that repeat."""
    return tuple(
        name if names.index(name) == k else f"{name} ({k + 1})" for k, name in enumerate(names)
    )
