"""Kinds of panel as sold."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from types import MappingProxyType

FILE = Path(__file__).parent / "panels.toml"


@dataclass(frozen=True, slots=True)
class PanelKind:
    """One panel's data plate at 1000 W/m2 and 25 degrees Celsius, and its size.

    Attributes
    ----------
    voc_v, isc_a, vmp_v, imp_a : float
        Open circuit, short circuit, and both at the most power.
    voc_frac_per_c : float
        Change of the open-circuit voltage per kelvin [1/K].
    sources : Mapping
        Key of this record -> where its value comes from.
    """

    name: str
    label: str
    watts: float
    voc_v: float
    isc_a: float
    vmp_v: float
    imp_a: float
    voc_frac_per_c: float
    area_m2: float
    mass_kg: float
    sources: Mapping[str, str]


@lru_cache(maxsize=1)
def panels() -> Mapping[str, PanelKind]:
    """Every kind of panel by the name a scenario uses."""
    with FILE.open("rb") as file:
        table = tomllib.load(file)
    found = {}
    for name, entry in table.items():
        values = {key: pair["value"] for key, pair in entry.items()}
        sources = MappingProxyType({key: pair["source"] for key, pair in entry.items()})
        found[name] = PanelKind(name=name, sources=sources, **values)
    return MappingProxyType(found)
