"""Charging against bench tests, published rules and closed forms, hour by hour."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
import xarray as xr

from flatodds import simulate
from flatodds.battery.bank import open_circuit_v
from flatodds.battery.chemistry import bank_record
from flatodds.battery.curve import charge_curve
from flatodds.catalog import chemistries
from flatodds.studies.live_one import live_one

if TYPE_CHECKING:
    from tests.validation import square_sun as sq
else:
    import square_sun as sq

pytestmark = pytest.mark.validation

KINDS = ("lithium", "agm", "flooded", "gel", "sodium", "ideal")


def charging(
    amp_hours: float,
    changes: dict[str, Any],
    *,
    days: int = 1,
    air_c: Any = 25.0,
    watts: float = 1e5,
) -> xr.Dataset:
    """Hours of a bank in light that never sets, with far more panels than it takes."""
    rig = sq.Rig(amp_hours=amp_hours, watts=watts, nights=days)
    scenario = rig.scenario().with_changes({"bank.location": "outside", **changes})
    columns = {"ghi": 1000.0, "dhi": 1000.0, "temp_air": 25.0}
    return live_one(scenario, 0, weather=sq.weather(columns, 24 * days))


def monitors(hours: xr.Dataset, rated_ah: float, whole_ah: float) -> sq.Floats:
    """Charge as a monitor counts it, what is missing over the rating; before and after hours."""
    missing = (1.0 - hours["charge_frac"].to_numpy()) * whole_ah / rated_ah
    return np.asarray(1.0 - missing)


def tail_h(amps: sq.Floats, tail_a: float) -> float:
    """Hours until the current has fallen to the tail.

    In a taper the mean of an hour is nearly the current half-way through it, so the tail is
    passed where the logarithm of the means says.
    """
    last = int(np.argmax(amps < tail_a))
    logs = np.log(amps[[last, last - 1]])
    return float(np.interp(np.log(tail_a), logs, [last + 0.5, last - 0.5]))


@pytest.mark.parametrize(
    ("rate", "bulk_h", "full_frac", "to_98_h"),
    [(0.2, 1.5, 0.8, 3.80), (0.4, 0.25, 0.6, 3.24), (0.1, 4.0, 0.9, 5.61)],
)
def test_ampere_hour_rule(rate: float, bulk_h: float, full_frac: float, to_98_h: float) -> None:
    """Woodbridge 1935, current at most missing Ah over one hour: arithmetic of 100 Ah from 50 %."""
    changes = {
        "bank.acceptance_hours": 1.0,
        "bank.charge_c_rate": rate,
        "bank.arrival_charge_frac": 0.5,
    }
    frac = charging(100.0, changes)["charge_frac"].to_numpy()
    after = np.arange(1, frac.size + 1)
    wanted = np.where(
        after <= bulk_h, 0.5 + rate * after, 1.0 - (1.0 - full_frac) * np.exp(bulk_h - after)
    )
    assert frac[:10] == pytest.approx(wanted[:10], abs=1e-4)
    log_missing = np.log(1.0 - frac[:10])
    assert np.interp(-np.log(0.02), -log_missing, after[:10]) == pytest.approx(to_98_h, rel=0.02)


@pytest.mark.parametrize(("rate", "absorbs_at"), [(0.4, 0.63), (0.2, 0.77)])
def test_measured_agm_charge(rate: float, absorbs_at: float) -> None:
    """Independent bench test of an AGM battery of 95.7 Ah, from 50 %, 14.4 V, until 0.5 % C.

    Seen: 5.5 h at 0.2C (0.4C saves some 12 min), absorption from 63 % at 0.4C and 77 % at
    0.2C. Tolerances as wide as batches of batteries: 20 % of time, 5 points of charge.
    Document and bench disagree: the ampere-hour rule fits the bench's whole time with a tau of
    1.0 to 1.13 h (5.2 to 5.7 h at 0.2C), but then absorbs at 0.4C from 55 to 60 %, not 63, and
    saves 28 to 34 minutes there, not 12. No tau meets all; the catalogue's 0.93 h lies within
    the wide tolerance of each, and the wide tolerance is kept.
    Trade's round trip of 80 to 85 % and this bench disagree unless most of the loss is
    overvoltage, which is why the catalogue splits it.
    """
    whole_ah = bank_record(_agm({"bank.charge_c_rate": rate}).bank).capacity_ah
    start = 1.0 - 0.5 * 95.7 / whole_ah
    changes = {
        "bank.chemistry": "agm",
        "bank.charge_c_rate": rate,
        "bank.arrival_charge_frac": start,
    }
    hours = charging(95.7, changes)
    amps = hours["charge_a"].to_numpy()
    count = monitors(hours, 95.7, whole_ah)
    tail = tail_h(amps, 0.005 * 95.7)
    by_minute = charge_curve(_agm(changes).bank, rate * 95.7, start)  # the same rule, finer
    at_bulk_end = 1.0 - (1.0 - by_minute.bulk_end_frac) * whole_ah / 95.7
    assert tail == pytest.approx(5.5, rel=0.2)
    assert at_bulk_end == pytest.approx(absorbs_at, abs=0.05)
    assert 2.0 <= tail - by_minute.bulk_end_h <= 6.0  # absorption of a trade article
    if rate == 0.4:
        assert count[0] == pytest.approx(0.85, abs=0.05)  # after one hour


def _agm(changes: dict[str, Any]) -> Any:
    return sq.Rig(amp_hours=95.7).scenario().with_changes({"bank.chemistry": "agm", **changes})


def test_quick_charging_saves_little_time_in_agm() -> None:
    """The same bench: 0.4C instead of 0.2C saves about 12 min of 5.5 h; under an hour here."""
    tails = {}
    for rate in (0.2, 0.4):
        changes = {
            "bank.chemistry": "agm",
            "bank.charge_c_rate": rate,
            "bank.arrival_charge_frac": 0.53,
        }
        amps = charging(95.7, changes)["charge_a"].to_numpy()
        tails[rate] = tail_h(amps, 0.005 * 95.7)
    assert 0.0 < tails[0.2] - tails[0.4] < 1.0


def test_lithium_holds_full_current_nearly_to_the_end() -> None:
    """Common practice, no source: bulk to about 97 % or more."""
    value = chemistries()["lithium"]
    changes = {"bank.chemistry": "lithium", "bank.arrival_charge_frac": 0.5}
    hours = charging(100.0, changes)
    amps = np.insert(hours["charge_a"].to_numpy(), 0, 30.0)
    frac = np.insert(hours["charge_frac"].to_numpy(), 0, 0.5)
    full = amps > 0.9995 * 30.0
    at = int(np.flatnonzero(~full)[0])  # the hour in which the taper begins
    before = frac[at - 1]
    bulk_h = (0.97 - before) / (0.3 * value.charge_efficiency_frac)
    rest = (1.0 - 0.97) * 100.0  # missing ampere-hours when it begins
    eta, tau_h = value.charge_efficiency_frac, rest / 30.0
    wanted = 30.0 * bulk_h + rest / eta * (1.0 - np.exp(-(1.0 - bulk_h) * eta / tau_h))
    assert amps[at] == pytest.approx(wanted, rel=0.01)
    assert frac[at] >= 0.97


@pytest.mark.parametrize("kind", KINDS[:-1])
def test_the_picture_of_a_full_charge_is_what_is_lived(kind: str) -> None:
    """The report draws a charge from 20 % by the minute; hours of a run follow the same line:
    half a point of charge and 1 % of full current, what an hour's one efficiency costs (0.34
    points and 0.5 % were seen, flooded).
    """
    changes = {
        "bank.chemistry": kind,
        "bank.arrival_charge_frac": 0.2,
        "bank.self_discharge_frac_month": 0.0,
    }
    hours = charging(100.0, changes)
    curve = charge_curve(_agm({**changes, "bank.amp_hours": 100.0}).bank, 1e6)
    last = int(curve.full_h)
    assert last >= 2
    ends = np.arange(1, last + 1)
    drawn = np.interp(ends, curve.hours, curve.charge_frac)
    assert hours["charge_frac"].to_numpy()[:last] == pytest.approx(drawn, abs=0.005)
    minute = curve.hours < last
    means = curve.amps[minute].reshape(last, 60).mean(axis=1)
    lived = hours["charge_a"].to_numpy()[:last]
    assert lived == pytest.approx(means, abs=0.01 * curve.charger_a)


def test_flooded_cells_gas_near_full() -> None:
    """Stevens and Corey, Sandia 1996 (abstract seen, figures from memory; 10 points): 91 % of
    the ampere-hours stay from 0 to 84 %, 55 % from 79 to 84 %, under half above 90 %.
    """
    changes = {
        "bank.chemistry": "flooded",
        "bank.charge_c_rate": 0.05,
        "bank.arrival_charge_frac": 0.0,
        "bank.acceptance_hours": 0.2,
        "bank.self_discharge_frac_month": 0.0,
    }
    hours = charging(100.0, changes, days=2)
    whole_ah = bank_record(_agm({**changes}).bank).capacity_ah / 95.7 * 100.0
    put_in = np.insert(np.cumsum(hours["charge_a"].to_numpy()), 0, 0.0)
    frac = np.insert(hours["charge_frac"].to_numpy(), 0, 0.0)

    def stays(low: float, high: float) -> float:
        first, last = np.interp([low, high], frac, put_in)
        return float((high - low) * whole_ah / (last - first))

    assert stays(0.0, 0.84) == pytest.approx(0.91, abs=0.10)
    assert stays(0.79, 0.84) == pytest.approx(0.55, abs=0.10)
    assert stays(0.90, 0.98) < 0.5 + 0.10


@pytest.mark.parametrize("kind", KINDS)
def test_a_cycle_returns_the_catalogues_round_trip(kind: str) -> None:
    """Energy out over energy in from empty to full and back, within a point of the catalogue.

    In at the catalogue's rate until full, out in the dark at the same rate until empty.
    """
    value = chemistries()[kind]
    rate = value.round_trip_c_rate
    power = 100.0 * rate * 12.8 * (1.15 if value.acceptance_hours else 1.0)
    days = 4
    light = np.zeros((days, 24))
    light[:2] = 1000.0  # two days to fill, two to empty
    rig = sq.Rig(amp_hours=100.0, watts=power, nights=days)
    changes = {
        "bank.chemistry": kind,
        "bank.location": "outside",
        "bank.cutoff_frac": 0.0,
        "bank.reconnect_frac": 0.95,
        "bank.self_discharge_frac_month": 0.0,
        "bank.rate_exponent": 1.0,
    }
    columns = {"ghi": light.ravel(), "dhi": light.ravel(), "temp_air": np.array(25.0)}
    table = sq.weather(columns, 24 * days)
    filled = sq.only(
        simulate(rig.scenario().with_changes({**changes, "bank.arrival_charge_frac": 0.0}), table)
    )
    assert filled["end_ah"].item() == pytest.approx(100.0, rel=0.002)
    dark = sq.Rig(
        amp_hours=100.0,
        arrival_charge_frac=1.0,
        nights=days,
        more=sq.steady(100.0 * rate * 12.2),
    )
    emptied = sq.only(
        simulate(dark.scenario().with_changes(changes), sq.weather({"temp_air": 25.0}, 24 * days))
    )
    back = float(emptied["served_wh"].sum()) / float(filled["array_wh"].sum())
    assert back == pytest.approx(value.round_trip_frac, abs=0.01)
    if kind == "lithium":
        assert 0.92 <= back <= 0.97  # common practice, no source
        assert 0.985 <= value.charge_efficiency_frac <= 1.0


@pytest.mark.parametrize(("charge", "volts"), [(1.0, 13.6), (0.5, 13.2), (0.2, 12.8)])
def test_lithium_rest_voltage(charge: float, volts: float) -> None:
    """Four cells at 3.40, 3.30 and 3.20 V (web table, vendors differ): 0.05 V a cell.

    Read as watts over amperes of a load that takes a thousandth of the bank in an hour.
    """
    amps = 1.0
    rig = sq.Rig(amp_hours=1000.0 * amps, nights=1, more=sq.steady(12.0 * amps))
    changes = {"bank.chemistry": "lithium", "bank.arrival_charge_frac": charge}
    hours = live_one(rig.scenario().with_changes(changes), 0, weather=sq.weather({}, 24))
    first = hours.isel(time=0)
    assert float(first["discharge_a"]) == pytest.approx(amps, rel=0.15)
    rest_v = float(first["served_w"] / first["discharge_a"])
    assert rest_v == pytest.approx(volts, abs=4 * 0.05)


def test_lithium_is_full_at_a_voltage_of_its_cells() -> None:
    """3.65 V a cell at the end of a charge (the same table), 0.05 V: what a charge ends at."""
    choice = _agm({"bank.chemistry": "lithium"}).bank
    assert charge_curve(choice, 30.0).volts.max() / 4.0 == pytest.approx(3.65, abs=0.05)


@pytest.mark.parametrize(("charge", "volts"), [(0.2, 12.8), (0.5, 13.2)])
def test_controllers_ampere_clip(charge: float, volts: float) -> None:
    """60 A into 12.8 or 13.2 V are 768 or 792 W at most; the rest voltage's fit is off 0.1 V."""
    changes = {
        "bank.chemistry": "lithium",
        "controller.amps": 60.0,
        "bank.arrival_charge_frac": charge,
    }
    first = charging(1_000.0, changes)["array_w"].to_numpy()[0]
    assert first == pytest.approx(60.0 * volts, abs=60.0 * 0.1)
    ideal = charging(1_000.0, {"controller.amps": 60.0})["array_w"].to_numpy()[:12]
    assert ideal == pytest.approx(720.0, rel=1e-5)


@pytest.mark.parametrize(("kind", "volts"), [("agm", 14.4), ("flooded", 14.4), ("lithium", 13.8)])
def test_the_clip_is_at_the_voltage_of_charging(kind: str, volts: float) -> None:
    """60 A into 14.4 V are 864 W (exact): rest voltage, overvoltage and I R make the volts.

    Wires so thin that they just make up that voltage at 60 A; at the rest voltage the same
    controller would give a tenth less.
    """
    changes = {"bank.chemistry": kind, "bank.arrival_charge_frac": 0.5, "controller.amps": 60.0}
    bank = bank_record(sq.Rig(amp_hours=600.0).scenario().with_changes(changes).bank)
    lacking_v = volts - open_circuit_v(bank, 0.5) - bank.charge_over_v
    changes["bank.resistance_ohm"] = lacking_v / 60.0
    first = charging(600.0, changes)["array_w"].to_numpy()[0]
    assert first == pytest.approx(60.0 * volts, rel=0.003)
    assert open_circuit_v(bank, 0.5) < 0.97 * volts
