"""The words for cooling, shade and heaters: defaults, refusals, cautions."""

from __future__ import annotations

import pytest

from flatodds.errors import ScenarioError
from flatodds.scenario import Scenario, parse_scenario

BASE = """
bank = {{ chemistry = "lithium", volts = 12, amp_hours = {amp_hours} }}
array = {{ watts = 1000 }}
inverter = {{ watts = {inverter} }}
household = {{ pattern = "light"{household} }}
stay = [{{ place = "33.10, -113.40", first_day = "1 Jul", nights = 7{stay} }}]
"""


def made(
    more: str = "",
    *,
    inverter: int = 3000,
    amp_hours: int = 600,
    household: str = "",
    stay: str = "",
) -> Scenario:
    words = {"inverter": inverter, "amp_hours": amp_hours, "household": household, "stay": stay}
    return parse_scenario(BASE.format(**words) + more, "check.toml")


def problems(*args: str, **words: str | int) -> str:
    with pytest.raises(ScenarioError) as caught:
        made(*args, **words)  # type: ignore[arg-type]
    return str(caught.value)


def test_defaults_are_told_as_assumed() -> None:
    scenario = made('[cooling]\nunit = "rooftop_13500"\n')
    cooling = scenario.cooling
    assert cooling is not None
    assert (cooling.watts, cooling.cooling_w, cooling.side) == (1350.0, 3956.0, "ac")
    assert (cooling.hold_c, cooling.need, cooling.only_above_charge_frac) == (
        26.0,
        "above-charge",
        0.5,
    )
    keys = {item.key for item in scenario.assumed}
    assert {"cooling.watts", "cooling.inside_cool_c", "cooling.need", "cooling.hours"} <= keys
    assert all(len(item.why) > 5 for item in scenario.assumed if item.key.startswith("cooling."))


def test_a_soft_starter_tames_the_start() -> None:
    plain = made('[cooling]\nunit = "rooftop_15000"\n').cooling
    soft = made('[cooling]\nunit = "rooftop_15000"\nsoft_start = true\n').cooling
    assert plain is not None
    assert soft is not None
    assert soft.start_w < 0.6 * plain.start_w


def test_fahrenheit_or_celsius_but_not_both() -> None:
    cooling = made('[cooling]\nunit = "dc_7000"\ninside_cool_f = 77\n').cooling
    assert cooling is not None
    assert cooling.hold_c == pytest.approx(25.0)
    both = '[cooling]\nunit = "dc_7000"\ninside_cool_f = 77\ninside_cool_c = 25\n'
    assert "both written" in problems(both)


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ('[cooling]\nunit = "icebox"\n', "rooftop_13500"),
        (
            '[cooling]\nunit = "dc_7000"\nneed = "must"\nonly_above_charge_frac = 0.4\n',
            "has no meaning",
        ),
        ('[cooling]\nunit = "dc_7000"\ninside_cool_c = 17\n', "Cool to a higher temperature"),
        ('[cooling]\nunit = "dc_7000"\ninside_cool_c = 31\n', "above household.comfort_high_c"),
        ('[cooling]\nunit = "dc_7000"\nhours = ["8-12", "11-14"]\n', "overlap"),
        ('[shell]\nroof = "dark"\nsun_aperture_m2 = 2\n', "both written"),
    ],
)
def test_what_does_not_go_together_is_refused(more: str, words: str) -> None:
    assert words in problems(more)


def test_temperatures_that_just_go_together() -> None:
    """As warm as comfort ends is kept; as cool as heating keeps it is refused."""
    unit = '[cooling]\nunit = "dc_7000"\ninside_cool_c = {}\n'
    edge = made(unit.format(27), household=", comfort_high_c = 27").cooling
    assert edge is not None
    assert edge.hold_c == 27.0
    heated = ", inside_day_c = 22, inside_night_c = 18"
    assert "Cool to a higher temperature" in problems(unit.format(22), household=heated)
    assert made(unit.format(22.5), household=heated).cooling is not None


def test_mains_cooling_needs_an_inverter() -> None:
    assert "the air conditioner" in problems('[cooling]\nunit = "rooftop_13500"\n', inverter=0)


def cautions(scenario: Scenario) -> str:
    return "\n".join(f"{one.found} {one.hint}" for one in scenario.cautions)


def test_heat_is_warned_of_first() -> None:
    assert "Safety: never let a life depend" in cautions(made('[cooling]\nunit = "dc_7000"\n'))
    assert "never let a life depend" not in cautions(made())


def test_running_and_starting_are_held_against_inverter_and_bank() -> None:
    rooftop = '[cooling]\nunit = "rooftop_13500"\n'
    assert "may not start" in cautions(made(rooftop, inverter=2000))
    assert "113 F (45 C) outside" in cautions(made(rooftop, inverter=1400))
    assert "this bank gives" in cautions(made(rooftop, amp_hours=200))
    assert "may not start" not in cautions(made(rooftop + "soft_start = true\n"))


def test_what_it_draws_in_heat_is_told() -> None:
    """1,350 W, 1.14 times as much at 45 degrees as at 35."""
    rooftop = '[cooling]\nunit = "rooftop_13500"\n'
    told = cautions(made(rooftop, inverter=1500))
    assert "It draws about 1,539 W with 113 F (45 C) outside; the inverter gives 1,500 W." in told
    assert "outside; the inverter" not in cautions(made(rooftop, inverter=1540))


@pytest.mark.parametrize(("watts", "covered"), [(0, 0.0), (1000, None), (20000, 1.0)])
def test_panels_shade_no_more_than_the_whole_roof(watts: int, covered: float | None) -> None:
    dark = made('[shell]\nroof = "dark"\n').with_changes({"array.watts": watts})
    told = {item.key: item.value for item in dark.assumed}["shell.panels_over_roof_frac"]
    if covered is None:
        assert isinstance(told, float)
        assert 0.0 < told < 1.0
    else:
        assert told == covered


def test_built_in_air_is_warned_of_where_cooling_rests_on_it() -> None:
    unit = '[cooling]\nunit = "dc_7000"\n'
    assert "built-in estimate of air" in cautions(made(unit))
    months = ", monthly_temp_f = [56, 59, 65, 72, 81, 90, 95, 94, 88, 76, 64, 55]"
    assert "built-in estimate of air" not in cautions(made(unit, stay=months))
    assert "built-in estimate of air" not in cautions(made())


def test_built_in_air_is_warned_of_once_for_all_stays() -> None:
    two = made('[cooling]\nunit = "dc_7000"\n')
    stays = [
        *two.document["stay"],
        {**two.document["stay"][0], "name": "North", "first_day": "9 Jul"},
    ]
    said = cautions(two.with_changes({"stay": stays}))
    assert said.count("built-in estimate of air") == 1
    assert "and North: the built-in" in said


def test_an_electric_heater_is_advised_against() -> None:
    heater = '[[appliance]]\nuse = "space_heater"\n'
    assert "Heat with fuel" in cautions(made(heater))


def test_roof_colour_and_panels_above_it_change_the_sun_let_in() -> None:
    light = made('[shell]\nroof = "light"\npanels_over_roof_frac = 0\n').shell.sun_aperture_m2
    dark = made('[shell]\nroof = "dark"\npanels_over_roof_frac = 0\n').shell.sun_aperture_m2
    covered = made('[shell]\nroof = "dark"\n').shell.sun_aperture_m2
    assert light == pytest.approx(made().shell.sun_aperture_m2)
    assert dark - light == pytest.approx(25.0 * 0.026)
    assert light - 25.0 * 0.026 < covered < dark


def test_shade_of_the_home_by_shell_and_stay() -> None:
    assert made().shell.shade_frac == 0.0
    assert made('[shell]\nshade = "half"\n').shell.shade_frac == 0.5
    assert made(stay=', home_shade = "deep"').stays[0].home_shade_frac == 0.8


def test_an_air_heater_is_a_heater_of_its_own() -> None:
    scenario = made(household=', heat = "air heater"')
    assert scenario.household.heat_output_w == 4000.0
    assert [use.kind for use in scenario.appliances if use.use == "air_heater"] == ["air-heater"]
    two = made(household=', heat = "air heater", heat_output_w = 2000')
    assert two.household.heat_output_w == 2000.0
    assert "does not agree" in problems('[[appliance]]\nuse = "air_heater"\n')


def test_how_soon_a_heater_empties_the_bank() -> None:
    """400 Ah at 12.8 V are 5,120 Wh or more; 1,500 W at 90 % of the inverter draw 1,667 W."""
    scenario = made('[[appliance]]\nuse = "space_heater"\n')
    (use,) = (use for use in scenario.appliances if use.use == "space_heater")
    hours = scenario.bank.capacity_wh / (use.watts / 0.9)
    assert f"in about {hours:.1f} hours" in cautions(scenario)
    assert hours < 24.0


def test_an_ideal_bank_starts_any_air_conditioner() -> None:
    rooftop = '[cooling]\nunit = "rooftop_13500"\n'
    lithium = made(rooftop, amp_hours=200)
    assert "this bank gives" in cautions(lithium)
    assert "this bank gives" not in cautions(lithium.with_changes({"bank.chemistry": "ideal"}))
