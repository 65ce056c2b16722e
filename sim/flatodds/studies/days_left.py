"""How long will what is in the bank now last: from a charge and a day, night by night.

One stay is lived from a known charge, which people read off a meter that is itself some points
off, so five charges around it are lived side by side. With the weather of the last days, members
start from what the generator's state then is; without it they know nothing of the weather.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property, partial
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from flatodds.errors import Problem, UsageError, outside_share, refuse, usage_errors_together
from flatodds.outcomes.odds import Proportion, mixture_proportion, paired_difference
from flatodds.scenario.dates import DayError, parse_day
from flatodds.studies.arguments import number_problem
from flatodds.studies.simulate import check_numbers
from flatodds.studies.variants import Progress, head_of, live_scenarios

if TYPE_CHECKING:
    import xarray as xr

    from flatodds.engine.many import Lived
    from flatodds.engine.plan import Plan, Start
    from flatodds.scenario import Scenario

MEMBERS = 1000  # even odds are told to within some 3 of 100; own choice
NIGHTS = 30  # ahead; beyond that the charge of today says nothing
MOST_NIGHTS = 120  # own choice
CHARGE_ERROR_FRAC = 0.05  # sd of a charge read off a meter; judgement, no source
CENTRE_FIRST = (0.0, -1.399810, -0.531914, 0.531914, 1.399810)  # fifths of a normal, as in plan
LEVELS = {"p10": 0.90, "p50": 0.50, "p90": 0.10}  # chance to get through so many nights; own choice
FAN = (0.10, 0.25, 0.50, 0.75, 0.90)  # levels of the bands; own choice

Bools = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class DaysLeft:
    """How long the charge lasts.

    Attributes
    ----------
    scenario : Scenario
        One stay from the day asked about.
    charge_frac : float
        Charge as that day begins [1].
    known : str
        What is known of the weather of the last days, in words; may be empty.
    without : tuple of str
        Appliances left out, each by itself.
    lived : tuple of tuple of Lived
        By what is left out (first nothing), then by charge (first the charge as read).
    """

    scenario: Scenario
    charge_frac: float
    known: str
    without: tuple[str, ...]
    lived: tuple[tuple[Lived, ...], ...]

    @property
    def nights(self) -> int:
        """Nights looked ahead: the last one lived has no morning, and is left off."""
        return self.scenario.stays[0].nights - 1

    def flat_by(self, which: int = 0) -> tuple[Bools, npt.NDArray[np.float64]]:
        """Whether the bank has run flat by the end of each night, and weights.

        Returns
        -------
        tuple
            (case, member, night), the cases of all charges one after the other, and the
            share of each case (case,) [1].
        """
        parts = self.lived[which]
        nights = np.concatenate([one.nights[:, :, : self.nights] for one in parts])
        weights = [[case.weight / len(parts) for case in one.cases] for one in parts]
        return np.logical_or.accumulate(nights, axis=2), np.concatenate(weights)

    def through(self, which: int = 0) -> list[Proportion]:
        """Chance to get through every night up to each one."""
        from flatodds.outcomes.lived import sample

        flat, weights = self.flat_by(which)
        counted = sample(self.lived[which][0])
        return [mixture_proportion(~flat[:, :, n], weights, counted) for n in range(self.nights)]

    def lasts(self, which: int = 0) -> dict[str, int | None]:
        """Nights got through with 90, 50 and 10 % chance; None: more than were looked ahead."""
        chances = [night["estimate"] for night in self.through(which)]
        found: dict[str, int | None] = {}
        for name, level in LEVELS.items():
            below = [n for n, chance in enumerate(chances) if chance < level - 1e-9]
            found[name] = below[0] if below else None
        return found

    def _dawns(self) -> npt.NDArray[np.float32]:
        """Charge at dawn as estimated, (member, night) [1]."""
        return self.lived[0][0].dawn[:, : self.nights]

    def dawn(self) -> dict[str, list[float]]:
        """Charge at dawn of each day as estimated, quantiles over members [1]."""
        values = np.quantile(self._dawns(), FAN, axis=0)
        return {
            f"p{round(100 * level):02d}": row.tolist()
            for level, row in zip(FAN, values, strict=True)
        }

    def summary(self) -> dict[str, Any]:
        """Everything people are told, as plain numbers."""
        stay = self.scenario.stays[0]
        return {
            **head_of("days-left", self.scenario, self.lived[0][0]),
            "charge_frac": self.charge_frac,
            "first_day": list(stay.first_day),
            "place": stay.place,
            "nights": self.nights,
            "known_of_the_weather": self.known,
            "lasts_nights": self.lasts(),
            "through": self.through(),
            "dawn_charge_frac": self.dawn(),
            "without": [self._without(k) for k in range(1, len(self.lived))],
        }

    def _without(self, which: int) -> dict[str, Any]:
        """Tell what leaving one appliance out changes."""
        (flat, weights), (less, _) = self.flat_by(), self.flat_by(which)
        years = self.lived[0][0].record_years
        change = paired_difference(
            flat[:, :, -1], less[:, :, -1], years=years, weights=weights.tolist()
        )
        return {
            "name": self.without[which - 1],
            "lasts_nights": self.lasts(which),
            "through": self.through(which),
            "difference": change,
        }

    @cached_property
    def dataset(self) -> xr.Dataset:
        """Flat nights by what is left out, case, member and night; charge at dawn."""
        import xarray as xr

        flags = [self.flat_by(k)[0] for k in range(len(self.lived))]
        weights = self.flat_by()[1]
        variables: dict[str, Any] = {
            "flat_by": (
                ("without", "case", "member", "night"),
                np.stack(flags),
                {"long_name": "bank has run flat by the end of the night"},
            ),
            "dawn_charge_frac": (
                ("member", "night"),
                self._dawns(),
                {"units": "1", "long_name": "charge at dawn as the night's day begins"},
            ),
        }
        coords: dict[str, Any] = {
            "without": ["nothing", *self.without],
            "night": np.arange(1, self.nights + 1),
            "case_weight": ("case", weights),
        }
        attrs = {"title": self.scenario.title, "study": "days-left", "known": self.known}
        return xr.Dataset(variables, coords, attrs)


def days_left(
    scenario: Scenario,
    charge_frac: float,
    first_day: str | None = None,
    *,
    nights: int = NIGHTS,
    lately: str | Sequence[float] | None = None,
    without: Sequence[str] = (),
    charge_error_frac: float = CHARGE_ERROR_FRAC,
    weather: xr.Dataset | None = None,
    members: int = MEMBERS,
    seed: int = 1,
    threads: int | None = None,
    progress: Progress | None = None,
) -> DaysLeft:
    """Work out how long the charge in the bank lasts.

    Parameters
    ----------
    scenario : Scenario
        The rig and the household; the place is that of the stay the day falls in, else of
        the first stay.
    charge_frac : float
        Charge of the bank as the day begins, at midnight [1].
    first_day : str, optional
        The day, as in ``"24 Nov"``; that of the first stay unless stated.
    nights : int
        How far to look ahead.
    lately : str or sequence of float, optional
        Weather of the last days: one of `WORDS`, or the sun on the level of each of them,
        the latest last [kWh/m2].
    without : sequence of str
        Appliances; for each, what changes if it is not used.
    charge_error_frac : float
        Standard deviation of the charge as read [1].
    weather : xarray.Dataset, optional
        Hourly weather to use as it is, as for `simulate`.
    members, seed, threads, progress
        As for `compare`.

    Raises
    ------
    UsageError
        A number outside its range, an unknown appliance, or weather of the last days where
        the stay's weather is real years.
    """
    from flatodds.weather.lately import check_word

    usage_errors_together(
        lambda: _check(charge_frac, nights, charge_error_frac),
        lambda: None if first_day is None else _doy(first_day),
        lambda: check_word(lately) if isinstance(lately, str) else None,
        *(partial(without_appliance, scenario, name) for name in without),
        lambda: check_numbers(members, seed, threads, None),
    )
    base = _from_day(scenario, first_day, nights)
    others = [base, *(without_appliance(base, name) for name in without)]
    errors = CENTRE_FIRST if charge_error_frac > 0.0 else (0.0,)
    charges = [min(max(charge_frac + z * charge_error_frac, 0.0), 1.0) for z in errors]
    variants = [
        other.with_changes({"stay.0.arrival_charge_frac": charge})
        for other in others
        for charge in charges
    ]
    found = live_scenarios(
        variants,
        members=members,
        seed=seed,
        threads=threads,
        progress=progress,
        by_day=True,
        weather=weather,
        start=None if lately is None else _starter(lately),
    )
    each = len(charges)
    return DaysLeft(
        scenario=variants[0],
        charge_frac=charge_frac,
        known=_known_words(lately),
        without=tuple(without),
        lived=tuple(tuple(found[k : k + each]) for k in range(0, len(found), each)),
    )


def _check(charge_frac: float, nights: int, charge_error_frac: float) -> None:
    error = None
    if not 0.0 <= charge_error_frac <= 0.5:
        error = Problem("charge error", f"{charge_error_frac:g} is outside 0 to 0.5.")
    nights_off = number_problem("nights", nights, 1, MOST_NIGHTS)
    refuse(outside_share("charge", charge_frac), nights_off, error)


def _from_day(scenario: Scenario, first_day: str | None, nights: int) -> Scenario:
    """Scenario of a single stay from the day on, at the place where the day is spent."""
    stays = scenario.stays
    written = scenario.document["stay"]
    entries = [written] if isinstance(written, dict) else written
    at, text = 0, first_day or entries[0]["first_day"]
    if first_day is not None:
        doy = _doy(first_day)
        inside = [n for n, stay in enumerate(stays) if (doy - stay.first_doy) % 365 < stay.nights]
        at = inside[0] if inside else 0
    stay = {**entries[at], "first_day": text, "nights": nights + 1}  # and its morning after
    return scenario.with_changes({"stay": [stay], "variant": None})


def _doy(text: str) -> int:
    """Day of the year, 0 to 364, of a day as people write it."""
    from flatodds.scenario.dates import LENGTHS

    try:
        month, day = parse_day(text)
    except DayError as error:
        found = f"{text[:40]!r} {error.found}."
        raise UsageError(Problem("from", found, error.hint)) from None
    return sum(LENGTHS[: month - 1]) + day - 1


def without_appliance(scenario: Scenario, name: str) -> Scenario:
    """Scenario without one of its appliances.

    Raises
    ------
    UsageError
        If there is no such appliance; names those there are.
    """
    names = {use.name.lower(): use for use in scenario.appliances}
    use = names.get(name.lower())
    if use is None:
        listed = ", ".join(other.name for other in scenario.appliances)
        raise UsageError(Problem("without", f"There is no {name[:60]!r}.", f"There are: {listed}."))
    written = scenario.document.get("appliance", [])
    entries = [written] if isinstance(written, dict) else written
    kept = [entry for entry in entries if (entry.get("name") or entry.get("use")) != use.name]
    changed = scenario.with_changes({"appliance": kept or None})
    if any(other.name == use.name for other in changed.appliances):  # it comes with the pattern
        kept = [*kept, {"use": use.name, "times_a_day": 0}]
        changed = scenario.with_changes({"appliance": kept})
    return changed


def _starter(lately: str | Sequence[float]) -> Callable[[Plan], Start]:
    """Give what turns a plan into the state its members begin in."""
    from flatodds.engine.records import DOY
    from flatodds.weather.lately import after_sun, after_word
    from flatodds.weather.synthetic import SyntheticTables

    def start(plan: Plan) -> Start:
        stay = plan.stays[0]
        if stay.years is not None or stay.given.values.shape[0] > 0:
            raise UsageError(
                "The weather of the last days can only be told to invented weather, and this "
                'stay lives real years.\n  Write in the stay: years = "invented"'
            )
        tables = SyntheticTables(*[np.asarray(v, dtype=np.float64) for v in stay.tables])
        doy = int(stay.calendar.days[0, DOY])
        if isinstance(lately, str):
            return after_word(tables, doy, lately)
        return after_sun(tables, doy, lately)

    return start


def _known_words(lately: str | Sequence[float] | None) -> str:
    """Say what is known of the weather of the last days."""
    from flatodds.weather.lately import WORD_DAYS

    if lately is None:
        return ""
    if isinstance(lately, str):
        return f"the last {WORD_DAYS} days were {lately}"
    listed = ", ".join(f"{sun:g}" for sun in lately)
    return f"sun of the last days, kWh/m2: {listed}"
