"""An inverter's own two efficiencies become losses that give them back, or are refused."""

from __future__ import annotations

import pytest

from flatodds.errors import ScenarioError
from flatodds.scenario import Scenario, parse_scenario
from flatodds.scenario.inverter import losses, rating_words

RIG = """
bank = {{ chemistry = "lithium", volts = 12, amp_hours = 200 }}
array.watts = 300
household.pattern = "light"
inverter = {{ watts = 1000, idle_w = 10{more} }}
stay = [{{ place = "36.10, -79.95", first_day = "20 Nov", nights = 3 }}]
"""
PLACE = "x.toml line 5: inverter."


def rig(more: str = "") -> Scenario:
    return parse_scenario(RIG.format(more=more), "x.toml")


def refusal(more: str) -> str:
    with pytest.raises(ScenarioError) as caught:
        rig(more)
    return str(caught.value)


def efficiency(scenario: Scenario, load: float) -> float:
    """Share that comes out at a share of the rating: given, over given and all that is lost."""
    made = scenario.inverter
    given_w = load * made.watts
    taken_w = made.idle_w + made.slope * given_w + made.bend * given_w**2 / made.watts
    return given_w / taken_w


@pytest.mark.parametrize(("half", "full"), [(0.92, 0.88), (0.95, 0.93), (0.9, 0.8)])
def test_two_efficiencies_come_back(half: float, full: float) -> None:
    found = rig(f", half_load_efficiency_frac = {half}, full_load_efficiency_frac = {full}")
    assert efficiency(found, 0.5) == pytest.approx(half, abs=5e-5)
    assert efficiency(found, 1.0) == pytest.approx(full, abs=5e-5)
    told = {one.key for one in found.assumed if "load_efficiency" in one.key}
    assert told == set()


def test_the_usual_efficiencies_are_told_as_they_are() -> None:
    found = rig()
    told = {one.key: one.value for one in found.assumed if "load_efficiency" in one.key}
    assert told == {
        "inverter.half_load_efficiency_frac": pytest.approx(efficiency(found, 0.5), abs=1e-6),
        "inverter.full_load_efficiency_frac": pytest.approx(efficiency(found, 1.0), abs=1e-6),
    }


def test_what_was_told_may_be_written() -> None:
    """Six digits of both efficiencies are enough to get the very same losses back."""
    usual = rig()
    words = "".join(
        f", {one.key.removeprefix('inverter.')} = {one.value}"
        for one in usual.assumed
        if "load_efficiency" in one.key
    )
    assert rig(words).inverter == usual.inverter


def test_one_efficiency_needs_the_other() -> None:
    for given, missing in (("half", "full"), ("full", "half")):
        words = refusal(f", {given}_load_efficiency_frac = 0.9")
        assert words.startswith(
            f"x.toml line 5: inverter.{missing}_load_efficiency_frac is missing"
        )
        assert "Write both." in words


def test_efficiencies_that_no_losses_give_are_refused() -> None:
    falls = refusal(", half_load_efficiency_frac = 0.8, full_load_efficiency_frac = 0.9")
    assert "inverter.full_load_efficiency_frac does not go with 0.8 at half load" in falls
    assert "10 W idle" in falls
    # More would come out than went in: at a quarter of its watts 0.994 W taken for each given.
    above = refusal(", half_load_efficiency_frac = 0.985, full_load_efficiency_frac = 0.92")
    assert "does not go with 0.985 at half load" in above


def test_losses_by_hand() -> None:
    """At 0.92 and 0.88 with 1 % idling: 1.066957 W and 1.126364 W taken beside it."""
    assert losses(0.01, 0.92, 0.88) == pytest.approx((1.00755, 0.118814), abs=6e-5)


def test_what_it_gives_in_a_hot_home_is_said() -> None:
    assert rating_words(rig(", heat_loss_frac_per_c = 0.0").inverter) == "1000 W"
    weak = rig(", heat_loss_frac_per_c = 0.01").inverter
    assert rating_words(weak) == "1000 W, 850 W in a home of 40 C (104 F)"
    assert rating_words(weak, us=True) == "1000 W, 850 W in a home of 104 F (40 C)"
