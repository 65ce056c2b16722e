"""One hour of a generator: its arithmetic against calculus, and its rules one by one."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from flatodds.charging import generator as g

CHOICE = g.Generator(1600.0, 70.0, 0.85, 0.5, 0.8, 1.0, 0.05, 0.5, 0.22, 0.42, 0.006)


def f64(value: float) -> np.float64:
    return np.float64(value)


@pytest.mark.parametrize("x", [1.0, 1.0 + 1e-9, 1.3, 2.3, 10.0, 200.0, 1000.0])
def test_the_logarithm(x: float) -> None:
    assert g.log_of(f64(x)) == pytest.approx(math.log(x), rel=1e-9, abs=1e-15)


def numerically(missing: float, amps: float, eta: float, tau: float, hours: float) -> float:
    """Charge stored, by small steps of dq/dt = eta min(I, missing / tau)."""
    steps, left = 20_000, missing
    for _ in range(steps):
        left -= eta * min(amps, left / tau) * hours / steps
    return missing - left


@pytest.mark.parametrize(
    ("missing", "amps", "hours"),
    [(200.0, 40.0, 1.0), (60.0, 40.0, 1.0), (30.0, 40.0, 0.6), (3.0, 40.0, 1.0), (60.0, 40.0, 0.0)],
)
def test_charge_stored_in_part_of_an_hour(missing: float, amps: float, hours: float) -> None:
    got = g.stored_ah(f64(missing), f64(amps), f64(0.85), f64(1.1), f64(hours))
    assert got == pytest.approx(numerically(missing, amps, 0.85, 1.1, hours), rel=2e-4)


@given(
    st.floats(0.0, 0.6),
    st.floats(0.5, 0.99),
    st.floats(5.0, 80.0),
    st.floats(0.7, 1.0),
    st.floats(0.05, 1.5),
)
def test_the_hour_ends_at_the_stop_charge(
    more: float, stop: float, amps: float, eta: float, tau: float
) -> None:
    """Without drift the time asked for brings just the charge missing to the stop."""
    stop_missing = 100.0 * (1.0 - stop)
    missing = min(stop_missing + 20.0 * more, 100.0)
    need = g.hours_to_stop(f64(missing), f64(stop_missing), f64(0.0), f64(amps), eta, tau)
    got = g.stored_ah(f64(missing), f64(amps), f64(eta), f64(tau), need)
    assert missing - got == pytest.approx(stop_missing, rel=1e-6, abs=1e-6)


def test_loads_before_the_run_are_made_up_for() -> None:
    """50 Ah short of the stop, loads take 10 A, 60 A left for the bank: (50 + 10) / (60 + 10) h."""
    need = g.hours_to_stop(f64(150.0), f64(100.0), f64(-10.0), f64(60.0), f64(1.0), f64(0.01))
    assert need == pytest.approx(60.0 / 70.0)


def hour(
    permitted: float = 1.0,
    was_on: float = 0.0,
    left: float = 0.0,
    wanted: float = 1.0,
    need: float = 5.0,
) -> tuple[float, ...]:
    values = (f64(value) for value in (permitted, was_on, left, wanted, need))
    return tuple(round(float(value), 9) for value in g.run_of_hour(CHOICE, *values))


# permitted, was on, left, wanted, need -> charging, running, starts, on, left
@pytest.mark.parametrize(
    ("given_", "expected"),
    [
        ({"wanted": 0.0}, (0.0, 0.0, 0.0, 0.0, 0.0)),
        ({}, (0.95, 1.0, 1.0, 1.0, 0.0)),
        ({"permitted": 0.0}, (0.0, 0.0, 0.0, 0.0, 0.0)),
        ({"permitted": 0.5}, (0.45, 0.5, 1.0, 1.0, 0.5)),
        ({"permitted": 0.0, "was_on": 1.0, "left": 0.5}, (0.0, 0.0, 0.0, 0.0, 0.0)),
        ({"need": 0.2}, (0.95, 1.0, 1.0, 0.0, 0.0)),
        ({"was_on": 1.0, "need": 0.2}, (0.2, 0.2, 0.0, 0.0, 0.0)),
        ({"was_on": 1.0, "left": 0.4, "need": 0.2}, (0.4, 0.4, 0.0, 0.0, 0.0)),
        ({"was_on": 1.0, "left": 0.4, "wanted": 0.0}, (0.4, 0.4, 0.0, 0.0, 0.0)),
        ({"was_on": 1.0, "left": 1.5, "need": 0.2}, (1.0, 1.0, 0.0, 1.0, 0.5)),
        ({"was_on": 1.0, "wanted": 0.0}, (0.0, 0.0, 0.0, 0.0, 0.0)),
    ],
)
def test_how_long_it_runs(given_: dict[str, float], expected: tuple[float, ...]) -> None:
    assert hour(**given_) == expected


def test_heat_and_height_take_power_away() -> None:
    assert g.charger_w(CHOICE, f64(40.0)) == pytest.approx(1600.0 * 0.85)
    assert g.charger_w(CHOICE, f64(45.0)) == pytest.approx(1600.0 * 0.85 * 0.97)


def test_fuel_is_a_line() -> None:
    assert g.fuel_l(CHOICE, f64(2.0), f64(850.0)) == pytest.approx(0.44 + 0.42)


@given(st.floats(0.02, 0.5), st.floats(0.05, 0.97), st.floats(0.7, 1.0), st.floats(0.5, 1.5))
def test_a_bank_is_not_held_to_its_taper_twice(
    missing: float, hours: float, eta: float, tau: float
) -> None:
    """What was taken in part of an hour is taken again when its steady current is on offer."""
    short, whole = f64(100.0 * missing), f64(1.0)
    taken = g.stored_ah(short, f64(80.0), f64(eta), f64(tau), f64(hours)) / eta
    steady = g.steady_a(short, f64(taken), f64(eta), f64(tau))
    again = g.stored_ah(short, steady, f64(eta), f64(tau), whole) / eta
    assert again == pytest.approx(taken, rel=3e-3)
