"""Answers as people type them, taken apart, and put into the starter's text."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from flatodds.errors import Problem, ScenarioError
from flatodds.scenario import filled as filled_module
from flatodds.scenario import parse_scenario, spoken
from flatodds.scenario.filled import QUESTIONS, default_answer, filled, refusal, usual_answer
from flatodds.scenario.templates import starter


def test_there_are_five_questions_and_each_has_its_lines_of_the_starter() -> None:
    assert len(QUESTIONS) == 5
    for question in QUESTIONS:
        usual = question.read(usual_answer(question))
        assert usual == {key: default_answer(key) for key in question.keys}
        assert filled(usual).count("\n") == starter().count("\n")


@pytest.mark.parametrize(
    ("answer", "day", "nights"),
    [
        ("20 Sep 45", "20 Sep", "45"),
        ("Sep 20, 45", "Sep 20", "45"),
        ("45 nights from 20 Sep", "20 Sep", "45"),
        ("from Dec 1st for 6 weeks", "Dec 1st", "42"),
        ("1 Dec to 28 Feb", "1 Dec", "89"),
        ("28 Feb until 28 Feb", "28 Feb", "365"),
        ("12-01, 30", "12-01", "30"),
    ],
)
def test_day_and_nights_are_told_apart(answer: str, day: str, nights: str) -> None:
    assert spoken.when(answer) == {"first_day": day, "nights": nights}


@pytest.mark.parametrize(
    ("answer", "kind", "volts", "amp_hours"),
    [
        ("AGM 12v 220ah", "agm", "12", "220"),
        ("24 V lithium of 280 amp-hours", "lithium", "24", "280"),
        ("LiFePO4 280Ah", "lithium", None, "280"),
        ("51.2 V 1,200 Ah", None, "48", "1200"),
        ("400", None, None, "400"),
        ("lead-acid 220", "lead-acid", None, "220"),
    ],
)
def test_a_battery_is_taken_apart(
    answer: str, kind: str | None, volts: str | None, amp_hours: str
) -> None:
    keys = ("bank.chemistry", "bank.volts", "bank.amp_hours")
    wanted = zip(keys, (kind, volts, amp_hours), strict=True)
    assert spoken.battery(answer) == {key: value for key, value in wanted if value is not None}


@pytest.mark.parametrize(
    ("answer", "watts"),
    [
        ("none", "0"),
        ("0 W", "0"),
        ("2x400W", "800"),
        ("1.2 kW", "1200"),
        ("1,200 w panels", "1200"),
        ("3 * 100", "300"),
    ],
)
def test_watts_of_panels_are_added_up(answer: str, watts: str) -> None:
    assert spoken.panels(answer) == {"array.watts": watts}


@pytest.mark.parametrize(
    ("read", "answer"),
    [
        (spoken.when, "Sep 20"),
        (spoken.when, "45 nights"),
        (spoken.when, "1 Dec to spring"),
        (spoken.battery, "2 x 100 Ah"),
        (spoken.battery, "5 kWh"),
        (spoken.battery, "24 V"),
        (spoken.battery, "12 400"),
        (spoken.panels, "two"),
        (spoken.panels, "2 x 400 Ah"),
        (spoken.panels, "800 Wh"),
        (spoken.life, "light, boat"),
    ],
)
def test_an_unclear_answer_says_what_to_write(
    read: Callable[[str], dict[str, str]], answer: str
) -> None:
    with pytest.raises(spoken.UnclearError, match=r"Say|Write"):
        read(answer)


def test_parts_of_an_answer_may_stand_in_any_order_and_leave_others_out() -> None:
    assert spoken.life("Cabin; HEAVY") == {"home": "cabin", "household.pattern": "heavy"}
    assert spoken.life("none") == {"household.pattern": "none"}
    assert spoken.life("we use medium, in a trailer") == {
        "household.pattern": "medium",
        "home": "trailer",
    }
    assert spoken.battery("my battery bank: 12.8 volts, 0,5 Ah") == {
        "bank.chemistry": "bank:",
        "bank.volts": "12",
        "bank.amp_hours": "0.5",
    }
    assert spoken.battery("25.6V 100Ah")["bank.volts"] == "24"
    assert spoken.battery("13 V 100 Ah")["bank.volts"] == "13"  # for the scenario to refuse
    assert spoken.battery("1,234,567.5 Ah")["bank.amp_hours"] == "1234567.5"


@pytest.mark.parametrize("answer", ["", "from", "5 nights", ", 45 nights"])
def test_a_day_must_be_said(answer: str) -> None:
    with pytest.raises(spoken.UnclearError, match="20 Sep, 45 nights"):
        spoken.when(answer)


def test_one_night_is_one_night() -> None:
    assert spoken.when("20 Sep to 21 Sep") == {"first_day": "20 Sep", "nights": "1"}
    assert spoken.when("20 Sep - 19 Sep")["nights"] == "364"
    assert spoken.when("20 Sep 1 week")["nights"] == "7"
    assert spoken.when("1 night from 20 Sep") == {"first_day": "20 Sep", "nights": "1"}


def test_answers_are_put_where_they_belong() -> None:
    answers = {"place": "Ajo, AZ", "nights": "12", "bank.volts": "24", "home": "van"}
    text = filled(answers)
    scenario = parse_scenario(text)
    assert (scenario.stays[0].nights, scenario.bank.volts, scenario.home) == (12, 24, "van")
    assert scenario.title == "12 nights at Ajo, AZ"
    assert "(invented)" in starter()
    assert "(invented)" not in text
    assert filled({}) == starter()
    before, after = starter().splitlines(), text.splitlines()
    changed = [old for old, new in zip(before, after, strict=True) if old != new]
    assert [line.split(" = ")[0].strip() for line in changed if " = " in line] == [
        "title", "home", "bank.volts", "place", "nights",
    ]  # fmt: skip
    for old, new in zip(before, after, strict=True):  # comments stay in their column
        if "#" in old and not old.startswith("#") and "title" not in old:
            assert new.index("#") == old.index("#"), new


def test_a_place_of_many_marks_still_gives_a_title_that_may_stand() -> None:
    for blanks in (1, 60, 178):
        answers = {"place": f"44.9,{' ' * blanks}-86.02"}
        assert refusal(answers) is None
        assert parse_scenario(filled(answers)).title == "45 nights at 44.9, -86.02"
    digits = {"place": f"44.9{'0' * 180}, -86.02"}
    assert refusal(digits) is None
    assert len(parse_scenario(filled(digits)).title) == 200


def test_refusals_name_what_was_answered_and_no_key() -> None:
    assert refusal({"bank.volts": "24", "nights": "3"}) is None
    assert refusal({"array.watts": "-5"}) == "-5; it must be from 0 to 100000."
    both = refusal({"bank.volts": "24", "nights": "0"})
    assert both is not None
    assert both.startswith("0; it must be")
    assert "nights" not in both


def test_a_refusal_of_another_line_is_told_too(monkeypatch: pytest.MonkeyPatch) -> None:
    def parse(text: str) -> None:
        raise ScenarioError([Problem("scenario line 1", "is wrong.", "Mend it.")])

    monkeypatch.setattr(filled_module, "parse_scenario", parse)
    told = refusal({"nights": "3"})
    assert told is not None
    assert "scenario line 1" in told
    assert "is wrong." in told


def test_answers_and_a_title_of_their_own() -> None:
    text = filled({"place": "40.0, -105.0", "nights": "9"})
    assert '= "9 nights at 40.0, -105.0"' in text
    assert "(invented)" not in text
    own = filled({"place": "40.0, -105.0", "title": "Mine"})
    assert '= "Mine"' in own
    assert filled({}).count("\n") == own.count("\n")


def test_answers_put_into_the_starter() -> None:
    assert refusal({"bank.amp_hours": "200"}) is None
    told = refusal({"bank.amp_hours": "-3"})
    assert told is not None
    assert told.startswith("-3; it must be")
    with pytest.raises(KeyError, match=r"no\.such"):
        filled({"no.such": "1"})
