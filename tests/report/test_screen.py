from __future__ import annotations

import dataclasses
import re
from collections.abc import Callable
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from flatodds.engine.results import Case, Results
from flatodds.outcomes import Outcomes
from flatodds.report.fitting import CHART, GAP, SPARE, Line, fitted, ranked
from flatodds.report.screen import next_question, screen_text
from flatodds.report.words import range_short, short_of_100

Fabricate = Callable[..., Results]

LONG_SENTENCE = (
    "Sun data: an invented sentence about a coarse estimate for the whole world, corrected. Its "
    "typical error in the dullest season is ±12 %; it can be much worse than that on some coasts "
    "and between mountains. Give values of your own for this place if you have them."
)


def shown(outcomes: Outcomes, **options: Any) -> str:
    return screen_text(outcomes.summary(), outcomes.facts, outcomes.dawn_charge(), **options)


def numbers(line: str) -> list[str]:
    found = re.findall(r"[<>]?\d[\d,]*(?:\.\d+)?", line)
    return [token.rstrip(",") for token in found]


def two_figures(amount: float) -> str:
    return f"{amount:,.0f}" if amount >= 9.95 else f"{amount:.{2 if amount < 0.995 else 1}f}"


def with_ah(kwh: float) -> list[str]:
    return [two_figures(kwh), f"{kwh * 1000 / 12.8:,.0f}"]


def test_every_number_on_the_screen_is_in_the_summary(one_stay: Outcomes) -> None:
    summary, facts = one_stay.summary(), one_stay.facts
    stay = summary["stays"][0]
    odds, band, cases = stay["odds_flat"]["estimate"], stay["odds_flat_range"], stay["odds_flat_if"]
    week = stay["worst_week"]["one_in_ten"]
    bars = {name: str(round(part["estimate"] * 100)) for name, part in cases.items() if part}
    a_day = {key: stay[key]["mean"] / 60 for key in ("array_kwh", "demand_kwh", "spilled_kwh")}
    dawn = f"{one_stay.dawn_charge()[0]['p50'] * 100:.0f}"
    months = [numbers(short_of_100(m["odds_flat"]["estimate"])) for m in stay["months"]]
    expected = [
        ["60", "1", "33.66", "114.23"],
        ["5.2", "400", "12", "800"],
        [],
        [],
        [f"{odds * 100 + 1e-9:.0f}", "100"],
        [str(int(band["low"] * 100)), str(int(band["high"] * 100) + 1), "100"],
        [
            str(round(stay["hours_flat"]["mean"] / odds)),
            str(round(stay["nights_flat"]["mean"] / odds)),
        ],
        [],
        ["100", "0", "25", "50", "75", "100"],
        [bars["as_estimated"]],
        ["12", bars["sun_low"]],
        ["15", bars["use_high"]],
        [bars["both_bad"]],
        ["100", *(token for found in months for token in found)],
        [],
        ["1", "10"],
        [*with_ah(a_day["array_kwh"]), *with_ah(week["array_kwh_day"])],
        [*with_ah(a_day["demand_kwh"]), *with_ah(week["demand_kwh_day"])],
        [two_figures(a_day["spilled_kwh"])],
        [dawn, "15", f"{stay['odds_reserve']['estimate'] * 100 + 1e-9:.0f}", "100"],
        ["12"],  # the weather's own sentence; the gap above it gave way to 24 lines
        [],
        [str(len(facts.assumed))],
        [f"{summary['members']:,}", str(summary["seed"])],
    ]
    lines = shown(one_stay).splitlines()
    assert [numbers(line) for line in lines] == expected
    assert [line.count("#") for line in lines[9:13]] == [2, 7, 10, 25]


def test_the_screen_follows_the_summary(one_stay: Outcomes) -> None:
    before = shown(one_stay)
    summary = one_stay.summary()
    summary["stays"][0]["array_kwh"]["mean"] *= 3.0
    summary["stays"][0]["odds_flat"]["estimate"] = 0.41
    after = screen_text(summary, one_stay.facts, one_stay.dawn_charge())
    assert "about 41 of 100 such stays" in after
    assert "Expect some trouble" in after
    changed = [a for a, b in zip(after.splitlines(), before.splitlines(), strict=True) if a != b]
    assert len([line for line in changed if line.startswith("  sun taken in")]) == 1


def test_several_stays_have_a_row_each_then_the_worst(three_stays: Outcomes) -> None:
    lines = shown(three_stays).splitlines()
    assert lines[0] == "Desert winter: 3 stays, 180 nights"
    rows = [line for line in lines if re.match(r"stay \d", line)]
    assert [row.split("  ")[0] for row in rows] == ["stay 1", "stay 2", "stay 3"]
    assert numbers(rows[1]) == ["2", "30", "60", "20", "17", "23"]
    assert rows[1].endswith("20 (17 to 23)  expect some trouble")
    assert "none (to 1)" in rows[2]
    text = "\n".join(lines)
    assert "Likeliest to run flat: stay 2" in text
    assert "such trips" in text
    assert len(lines) <= 24 + 1 + 3 + 3, "a head, and for each stay a row and its months"


def test_a_row_says_its_range_in_few_letters() -> None:
    said = [
        range_short({"low": low, "high": high})
        for low, high in ((0.041, 0.188), (0.0, 0.021), (0.88, 0.999), (0.004, 1.0))
    ]
    assert said == ["(4 to 19)", "(to 3)", "(from 88)", "(<1 to >99)"]


def test_where_all_run_flat_the_bright_guesses_are_drawn(
    fabricate: Fabricate, doubt: tuple[Case, ...]
) -> None:
    flat = np.ones((9, 40, 2))
    names = [case.name for case in doubt]
    flat[names.index("sun_high"), :10] = flat[names.index("use_low"), :20] = 0.0
    outcomes = Outcomes.from_results(fabricate(flat, cases=doubt))
    text = shown(outcomes)
    assert re.search(r"as you wrote it +\|#{40}", text)
    assert re.search(r"sun 12 % stronger +\|#{30} +75\n", text)
    assert re.search(r"you use 15 % less +\|#{20} +50\n", text)
    assert "Each guess" not in text
    sentences = shown(outcomes, plain=True)
    assert "If sun 12 % stronger: 75 of 100." in sentences


def test_plain_has_the_same_answer_in_sentences_only(one_stay: Outcomes) -> None:
    text = shown(one_stay, plain=True)
    assert "|" not in text
    assert "#" not in text
    assert "   " not in text
    assert "If sun 12 % weaker: 17 of 100." in text
    drawn = {token for line in shown(one_stay).splitlines()[:8] for token in numbers(line)}
    assert drawn <= {token for line in text.splitlines() for token in numbers(line)}


def test_safety_is_whole_in_plain_and_never_left_off(one_stay: Outcomes) -> None:
    assert "carbon monoxide" in " ".join(shown(one_stay, plain=True).split())
    assert "Safety: a flat battery stops the furnace" in shown(one_stay)


def test_nothing_seen_is_not_called_impossible(fabricate: Fabricate) -> None:
    outcomes = Outcomes.from_results(fabricate())
    for plain in (False, True):
        text = " ".join(shown(outcomes, plain=plain).split())
        assert "none of 40 simulated stays; we cannot rule out 9 of 100" in text
        assert "When it happens" not in text
        assert "Were sun and use known exactly, up to 9 of 100" in text
        assert "in no simulated stay" in text


def test_always_flat_is_not_called_certain(fabricate: Fabricate) -> None:
    text = shown(Outcomes.from_results(fabricate(np.ones((1, 40, 2)))))
    assert "all of 40 simulated stays; we cannot rule out that 9 of 100 do not" in " ".join(
        text.split()
    )
    assert "in every simulated stay" in text


def test_too_wide_a_range_says_so(fabricate: Fabricate, doubt: tuple[Case, ...]) -> None:
    flat = np.zeros((9, 100, 2))
    flat[7, :20] = flat[8, :90] = 1.0
    text = shown(Outcomes.from_results(fabricate(flat, cases=doubt, members=100)))
    assert "We cannot tell yet; sun and use are too uncertain." in text


def test_real_years_are_named(fabricate: Fabricate) -> None:
    text = shown(Outcomes.from_results(fabricate(record_years=20)))
    assert "40 simulated stays on 20 real years, seed 1" in text
    assert "none of 20 real years" in text


def test_the_report_is_named_only_when_it_was_written(one_stay: Outcomes) -> None:
    bare = shown(one_stay, folder="x-result/", files=("summary.json", "result.nc"))
    assert "report.html" not in bare
    assert "Written: x-result/" in bare
    whole = shown(one_stay, folder="x-result", files=("summary.json", "report.html"))
    assert "Open x-result/report.html" in whole
    nothing = shown(one_stay)
    assert "Written" not in nothing
    assert "Next" not in nothing
    assert "Next: flatodds sweep my.toml" in shown(one_stay, next_command="flatodds sweep my.toml")


def test_the_worst_case_of_text_still_fits(fabricate: Fabricate, doubt: tuple[Case, ...]) -> None:
    uses = (SimpleNamespace(name="breathing machine at night", medical=True),)
    flat = np.zeros((9, 40, 2))
    results = fabricate(
        flat,
        cases=doubt,
        title="Ein sehr langer Titel für einen langen Winter " * 5,
        scenario={"appliances": uses},
        basis={"sentence": LONG_SENTENCE},
    )
    outcomes = Outcomes.from_results(dataclasses.replace(results, balance_error=1e-3))
    text = shown(
        outcomes,
        folder="a" * 60 + "-result",
        files=("report.html",),
        scenario_file="my.toml",
        next_command="flatodds sweep my.toml --array-watts 400:2000:200",
    )
    assert len(text.splitlines()) <= 24
    assert "Safety: keep a second source of power for breathing machine" in text
    assert "Warning: energy does not add up" in text


@pytest.mark.law
@settings(max_examples=30, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(title=st.text(max_size=90), place=st.text(max_size=90), plain=st.booleans())
def test_any_text_gives_80_ascii_columns(
    one_stay: Outcomes, title: str, place: str, plain: bool
) -> None:
    summary = one_stay.summary()
    summary["scenario"]["title"] = title
    summary["stays"][0]["place"] = place
    text = screen_text(summary, one_stay.facts, one_stay.dawn_charge(), plain=plain)
    assert text.isascii()
    assert all(line.isprintable() and len(line) <= 80 for line in text.splitlines())
    assert plain or len(text.splitlines()) <= 24


def test_no_screen_says_safe_or_percent_certain(one_stay: Outcomes, three_stays: Outcomes) -> None:
    for outcomes in (one_stay, three_stays):
        for plain in (False, True):
            text = shown(outcomes, plain=plain)
            assert not re.search(r"\bsafe\b", text)
            assert not re.search(r"\b(0|100) %", text)


def test_a_title_with_the_place_is_not_cut_to_say_it_twice(one_stay: Outcomes) -> None:
    summary = one_stay.summary()
    summary["stays"][0]["place"] = "12 miles NE of Silver City, NM"
    summary["scenario"]["title"] = "60 nights at 12 miles NE of Silver City, NM"
    first = screen_text(summary, one_stay.facts, one_stay.dawn_charge()).splitlines()[0]
    assert first == "60 nights at 12 miles NE of Silver City, NM: 60 nights from 1 Dec"


def test_panels_are_described(one_stay: Outcomes) -> None:
    def second(**changes: Any) -> str:
        facts = dataclasses.replace(one_stay.facts, **changes)
        text = screen_text(one_stay.summary(), facts, one_stay.dawn_charge())
        return text.splitlines()[1]

    assert second(tilts_deg=(0.0, 40.0)).endswith("panels 800 W, tilted")
    assert second(home="cabin").endswith("panels 800 W lying on a flat roof")
    assert second(array_w=0.0, tilts_deg=()).endswith("no panels")
    assert second(bank_v=48.0, bank_ah=1000.0, bank_wh=51200.0).startswith(
        "Battery 51 kWh (1,000 Ah, 48 V)"
    )


def test_what_is_not_known_is_left_off(one_stay: Outcomes) -> None:
    summary = one_stay.summary()
    summary["stays"][0]["odds_reserve"] = None
    facts = dataclasses.replace(one_stay.facts, assumed=())
    for plain in (False, True):
        text = screen_text(summary, facts, one_stay.dawn_charge(), plain=plain)
        assert re.search(r"At dawn usually \d+ %\.\n", text)
        assert "Assumed" not in text


def test_a_long_folder_and_command_take_a_line_each(one_stay: Outcomes) -> None:
    text = shown(
        one_stay,
        folder="a" * 40 + "-result",
        files=("summary.json",),
        next_command="flatodds sweep my.toml --array-watts 400:800:200",
    )
    assert text.splitlines()[-2:] == [
        f"Written: {'a' * 40}-result/",
        "Next: flatodds sweep my.toml --array-watts 400:800:200",
    ]


def test_nearly_certain_is_said_in_good_english(fabricate: Fabricate) -> None:
    flat = np.ones((1, 4000, 2))
    flat[0, :2] = 0.0
    text = " ".join(shown(Outcomes.from_results(fabricate(flat, members=4000))).split())
    assert "The battery runs flat in more than 99 of 100 such stays." in text
    assert "Were sun and use known exactly, 99 of 100 or more." in text
    flat = 1.0 - flat
    flat[0, 1] = 0.0
    text = " ".join(shown(Outcomes.from_results(fabricate(flat, members=4000))).split())
    assert "The battery runs flat in fewer than 1 of 1,000 such stays." in text
    assert "about fewer" not in text


def test_guesses_that_agree_take_a_sentence_for_a_chart(
    fabricate: Fabricate, doubt: tuple[Case, ...]
) -> None:
    text = shown(Outcomes.from_results(fabricate(np.zeros((9, 40, 2)), cases=doubt)))
    assert "Each guess gives none of 100: as you wrote it, sun 12 % weaker" in text
    assert "#" not in text


def test_no_screen_holds_an_escape_code(one_stay: Outcomes, three_stays: Outcomes) -> None:
    for outcomes in (one_stay, three_stays):
        assert "\x1b" not in shown(outcomes)


def test_what_gives_way_goes_in_its_order() -> None:
    lines = [Line("answer"), *ranked(["axis", "bar"], CHART), Line("spare", SPARE), Line("", GAP)]
    assert fitted(lines, 5) == ["answer", "axis", "bar", "spare", ""]
    assert fitted(lines, 4) == ["answer", "axis", "bar", "spare"]
    assert fitted(lines, 3) == ["answer", "axis", "bar"]
    assert fitted(lines, 2) == ["answer"], "never half a chart"
    assert fitted([Line("answer")] * 3, 2) == ["answer"] * 3


@pytest.mark.parametrize(
    ("estimate", "low", "high", "command"),
    [
        (0.3, 0.1, 0.45, "upgrades"),
        (0.3, 0.01, 0.9, "weather get"),
        (0.01, 0.001, 0.03, "arrivals"),
    ],
)
def test_the_next_question_follows_the_answer(
    one_stay: Outcomes, estimate: float, low: float, high: float, command: str
) -> None:
    summary = one_stay.summary()
    stay = summary["stays"][0]
    stay["odds_flat"]["estimate"] = estimate
    stay["odds_flat_range"] = {"low": low, "high": high}
    assert next_question(summary, "my.toml") == f"flatodds {command} my.toml"
