"""What each appliance costs: energy, share of the bank, and what dropping it does to the odds.

Every appliance, the air conditioner among them, is dropped once and the household lived again
with the same draws, in the ``as_estimated`` case only, so that differences are paired by member.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

from flatodds.scenario import scenario_from

if TYPE_CHECKING:
    from collections.abc import Sequence

    from flatodds.engine.many import Lived
    from flatodds.outcomes.odds import Proportion
    from flatodds.scenario import Scenario
    from flatodds.studies.variants import Progress

MEMBERS = 512  # shows a paired difference of about 2 of 100; own choice
FIXED = ("furnace", "air-heater")  # kinds that belong to the home's heat, not to be dropped


@dataclass(frozen=True, slots=True)
class Cost:
    """What one appliance costs.

    Attributes
    ----------
    kwh_day : float
        Energy a day at the battery that is not asked for without it [kWh].
    bank_frac : float
        That energy as a share of the full bank [1].
    odds_change : Proportion
        Chance of running flat without it less that with it [1].
    """

    name: str
    kwh_day: float
    bank_frac: float
    odds_change: Proportion


def dropped(scenario: Scenario, name: str) -> Scenario:
    """Give the household without one of its appliances."""
    document = scenario.document
    entries = document.get("appliance", [])
    entries = [entries] if isinstance(entries, dict) else list(entries)
    use = next(one for one in scenario.appliances if one.name == name)
    kept = [entry for entry in entries if (entry.get("name") or entry.get("use")) != name]
    if use.use is not None:
        kept.append({"use": use.use, "name": name, "times_a_day": 0})
    document["appliance"] = kept
    return scenario_from(
        document, scenario.source_name, folder=scenario.folder, title=scenario.title
    )


def appliance_costs(
    scenario: Scenario,
    *,
    members: int = MEMBERS,
    seed: int = 1,
    threads: int | None = None,
    progress: Progress | None = None,
) -> list[Cost]:
    """Work out what each appliance costs, the most telling first.

    Parameters
    ----------
    scenario : Scenario
        The household as it is.
    members, seed, threads
        As for `simulate`.
    progress : callable, optional
        Called with the blocks finished, and their number in all.
    """
    from flatodds.studies.variants import live_scenarios

    names = [use.name for use in scenario.appliances if use.kind not in FIXED]
    rigs = [scenario, *(dropped(scenario, name) for name in names)]
    if scenario.cooling is not None:
        names.append(scenario.cooling.unit)
        rigs.append(scenario.with_changes({"variant": None, "cooling": None}))
    lived = live_scenarios(
        rigs, members=members, seed=seed, threads=threads, progress=progress, centre_only=True
    )
    nights = sum(stay.nights for stay in scenario.stays)
    costs = [
        _cost(name, scenario.bank.capacity_wh, nights, (lived[0], one))
        for name, one in zip(names, lived[1:], strict=True)
    ]
    return sorted(costs, key=lambda cost: (cost.odds_change["estimate"], -cost.kwh_day))


def _cost(name: str, bank_wh: float, nights: int, pair: tuple[Lived, Lived]) -> Cost:
    from flatodds.outcomes.lived import difference, ever_flat, total

    with_it, without = pair
    saved_wh = 0.0
    for amount in ("demand_wh", "spare_served_wh"):
        saved_wh += float((total(with_it, amount) - total(without, amount)).mean()) / nights
    flags = (ever_flat(with_it), ever_flat(without))
    return Cost(name, saved_wh / 1000.0, saved_wh / bank_wh, difference(with_it, without, flags))


def cost_rows(costs: Sequence[Cost]) -> list[dict[str, Any]]:
    """Write the costs as plain numbers for JSON."""
    return [asdict(cost) for cost in costs]
