"""When there are members enough, by hand."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from flatodds.outcomes.odds import wilson
from flatodds.outcomes.record import Record, record_of
from flatodds.outcomes.stopping import (
    FINE_ENOUGH,
    FIRST_MEMBERS,
    MOST_AUTO_MEMBERS,
    SHARE_OF_BAND,
    enough,
    next_members,
)

Fabricate = Callable[..., Any]
ONE = np.ones(1)


def flags(*shares: float, members: int = 1000) -> Any:
    found = np.zeros((len(shares), members), dtype=bool)
    for case, share in enumerate(shares):
        found[case, : round(share * members)] = True
    return found


def half_width(share: float, members: int) -> float:
    band = wilson(share, members)
    return (band["high"] - band["low"]) / 2.0


@pytest.mark.parametrize("share", [0.0, 0.02, 0.05, 0.3, 0.5, 1.0])
@pytest.mark.parametrize("members", [200, 1000, 4000, 16_000])
def test_one_case_is_enough_when_its_interval_is_fine(share: float, members: int) -> None:
    wanted = half_width(share, members) <= FINE_ENOUGH
    assert enough(flags(share, members=members), ONE) == wanted


def test_a_wide_model_band_forgives_chance() -> None:
    """Shares of .2 and .6 in the outer tenths: a third of .2 is more than chance."""
    weights = np.array([0.25, 0.5, 0.25])
    assert half_width(0.4, 1000) < SHARE_OF_BAND * 0.4 / 2.0
    assert enough(flags(0.2, 0.4, 0.6), weights)
    assert half_width(0.4, 1000) > SHARE_OF_BAND * 0.1 / 2.0
    assert not enough(flags(0.35, 0.4, 0.45), weights)
    light = np.array([0.05, 0.9, 0.05])  # the outer ones are beyond the tenths
    assert not enough(flags(0.2, 0.4, 0.6), light)


def test_a_short_record_is_doubt_that_members_cannot_mend() -> None:
    assert not enough(flags(0.4), ONE)
    assert enough(flags(0.4), ONE, years=10)
    assert not enough(flags(0.4), ONE, years=1000)


def record(fabricate: Fabricate, members: int, flat: Any, **words: Any) -> Record:
    hours = np.zeros((1, members, 4))
    hours[0, :, 0] = flat
    return record_of(fabricate(hours, members=members, stays=2, **words))


def test_members_double_until_there_are_enough(fabricate: Fabricate) -> None:
    some = np.arange(400) % 2 == 0
    assert next_members(record(fabricate, 400, np.zeros(400))) == 400
    assert next_members(record(fabricate, 400, some)) == 800
    assert next_members(record(fabricate, 400, some, record_years=5)) == 400
    assert FIRST_MEMBERS < MOST_AUTO_MEMBERS


def test_there_is_a_most(fabricate: Fabricate, monkeypatch: pytest.MonkeyPatch) -> None:
    some = np.arange(400) % 2 == 0
    monkeypatch.setattr("flatodds.outcomes.stopping.MOST_AUTO_MEMBERS", 600)
    assert next_members(record(fabricate, 400, some)) == 600
    monkeypatch.setattr("flatodds.outcomes.stopping.MOST_AUTO_MEMBERS", 400)
    assert next_members(record(fabricate, 400, some)) == 400
    monkeypatch.setattr("flatodds.outcomes.stopping.MOST_AUTO_MEMBERS", 300)
    assert next_members(record(fabricate, 400, some)) == 400


def test_each_stay_must_have_enough(fabricate: Fabricate) -> None:
    """The second stay alone is in doubt, the trip as a whole is sure."""
    hours = np.zeros((1, 400, 4))
    hours[0, :, 0] = 1.0
    hours[0, ::2, 3] = 1.0
    assert next_members(record_of(fabricate(hours, members=400, stays=2))) == 800
