"""Words that few people write."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from flatodds.scenario.bank import _above
from flatodds.scenario.dates import DayError, parse_day
from flatodds.scenario.limits import estimated_c, limit_rows

if TYPE_CHECKING:
    from tests.scenario.small_text import LAMP, made, refused
else:
    from small_text import LAMP, made, refused


def test_an_appliance_used_no_times_is_none() -> None:
    times = 'minutes = 5\ntimes_a_day = {}\nwindow = ["7-9"]'
    never = made(LAMP.format(name="lamp", more=times.format(0)))
    assert "lamp" not in {use.name for use in never.appliances}
    twice = made(LAMP.format(name="lamp", more=times.format(2)))
    (lamp,) = (use for use in twice.appliances if use.name == "lamp")
    assert (lamp.times_a_day, lamp.times_a_day_weekend) == (2.0, 2.0)


def test_a_steady_appliance_takes_no_times() -> None:
    steady = 'kind = "steady"'
    assert "lamp" in {u.name for u in made(LAMP.format(name="lamp", more=steady)).appliances}
    told = refused(LAMP.format(name="lamp", more=f"{steady}\nminutes = 5"))
    assert "minutes has no meaning: a steady appliance is always on" in told


def test_two_controllers_need_names() -> None:
    arrays = 'array = [{ watts = 400, controller = "a" }, { watts = 200, controller = "b" }]\n'
    told = refused("[[controller]]\n[[controller]]\n", array=arrays)
    assert "controller.0.name is missing: there are several controllers" in told
    assert "controller.1.name is missing" in told
    told = refused('[[controller]]\nname = "a"\n[[controller]]\nname = "a"\n', array=arrays)
    assert 'controller.1.name "a" is given twice' in told


def test_strings_of_panels() -> None:
    panel = "voc_v = 38.9, isc_a = 10, vmp_v = 31.0, imp_a = 9.5, voc_frac_per_c = -0.0027"
    text = "array = {{ {panel}, {more} }}\n"

    def strings(more: str) -> tuple[int, int]:
        (found,) = made(array=text.format(panel=panel, more=more)).arrays
        return found.in_series, found.in_parallel

    assert strings("count = 6, in_parallel = 2") == (3, 2)
    assert strings("count = 6, in_series = 2") == (2, 3)
    assert strings("count = 6") == (1, 6)
    told = refused(array=text.format(panel=panel, more="count = 5, in_parallel = 2"))
    assert "array.in_parallel does not fit: 2 in series, 2 such strings, 5 panels" in told
    told = refused(array=text.format(panel=panel, more="count = 5, in_series = 3"))
    assert "array.in_series does not fit: 3 in series, 1 such strings, 5 panels" in told


def test_trees_without_leaves_to_lose() -> None:
    stay = made(stay="tree_shade_frac = 0.4\n").stays[0]
    key = {item.key: item.why for item in made(stay="tree_shade_frac = 0.4\n").assumed}
    assert any(name.endswith("leaves") for name in key)
    assert (stay.shade.tree_shade_frac, stay.shade.leaf_doys) == (0.4, ())
    bare = made(stay='tree_shade_frac = 0.4\nleaves = ["1 May", "20 Oct"]\n').stays[0]
    assert bare.shade.leaf_doys == (120, 292)
    assert bare.shade.bare_shade_frac < stay.shade.bare_shade_frac == 1.0


def test_days_of_a_pedestal_are_said_once() -> None:
    hookup = "hookup.charger_amps = 30\n"
    both = 'hookup_every_days = 3\nhookup_dates = ["22 Nov"]\n'
    assert "hookup_every_days" in refused(hookup, stay=both)
    own = made(hookup, stay='hookup_dates = ["22 Nov"]\n')
    assert own.hookup is not None
    assert own.hookup.days == ((2,),)


@pytest.mark.parametrize(
    ("text", "hint"),
    [("40 Sep 2026", "20 Sep"), ("2026-13-05", "20 Sep"), ("2026-09-32", "20 Sep")],
)
def test_days_that_no_year_has(text: str, hint: str) -> None:
    with pytest.raises(DayError) as caught:
        parse_day(text)
    assert hint in str(vars(caught.value)) + str(caught.value)


def test_the_release_above_a_limit() -> None:
    from flatodds.catalog import chemistries

    lithium, lead = chemistries()["lithium"], chemistries()["agm"]
    assert lead.charge_cold_limit_c is None
    assert _above(-5.0, lead, 7.0) == _above(-5.0, lithium, None)
    assert _above(-5.0, lithium, (lithium.charge_cold_limit_c or 0.0) + 3.0) == -2.0


def test_a_record_low_is_guessed() -> None:
    stay = made().stays[0]
    months = tuple(float(at) - 3.0 for at in range(12))
    assert estimated_c(replace(stay, monthly_temp_c=months)) == -23.0
    plain = replace(stay, monthly_temp_c=None, elevation_m=None)
    assert estimated_c(replace(plain, latitude=10.0)) == 15.0
    assert estimated_c(replace(plain, latitude=-30.0)) == pytest.approx(-2.0)
    assert estimated_c(replace(plain, latitude=30.0, elevation_m=2000.0)) == pytest.approx(-12.0)
    assert estimated_c(replace(plain, latitude=80.0)) == -45.0


def test_panels_without_a_data_sheet_have_only_area_and_mass() -> None:
    plain = made()
    rows = dict(limit_rows(plain.arrays, plain.controllers, plain.stays))
    assert "not checked" in rows["array 0"]  # no data plate, no volts
    watts = sum(array.watts for array in plain.arrays)
    assert f"about {watts / 200.0:.1f} m2, {watts / 200.0 * 11.0:.0f} kg" in rows["all panels"]
    assert "licensed electrician" in rows["mind"]


def test_strings_side_by_side() -> None:
    panel = "voc_v = 38.9, isc_a = 10, vmp_v = {}, imp_a = 9.5, voc_frac_per_c = -0.0027"
    pair = "array = [{{ {}, count = 1 }}, {{ {}, count = 1 }}]\n"
    same = made(array=pair.format(panel.format(31), panel.format(31)))
    apart = made(array=pair.format(panel.format(31), panel.format(20)))
    told = "\n".join(caution.found for caution in apart.cautions)
    assert "strings of 20 and 31 V side by side share one voltage" in told
    assert "side by side" not in "\n".join(caution.found for caution in same.cautions)


def test_wet_days_written_are_not_assumed() -> None:
    keys = {item.key for item in made(stay=f"monthly_wet_days = {[5] * 12}\n").assumed}
    assert not any(key.endswith("monthly_wet_days") for key in keys)
    assert any(item.key.endswith("monthly_wet_days") for item in made().assumed)


def test_hours_out_that_are_written() -> None:
    aimed = "array = {{ watts = 200, aimed_times_a_day = 2{} }}\n"
    usual = {item.key for item in made(array=aimed.format("")).assumed}
    written = made(array=aimed.format(', out_hours = ["9-16"]'))
    assert "array.out_hours" in usual
    assert "array.out_hours" not in {item.key for item in written.assumed}
    assert written.arrays[0].out_hours == ((9.0, 16.0),)
