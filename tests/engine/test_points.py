"""Points of what nobody knows: their design, and that the cold gate's spread reaches the bank."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from flatodds import parse_scenario, simulate
from flatodds.engine.plan import make_plan
from flatodds.engine.plan_points import FIFTHS
from flatodds.report.detail import shown_cases
from flatodds.report.figures_odds import guesses_of
from flatodds.report.screen import screen_text
from flatodds.scenario import Scenario

pytestmark = pytest.mark.usefixtures("estimate_taken_for_exact")

TEXT = """
bank = {{ chemistry = "{chemistry}", volts = 12, amp_hours = 200, location = "outside" }}
array = {{ watts = 500, tilt_deg = 45 }}
household.pattern = "light"
uncertain = {{ {uncertain} }}
stay = [{{ place = "39.74, -104.99", elevation_m = 1600, first_day = "5 Mar", nights = 20 }}]
"""


def rig(uncertain: str, chemistry: str = "lithium") -> Scenario:
    text = TEXT.format(uncertain=uncertain, chemistry=chemistry)
    return parse_scenario(text, "points.toml")


def scores(scenario: Scenario) -> dict[str, Any]:
    """Scores of sun, use and gate of the weighted points, and all cases."""
    spread_c = scenario.uncertain.cold_gate_c or 1.0
    cases = make_plan(scenario).cases
    points = [case for case in cases if case.weight > 0.0]
    assert sum(case.weight for case in points) == pytest.approx(1.0)
    return {
        "sun": np.array([case.sun_factor - 1.0 for case in points]),
        "use": np.array([case.use_factor - 1.0 for case in points]),
        "gate": np.array([case.gate_later_c / spread_c for case in points]),
        "cases": cases,
    }


@pytest.mark.parametrize(
    ("uncertain", "count"),
    [
        ("sun_frac = 0.1, use_frac = 0.2", 25),
        ("sun_frac = 0.1, use_frac = 0", 5),
        ("sun_frac = 0, use_frac = 0.2", 5),
        ("sun_frac = 0, use_frac = 0, cold_gate_c = 2", 5),
    ],
)
def test_the_gate_is_spread_evenly_and_without_regard_to_sun_and_use(
    uncertain: str, count: int
) -> None:
    found = scores(rig(uncertain))
    wanted = sorted(list(FIFTHS) * (count // 5))
    assert sorted(found["gate"]) == pytest.approx(wanted, rel=1e-12)
    for name in ("sun", "use"):
        assert abs(float(np.dot(found["gate"], found[name]))) < 1e-12
        for one in set(found[name].tolist()) if count == 25 else ():
            assert sorted(found["gate"][found[name] == one]) == pytest.approx(FIFTHS, rel=1e-12)
    assert found["cases"][0].name == "as_estimated"
    assert found["cases"][0].gate_later_c == 0.0


def test_nothing_spread_is_one_point() -> None:
    for uncertain in ("sun_frac = 0, use_frac = 0", "sun_frac = 0, use_frac = 0, cold_gate_c = 0"):
        assert scores(rig(uncertain))["gate"].tolist() == [0.0]


def test_what_is_spread_when_nothing_is_written() -> None:
    """A bank that cold locks; none for banks without a gate, or where the rest is certain."""
    assert rig("").uncertain.cold_gate_c == 1.5
    assert rig("", "agm").uncertain.cold_gate_c == 0.0
    assert rig("sun_frac = 0, use_frac = 0").uncertain.cold_gate_c == 0.0
    assert rig("cold_gate_c = 0.7").uncertain.cold_gate_c == 0.7
    keys = [item.key for item in rig("").assumed]
    assert "uncertain.cold_gate_c" in keys
    assert "uncertain.cold_gate_c" not in [item.key for item in rig("", "agm").assumed]


def test_a_gate_that_opens_later_locks_more_sun_out() -> None:
    """The same members in every case: the later it opens the more sun is locked out by cold,
    and the case as estimated is the plain run, to the bit."""
    plain = simulate(rig("sun_frac = 0, use_frac = 0"), members=256, seed=4)
    data = simulate(rig("sun_frac = 0, use_frac = 0, cold_gate_c = 2"), members=256, seed=4).dataset
    points = data.sel(case=data["case_weight"] > 0.0)
    locked = points["cold_locked_wh"].sum(["member", "period"]).to_numpy()
    by_score = locked[np.argsort(points["case_gate_later_c"].to_numpy())]
    assert (np.diff(by_score) > 0.02 * by_score[2]).all()
    for name in ("cold_locked_wh", "hours_flat", "min_charge_frac"):
        want = plain.dataset[name].sel(case="as_estimated")
        assert np.array_equal(data[name].sel(case="as_estimated"), want)
    none = simulate(rig("sun_frac = 0.1, use_frac = 0, cold_gate_c = 0"), members=64, seed=4)
    spread = simulate(rig("sun_frac = 0.1, use_frac = 0, cold_gate_c = 2"), members=64, seed=4)
    names = none.dataset["case"].to_numpy()
    assert set(spread.dataset["case"].to_numpy()) - set(names) == {"gate_late"}
    both = [one.dataset.sel(case=names) for one in (none, spread)]
    locked_in = [one["cold_locked_wh"].sum(["member", "period"]) for one in both]
    moved = np.asarray(both[1]["case_gate_later_c"]) != 0.0
    assert moved.sum() == 4
    apart = np.abs(np.asarray(locked_in[1] - locked_in[0]))
    assert (apart[moved] > 1.0).all()
    assert (apart[~moved] == 0.0).all()


def test_a_late_gate_is_a_case_of_its_own_that_people_see() -> None:
    """Named beside sun and use: lived by the same members with 1.5 K more, told in the sentence of
    the range, on the screen and in the report; where cold bars nothing it is not spoken of.
    """
    cold = simulate(rig(""), members=128, seed=4)
    data, stay = cold.dataset, cold.summary()["stays"][0]
    assert data["case_gate_later_c"].sel(case="gate_late").item() == 1.5
    late, plain = (data.sel(case=name) for name in ("gate_late", "as_estimated"))
    locked = [float(one["cold_locked_wh"].sum()) for one in (plain, late)]
    assert locked[1] > 1.05 * locked[0] > 0.0
    flat = (late["hours_flat"].sum("period") > 0.0).mean().item()
    assert stay["odds_flat_if"]["gate_late"]["estimate"] == pytest.approx(flat)
    assert cold.summary()["theta_over"] == ["sun", "use", "cold_gate"]
    assert "Sun, use and the battery's cold lock are not known exactly" in cold.answer()
    bars = [bar.words for bar in shown_cases(stay, cold.facts)]
    assert "cold lock 1.5 C sooner" in bars
    assert "cold lock 1.5 C sooner" in [guess.words for guess in guesses_of(stay, cold.facts)]

    worse = max(stay["odds_flat_if"][name]["estimate"] for name in ("sun_low", "use_high"))
    assert flat > worse  # the worst single guess is not left out where lines are short
    screen = screen_text(cold.summary(), cold.facts, cold.dawn_charge())
    assert len([line for line in screen.splitlines() if "cold lock 1.5 C sooner  " in line]) == 1

    warm = simulate(
        rig("").with_changes({"stay.first_day": "5 Jul", "bank.location": "inside"}),
        members=64,
        seed=4,
    )
    stay = warm.summary()["stays"][0]
    assert stay["cold_locked_kwh"]["mean"] < 1e-6
    assert warm.summary()["theta_over"] == ["sun", "use"]
    assert "cold lock" not in warm.answer()
    assert not [bar for bar in shown_cases(stay, warm.facts) if bar.name == "gate_late"]
    assert "gate_late" not in [case.name for case in make_plan(rig("", "agm")).cases]
