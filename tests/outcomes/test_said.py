"""How a chance is said: rounding, ranges, verdicts and answers, by hand."""

from __future__ import annotations

import pytest

from flatodds.outcomes.said import (
    about_of_100,
    answer_sentence,
    counted,
    of_100,
    range_sentence,
    range_words,
    rounded,
    seen,
    verdict,
    verdict_sentence,
)


@pytest.mark.parametrize(
    ("chance", "said"),
    [
        (0.0, "fewer than 1 of 1,000"),
        (0.0004, "fewer than 1 of 1,000"),
        (0.0005, "1 of 1,000"),
        (0.0094, "9 of 1,000"),
        (0.0095, "1 of 100"),
        (0.0149, "1 of 100"),
        (0.015, "2 of 100"),
        (0.37, "37 of 100"),
        (0.9949, "99 of 100"),
        (0.995, "more than 99 of 100"),
        (1.0, "more than 99 of 100"),
    ],
)
def test_a_chance_is_so_many_of_100(chance: float, said: str) -> None:
    assert of_100(chance) == said
    assert about_of_100(chance) == (f"about {said}" if said[0].isdigit() else said)


@pytest.mark.parametrize(
    ("value", "down", "nearest", "up"),
    [
        (4.2, 4, 4, 5),
        (4.5, 4, 5, 5),
        (5.0, 5, 5, 5),
        (5.0 - 1e-12, 5, 5, 5),
        (5.0 + 1e-12, 5, 5, 5),
        (5.0 - 1e-6, 4, 5, 5),
        (5.0 + 1e-6, 5, 5, 6),
    ],
)
def test_ends_round_outwards_and_forgive_floating_point(
    value: float, down: int, nearest: int, up: int
) -> None:
    assert rounded(value, "down") == down
    assert rounded(value, "nearest") == nearest
    assert rounded(value, "up") == up


def test_small_chances_round_outwards_too() -> None:
    assert of_100(0.0095, "down") == "9 of 1,000"
    assert of_100(0.0091, "up") == "1 of 100"
    assert of_100(0.0101, "up") == "2 of 100"
    assert of_100(0.9901, "up") == "more than 99 of 100"
    assert of_100(0.9999, "down") == "99 of 100"


def test_what_a_chance_was_counted_in() -> None:
    assert counted(4096, None) == "4,096 simulated stays"
    assert counted(4096, None, "simulated trips") == "4,096 simulated trips"
    assert counted(1, None, "simulated trips") == "1 simulated trip"
    assert counted(4096, 1) == "1 real year"
    assert counted(4096, 1024) == "1,024 real years"


def test_never_and_always_are_said_of_what_was_seen() -> None:
    assert seen(0.0, "40 stays") == "none of 40 stays"
    assert seen(1.0, "40 stays") == "all of 40 stays"
    assert seen(0.5, "40 stays") == "50 of 100"


@pytest.mark.parametrize(
    ("low", "high", "said"),
    [
        (0.052, 0.174, "5 to 18 of 100"),
        (0.05, 0.05, "5 of 100"),
        (0.0, 0.0001, "up to 1 of 1,000"),
        (0.0009, 0.03, "up to 3 of 100"),
        (0.0009995, 0.03, "up to 3 of 100"),
        (0.001, 0.03, "1 of 1,000 to 3 of 100"),
        (0.001, 0.008, "1 of 1,000 to 8 of 1,000"),
        (0.0, 0.999, "anything up to more than 99 of 100"),
        (0.49, 0.999, "49 of 100 to more than 99 of 100"),
        (0.5, 0.999, "50 of 100 or more"),
        (0.999, 1.0, "99 of 100 or more"),
        (0.01, 0.02, "1 to 2 of 100"),
    ],
)
def test_both_ends_of_a_range(low: float, high: float, said: str) -> None:
    assert range_words({"low": low, "high": high}) == said


@pytest.mark.parametrize(
    ("estimate", "low", "high", "words"),
    [
        (0.01, 0.0, 0.02, "very unlikely"),
        (0.01, 0.0, 0.021, "unlikely"),
        (0.049, 0.03, 0.06, "unlikely"),
        (0.05, 0.03, 0.06, "a real chance"),
        (0.199, 0.15, 0.25, "a real chance"),
        (0.2, 0.15, 0.25, "expect some trouble"),
        (0.599, 0.5, 0.7, "expect some trouble"),
        (0.6, 0.5, 0.7, "expect to run flat"),
        (0.3, 0.02, 0.5, "we cannot tell yet"),
        (0.3, 0.021, 0.5, "expect some trouble"),
        (0.3, 0.02, 0.499, "expect some trouble"),
    ],
)
def test_verdicts_at_their_limits(estimate: float, low: float, high: float, words: str) -> None:
    chance, band = {"estimate": estimate}, {"low": low, "high": high}
    assert verdict(chance, band) == words
    told = verdict_sentence({"odds_flat": chance, "odds_flat_range": band})
    more = "; sun and use are too uncertain" if words == "we cannot tell yet" else ""
    assert told == f"{words[0].upper()}{words[1:]}{more}."


def test_sentences_that_answer() -> None:
    some = {"estimate": 0.05, "low": 0.04, "high": 0.06}
    none = {"estimate": 0.0, "low": 0.0, "high": 0.0112}
    every = {"estimate": 1.0, "low": 0.955, "high": 1.0}
    told = answer_sentence(some, members=400, record_years=None)
    assert told == "The battery runs flat in about 5 of 100 such stays."
    told = answer_sentence(none, members=400, record_years=None, many="trips")
    assert told == (
        "The battery ran flat in none of 400 simulated trips; we cannot rule out 2 of 100."
    )
    told = answer_sentence(every, members=400, record_years=80)
    assert told == (
        "The battery ran flat in all of 80 real years; we cannot rule out that 5 of 100 do not."
    )


def test_the_range_says_whether_it_counts_what_is_not_known() -> None:
    band = {"low": 0.05, "high": 0.18}
    assert range_sentence(band, []) == "Were sun and use known exactly, 5 to 18 of 100."
    assert range_sentence(band, ["sun", "use"]) == (
        "Sun and use are not known exactly; with that, 5 to 18 of 100."
    )
    assert range_sentence(band, ["sun"]).startswith("Sun is not known exactly; with that, 5 to")
