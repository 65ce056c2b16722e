"""A bank in the dark: hours until it is flat, and what is then missing, are exact."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from flatodds import simulate

if TYPE_CHECKING:
    from tests.validation import square_sun as sq
else:
    import square_sun as sq

pytestmark = pytest.mark.validation


@pytest.mark.parametrize(
    ("amp_hours", "load_w", "days"),
    [(400.0, 20.0, 30), (96.0, 16.0, 5), (810.0, 50.0, 30), (1000.0, 37.0, 20), (512.0, 64.0, 365)],
)
def test_dark_bank(amp_hours: float, load_w: float, days: int) -> None:
    """A store of C with a steady load L is flat after exactly C / L; the share of a season
    of T that is not served is 1 - C / (L T) (energy balance, exact).

    Flat hours are whole, so the time is exact to the hour it falls in; 1e-5 for float32.
    """
    rig = sq.Rig(amp_hours=amp_hours, arrival_charge_frac=1.0, nights=days, more=sq.steady(load_w))
    outcomes = simulate(rig.scenario(), sq.weather({}, 24 * days))
    result = sq.only(outcomes)
    lasts_h = 12.0 * amp_hours / load_w
    assert 24.0 * days - float(result["hours_flat"].sum()) == int(lasts_h + 1e-9)
    assert result["first_flat_day"].item() == int(lasts_h + 1e-9) // 24 + 1
    share = float(result["energy_not_served_wh"].sum() / result["demand_wh"].sum())
    assert share == pytest.approx(1.0 - lasts_h / (24.0 * days), abs=1e-5)
    assert outcomes.summary()["stays"][0]["odds_flat"]["estimate"] == 1.0


def test_a_bank_that_lasts_to_the_last_hour_is_not_flat() -> None:
    """The tie: C = L T exactly leaves the bank empty and nobody in the dark."""
    rig = sq.Rig(amp_hours=480.0, arrival_charge_frac=1.0, nights=10, more=sq.steady(24.0))
    outcomes = simulate(rig.scenario(), sq.weather({}, 240))
    stay = outcomes.summary()["stays"][0]
    assert stay["odds_flat"]["estimate"] == 0.0
    assert stay["lowest_charge_frac"]["p50"] == pytest.approx(0.0, abs=1e-5)
    assert stay["first_flat_day"] == {"p10": None, "p50": None, "p90": None}


def test_nights_flat_are_at_most_the_nights_of_the_stay() -> None:
    """An empty bank in the dark is flat in every night of the stay, and in no more."""
    rig = sq.Rig(amp_hours=10.0, nights=30, more=sq.steady(50.0))
    stay = simulate(rig.scenario(), sq.weather({}, 720)).summary()["stays"][0]
    assert stay["hours_flat"]["mean"] == 720.0
    assert stay["nights_flat"]["mean"] == 30.0
