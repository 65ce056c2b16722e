from __future__ import annotations

import dataclasses
from collections.abc import Callable
from typing import Any, cast

import numpy as np
import pytest

from flatodds.engine.results import Case, Results
from flatodds.outcomes import Outcomes
from flatodds.outcomes.days import date_text
from flatodds.outcomes.record import facts_from_json, facts_of, package_version
from flatodds.scenario import parse_scenario
from flatodds.weather.source import WeatherBasis

Fabricate = Callable[..., Results]


def test_facts_survive_json(fabricate: Fabricate, doubt: tuple[Case, ...]) -> None:
    facts = facts_of(fabricate(stays=2, cases=doubt, record_years=12))
    assert facts_from_json(facts.to_json()) == facts


@pytest.mark.parametrize("bad", [np.nan, np.inf])
@pytest.mark.parametrize("part", ["sums", "daily"])
def test_numbers_that_are_not_finite_are_refused(
    fabricate: Fabricate, part: str, bad: float
) -> None:
    results = fabricate()
    array = getattr(results, part)["array_wh"]
    array[(0,) * array.ndim] = bad
    with pytest.raises(ValueError, match="array_wh holds 1 numbers"):
        Outcomes.from_results(results)


def test_never_flat_is_the_only_infinity_allowed(fabricate: Fabricate) -> None:
    results = fabricate()
    assert np.isinf(results.extremes["first_flat_day"]).all()
    Outcomes.from_results(results)
    results.extremes["best_day_wh"][0, 0, 0] = np.inf
    with pytest.raises(ValueError, match="best_day_wh"):
        Outcomes.from_results(results)
    results.extremes["best_day_wh"][0, 0, 0] = 1.0
    results.extremes["first_flat_day"][0, 0, 0] = np.nan
    with pytest.raises(ValueError, match="first_flat_day"):
        Outcomes.from_results(results)


def test_arrays_that_do_not_fit_are_refused(fabricate: Fabricate) -> None:
    results = fabricate()
    cast("dict[str, Any]", results.sums)["served_wh"] = results.sums["served_wh"][:, :, :1]
    with pytest.raises(ValueError, match="served_wh has shape"):
        Outcomes.from_results(results)


@pytest.mark.parametrize(
    ("case", "words"),
    [
        (Case("as_estimated", 1.0, 1.0, 0.5), "sum to 1"),
        (Case("sun_low", 0.9, 1.0, 1.0), "as_estimated"),
    ],
)
def test_cases_that_make_no_mixture_are_refused(
    fabricate: Fabricate, case: Case, words: str
) -> None:
    with pytest.raises(ValueError, match=words):
        Outcomes.from_results(fabricate(cases=(case,)))


def test_every_stay_needs_its_weather(fabricate: Fabricate) -> None:
    results = fabricate(stays=2)
    with pytest.raises(ValueError, match="basis per stay"):
        Outcomes.from_results(dataclasses.replace(results, bases=results.bases[:1]))


def test_facts_come_from_a_real_scenario_and_weather_basis(fabricate: Fabricate) -> None:
    scenario = parse_scenario(
        """
        title = "Plain answers"
        home = "van"
        bank = {chemistry = "lithium", volts = 24, amp_hours = 200}
        array = {watts = 600, tilt_deg = 20}
        inverter.watts = 0
        household.pattern = "light"
        stay = [{place = "33.66, -114.23", first_day = "1 Dec", nights = 60}]
        """,
        "my.toml",
    )
    basis = WeatherBasis("given", "Invented.", ("a test",), "c" * 64, 0.0)
    results = dataclasses.replace(fabricate(), scenario=scenario, bases=(basis,))
    facts = facts_of(results)
    assert (facts.title, facts.home, facts.bank_v, facts.bank_ah) == (
        "Plain answers",
        "van",
        24,
        200,
    )
    assert facts.array_w == 600.0
    assert facts.tilts_deg == (20.0,)
    assert 4.8 <= facts.bank_wh / 1000.0 <= 5.6
    assert [date_text(stay.first_doy) for stay in facts.stays] == ["1 Dec"]
    assert facts.bases[0].kind == "given"
    assert {one.key for one in facts.assumed} >= {"bank.arrival_charge_frac"}
    assert facts_from_json(facts.to_json()) == facts
    assert Outcomes.from_results(results).summary()["scenario"]["sha256"] == scenario.sha256


def test_a_bare_work_tree_has_no_version(monkeypatch: pytest.MonkeyPatch) -> None:
    from importlib import metadata

    assert package_version() == metadata.version("flatodds")

    def missing(name: str) -> str:
        raise metadata.PackageNotFoundError(name)

    monkeypatch.setattr(metadata, "version", missing)
    assert package_version() == "unknown"
