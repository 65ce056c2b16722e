"""When can we come: the odds of a stay by the week of arrival, round the year.

Every arrival is a stay of its own with its own charge, but all live the same weather years:
draws belong to days, so two stays that overlap meet the same days.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

from flatodds.errors import outside_odds, outside_share, refuse
from flatodds.outcomes.lived import (
    chance,
    chance_range,
    dataset_of_variants,
    ever_flat,
    may_be_as_good,
    total,
)
from flatodds.scenario.dates import LENGTHS, MONTHS
from flatodds.studies.arguments import number_problem
from flatodds.studies.variants import Progress, head_of, live_scenarios
from flatodds.sun import DAYS

if TYPE_CHECKING:
    import xarray as xr

    from flatodds.engine.many import Lived
    from flatodds.scenario import Scenario

MEMBERS = 1000  # even odds are told to within some 3 of 100; own choice
NIGHTS = 14  # own choice
MOST_NIGHTS = 120  # own choice
WANTED_ODDS = 0.05  # own choice
WEEKS = tuple(range(0, 364, 7))  # first days of 52 weeks, days of the year from 0
SEASONS = ("winter", "spring", "summer", "autumn")


@dataclass(frozen=True, slots=True)
class Place:
    """One place of the scenario: its name and latitude [degrees]."""

    name: str
    latitude: float


@dataclass(frozen=True)
class Arrivals:
    """Stays at one or several places, beginning in every week of the year.

    Attributes
    ----------
    scenario : Scenario
        The rig and household; its stays name the places.
    places : tuple of Place
    nights : int
    charge_frac : float
        Charge on each arrival [1].
    wanted_odds : float
        Chance of running flat that would be taken [1].
    lived : tuple of tuple of Lived
        By place and week.
    """

    scenario: Scenario
    places: tuple[Place, ...]
    nights: int
    charge_frac: float
    wanted_odds: float
    lived: tuple[tuple[Lived, ...], ...]

    @cached_property
    def dataset(self) -> xr.Dataset:
        """Arrays by arrival, with place and first day of the year (from 0) as coordinates."""
        names = [f"{p.name}, {day_text(doy)}" for p in self.places for doy in WEEKS]
        attrs = {"title": self.scenario.title, "study": "arrivals", "nights": self.nights}
        flat = [one for row in self.lived for one in row]
        data = dataset_of_variants(names, flat, attrs)
        place = [p.name for p in self.places for _ in WEEKS]
        return data.assign_coords(
            place=("variant", place), first_doy=("variant", list(WEEKS) * len(self.places))
        )

    def summary(self) -> dict[str, Any]:
        """Everything people are told, as plain numbers."""
        return {
            **head_of("arrivals", self.scenario, self.lived[0][0]),
            "nights": self.nights,
            "charge_frac": self.charge_frac,
            "wanted_odds": self.wanted_odds,
            "places": [self._place(k) for k in range(len(self.places))],
        }

    def _place(self, k: int) -> dict[str, Any]:
        weeks: list[dict[str, Any]] = [
            {
                "first_doy": doy,
                "first_day": day_text(doy),
                "odds_flat": chance(one, ever_flat(one)),
                "odds_flat_range": chance_range(one, ever_flat(one)),
                "did_without_kwh": float(total(one, "energy_not_served_wh").mean() / 1000.0),
                "generator_hours": float(total(one, "generator_hours").mean()),
            }
            for doy, one in zip(WEEKS, self.lived[k], strict=True)
        ]
        good = spells([w["odds_flat"]["estimate"] <= self.wanted_odds for w in weeks])
        arriving = {week["first_day"]: week["first_doy"] for week in weeks}
        return {
            "name": self.places[k].name,
            "weeks": weeks,
            "seasons": self._seasons(k, weeks),
            "good": good,
            "leave_by": [day_text((arriving[last] + self.nights) % DAYS) for _, last in good],
            "best": self._best(k, weeks),
        }

    def _seasons(self, k: int, weeks: Sequence[dict[str, Any]]) -> list[dict[str, Any]]:
        """Mean and worst chance, and mean generator hours, of arrivals in each season."""
        found = []
        for season in SEASONS:
            latitude = self.places[k].latitude
            inside = [w for w in weeks if season_of(w["first_doy"], latitude) == season]
            chances = [week["odds_flat"]["estimate"] for week in inside]
            hours = [week["generator_hours"] for week in inside]
            found.append(
                {
                    "season": season,
                    "odds_flat_mean": sum(chances) / len(chances),
                    "odds_flat_worst": max(chances),
                    "generator_hours_mean": sum(hours) / len(hours),
                }
            )
        return found

    def _best(self, k: int, weeks: Sequence[dict[str, Any]]) -> list[str]:
        """First days that cannot be told from the best one."""
        chances = [week["odds_flat"]["estimate"] for week in weeks]
        at = chances.index(min(chances))
        best = self.lived[k][at]
        return [
            week["first_day"]
            for week, one in zip(weeks, self.lived[k], strict=True)
            if may_be_as_good(best, one, (ever_flat(best), ever_flat(one)), len(weeks))
        ]


def day_text(doy: int) -> str:
    """Day of the year, from 0, as people write it: ``"10 Feb"``."""
    rest = doy
    for month, length in zip(MONTHS, LENGTHS, strict=True):
        if rest < length:
            return f"{rest + 1} {month[:3]}"
        rest -= length
    raise ValueError(f"{doy} is no day of the year")


def season_of(doy: int, latitude: float) -> str:
    """Season by calendar months: winter is December to February, in the south June to August."""
    month = next(k for k in range(12) if doy < sum(LENGTHS[: k + 1]))
    return SEASONS[((month + 1) // 3 + (0 if latitude >= 0.0 else 2)) % 4]


def spells(good: Sequence[bool]) -> list[list[str]]:
    """First and last day of the arrivals in every run of good weeks; runs pass the new year."""
    if all(good):
        return [[day_text(WEEKS[0]), day_text(WEEKS[-1])]]
    count = len(good)
    starts = [k for k in range(count) if good[k] and not good[k - 1]]
    found = []
    for first in starts:
        last = first
        while good[(last + 1) % count]:
            last += 1
        found.append([day_text(WEEKS[first]), day_text(WEEKS[last % count])])
    return found


def arrivals(
    scenario: Scenario,
    *,
    nights: int = NIGHTS,
    charge_frac: float = 1.0,
    wanted_odds: float = WANTED_ODDS,
    members: int = MEMBERS,
    seed: int = 1,
    threads: int | None = None,
    progress: Progress | None = None,
) -> Arrivals:
    """Work out the odds of a stay for every week of arrival, at every place of the scenario.

    Parameters
    ----------
    scenario : Scenario
        Its stays name the places; their dates do not matter.
    nights : int
        Length of each stay.
    charge_frac : float
        Charge on arrival [1]; full unless stated, as after a day's drive.
    wanted_odds : float
        Chance of running flat that would be taken [1].
    members, seed, threads, progress
        As for `compare`.

    Raises
    ------
    UsageError
        A number outside its range; tells of all.
    """
    refuse(
        number_problem("nights", nights, 1, MOST_NIGHTS),
        outside_share("charge", charge_frac),
        outside_odds("odds", wanted_odds),
    )
    written = scenario.document["stay"]
    entries = [written] if isinstance(written, dict) else written
    places = {(stay.latitude, stay.longitude): n for n, stay in enumerate(scenario.stays)}
    which = sorted(places.values())
    scenarios = [
        scenario.with_changes(
            {
                "variant": None,
                "stay": [
                    {
                        **entries[n],
                        "first_day": day_text(doy),
                        "nights": nights,
                        "arrival_charge_frac": charge_frac,
                    }
                ],
            }
        )
        for n in which
        for doy in WEEKS
    ]
    found = live_scenarios(
        scenarios, members=members, seed=seed, threads=threads, progress=progress
    )
    each = len(WEEKS)
    return Arrivals(
        scenario=scenario,
        places=tuple(Place(scenario.stays[n].name, scenario.stays[n].latitude) for n in which),
        nights=nights,
        charge_frac=charge_frac,
        wanted_odds=wanted_odds,
        lived=tuple(tuple(found[k : k + each]) for k in range(0, len(found), each)),
    )
