"""Reads the catalogue's TOML files once and hands out frozen records."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from pathlib import Path
from types import MappingProxyType
from typing import Any

from flatodds.catalog.windows import Window, parse_window

Points = tuple[tuple[float, float], ...]
FOLDER = Path(__file__).parent


@dataclass(frozen=True, slots=True)
class MeanDraw:
    """Mean power of a fridge by the temperature around it.

    max(floor_w, base_w + slope_w_per_c * (inside temperature - at_c)) [W].
    """

    at_c: float
    base_w: float
    slope_w_per_c: float
    floor_w: float

    def watts(self, inside_c: float) -> float:
        """Mean power [W] at an inside temperature [degree Celsius]."""
        return max(self.floor_w, self.base_w + self.slope_w_per_c * (inside_c - self.at_c))


@dataclass(frozen=True, slots=True)
class Appliance:
    """One appliance of the catalogue; the words are those of a scenario's appliance.

    Attributes
    ----------
    per_person : bool
        Times a day are for a household of two and go with the number of people.
    shrink_frac : float
        Part of its use given up while the battery is low, by people who economise.
    when_away : bool
        Runs on while nobody is home.
    only_above_charge_frac : float or None
        Spare-sun use runs above this charge only.
    wet_day_factor : float
        Runs on a day with rain or snow over those of a dry one.
    """

    name: str
    label: str
    watts: float
    side: str
    kind: str
    need: str
    minutes: float
    times_a_day: float
    times_a_day_weekend: float
    times_sd: float
    windows: tuple[Window, ...]
    duty_frac: float
    surge_ratio: float
    medical: bool
    mean_draw: MeanDraw | None
    heat_w: float
    per_person: bool
    shrink_frac: float
    when_away: bool
    only_above_charge_frac: float | None
    wet_day_factor: float
    sources: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Chemistry:
    """One kind of battery, per 12 V nominal and 100 Ah where that matters.

    Attributes
    ----------
    rest_points : Points
        (charge as a share of the bank [1], rest voltage of a 12 V battery [V]), rising.
    capacity_points : Points
        (bank temperature [degree Celsius], reachable share of capacity [1]), rising.
    charge_efficiency_frac : float
        Coulombic: charge that stays over charge put in, mean of a whole charge; see
        `coulombic_efficiency`.
    efficiency_falls_from_frac, efficiency_full_ratio : float or None
        Charge from which it falls, and what part of it is left at full; None: it does not.
    rate_exponent : float
        Peukert's: charge given in t hours goes as t to the power 1 - 1 / exponent.
    charge_over_v, full_v : float
        Terminal voltage on charge above rest voltage and resistance; voltage a charger
        holds near full [V of a 12 V battery].
    cycle_life, cycle_depth_frac, cycle_exponent, calendar_years : float or None
        Cycles of that depth, and years of standing, until 80 % of capacity is left; life
        falls with the depth to the power of the exponent. None: it does not wear.
    aged_resistance_ratio : float
        Resistance at 80 % of capacity over new.
    sources : Mapping
        Key of this record -> where its value comes from.
    """

    name: str
    label: str
    rest_points: Points
    resistance_ohm_100ah: float
    round_trip_frac: float
    round_trip_c_rate: float
    charge_efficiency_frac: float
    charge_c_rate: float
    discharge_c_rate: float
    cutoff_frac: float
    reconnect_frac: float
    reserve_frac: float
    self_discharge_frac_month: float
    acceptance_hours: float | None
    taper_from_frac: float
    charge_cold_limit_c: float | None
    charge_cold_release_c: float | None
    charge_cold_full_c: float | None
    charge_cold_start_frac: float | None
    capacity_points: Points
    location: str
    rate_exponent: float
    charge_over_v: float
    efficiency_falls_from_frac: float | None
    efficiency_full_ratio: float | None
    full_v: float
    kg_per_kwh: float
    heat_j_per_kg_k: float
    cycle_life: float | None
    cycle_depth_frac: float | None
    cycle_exponent: float | None
    calendar_years: float | None
    aged_resistance_ratio: float
    sources: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Home:
    """The shell of a home: heat loss, sun aperture, heat store, gains of living, its roof."""

    name: str
    heat_loss_w_per_k: float
    sun_aperture_m2: float
    heat_mass_j_per_k: float
    gains_w: float
    roof_m2: float
    roof_w_per_k: float
    sources: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class PatternUse:
    """A catalogue appliance in a pattern, with the values that differ there."""

    use: str
    changes: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Pattern:
    """How a household lives: its appliances and the hours its inverter is on.

    Attributes
    ----------
    band_ah : tuple
        Plausible daily use [A h at 12.8 V] across households, low and high.
    """

    name: str
    label: str
    inverter_hours_on: float
    band_ah: tuple[float, float]
    uses: tuple[PatternUse, ...]


def mean_rest_v(rest_points: Points) -> float:
    """Mean rest voltage over a full discharge [V], trapezoids between the points."""
    return sum(
        (right[0] - left[0]) * (left[1] + right[1]) / 2.0 for left, right in pairwise(rest_points)
    )


def coulombic_efficiency(
    round_trip_frac: float,
    rest_points: Points,
    resistance_ohm_100ah: float,
    c_rate: float,
    over_v: float,
) -> float:
    """Charge efficiency left of a round trip once resistance and overvoltage are taken out.

    At a current I both ways a bank of mean rest voltage V gives (V - I R) per ampere-hour
    and takes (V + I R + overvoltage), so round trip = efficiency times their ratio.
    """
    rest_v = mean_rest_v(rest_points)
    drop_v = 100.0 * c_rate * resistance_ohm_100ah
    return round_trip_frac * (rest_v + drop_v + over_v) / (rest_v - drop_v)


def _table(name: str) -> dict[str, Any]:
    with (FOLDER / f"{name}.toml").open("rb") as file:
        return tomllib.load(file)


def _split(entry: Mapping[str, Any]) -> tuple[dict[str, Any], Mapping[str, str]]:
    """Values and sources of an entry whose every line is ``{ value, source }``."""
    values = {key: pair["value"] for key, pair in entry.items()}
    return values, MappingProxyType({key: pair["source"] for key, pair in entry.items()})


def _points(rows: list[list[float]]) -> Points:
    return tuple((float(x), float(y)) for x, y in rows)


_OPTIONAL = (
    "acceptance_hours",
    "charge_cold_limit_c",
    "charge_cold_release_c",
    "charge_cold_full_c",
    "charge_cold_start_frac",
    "efficiency_falls_from_frac",
    "efficiency_full_ratio",
    "cycle_life",
    "cycle_depth_frac",
    "cycle_exponent",
    "calendar_years",
)


@lru_cache(maxsize=1)
def chemistries() -> Mapping[str, Chemistry]:
    """Every chemistry by the name a scenario uses."""
    return MappingProxyType(
        {name: _chemistry(name, e) for name, e in _table("chemistries").items()}
    )


def _chemistry(name: str, entry: Mapping[str, Any]) -> Chemistry:
    values, sources = _split(entry)
    rest_points = _points(values.pop("rest_points"))
    capacity_points = _points(values.pop("capacity_points"))
    for key in _OPTIONAL:
        values.setdefault(key, None)
    return Chemistry(
        name=name,
        rest_points=rest_points,
        capacity_points=capacity_points,
        charge_efficiency_frac=coulombic_efficiency(
            values["round_trip_frac"],
            rest_points,
            values["resistance_ohm_100ah"],
            values["round_trip_c_rate"],
            values["charge_over_v"],
        ),
        sources=MappingProxyType(
            {**sources, "charge_efficiency_frac": "round_trip_frac less resistance and overvoltage"}
        ),
        **values,
    )


@lru_cache(maxsize=1)
def homes() -> Mapping[str, Home]:
    """Every kind of home by the name a scenario uses."""
    found = {}
    for name, entry in _table("homes").items():
        values, sources = _split(entry)
        found[name] = Home(name=name, sources=sources, **values)
    return MappingProxyType(found)


@lru_cache(maxsize=1)
def appliances() -> Mapping[str, Appliance]:
    """Every appliance by the name a scenario's ``use`` gives."""
    return MappingProxyType({name: _appliance(name, e) for name, e in _table("appliances").items()})


def _appliance(name: str, entry: Mapping[str, Any]) -> Appliance:
    draw, heat, sources = entry.get("mean_w"), entry.get("heat_w"), dict(entry["source"])
    if draw:
        sources["mean_w"] = draw["source"]
    if heat:
        sources["heat_w"] = heat["source"]
    times = entry.get("times_a_day", 1.0)
    return Appliance(
        name=name,
        label=entry["label"],
        watts=entry["watts"],
        side=entry["side"],
        kind=entry["kind"],
        need=entry["need"],
        minutes=entry.get("minutes", 1440.0),
        times_a_day=times,
        times_a_day_weekend=entry.get("times_a_day_weekend", times),
        times_sd=entry.get("times_sd", 0.0),
        windows=tuple(parse_window(text) for text in entry.get("windows", ["0-24"])),
        duty_frac=entry.get("duty_frac", 1.0),
        surge_ratio=entry["surge_ratio"],
        medical=entry.get("medical", False),
        mean_draw=MeanDraw(**{k: v for k, v in draw.items() if k != "source"}) if draw else None,
        heat_w=heat["value"] if heat else 0.0,
        per_person=entry.get("per_person", False),
        shrink_frac=entry.get("shrink_frac", 0.0),
        when_away=entry.get("when_away", entry["kind"] != "uses"),
        only_above_charge_frac=entry.get("only_above_charge_frac"),
        wet_day_factor=entry.get("wet_day_factor", 1.0),
        sources=MappingProxyType(sources),
    )


@lru_cache(maxsize=1)
def patterns() -> Mapping[str, Pattern]:
    """Every household pattern by the name a scenario uses."""
    return MappingProxyType({name: _pattern(name, e) for name, e in _table("patterns").items()})


def _pattern(name: str, entry: Mapping[str, Any]) -> Pattern:
    low, high = entry["band_ah"]
    return Pattern(
        name=name,
        label=entry["label"],
        inverter_hours_on=entry["inverter_hours_on"],
        band_ah=(low, high),
        uses=tuple(
            PatternUse(
                use=item["use"],
                changes=MappingProxyType({k: v for k, v in item.items() if k != "use"}),
            )
            for item in entry["appliance"]
        ),
    )
