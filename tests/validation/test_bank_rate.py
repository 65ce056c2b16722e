"""Discharge of a bank in the dark against Peukert's rule, sizing rules and practice."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from flatodds import Scenario, simulate
from flatodds.battery.kinetic import rated_frac, wells, whole_of

if TYPE_CHECKING:
    from tests.validation import square_sun as sq
else:
    import square_sun as sq

pytestmark = pytest.mark.validation

ALONE = {"bank.cutoff_frac": 0.0, "bank.reconnect_frac": 0.95}  # once off, it stays off


def dark(amp_hours: float, draws_a: float, days: int, changes: dict[str, Any]) -> Scenario:
    """Give a full bank of 12 V, without losses unless `changes` say otherwise, and no sun."""
    rig = sq.Rig(
        amp_hours=amp_hours, arrival_charge_frac=1.0, nights=days, more=sq.steady(12.0 * draws_a)
    )
    return rig.scenario().with_changes(changes)


def given_ah(scenario: Scenario, temp_c: float = 25.0) -> float:
    """Charge given until the bank is flat."""
    hours = 24 * scenario.stays[0].nights
    result = sq.only(simulate(scenario, sq.weather({"temp_air": temp_c}, hours)))
    return float(result["served_wh"].sum()) / 12.0


@pytest.mark.parametrize(
    ("exponent", "draws_a", "gives_ah"),
    [
        (1.2, 5.0, 100.0),
        (1.2, 10.0, 87.0),
        (1.2, 25.0, 72.0),
        (1.1, 25.0, 85.1),
        (1.25, 25.0, 66.9),
    ],
)
def test_peukert(exponent: float, draws_a: float, gives_ah: float) -> None:
    """T = H (C / (I H))^k, 100 Ah in 20 h: table of a battery monitor's manual, recomputed
    (last two rows: ours).

    The last hour is lived whole, at what the bank can still give: an ampere-hour more. The
    wrong form, C / I^k, would give 72 Ah instead of 100 at 5 A.
    """
    scenario = dark(100.0, draws_a, 2, {**ALONE, "bank.rate_exponent": exponent})
    assert given_ah(scenario) == pytest.approx(gives_ah, abs=0.025 * gives_ah + 1.0)


@pytest.mark.parametrize("hours", [1, 2, 5, 10, 20])
@pytest.mark.parametrize(
    ("exponent", "off"), [(1.1, 0.0125), (1.2, 0.0225), (1.25, 0.025), (1.3, 0.025)]
)
def test_peukert_from_one_to_twenty_hours(exponent: float, off: float, hours: int) -> None:
    """The current that by the rule lasts so many hours lasts them with 2.5 % less, and does
    not with 2.5 % more (less suffices below an exponent of 1.25): a rule without memory and
    wells that remember cannot agree exactly. The manual's 50 A for 79 Ah (1.1),
    63 (1.2), 56 (1.25) and 50 (1.3) lie within these hours; its ampere-hour is out of reach.
    """
    amps = 100.0 / 20.0 * (20.0 / hours) ** (1.0 / exponent)
    changes = {**ALONE, "bank.rate_exponent": exponent}
    for draws_a, lasts in ((amps * (1.0 - off), True), (amps * (1.0 + off), False)):
        result = sq.only(simulate(dark(100.0, draws_a, 1, changes), sq.weather({}, 24)))
        assert (24.0 - float(result["hours_flat"].sum()) >= hours) is lasts


def whole_over_twenty_hours(share: float, rate_per_h: float) -> float:
    """All charge over what 20 hours of steady current give, by the closed form of two wells."""
    kt = 20.0 * rate_per_h
    gone = 1.0 - np.exp(-kt)
    return float((gone + share * (kt - gone)) / (share * kt))


def two_wells(whole_ah: float, share: float, rate_per_h: float, draws_a: float, days: int) -> float:
    """Charge given in one go by a bank of two wells that holds `whole_ah` in all."""
    rated_ah = whole_ah / whole_over_twenty_hours(share, rate_per_h)
    wells = {"bank.available_well_frac": share, "bank.well_rate_per_h": rate_per_h}
    return given_ah(dark(rated_ah, draws_a, days, {**ALONE, **wells}))


@pytest.mark.parametrize(("draws_a", "lasts_min"), [(0.25, 4.53), (0.5, 2.02)])
def test_published_lifetimes_of_two_wells(draws_a: float, lasts_min: float) -> None:
    """Jongerden and Haverkort 2009 (parameters from memory): 5.5 A min, c .166, k' .122 a
    minute; 0.5 %. An hour here is a hundredth of their minute, so that hours are fine enough.
    """
    finer = 100.0
    given = two_wells(5.5 * finer, 0.166, 0.122 / finer, draws_a, 22)
    assert given / draws_a / finer == pytest.approx(lasts_min, rel=0.005)


@pytest.mark.parametrize(
    ("hours", "share"), [(1, 0.3526), (5, 0.5386), (10, 0.6833), (20, 0.8108), (100, 0.9554)]
)
def test_charge_given_by_two_wells_in_a_time(hours: int, share: float) -> None:
    """Manwell and McGowan 1993 (from memory, recomputed), c .3 and k' .5 an hour: the current
    that empties the first well in so many hours runs so long and no longer; share within .001.

    An hour in which the first well runs dry is lived at what it can still give, so steps of a
    twentieth of an hour (k' .025) are taken, and the current is 0.1 % more.
    """
    finer, whole_ah = 20, 1000.0
    draws_a = whole_ah * share / (hours * finer)
    days = -(-(hours * finer + 1) // 24)
    changes = {
        **ALONE,
        "bank.available_well_frac": 0.3,
        "bank.well_rate_per_h": 0.5 / finer,
    }
    rated_ah = whole_ah / whole_over_twenty_hours(0.3, 0.5 / finer)
    for times, lasts in ((1.0 - 0.001 / share, True), (1.0 + 0.001 / share, False)):
        scenario = dark(rated_ah, draws_a * times, days, changes)
        result = sq.only(simulate(scenario, sq.weather({}, 24 * days)))
        assert (24.0 * days - float(result["hours_flat"].sum()) >= hours * finer) is lasts


def given_at(exponent: float, draws_a: float, about_ah: float) -> float:
    """What 100 Ah with a Peukert exponent give, their discharge lived in 500 steps.

    A tenth of them, and a tenth of the current, since a scenario's banks end at 20,000 Ah.
    """
    finer = round(500.0 * draws_a / about_ah)
    share, rate_per_h = wells(exponent)
    whole_ah = 10.0 * finer * whole_of(share, rate_per_h, rated_frac(exponent))
    days = int(1.2 * finer * about_ah / draws_a / 24.0) + 1
    given = two_wells(whole_ah, share, rate_per_h / finer, draws_a / 10.0, days)
    return 10.0 * given / finer


@pytest.mark.parametrize(
    ("exponent", "draws_a", "table_ah"),
    [(1.2, 10, 87), (1.2, 25, 72), (1.2, 50, 63), (1.1, 50, 79), (1.25, 50, 56)],
)
def test_the_manuals_table_row_by_row(exponent: float, draws_a: float, table_ah: float) -> None:
    """Ampere-hours of a battery monitor's manual, 100 Ah at 20 h: 2.5 % of the rule that makes
    the table, whose rows are rounded by up to half an ampere-hour.
    """
    by_rule = draws_a * 20.0 * (100.0 / (draws_a * 20.0)) ** exponent
    assert by_rule == pytest.approx(table_ah, abs=0.5)
    assert given_at(exponent, draws_a, table_ah) == pytest.approx(by_rule, rel=0.025)


def test_an_exponent_of_130_is_within_the_hours_and_not_at_the_amperes() -> None:
    """The manual's 50 Ah at 50 A with an exponent of 1.3. In the hour that the rule gives it the
    wells give within 2.5 % (the test above); at 50 A they last 1 h 2 min, 51.4 Ah, 2.7 % more.
    The least that any two wells leave over such currents of 1 to 20 h is 2.66 % (own fit), so
    this row is missed by a fifth of a percent.
    """
    by_rule = 50.0 * 20.0 * (100.0 / (50.0 * 20.0)) ** 1.3
    assert by_rule == pytest.approx(50.0, abs=0.5)
    assert given_at(1.3, 50.0, 50.0) == pytest.approx(by_rule, rel=0.027)
    assert given_at(1.3, 50.0, 50.0) != pytest.approx(by_rule, rel=0.025)


def test_in_half_an_hour_wells_give_more_than_the_rule() -> None:
    """The table's last row, 55 Ah at 100 A, is out in 33 minutes, faster than the hours from 1 to
    20 that wells are fitted to: they give 59.5 Ah, 8 % more. A rig that empties a bank so fast
    (1 C and more of lead) is told of its discharge limit.
    """
    assert given_at(1.2, 100.0, 55.0) == pytest.approx(59.5, abs=0.5)


def test_rest_brings_charge_back() -> None:
    """After a fast discharge the bound charge follows: the bank gives again, in all as if slow."""
    changes = {"bank.cutoff_frac": 0.0, "bank.reconnect_frac": 0.0, "bank.rate_exponent": 1.25}
    scenario = dark(100.0, 40.0, 4, changes)
    assert given_ah(scenario) > 108.0  # 114 Ah is all there is, 59 Ah in one go


def test_a_bank_without_rate_effect_gives_the_same_at_any_rate() -> None:
    for draws_a in (2.0, 16.0, 64.0):
        scenario = dark(128.0, draws_a, 4, ALONE)
        assert given_ah(scenario) == pytest.approx(128.0, rel=1e-5)


@pytest.mark.parametrize(
    ("temp_c", "factor"), [(-3.9, 1.52), (-1.1, 1.43), (4.4, 1.30), (10.0, 1.19), (15.6, 1.11)]
)
def test_capacity_in_the_cold(temp_c: float, factor: float) -> None:
    """IEEE 485 table 1 (range seen, values from memory): a bank larger by the size factor
    lasts as long in the cold as one at 25 C does with the same load. Tolerance 0.02.
    """
    cold = {**ALONE, "bank.chemistry": "agm", "bank.location": "outside"}
    warm = given_ah(dark(100.0, 8.0, 2, cold))
    sized = given_ah(dark(100.0 * factor, 8.0, 2, cold), temp_c)
    assert sized == pytest.approx(warm, rel=0.02)


@pytest.mark.parametrize(("temp_c", "factor"), [(32.2, 0.94), (51.7, 0.85)])
def test_heat_adds_no_capacity(temp_c: float, factor: float) -> None:
    """The same table goes on to 0.94 at 32.2 C and 0.85 at 51.7 C: a warm bank gives 6 and 18 %
    more. That is left out on purpose, so these two rows are not met. The standard itself advises
    it (from memory): where a bank is never colder than 25 C, size it for 25 C and count what
    heat adds as margin. Nor would it show: protection ends a discharge at a tenth of the charge,
    charge below empty has no meaning here, and heat ages. The cautious side, by 6 and 18 %.
    """
    hot = {**ALONE, "bank.chemistry": "agm", "bank.location": "outside"}
    warm = given_ah(dark(100.0, 8.0, 2, hot))
    assert given_ah(dark(100.0, 8.0, 2, hot), temp_c) == pytest.approx(warm, rel=1e-3)
    assert given_ah(dark(100.0 * factor, 8.0, 2, hot), temp_c) < warm


@pytest.mark.parametrize(("ah_a_day", "left"), [(70.9, 0.30), (100.0, 0.012)])
def test_eight_dark_days(ah_a_day: float, left: float) -> None:
    """810 Ah, eight days without sun (common practice, no source): 30 % left after 70.9 Ah a
    day, 1.2 % after 100; and flat on the ninth day (8.1 days)."""
    scenario = dark(810.0, ah_a_day / 24.0, 8, {})
    result = sq.only(simulate(scenario, sq.weather({}, 192)))
    assert result["min_charge_frac"].item() == pytest.approx(left, abs=0.001)
    longer = dark(810.0, 100.0 / 24.0, 12, {})
    assert sq.only(simulate(longer, sq.weather({}, 288)))["first_flat_day"].item() == 9.0


def test_a_bank_sized_by_the_book() -> None:
    """IEEE 1013's method (from memory; example ours): 100 Ah a day, five days, 80 % deep,
    cold factor 1.25, margin 1.1 make 859 Ah. Such a bank with the margin used up and the
    factor lost is 20 % full after five dark days."""
    sized_ah = 100.0 * 5 / 0.8 * 1.25 * 1.1
    assert sized_ah == pytest.approx(859.0, abs=1.0)
    scenario = dark(sized_ah / 1.1, 100.0 / 24.0, 5, {"bank.health_frac": 1.0 / 1.25})
    result = sq.only(simulate(scenario, sq.weather({}, 120)))
    assert result["min_charge_frac"].item() == pytest.approx(0.2, abs=0.001)
    running = dark(sized_ah, 20.0, 2, {})  # its functional-hour rate: 43 h at 20 A, less 0.04
    found = sq.only(simulate(running, sq.weather({}, 48)))
    assert 48.0 - float(found["hours_flat"].sum()) == 42.0
    assert float(found["served_wh"].sum()) / 240.0 == pytest.approx(42.97, abs=0.01)


def test_array_to_load_ratio() -> None:
    """IEEE 1013-2000 3.1: 5.0 sun-hours times 20 A over 75 Ah a day is 1.33."""
    sun = np.zeros((10, 24), np.float32)
    sun[:, 10:15] = 1000.0
    rig = sq.Rig(
        amp_hours=400.0,
        arrival_charge_frac=0.9,
        watts=240.0,
        nights=10,
        more=sq.steady(75.0 * 12.0 / 24.0),
    )
    columns = {"ghi": sun.ravel(), "dhi": sun.ravel()}
    result = sq.only(simulate(rig.scenario(), sq.weather(columns, 240)))
    offered = float((result["array_wh"] + result["spilled_wh"]).sum())
    assert offered / float(result["demand_wh"].sum()) == pytest.approx(4.0 / 3.0, rel=1e-5)


def test_self_discharge_of_sealed_lead() -> None:
    """3 % a month at 20 C (a data sheet's note, seen second-hand): 83.3 % after six months."""
    changes = {"bank.self_discharge_frac_month": 0.03}
    rig = sq.Rig(amp_hours=100.0, arrival_charge_frac=1.0, nights=183, more=sq.steady(0.0))
    result = sq.only(simulate(rig.scenario().with_changes(changes), sq.weather({}, 24 * 183)))
    assert result["end_ah"].item() == pytest.approx(83.3, abs=0.5)
