"""The hash that a result carries of its own content, and generator weeks, by hand."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
import xarray as xr

from flatodds.errors import UsageError
from flatodds.outcomes import open_result
from flatodds.outcomes.days import generator_week
from flatodds.outcomes.record import record_of
from flatodds.outcomes.seal import SEAL, opened, seal_of, sealed

Fabricate = Callable[..., Any]


def made(**changes: Any) -> xr.Dataset:
    words = {"values": [1.0, 2.0], "dims": "x", "attrs": {"units": "W"}, "name": "a", "title": "t"}
    words |= changes
    return xr.Dataset(
        {words["name"]: (words["dims"], words["values"], words["attrs"])},
        {words["dims"]: [0, 1]},
        {"title": words["title"]},
    )


def test_a_seal_comes_off_as_it_went_on() -> None:
    assert opened(sealed(made())).identical(made())
    assert opened(made()).identical(made())
    assert SEAL in sealed(made()).attrs
    assert SEAL not in made().attrs


@pytest.mark.parametrize(
    "changes",
    [
        {"values": [1.0, 2.5]},
        {"values": np.array([1.0, 2.0], dtype=np.float32)},
        {"values": ["1.0", "2.0"]},
        {"dims": "y"},
        {"attrs": {"units": "kW"}},
        {"attrs": {}},
        {"name": "b"},
        {"title": "u"},
    ],
)
def test_any_change_breaks_the_seal(changes: dict[str, Any]) -> None:
    other = made(**changes)
    assert seal_of(other) != seal_of(made())
    with pytest.raises(ValueError, match="damaged"):
        opened(other.assign_attrs({SEAL: seal_of(made())}))


@pytest.mark.parametrize("name", ["x" * 5000, "no\x00name", "nothing-here"])
def test_names_that_no_file_can_have(name: str) -> None:
    with pytest.raises(UsageError, match="no such result"):
        open_result(name)


def test_the_generators_busiest_week(fabricate: Fabricate) -> None:
    """Member m runs m hours on days 10 to 16 and none else: weeks of m hours a day."""
    plain = fabricate(members=5)
    days = np.arange(60)
    assert generator_week(record_of(plain), days, 0.5) == {"generator_hours_day": None}
    hours = np.zeros((5, 60), dtype=np.float32)
    hours[:, 10:17] = np.arange(5.0)[:, np.newaxis]
    record = record_of(replace(plain, daily={**plain.daily, "generator_h": hours}))
    assert generator_week(record, days, 0.5)["generator_hours_day"] == pytest.approx(2.0)
    few = generator_week(record, days[10:13], 0.5)  # three days are all of a short stay
    assert few["generator_hours_day"] == pytest.approx(2.0)
    assert generator_week(record, days[:14], 0.5)["generator_hours_day"] == pytest.approx(8.0 / 7.0)
