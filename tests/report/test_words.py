from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from flatodds.outcomes import said as chances
from flatodds.report import words
from flatodds.report.measures import clock_scale, hours_text
from flatodds.weather.regions import region_caution


@pytest.mark.parametrize(
    ("chance", "said"),
    [
        (0.05, "5 of 100"),
        (0.004, "4 of 1,000"),
        (0.0094, "9 of 1,000"),
        (0.0096, "1 of 100"),
        (0.014, "1 of 100"),
        (0.125, "13 of 100"),
        (0.0004, "fewer than 1 of 1,000"),
        (0.992, "99 of 100"),
        (0.996, "more than 99 of 100"),
        (1.0, "more than 99 of 100"),
    ],
)
def test_chances_are_said_as_so_many_of_100(chance: float, said: str) -> None:
    assert chances.of_100(chance) == said


@pytest.mark.law
@given(st.floats(0.0, 1.0), st.sampled_from(["nearest", "down", "up"]))
def test_no_chance_is_ever_said_as_none_all_or_with_decimals(
    chance: float, rounding: chances.Rounding
) -> None:
    said = chances.of_100(chance, rounding)
    count, _, base = said.removeprefix("fewer than ").removeprefix("more than ").partition(" of ")
    assert base in ("100", "1,000")
    assert 1 <= int(count) <= 99
    for text in (said, words.short_of_100(chance)):
        assert "%" not in text
        assert "." not in text


def value(said: str) -> float:
    if said.startswith("fewer"):
        return 0.0
    if said.startswith("more"):
        return 1.0
    count, _, base = said.partition(" of ")
    return int(count) / int(base.replace(",", ""))


@pytest.mark.law
@given(st.floats(0.0, 1.0))
def test_ends_of_a_range_are_rounded_outwards(chance: float) -> None:
    assert value(chances.of_100(chance, "down")) <= chance + 1e-9
    up = value(chances.of_100(chance, "up"))
    assert up >= chance - 1e-9 or math.isclose(chance, 0.0, abs_tol=1e-9)


@pytest.mark.parametrize(
    ("low", "high", "said"),
    [
        (0.003, 0.19, "3 of 1,000 to 19 of 100"),
        (0.021, 0.185, "2 to 19 of 100"),
        (0.0, 0.0019, "up to 2 of 1,000"),
        (0.0, 1.0, "anything up to more than 99 of 100"),
        (0.5, 0.999, "50 of 100 or more"),
        (0.07, 0.999, "7 of 100 to more than 99 of 100"),
        (0.07, 0.07, "7 of 100"),
        (0.996, 1.0, "99 of 100 or more"),
    ],
)
def test_ranges(low: float, high: float, said: str) -> None:
    assert chances.range_words({"low": low, "high": high}) == said


@pytest.mark.parametrize(
    ("estimate", "low", "high", "said"),
    [
        (0.001, 0.0, 0.02, "very unlikely"),
        (0.01, 0.0, 0.021, "unlikely"),
        (0.049, 0.01, 0.2, "unlikely"),
        (0.05, 0.01, 0.2, "a real chance"),
        (0.199, 0.1, 0.49, "a real chance"),
        (0.2, 0.1, 0.6, "expect some trouble"),
        (0.599, 0.03, 0.9, "expect some trouble"),
        (0.6, 0.3, 0.9, "expect to run flat"),
        (1.0, 0.9, 1.0, "expect to run flat"),
        (0.04, 0.02, 0.5, "we cannot tell yet"),
        (0.3, 0.001, 0.8, "we cannot tell yet"),
    ],
)
def test_verdicts(estimate: float, low: float, high: float, said: str) -> None:
    chance = {"estimate": estimate, "low": low, "high": high}
    assert chances.verdict(chance, {"low": low, "high": high}) == said


@pytest.mark.law
@given(st.lists(st.floats(0.0, 1.0), min_size=3, max_size=3).map(sorted))
def test_no_verdict_says_safe(ends: list[float]) -> None:
    chance = {"estimate": ends[1], "low": ends[0], "high": ends[2]}
    assert "safe" not in chances.verdict(chance, {"low": ends[0], "high": ends[2]})


def test_answers() -> None:
    some = {"estimate": 0.05, "low": 0.04, "high": 0.06}
    none = {"estimate": 0.0, "low": 0.0, "high": 0.0019}
    every = {"estimate": 1.0, "low": 0.9981, "high": 1.0}
    told = chances.answer_sentence(some, members=2000, record_years=None)
    assert told == "The battery runs flat in about 5 of 100 such stays."
    told = chances.answer_sentence(none, members=2000, record_years=None)
    assert "none of 2,000 simulated stays; we cannot rule out 2 of 1,000" in told
    told = chances.answer_sentence(every, members=2000, record_years=None, many="trips")
    assert "all of 2,000 simulated trips; we cannot rule out that 2 of 1,000 do not" in told
    told = chances.answer_sentence({**none, "high": 0.1546}, members=2100, record_years=21)
    assert "none of 21 real years; we cannot rule out 16 of 100" in told


def test_the_range_says_what_it_counts() -> None:
    band = {"low": 0.021, "high": 0.19}
    assert "not known exactly" in chances.range_sentence(band, ["sun", "use"])
    for over, said in (
        (["sun"], "Sun is not known exactly; with that, 2 to 19 of 100."),
        (["the battery's cold lock"], "The battery's cold lock is not known exactly; with that, 2"),
        (
            ["sun", "use", "the battery's cold lock"],
            "Sun, use and the battery's cold lock are not known exactly;",
        ),
    ):
        assert chances.range_sentence(band, over).startswith(said)
    assert "Were sun and use known exactly, 2 to 19 of 100" in chances.range_sentence(band, [])


def test_what_was_never_seen_is_told_with_how_often_it_was_looked_for() -> None:
    assert chances.seen(0.0, chances.counted(40, None)) == "none of 40 simulated stays"
    assert chances.seen(1.0, chances.counted(40, 1)) == "all of 1 real year"
    assert chances.seen(0.07, "40 stays") == "7 of 100"
    assert [words.short_of_100(p) for p in (0.0, 0.001, 0.5, 0.995, 1.0)] == [
        "none",
        "<1",
        "50",
        ">99",
        "all",
    ]


def test_guesses_are_named_by_what_they_change() -> None:
    assert words.case_words(1.0, 1.0) == "as you wrote it"
    assert words.case_words(1.0, 1.0, 1.5) == "cold lock 1.5 C sooner"
    assert words.case_words(0.88, 1.0) == "sun 12 % weaker"
    assert words.case_words(1.12, 0.85) == "sun 12 % stronger, you use 15 % less"


@pytest.mark.parametrize(
    ("amount", "said"), [(0.414, "0.41"), (0.996, "1.0"), (5.26, "5.3"), (62.4, "62"), (0, "0.00")]
)
def test_numbers_have_two_figures(amount: float, said: str) -> None:
    assert words.number(amount) == said


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("Café ±12 °C", "Cafe +-12 deg C"),
        ("a\x1b[31mred\nline\t!", "a?[31mred line !"),
        ("\u202eright to left", "?right to left"),
        ("沙漠", "??"),
        ("x" * 30, "x" * 7 + "..."),
    ],
)
def test_text_is_made_plain_for_any_terminal(text: str, said: str) -> None:
    assert words.plain_ascii(text, 10 if text.startswith("xxx") else None) == said


@pytest.mark.law
@given(st.text())
def test_plain_text_is_one_printable_ascii_line(text: str) -> None:
    said = words.plain_ascii(text, 40)
    assert said.isascii()
    assert said.isprintable()
    assert len(said) <= 40


def test_a_basis_is_a_finished_sentence() -> None:
    assert words.basis_sentence("Sun data: ±12 %") == "Sun data: +-12 %."
    assert words.basis_sentence("Sun data.") == "Sun data."
    assert words.basis_sentence("") == ""


def test_a_study_says_what_its_weather_rests_on_and_what_goes_wrong_there() -> None:
    """Each basis once, and of its cautions those that no screen leaves off, by their first line."""
    cautions = ["Warning: at 5.37, -4.13 clouds. More of it.", "City 700 km away."]
    one = {"basis": "Sun data: invented, ±12 %", "typical_error_frac": 0.12, "cautions": cautions}
    found = words.weather_lines({"weather": [one, dict(one, cautions=[])]})
    assert found == ["Sun data: invented, +-12 %.", "Warning: at 5.37, -4.13 clouds."]


MOUNTAINS = (
    "sun may be 24 to 37 % overstated: mountains. The land within 0.5 degree of {} is high. Ask."
)


def test_a_warning_that_holds_at_several_places_is_said_once() -> None:
    summary = {
        "cautions": [
            "Safety: a flat battery stops the furnace. Keep alarms.",
            f"Warning: at 38.50, -109.20 {MOUNTAINS.format('38.50, -109.20')}",
            f"Warning: at 39.20, -106.30 {MOUNTAINS.format('39.20, -106.30')}",
            "A look.",
        ]
    }
    assert words.urgent_told(summary, short=True) == [
        "Safety: a flat battery stops the furnace.",
        "Warning: at 38.50, -109.20 and 39.20, -106.30 sun may be 24 to 37 % overstated: "
        "mountains.",
    ]
    furnace, warning = words.urgent_told(summary)
    assert furnace == "Safety: a flat battery stops the furnace. Keep alarms."
    assert warning.count("overstated") == warning.count("Ask") == 1
    assert warning.count("The land within") == 2
    assert words.urgent_told({"cautions": []}) == []


def test_the_real_warnings_of_two_places_are_said_once() -> None:
    near = [region_caution(38.5, -109.2, 2000.0), region_caution(37.0, -112.0, 1500.0)]
    (told,) = words.urgent_told({"cautions": near}, short=True)
    assert told == (
        "Warning: at 38.50, -109.20 and 37.00, -112.00 sun may be 24 to 37 % overstated: mountains."
    )


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("hotter than 29 C (84 F)", "hotter than 29 °C (84 °F)"),
        ("up to 9 °C", "up to 9 °C"),
        ("C/8 to C/5, 3 C/8", "C/8 to C/5, 3 C/8"),
        ("4 Fridges at 20 % of 5 kWh", "4 Fridges at 20\u00a0% of 5\u00a0kWh"),
        ("more than 99 of 100", "more than 99\u00a0of\u00a0100"),
    ],
)
def test_degrees_get_their_sign_on_a_page(text: str, shown: str) -> None:
    assert words.tied(text).replace("\u00a0°", " °") == shown


@pytest.mark.parametrize(
    ("hours", "said"),
    [
        (0.0, "no time"),
        (0.001, "less than a minute"),
        (0.0167, "1 minute"),
        (0.24, "14 minutes"),
        (0.99, "59 minutes"),
        (0.998, "1 hour"),
        (1.0, "1 hour"),
        (1.5, "1.5 hours"),
        (129.4, "129 hours"),
    ],
)
def test_times_are_said_in_minutes_below_an_hour(hours: float, said: str) -> None:
    assert hours_text(hours) == said
    scale, unit = clock_scale(hours)
    assert (scale, unit) == ((1.0, "hours") if hours >= 1.0 else (60.0, "minutes"))
