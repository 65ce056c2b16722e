"""The starter with a person's own answers in it, comments and all."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass

from flatodds.errors import ScenarioError
from flatodds.scenario.load import parse_scenario
from flatodds.scenario.templates import starter

_TEXTS = ("title", "home", "bank.chemistry", "household.pattern", "place", "first_day")


@dataclass(frozen=True, slots=True)
class Question:
    """One line of the starter that a person may answer.

    Attributes
    ----------
    key : str
        The line's key as the starter spells it.
    words : str
        The question.
    help : str
        What to know before answering.
    """

    key: str
    words: str
    help: str


QUESTIONS = (
    Question("home", "Home: trailer, van or cabin?", "Decides walls, windows and the furnace."),
    Question(
        "bank.chemistry",
        "Kind of battery?",
        "lithium (iron phosphate), or a kind of lead; all kinds: flatodds schema.",
    ),
    Question("bank.volts", "Volts of the whole bank?", "12, 24 or 48, as wired together."),
    Question(
        "bank.amp_hours",
        "Ampere-hours of the whole bank?",
        "At those volts. Two 100 Ah batteries side by side are 200; in a row still 100.",
    ),
    Question("array.watts", "Watts of panels?", "Add up the labels; lying flat on the roof."),
    Question(
        "inverter.watts",
        "Watts of the inverter? 0 if none",
        "What it gives all day. A 3000 VA inverter gives about 2400.",
    ),
    Question(
        "household.pattern",
        "How much do you use: light, medium or heavy?",
        "light: lights, laptop, small fridge, about 1.2 kWh a day; medium: also internet,"
        " microwave, coffee, about 3.3; heavy: electric kitchen, about 7.",
    ),
    Question(
        "place",
        "Where will you stay?",
        'Coordinates as a map shows them, a town as in "Moab, UT", or "12 miles NW of" a town.',
    ),
    Question("first_day", "From which day?", "Without a year, as in 20 Sep or 1 Dec."),
    Question("nights", "How many nights?", "1 to 365."),
)
BY_KEY = {question.key: question for question in QUESTIONS}


def default_answer(key: str) -> str:
    """Value that the starter has for a key, without quotes."""
    found = _line(starter(), key)
    return found["value"].strip('"')


def filled(answers: Mapping[str, str]) -> str:
    """Text of the starter with answers put in, by key; what is not answered stays.

    The comments behind the values stay where they are. A place without a title gives one.
    """
    text = starter()
    if answers:
        text = text.replace(" (invented)", "", 1)
    if "place" in answers and "title" not in answers:
        nights = answers.get("nights", default_answer("nights")).strip()
        answers = {**answers, "title": f"{nights} nights at {answers['place'].strip()}"}
    for key, answer in answers.items():
        match = _line(text, key)
        value = _value(key, answer)
        comment = match["rest"].lstrip(" ")
        room = len(match["value"]) + len(match["rest"]) - len(comment)
        line = f"{value:<{max(room, len(value) + 2)}}{comment}" if comment else value
        text = text[: match.start("value")] + line + text[match.end("rest") :]
    return text


def _value(key: str, answer: str) -> str:
    """Spell an answer in TOML; what should be a number and is none stays visible as text."""
    if key in _TEXTS or not re.fullmatch(r"[+-]?\d+(\.\d+)?", answer.strip()):
        return json.dumps(answer.strip(), ensure_ascii=False).replace("\x7f", "\\u007f")
    return answer.strip()


def refusal(answers: Mapping[str, str], key: str) -> str | None:
    """Say what is wrong with the answer to `key`, or None if nothing is."""
    try:
        parse_scenario(filled(answers))
    except ScenarioError as error:
        text = filled(answers)
        line = text[: _line(text, key).start()].count("\n") + 1
        mine = [problem for problem in error.problems if f" line {line}" in f" {problem.where} "]
        if mine:
            return "\n".join(filter(None, [mine[0].found, mine[0].hint]))
    return None


def _line(text: str, key: str) -> re.Match[str]:
    value = r'(?P<value>"(?:[^"\\]|\\.)*"|[^#\s][^#\n]*?)(?P<rest> *(?:#.*)?)$'
    match = re.search(rf"(?m)^{re.escape(key)}\s*= {value}", text)
    if match is None:
        raise KeyError(key)
    return match
