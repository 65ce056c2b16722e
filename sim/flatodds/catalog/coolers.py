"""Reads the catalogue's air conditioners."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from types import MappingProxyType


@dataclass(frozen=True, slots=True)
class Cooler:
    """One air conditioner of the catalogue.

    Attributes
    ----------
    watts, cooling_w : float
        Drawn at the plug, and heat taken out, at the rating point: 35 degrees Celsius outside,
        26.7 dry and 19.4 wet inside.
    side : str
        "ac" or "dc".
    start_w, soft_start_w : float
        Drawn for a moment at each start, plain and with a soft starter.
    sources : Mapping
        Key of this record -> where its value comes from.
    """

    name: str
    label: str
    watts: float
    cooling_w: float
    side: str
    start_w: float
    soft_start_w: float
    sources: Mapping[str, str]


@lru_cache(maxsize=1)
def coolers() -> Mapping[str, Cooler]:
    """Every air conditioner by the name a scenario's ``cooling.unit`` gives."""
    with (Path(__file__).parent / "coolers.toml").open("rb") as file:
        entries = tomllib.load(file)
    found = {}
    for name, entry in entries.items():
        pairs = {key: pair for key, pair in entry.items() if key != "label"}
        found[name] = Cooler(
            name=name,
            label=entry["label"],
            sources=MappingProxyType({key: pair["source"] for key, pair in pairs.items()}),
            **{key: pair["value"] for key, pair in pairs.items()},
        )
    return MappingProxyType(found)
