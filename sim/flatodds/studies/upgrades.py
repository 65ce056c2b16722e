"""What next: sensible changes to a rig and its habits, ranked by what they do to the odds.

Every change is one more variant of a comparison, so all live the same weather and household,
and a change too small to be seen is said to be that. Sizes of the changes are common practice,
no source: one more thing of a usual size.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from flatodds.errors import Problem, ScenarioError, UsageError
from flatodds.scenario.variants import Variant, prices_in
from flatodds.studies.compare import MEMBERS as MEMBERS
from flatodds.studies.compare import Comparison, compare
from flatodds.studies.variants import Progress
from flatodds.studies.why_not import why_not

if TYPE_CHECKING:
    import xarray as xr

    from flatodds.scenario import Scenario

PANEL_W = 200  # this and the next: one more as usually sold; own choice
BATTERY_AH = 100  # at the bank's own voltage
STEEPER_DEG, STEEPEST_DEG = 15.0, 70.0  # winter tilt: latitude and this more, at most that
GENERATOR = {"watts": 1000}  # small and carried by hand; own choice
DRIVE = {"amps": 30.0, "every_days": 3}  # an hour or two on the road now and then; own choice
LESS = 0.8  # a fifth less use; own choice
PAD_W = 60.0  # own choice
LEAD = ("agm", "flooded", "gel")
KEPT_OF_BANK = ("volts", "amp_hours", "arrival_charge_frac", "location")
ALL_DAY_H, WAKING_H = 24.0, 15.0  # definition; as the medium pattern has it


@dataclass(frozen=True, slots=True)
class Change:
    """One sensible change.

    Attributes
    ----------
    kind : str
        ``panels``, ``battery``, ``habit``, ``charging``, ``pad``, or ``own``: the scenario's.
    """

    kind: str
    name: str
    changes: Mapping[str, Any]
    free: bool = False


@dataclass(frozen=True)
class Upgrades:
    """Changes with what they do, best first in `summary`.

    Attributes
    ----------
    comparison : Comparison
        The scenario and every change, over the same members.
    changes : tuple of Change
        In the order of the comparison's variants after the first.
    """

    comparison: Comparison
    changes: tuple[Change, ...]

    @property
    def dataset(self) -> xr.Dataset:
        """Arrays of the comparison."""
        return self.comparison.dataset

    def summary(self) -> dict[str, Any]:
        """Everything people are told, as plain numbers."""
        found = self.comparison.summary()
        first, *others = found.pop("variants")
        rows = [self._row(k, row) for k, row in enumerate(others)]
        rows.sort(key=lambda row: (row["difference"]["estimate"], row["name"]))
        return {**found, "study": "upgrades", "as_written": first, "upgrades": rows}

    def _row(self, k: int, row: dict[str, Any]) -> dict[str, Any]:
        change, lived = self.changes[k], self.comparison.lived
        harm = row["difference"]["low"] > 0.0
        drop = -row["difference"]["estimate"]
        cost, mass, area = (row[f"extra_{key}"] for key in ("cost", "mass_kg", "area_m2"))
        seen = row["difference"]["high"] < 0.0
        reason = why_not(lived[0], lived[k + 1], change.kind, change.changes)
        return {
            **row,
            "kind": change.kind,
            "seen": seen,
            "drop_per_100_money": _each(drop, cost, 100.0),
            "drop_per_10_kg": _each(drop, mass, 10.0),
            "drop_per_m2": _each(drop, area, 1.0),
            "why_not": "" if seen or harm else reason,
        }


def _each(drop: float, amount: float | None, per: float) -> float | None:
    """Drop in odds for so much of something; None where it is not known or not needed."""
    return None if amount is None or amount <= 0.0 else drop * per / amount


def sensible(scenario: Scenario) -> tuple[Change, ...]:
    """List the changes that make sense for a rig, those it can be written with."""
    found = []
    for change in _candidates(scenario):
        try:
            scenario.with_changes({"variant": None, **change.changes})
        except ScenarioError:
            continue  # this rig has no such word, or the change is at odds with another
        found.append(change)
    return tuple(found)


def _candidates(scenario: Scenario) -> Iterator[Change]:
    yield from _panels(scenario)
    amp_hours = scenario.bank.amp_hours
    yield Change(
        "battery",
        f"one more battery ({BATTERY_AH} Ah)",
        {"bank.amp_hours": amp_hours + BATTERY_AH},
    )
    if scenario.bank.chemistry in LEAD:
        bank = {k: v for k, v in scenario.document["bank"].items() if k in KEPT_OF_BANK}
        yield Change(
            "battery",
            "lithium instead of lead, same Ah",
            {"bank": {**bank, "chemistry": "lithium"}, "household.reserve_frac": None},
        )
    if scenario.inverter.watts > 0.0 and scenario.inverter.hours_on >= ALL_DAY_H:
        yield Change("habit", "inverter off at night", {"inverter.hours_on": WAKING_H}, free=True)
    less = _less(scenario)
    if less:
        yield Change("habit", "a fifth less of all you switch on", less, free=True)
    if "generator" not in scenario.document:
        yield Change(
            "charging", f"small generator ({GENERATOR['watts']} W)", {"generator": GENERATOR}
        )
    if scenario.home != "cabin" and "drive" not in scenario.document:
        yield Change("charging", "charger on drives, every third day", {"drive": DRIVE})
    if scenario.bank.charge_cold_limit_c is not None and not scenario.bank.heating_pad_w:
        pad = {"bank.heating_pad_w": PAD_W}
        yield Change("pad", f"heating pad under the battery ({PAD_W:g} W)", pad)


def _panels(scenario: Scenario) -> Iterator[Change]:
    """One more panel, and flat panels stood up for winter."""
    written = scenario.document["array"]
    entries = [written] if isinstance(written, dict) else written
    if "watts" in entries[0]:
        watts = {"array.0.watts": entries[0]["watts"] + PANEL_W}
        yield Change("panels", f"one more panel ({PANEL_W} W)", watts)
    flat = [
        k for k, array in enumerate(scenario.arrays) if array.tilt_deg == 0.0 and array.watts > 0.0
    ]
    if flat:
        latitude = max(abs(stay.latitude) for stay in scenario.stays)
        tilt = min(round(latitude + STEEPER_DEG), STEEPEST_DEG)
        changes = {f"array.{k}.tilt_deg": tilt for k in flat}
        yield Change("panels", f"flat panels tilted to {tilt:g} degrees", changes)


def _less(scenario: Scenario) -> dict[str, Any]:
    """Every appliance that runs now and then, a fifth less often; medical ones never."""
    written = scenario.document.get("appliance", [])
    entries = [dict(e) for e in ([written] if isinstance(written, dict) else written)]
    own = {entry.get("name") or entry.get("use"): entry for entry in entries}
    touched = False
    for use in scenario.appliances:
        if use.kind != "uses" or use.medical or use.times_a_day <= 0.0:
            continue
        if use.name not in own:
            own[use.name] = {"use": use.name}
            entries.append(own[use.name])
        own[use.name]["times_a_day"] = use.times_a_day * LESS
        if use.times_a_day_weekend != use.times_a_day:
            own[use.name]["times_a_day_weekend"] = use.times_a_day_weekend * LESS
        touched = True
    return {"appliance": entries} if touched else {}


def upgrades(
    scenario: Scenario,
    *,
    budget: float | None = None,
    members: int = MEMBERS,
    seed: int = 1,
    threads: int | None = None,
    progress: Progress | None = None,
) -> Upgrades:
    """Rank sensible changes, and the scenario's own variants, by the drop in odds.

    Parameters
    ----------
    scenario : Scenario
        As written; prices it states make the ranking by money and mass.
    budget : float, optional
        Leave out changes known to cost more than this, in the user's money.
    members, seed, threads, progress
        As for `compare`.

    Raises
    ------
    UsageError
        If no change is left, or a number is outside its range.
    """
    from flatodds.scenario.variants import changed, variants_in
    from flatodds.studies.prices import extra_of

    if budget is not None and not 0.0 <= budget < 1e9:
        raise UsageError("The budget must be a number of money, 0 or more.")
    own = variants_in(scenario)
    changes = [*sensible(scenario), *(Change("own", v.name, v.changes) for v in own)]
    stated = {variant.name: variant for variant in own}
    variants = [
        stated.get(c.name) or Variant(c.name, c.changes, cost=0.0 if c.free else None)
        for c in changes
    ]
    if budget is not None:
        others = changed(scenario, variants)
        prices = prices_in(scenario)
        costs = [
            extra_of(scenario, o, v, prices).cost for o, v in zip(others, variants, strict=True)
        ]
        kept = [k for k, cost in enumerate(costs) if cost is None or cost <= budget]
        changes, variants = [changes[k] for k in kept], [variants[k] for k in kept]
        if not changes:
            known = [cost for cost in costs if cost is not None]
            money = prices.currency or "money"
            raise UsageError(
                Problem(
                    "budget",
                    f"No change to try costs at most {budget:g} {money}.",
                    f"The cheapest known costs {min(known):g}.",
                )
            )
    found = compare(
        scenario, variants, members=members, seed=seed, threads=threads, progress=progress
    )
    return Upgrades(found, tuple(changes))
