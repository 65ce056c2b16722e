"""The catalogue is complete, sourced, and consistent with itself."""

from __future__ import annotations

import tomllib
from dataclasses import fields
from itertools import pairwise

import pytest

from flatodds.catalog import Chemistry, appliances, chemistries, homes, patterns
from flatodds.catalog.coolers import coolers
from flatodds.catalog.reader import FOLDER, coulombic_efficiency, mean_rest_v


def cycled_round_trip(kind: Chemistry, c_rate: float, steps: int = 20_000) -> float:
    """Energy out over energy in of one full cycle, stepped along the rest-voltage curve."""
    current_a, energy_out, energy_in = 100.0 * c_rate, 0.0, 0.0
    points = kind.rest_points
    for step in range(steps):
        x = (step + 0.5) / steps
        left, right = next(p for p in pairwise(points) if p[1][0] >= x)
        share = (x - left[0]) / (right[0] - left[0])
        rest_v = left[1] + share * (right[1] - left[1])
        energy_out += (rest_v - current_a * kind.resistance_ohm_100ah) * 100.0 / steps
        charging_v = rest_v + current_a * kind.resistance_ohm_100ah + kind.charge_over_v
        energy_in += charging_v * 100.0 / steps
    return energy_out / (energy_in / kind.charge_efficiency_frac)


@pytest.mark.parametrize("name", sorted(chemistries()))
def test_a_cycle_returns_the_catalogue_round_trip(name: str) -> None:
    kind = chemistries()[name]
    found = cycled_round_trip(kind, kind.round_trip_c_rate)
    assert found == pytest.approx(kind.round_trip_frac, abs=1e-6)


def test_round_trip_falls_with_current() -> None:
    kind = chemistries()["lithium"]
    assert cycled_round_trip(kind, 0.5) < cycled_round_trip(kind, 0.1) - 0.01


def test_coulombic_efficiency_by_hand() -> None:
    # 12 V flat, 10 A through 0.06 ohm: out 11.4 V, in 12.6 V and overvoltage per ampere-hour.
    points = ((0.0, 12.0), (1.0, 12.0))
    assert coulombic_efficiency(0.9, points, 0.06, 0.1, 0.0) == pytest.approx(0.9 * 12.6 / 11.4)
    assert coulombic_efficiency(0.8, points, 0.06, 0.1, 0.9) == pytest.approx(0.8 * 13.5 / 11.4)


def test_mean_rest_voltage_by_hand() -> None:
    assert mean_rest_v(((0.0, 10.0), (0.5, 12.0), (1.0, 12.0))) == pytest.approx(11.5)


@pytest.mark.validation
def test_lithium_efficiencies_lie_in_published_ranges() -> None:
    # Common ranges for lithium iron phosphate: coulombic 99 to 100 %, energy 92 to 97 %.
    kind = chemistries()["lithium"]
    assert 0.985 <= kind.charge_efficiency_frac <= 1.0
    assert 0.92 <= kind.round_trip_frac <= 0.97


@pytest.mark.validation
def test_lead_capacity_follows_ieee_485_size_factors() -> None:
    # IEEE 485 table 1: size factor 1.30 at 4.4 C, 1.19 at 10 C, 1.11 at 15.6 C, 1.00 at 25 C.
    points = dict(chemistries()["agm"].capacity_points)
    for temperature_c, factor in ((4.4, 1.30), (10.0, 1.19), (15.6, 1.11), (25.0, 1.00)):
        assert points[temperature_c] == pytest.approx(1.0 / factor, abs=0.006)


@pytest.mark.parametrize("name", sorted(chemistries()))
def test_chemistries_make_sense(name: str) -> None:
    kind = chemistries()[name]
    charges = [charge for charge, _ in kind.rest_points]
    assert charges[0] == 0.0
    assert charges[-1] == 1.0
    for points in (kind.rest_points, kind.capacity_points):
        xs = [x for x, _ in points]
        ys = [y for _, y in points]
        assert xs == sorted(set(xs))
        assert ys == sorted(ys)
    assert kind.capacity_points[-1][1] == 1.0
    assert 0.0 <= kind.cutoff_frac <= kind.reconnect_frac <= 1.0
    assert kind.cutoff_frac <= kind.reserve_frac
    assert 0.0 < kind.charge_efficiency_frac <= 1.0
    gate = [
        kind.charge_cold_limit_c,
        kind.charge_cold_release_c,
        kind.charge_cold_full_c,
        kind.charge_cold_start_frac,
    ]
    assert all(item is None for item in gate) or all(item is not None for item in gate)


def test_ideal_store_has_no_losses_and_no_limits() -> None:
    ideal = chemistries()["ideal"]
    assert {v for _, v in ideal.rest_points} == {12.0}
    assert ideal.charge_efficiency_frac == 1.0
    assert ideal.resistance_ohm_100ah == 0.0
    assert ideal.cutoff_frac == ideal.reconnect_frac == ideal.self_discharge_frac_month == 0.0
    assert ideal.acceptance_hours is None
    assert ideal.charge_cold_limit_c is None
    assert min(ideal.charge_c_rate, ideal.discharge_c_rate) >= 1000.0


HEATERS = ("furnace", "air-heater")


def test_every_value_has_a_source_in_words() -> None:
    for name in ("chemistries", "homes"):
        for entry in tomllib.loads((FOLDER / f"{name}.toml").read_text()).values():
            for pair in entry.values():
                assert set(pair) == {"value", "source"}
                assert len(pair["source"]) > 5
    for unit in coolers().values():
        assert {"watts", "cooling_w", "side", "start_w", "soft_start_w"} == set(unit.sources)
        assert all(len(source) > 5 for source in unit.sources.values())
    for item in appliances().values():
        assert {"watts", "habits"} <= set(item.sources)
        assert all(len(source) > 5 for source in item.sources.values())
        assert (item.mean_draw is not None) == (item.kind == "fridge") == ("mean_w" in item.sources)
        assert (item.heat_w > 0.0) == (item.kind in HEATERS) == ("heat_w" in item.sources)


def test_chemistry_sources_cover_every_value() -> None:
    names = {f.name for f in fields(Chemistry)} - {"name", "sources"}
    for kind in chemistries().values():
        written = {name for name in names if getattr(kind, name) is not None}
        assert written == set(kind.sources)


def test_every_run_fits_its_windows() -> None:
    for item in appliances().values():
        shortest_h = min(end_h - start_h for start_h, end_h in item.windows)
        assert item.minutes <= 60.0 * shortest_h
        assert item.times_a_day > 0.0


def test_patterns_name_catalogue_appliances_once_and_change_known_fields() -> None:
    known = set(next(iter(appliances().values())).__dataclass_fields__)
    for pattern in patterns().values():
        names = [use.use for use in pattern.uses]
        assert len(names) == len(set(names))
        assert set(names) <= set(appliances())
        assert all(set(use.changes) <= known for use in pattern.uses)


def test_homes_rank_as_their_shells_do() -> None:
    loss = {name: home.heat_loss_w_per_k for name, home in homes().items()}
    assert loss["trailer"] > loss["van"] > loss["cabin"]


@pytest.mark.validation
def test_compressor_fridge_day_by_inside_temperature() -> None:
    # Common practice for a 12 V fridge: 288, 504, 720 Wh a day at 15, 25, 35 C.
    draw = appliances()["compressor_fridge_12v"].mean_draw
    assert draw is not None
    for inside_c, day_wh in ((15.0, 288.0), (25.0, 504.0), (35.0, 720.0)):
        assert 24.0 * draw.watts(inside_c) == pytest.approx(day_wh)
    assert draw.watts(-30.0) == draw.floor_w


def test_the_catalogue_cannot_be_changed() -> None:
    with pytest.raises(TypeError):
        appliances()["laptop"] = None  # type: ignore[index]
    assert appliances() is appliances()
