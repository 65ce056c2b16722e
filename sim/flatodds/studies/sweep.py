"""A whole grid of rigs over the same weather and household: where enough is enough."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from flatodds.errors import (
    Problem,
    ScenarioError,
    outside_odds,
    refuse,
    usage_errors_together,
)
from flatodds.outcomes.lived import (
    chance,
    chance_range,
    dataset_of_variants,
    ever_flat,
    may_be_as_good,
    total,
)
from flatodds.scenario.variants import Variant, changed, prices_in
from flatodds.studies.grid import Axis, designs, written_at
from flatodds.studies.prices import Extra, extra_of, usual_masses
from flatodds.studies.simulate import check_numbers
from flatodds.studies.store import FileStore, study_hash
from flatodds.studies.variants import Progress, head_of

if TYPE_CHECKING:
    import xarray as xr

    from flatodds.engine.many import Lived
    from flatodds.scenario import Scenario
    from flatodds.weather.contract import WeatherTable

MEMBERS = 1000  # even odds are told to within some 3 of 100; own choice
WANTED_ODDS = 0.05  # own choice
MOST_PROBLEMS = 10  # told of a grid's designs; own choice


@dataclass(frozen=True)
class Sweep:
    """A grid of designs over the same members.

    Attributes
    ----------
    scenario : Scenario
        The one whose words are varied.
    axes : tuple of Axis
        One or two; designs run through the last axis fastest.
    variants, extras, lived : tuple
        Every design's changes, what it costs and weighs more, and what it lived through.
    wanted_odds : float
        Chance of running flat that the user would take [1].
    """

    scenario: Scenario
    axes: tuple[Axis, ...]
    variants: tuple[Variant, ...]
    extras: tuple[Extra, ...]
    lived: tuple[Lived, ...]
    wanted_odds: float

    @cached_property
    def odds(self) -> npt.NDArray[np.float64]:
        """Chance of running flat on the grid, of the axes' shape [1]."""
        found = [chance(one, ever_flat(one))["estimate"] for one in self.lived]
        return np.array(found).reshape([len(axis.values) for axis in self.axes])

    @cached_property
    def dataset(self) -> xr.Dataset:
        """Arrays by design, with the values of every axis as coordinates."""
        names = [variant.name for variant in self.variants]
        attrs = {"title": self.scenario.title, "sha256": self.scenario.sha256, "study": "sweep"}
        data = dataset_of_variants(names, self.lived, attrs)
        values = {
            axis.key: ("variant", [variant.changes[axis.key] for variant in self.variants])
            for axis in self.axes
        }
        return data.assign_coords(values)

    def summary(self) -> dict[str, Any]:
        """Everything people are told, as plain numbers."""
        rows = [self._row(k) for k in range(len(self.variants))]
        return {
            **head_of("sweep", self.scenario, self.lived[0]),
            "axes": [{"key": axis.key, "values": list(axis.values)} for axis in self.axes],
            "written": [written_at(self.scenario, axis) for axis in self.axes],
            "currency": prices_in(self.scenario).currency,
            "usual_masses": usual_masses(prices_in(self.scenario)),
            "wanted_odds": self.wanted_odds,
            "designs": rows,
            "smallest": self._smallest(rows),
            "least_cost": least(rows, "extra_cost", self.wanted_odds),
            "least_mass": least(rows, "extra_mass_kg", self.wanted_odds),
            "best": self._best(rows),
        }

    def _row(self, k: int) -> dict[str, Any]:
        lived, extra = self.lived[k], self.extras[k]
        flat = ever_flat(lived)
        without = total(lived, "energy_not_served_wh") + total(lived, "gone_without_wh")
        ran = total(lived, "generator_hours")
        return {
            "values": [self.variants[k].changes[axis.key] for axis in self.axes],
            "odds_flat": chance(lived, flat),
            "odds_flat_range": chance_range(lived, flat),
            "did_without_kwh": float(without.mean() / 1000.0),
            "spilled_kwh": float(total(lived, "spilled_wh").mean() / 1000.0),
            "generator_hours": float(ran.mean()),
            "extra_cost": extra.cost,
            "extra_mass_kg": extra.mass_kg,
            "stays": [
                {"name": stay.name, "odds_flat": chance(lived, lived.flat[:, :, n])}
                for n, stay in enumerate(self.scenario.stays)
            ],
        }

    def _smallest(self, rows: Sequence[dict[str, Any]]) -> list[int]:
        """Designs with the wanted odds such that none with less of an axis also has them."""
        if not all(axis.numeric for axis in self.axes):
            return []
        good = [k for k, row in enumerate(rows) if meets(row, self.wanted_odds)]

        def beaten(k: int) -> bool:
            own = rows[k]["values"]
            return any(
                other != k and all(a <= b for a, b in zip(rows[other]["values"], own, strict=True))
                for other in good
            )

        return [k for k in good if not beaten(k)]

    def _best(self, rows: Sequence[dict[str, Any]]) -> list[int]:
        """Design of the lowest chance, and all whose paired difference from it may be none."""
        first = min(range(len(rows)), key=lambda k: (rows[k]["odds_flat"]["estimate"], k))
        flat = [ever_flat(one) for one in self.lived]
        best = self.lived[first]
        return [
            k
            for k, one in enumerate(self.lived)
            if may_be_as_good(best, one, (flat[first], flat[k]), len(self.lived))
        ]


def meets(row: dict[str, Any], wanted: float) -> bool:
    """Whether a design's estimated chance is not above the wanted odds."""
    return bool(row["odds_flat"]["estimate"] <= wanted)


def least(rows: Sequence[dict[str, Any]], key: str, wanted: float) -> list[int]:
    """Cheapest (or lightest) design with the wanted odds, and all that may be as good.

    Those are designs that cost no more and whose sampling interval reaches down to the wanted
    odds, and designs with the odds at the same cost. Empty where nothing is known of cost.
    """
    known = [k for k, row in enumerate(rows) if row[key] is not None]
    if len({rows[k][key] for k in known}) < 2:
        return []
    good = [k for k in known if meets(rows[k], wanted)]
    if not good:
        return []
    lowest = min(rows[k][key] for k in good)
    near = [k for k in known if rows[k][key] <= lowest and rows[k]["odds_flat"]["low"] <= wanted]
    return sorted(near, key=lambda k: (rows[k][key], k))


def sweep(
    scenario: Scenario,
    axes: Sequence[Axis],
    *,
    wanted_odds: float = WANTED_ODDS,
    with_uncertainty: bool = False,
    weather: xr.Dataset | None = None,
    members: int = MEMBERS,
    seed: int = 1,
    threads: int | None = None,
    progress: Progress | None = None,
    store_folder: Path | None = None,
    cluster: str | None = None,
) -> Sweep:
    """Live a grid of designs in as few passes as possible.

    Parameters
    ----------
    scenario : Scenario
        Its words are varied.
    axes : sequence of Axis
        One or two, from `typed_axis` or made by hand.
    wanted_odds : float
        Chance of running flat that would be taken [1].
    with_uncertainty : bool
        Live every design at all points of what is not known about sun and use, instead of
        at the best guess only; some thirty times the work.
    weather : xarray.Dataset, optional
        Hourly weather to use as it is, as for `simulate`; then nothing is stored.
    members, seed, threads, progress
        As for `compare`.
    store_folder : Path, optional
        Where finished blocks are kept while the sweep goes on; a sweep that was interrupted
        finds them there and ends bitwise the same.
    cluster : str, optional
        Address of a dask scheduler, as in ``"tcp://10.0.0.1:8786"``, whose workers live the
        blocks instead of this machine's threads; the numbers are the same. Asks for the
        extra ``cluster``, here and there.

    Raises
    ------
    UsageError
        Axes or numbers that cannot be used; a cluster that cannot be reached.
    ScenarioError
        A design cannot be used; tells of all.
    StudyIncomplete
        The store cannot be written.
    """
    from flatodds.weather.contract import check_weather

    table = None if weather is None else check_weather(weather)
    usage_errors_together(
        lambda: refuse(outside_odds("odds", wanted_odds)),
        lambda: check_numbers(members, seed, threads, None if table is None else table.members),
        lambda: designs(axes),
    )
    variants = designs(axes)
    scenarios = _scenarios(scenario, variants)
    prices = prices_in(scenario)
    found = _live(
        scenarios,
        not with_uncertainty,
        (members, seed, threads),
        progress,
        None if table is not None else store_folder,
        table,
        cluster,
    )
    extras = [extra_of(scenario, s, v, prices) for s, v in zip(scenarios, variants, strict=True)]
    return Sweep(scenario, tuple(axes), tuple(variants), tuple(extras), tuple(found), wanted_odds)


def _scenarios(scenario: Scenario, variants: Sequence[Variant]) -> list[Scenario]:
    """Scenario of every design; what is wrong with many of them is told once."""
    try:
        return changed(scenario, variants)
    except ScenarioError as error:
        told: dict[tuple[str, str], Problem] = {}
        for one in error.problems:
            told.setdefault((one.found, one.hint), one)
        raise ScenarioError(list(told.values())[:MOST_PROBLEMS]) from None


def _live(
    scenarios: Sequence[Scenario],
    centre_only: bool,
    how: tuple[int, int, int | None],
    progress: Progress | None,
    store_folder: Path | None,
    weather: WeatherTable | None,
    cluster: str | None,
) -> list[Lived]:
    """Live the designs, keeping finished blocks in the store until all are done."""
    from flatodds.engine import prepare
    from flatodds.engine.many import live
    from flatodds.engine.passes import plan_passes
    from flatodds.studies.cluster import connected

    members, seed, threads = how
    if cluster is None:
        prepare.begin()
    passes = plan_passes(scenarios, weather, centre_only=centre_only)
    store = None
    if store_folder is not None:
        store = FileStore(store_folder, study_hash(passes, seed))
    with connected(cluster) as helpers:
        found = live(
            *(passes, members, seed),
            threads=threads,
            progress=progress,
            store=store,
            helpers=helpers,
        )
    if store is not None:
        store.complete(store.count())
    return found
