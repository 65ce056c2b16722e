"""Panels, controllers and shade as written: filled in, checked, refused."""

from __future__ import annotations

import pytest

from flatodds.errors import ScenarioError
from flatodds.scenario import Scenario, parse_scenario

BASE = """
bank = {{ chemistry = "lithium", volts = 12, amp_hours = 300 }}
household = {{ pattern = "light" }}
{rig}
[[stay]]
place = "33.66, -114.23"
first_day = "1 Dec"
nights = 20
{stay}
"""


def made(rig: str, stay: str = "") -> Scenario:
    return parse_scenario(BASE.format(rig=rig, stay=stay), "rig.toml")


def refusal(rig: str, stay: str = "") -> str:
    with pytest.raises(ScenarioError) as error:
        made(rig, stay)
    return str(error.value)


def test_watts_alone_are_enough() -> None:
    array = made("array.watts = 800").arrays[0]
    assert (array.watts, array.panel, array.aimed_times_a_day) == (800.0, None, 0)
    assert array.area_m2 == pytest.approx(4.0)
    three = made('array = { panel = "glass-300", count = 3 }').arrays[0]
    assert (three.area_m2, three.mass_kg) == pytest.approx((4.86, 54.0))


def test_kinds_of_panel_give_watts_and_data_plate() -> None:
    array = made('array = { panel = "glass-200", count = 4, in_series = 2 }').arrays[0]
    assert (array.watts, array.in_series, array.in_parallel) == (800.0, 2, 2)
    assert array.panel is not None
    assert array.panel.voc_v == 22.9
    assert array.mass_kg == pytest.approx(44.0)


def test_watts_written_scale_the_amperes_of_a_kind() -> None:
    array = made('array = { panel = "glass-200", watts = 440 }').arrays[0]
    assert (array.count, array.watts) == (2, 440.0)
    assert array.panel is not None
    assert array.panel.imp_a == pytest.approx(10.72 * 1.1)


def test_a_data_plate_gives_the_watts() -> None:
    plate = "voc_v = 49.5, isc_a = 10.07, vmp_v = 41.0, imp_a = 9.5, voc_frac_per_c = -0.0027"
    array = made(f"array = {{ {plate}, in_series = 2, in_parallel = 3 }}").arrays[0]
    assert array.watts == pytest.approx(6 * 41.0 * 9.5)
    assert "voc_frac_per_c is missing" in refusal(
        "array = { voc_v = 22.0, isc_a = 6.0, vmp_v = 18.0, imp_a = 5.5 }"
    )
    assert "must be above" in refusal(f"array = {{ {plate.replace('41.0', '50.0')} }}")


def test_no_watts_at_all_is_said() -> None:
    assert "array.watts is missing" in refusal("array.tilt_deg = 10")


def test_wiring_must_add_up() -> None:
    words = refusal('array = { panel = "glass-200", count = 5, in_series = 2 }')
    assert "does not fit" in words
    assert "catalogue of panels" in refusal('array = { panel = "glas-200" }')


@pytest.mark.parametrize(
    ("rig", "words"),
    [
        ("array = { watts = 200, aimed_times_a_day = 3, tilt_deg = 30 }", "both written"),
        ('array = { watts = 200, out_hours = ["8-17"] }', "turned by hand"),
        (f"array = {{ watts = 200, tilt_deg = 5, tilt_by_month = {[10.0] * 12} }}", "both written"),
        (f"array = {{ watts = 200, tilt_by_month = {[10.0] * 11} }}", "12"),
    ],
)
def test_facings_that_do_not_go_together(rig: str, words: str) -> None:
    assert words in refusal(rig)


def test_several_controllers_are_called_by_name() -> None:
    two = """
[[controller]]
name = "roof"
[[controller]]
name = "ground"
kind = "pwm"
[[array]]
watts = 400
{}
"""
    rig = made(two.format('controller = "ground"'))
    assert [c.kind for c in rig.controllers] == ["mppt", "pwm"]
    assert rig.arrays[0].controller == 1
    assert 'Use "roof" or "ground"' in refusal(two.format(""))
    assert "no controller of this rig" in refusal(two.format('controller = "shed"'))
    assert "controller.1.name is missing" in refusal(
        two.format('controller = "roof"').replace('name = "ground"', "")
    )


def test_a_lone_controller_is_changed_without_number() -> None:
    rig = made("array.watts = 400")
    assert rig.with_changes({"controller.amps": 30.0}).controllers[0].amps == 30.0
    assert rig.controllers[0].amps is None


def test_trees_are_filled_in() -> None:
    shade = (
        made("array.watts = 400", 'tree_shade_frac = 0.5\nleaves = ["1 May", "20 Oct"]')
        .stays[0]
        .shade
    )
    assert shade.tree_sky_shade_frac == pytest.approx(0.325)
    assert (shade.bare_shade_frac, shade.leaf_doys) == (0.45, (120, 292))
    assert made("array.watts = 400").stays[0].shade.tree_shade_frac == 0.0


def test_coldest_in_either_unit() -> None:
    assert made("array.watts = 400", "coldest_f = 14").stays[0].coldest_c == pytest.approx(-10.0)
    assert "both written" in refusal("array.watts = 400", "coldest_f = 14\ncoldest_c = -10")
