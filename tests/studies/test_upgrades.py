"""Upgrades: which changes are offered, how they rank, and why some do nothing."""

from __future__ import annotations

import json

import numpy as np
import pytest

from flatodds import Scenario, UsageError, parse_scenario
from flatodds.engine.many import Lived
from flatodds.engine.results import Case, Period
from flatodds.report.upgrades_words import upgrades_sentence, upgrades_text
from flatodds.studies.upgrades import Change, Upgrades, sensible, upgrades
from flatodds.studies.why_not import why_not

TEXT = """
title = "Hills"
bank.chemistry = "agm"
bank.volts = 12
bank.amp_hours = 200
array.watts = 500
inverter.watts = 1000
inverter.hours_on = 24
household.pattern = "light"

[[stay]]
place = "36.10, -79.95"
first_day = "10 Dec"
nights = 10

[[variant]]
name = "a huge roof"
array.watts = 6000

[prices]
currency = "EUR"
bank_cost_per_kwh = 150
panel_cost_per_w = 1
panel_kg_per_w = 0.06
"""


@pytest.fixture(scope="module")
def base() -> Scenario:
    return parse_scenario(TEXT, "x.toml")


@pytest.fixture(scope="module")
def found(base: Scenario) -> Upgrades:
    return upgrades(base, members=128)


def test_what_is_offered(base: Scenario) -> None:
    names = {change.name for change in sensible(base)}
    assert {
        "one more panel (200 W)",
        "flat panels tilted to 51 degrees",
        "one more battery (100 Ah)",
        "lithium instead of lead, same Ah",
        "inverter off at night",
        "a fifth less of all you switch on",
        "small generator (1000 W)",
        "charger on drives, every third day",
    } == names
    lithium = base.with_changes({"bank.chemistry": "lithium", "home": "cabin"})
    names = {change.name for change in sensible(lithium)}
    assert "heating pad under the battery (60 W)" in names
    assert not any("lead" in name or "drives" in name for name in names)
    daytime = base.with_changes({"inverter.hours_on": 15})
    assert not any("night" in change.name for change in sensible(daytime))


def test_less_use_is_a_fifth_less(base: Scenario) -> None:
    less = next(c for c in sensible(base) if c.name.startswith("a fifth"))
    after = {use.name: use for use in base.with_changes(less.changes).appliances}
    assert set(after) == {use.name for use in base.appliances}
    for use in base.appliances:
        share = 0.8 if use.kind == "uses" and not use.medical else 1.0
        assert after[use.name].times_a_day == pytest.approx(share * use.times_a_day)
        assert after[use.name].watts == use.watts


def test_ranking(found: Upgrades) -> None:
    summary = json.loads(json.dumps(found.summary(), allow_nan=False))
    rows = summary["upgrades"]
    drops = [row["difference"]["estimate"] for row in rows]
    assert drops == sorted(drops)
    by_name = {row["name"]: row for row in rows}
    panel = by_name["one more panel (200 W)"]
    assert panel["extra_cost"] == 200.0
    assert panel["extra_mass_kg"] == pytest.approx(12.0)
    drop = -panel["difference"]["estimate"]
    assert panel["drop_per_100_money"] == pytest.approx(drop / 2.0)
    assert panel["drop_per_10_kg"] == pytest.approx(drop / 1.2)
    assert by_name["small generator (1000 W)"]["extra_cost"] is None  # nobody said what it costs
    assert by_name["inverter off at night"]["extra_cost"] == 0.0
    assert by_name["a huge roof"]["seen"]
    text = upgrades_text(summary, "Hills")
    assert "Most is done by" in text
    assert all(len(line) <= 80 for line in text.splitlines())


def test_a_budget_leaves_out_what_costs_more(base: Scenario) -> None:
    cheap = upgrades(base, members=64, budget=250.0)
    names = {change.name for change in cheap.changes}
    assert "a huge roof" not in names
    assert "one more panel (200 W)" in names
    assert "small generator (1000 W)" in names  # what it costs is not known
    with pytest.raises(UsageError, match="budget"):
        upgrades(base, budget=-1.0)


def test_the_best_change_says_where_its_price_is_not_given(found: Upgrades) -> None:
    summary = found.summary()
    first, *others = summary["upgrades"]
    assert first["seen"]
    unpriced = {**summary, "upgrades": [{**first, "extra_cost": None}, *others]}
    assert ", whose price is not given: " in upgrades_sentence(unpriced)
    priced = {**summary, "upgrades": [{**first, "extra_cost": 250.0}, *others]}
    assert "for 250 " in upgrades_sentence(priced)
    nobody = [{**row, "extra_cost": None} for row in summary["upgrades"]]
    assert "price" not in upgrades_sentence({**summary, "upgrades": nobody})


def test_batteries_do_nothing_without_sun_to_fill_them(base: Scenario) -> None:
    starved = base.with_changes({"array.watts": 60, "stay.0.arrival_charge_frac": 0.5})
    summary = upgrades(starved, members=64).summary()
    battery = next(r for r in summary["upgrades"] if r["name"].startswith("one more battery"))
    assert not battery["seen"]
    assert "less comes in than goes out" in battery["why_not"]


def test_nothing_to_mend(base: Scenario) -> None:
    rich = base.with_changes({"array.watts": 9000, "bank.amp_hours": 3000})
    summary = upgrades(rich, members=64).summary()
    assert upgrades_sentence(summary).startswith("Nothing to mend")
    assert all(row["why_not"] == "nothing runs flat as it is" for row in summary["upgrades"])


def lived(**amounts: float) -> Lived:
    """A record of ten members of which three ran flat, with these amounts each."""
    flat = np.zeros((1, 10, 1), dtype=bool)
    flat[:, :3] = not amounts.pop("never", 0.0)
    usual = {"array_wh": 800.0, "spilled_wh": 200.0, "demand_wh": 500.0, "gone_without_wh": 50.0}
    usual |= {"drive_wh": 0.0}
    return Lived(
        cases=(Case("as_estimated", 1.0, 1.0, 1.0),),
        periods=(Period(0, 1, 1),),
        bases=(),
        record_years=None,
        members=10,
        seed=1,
        flat=flat,
        reserve=flat,
        nights=flat,
        amounts={name: np.full((10, 1), value) for name, value in {**usual, **amounts}.items()},
        dawn=np.empty((10, 0), np.float32),
        balance=0.0,
    )


@pytest.mark.parametrize(
    ("kind", "first", "other", "changes", "words"),
    [
        ("battery", {"spilled_wh": 10.0}, {}, {}, "less comes in than goes out"),
        ("panels", {"spilled_wh": 2000.0}, {}, {}, "what is short is storage"),
        ("panels", {}, {"spilled_wh": 210.0}, {}, "only 1 % more sun"),
        ("habit", {}, {"demand_wh": 490.0}, {}, "saves only 2 %"),
        ("charging", {}, {"generator_hours": 0.0}, {"generator": {}}, "never has to start"),
        ("pad", {}, {"array_wh": 801.0}, {}, "hardly ever bars charging"),
        ("pad", {}, {"array_wh": 900.0, "gone_without_wh": 45.0}, {}, "10 % less energy"),
        ("charging", {}, {"drive_wh": 0.0}, {"drive": {}}, "nobody drives"),
        ("charging", {}, {"drive_wh": 20.0}, {"drive": {}}, "only 4.0 % of what you use"),
        ("charging", {}, {"drive_wh": 60.0, "spilled_wh": 250.0}, {"drive": {}}, "sun unused"),
        ("charging", {}, {"drive_wh": 60.0, "gone_without_wh": 49.9}, {"drive": {}}, "within 1 %"),
        ("own", {}, {"gone_without_wh": 60.0}, {}, "20 % more energy"),
        ("own", {"spilled_wh": 10.0}, {}, {"bank.amp_hours": 500}, "less comes in than goes out"),
        ("own", {}, {"spilled_wh": 210.0}, {"array.0.watts": 900}, "only 1 % more sun"),
        ("own", {}, {"demand_wh": 490.0}, {"household.pattern": "light"}, "saves only 2 %"),
        ("own", {}, {"array_wh": 801.0}, {"bank.heating_pad_w": 60}, "hardly ever bars charging"),
        ("own", {}, {"drive_wh": 5.0}, {"drive.amps": 30, "home": "van"}, "only 1.0 % of what"),
        (
            "own",
            {"spilled_wh": 100.0},
            {"array_wh": 905.0, "spilled_wh": 8.0},
            {"bank.amp_hours": 300, "array.watts": 520},
            "only 1 % more sun",
        ),
        ("battery", {"never": 1.0}, {}, {}, "nothing runs flat"),
    ],
)
def test_reasons(
    kind: str,
    first: dict[str, float],
    other: dict[str, float],
    changes: dict[str, object],
    words: str,
) -> None:
    assert words in why_not(lived(**first), lived(**other), kind, changes)


def test_a_reason_for_every_change_that_shows_nothing(found: Upgrades) -> None:
    for row in found.summary()["upgrades"]:
        worse = row["difference"]["low"] > 0.0
        assert bool(row["why_not"]) == (not row["seen"] and not worse), row["name"]


def test_a_budget_that_leaves_nothing(base: Scenario, monkeypatch: pytest.MonkeyPatch) -> None:
    alone = base.with_changes({"variant": None})
    dear = (Change("own", "dear", {"array.watts": 900}),)
    monkeypatch.setattr("flatodds.studies.upgrades.sensible", lambda scenario: dear)
    with pytest.raises(UsageError, match=r"costs at most 1 EUR(.|\n)*cheapest known costs 400"):
        upgrades(alone, members=64, budget=1.0)
