"""The scenario as the rest of flatodds sees it: complete, SI, and never changed in place."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from copy import deepcopy
from dataclasses import dataclass, field, fields, is_dataclass
from pathlib import Path
from typing import Any

from flatodds.errors import Problem
from flatodds.scenario.parts import (
    ApplianceUse,
    Assumed,
    Bank,
    Household,
    Inverter,
    Shell,
    Stay,
    Uncertain,
)
from flatodds.scenario.parts_arrays import Array, Controller
from flatodds.scenario.parts_charging import Drive, Generator, Hookup
from flatodds.scenario.parts_cooling import Cooling

_ASIDE = ("units", "assumed", "cautions", "folder", "source_name", "_document")


@dataclass(frozen=True, slots=True)
class Scenario:
    """One question: a rig, a household, and where it stays when.

    Attributes
    ----------
    units : str or None
        What to print: "us", "si", or None: by the first place (see `printed_units`).
    roof_m2 : float or None
        Roof that panels may cover; None: not known.
    assumed : tuple of Assumed
        Every value the user did not write, in the order of the file.
    cautions : tuple of Problem
        What is allowed but deserves a look.
    folder : Path or None
        Where the file lies, so that weather files beside it are found.
    """

    title: str
    home: str
    units: str | None
    bank: Bank
    arrays: tuple[Array, ...]
    controllers: tuple[Controller, ...]
    roof_m2: float | None
    inverter: Inverter
    generator: Generator | None
    drive: Drive | None
    hookup: Hookup | None
    cooling: Cooling | None
    household: Household
    shell: Shell
    appliances: tuple[ApplianceUse, ...]
    stays: tuple[Stay, ...]
    uncertain: Uncertain
    assumed: tuple[Assumed, ...] = field(compare=False, repr=False)
    cautions: tuple[Problem, ...] = field(compare=False, repr=False)
    folder: Path | None = field(compare=False, repr=False)
    source_name: str = field(compare=False, repr=False)
    _document: Mapping[str, Any] = field(compare=False, repr=False)

    @property
    def canonical_json(self) -> str:
        """All values that bear on a result, as one line of JSON with sorted keys."""
        values = {
            part.name: getattr(self, part.name) for part in fields(self) if part.name not in _ASIDE
        }
        values = {  # without what a rig has not, such as a generator
            key: _plain(value) for key, value in values.items() if value is not None
        }
        return json.dumps(values, sort_keys=True, separators=(",", ":"), allow_nan=False)

    @property
    def sha256(self) -> str:
        """Hash of `canonical_json`: equal for scenarios that mean the same."""
        return hashlib.sha256(self.canonical_json.encode()).hexdigest()

    @property
    def document(self) -> dict[str, Any]:
        """What the user wrote, as a fresh nested dictionary."""
        return deepcopy(dict(self._document))

    @property
    def printed_units(self) -> str:
        """Units to print, "us" or "si": as asked for, else by the first stay's country."""
        from flatodds.scenario.places import units_printed

        return units_printed(self.units, self.stays[0].time_zone)

    @property
    def toml(self) -> str:
        """What the user wrote, as a TOML text that loads to an equal scenario."""
        from flatodds.scenario.toml_text import toml_text

        return toml_text(self._document)

    def with_changes(self, changes: Mapping[str, Any]) -> Scenario:
        """Return a copy with some written values changed, checked like a file.

        Parameters
        ----------
        changes : Mapping
            Dotted key -> value as it would be written: ``{"bank.amp_hours": 400}``.
            Entries of lists are numbered from 0, ``"array.0.watts"``; a list with one
            entry needs no number. None takes a written value away.

        Raises
        ------
        ScenarioError
            If a key is unknown or the changed scenario is not valid.
        """
        from flatodds.scenario.changes import changed_document
        from flatodds.scenario.load import scenario_from

        document = changed_document(self._document, changes, self.source_name)
        return scenario_from(document, self.source_name, folder=self.folder, title=self.title)


def _plain(value: Any) -> Any:
    """Turn records inside a value into dictionaries (`asdict` also copies each, at length)."""
    if is_dataclass(value):
        return {part.name: _plain(getattr(value, part.name)) for part in fields(value)}
    if isinstance(value, (tuple, list)):
        return [_plain(entry) for entry in value]
    return value
