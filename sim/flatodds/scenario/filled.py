"""The five questions of `flatodds new`, and the starter with a person's own answers in it."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from flatodds.errors import ScenarioError
from flatodds.scenario import spoken
from flatodds.scenario.load import TITLE_LENGTH, parse_scenario
from flatodds.scenario.templates import starter

_TEXTS = ("title", "home", "bank.chemistry", "household.pattern", "place", "first_day")


@dataclass(frozen=True, slots=True)
class Question:
    """One question of `new`, and the lines of the starter that its answer fills.

    Attributes
    ----------
    keys : tuple of str
        Keys of those lines, as the starter spells them.
    words : str
        The question.
    usual : str
        The starter's own answer, with ``{}`` for the value of each key in turn.
    help : str
        What to know before answering.
    read : callable
        Takes an answer apart into values by key; raises `UnclearError`.
    """

    keys: tuple[str, ...]
    words: str
    usual: str
    help: str
    read: Callable[[str], dict[str, str]]


QUESTIONS = (
    Question(
        ("place",),
        "Where will you stay?",
        "{}",
        'Coordinates as a map shows them, a town as in "Moab, UT", or "12 miles NW of" a town.',
        spoken.place,
    ),
    Question(
        ("first_day", "nights"),
        "From which day, how many nights?",
        "{}, {} nights",
        'Without a year, as in "1 Dec, 60 nights" or "1 Dec to 30 Jan".',
        spoken.when,
    ),
    Question(
        ("bank.chemistry", "bank.volts", "bank.amp_hours"),
        "Your battery: kind, volts, ampere-hours?",
        "{}, {} V, {} Ah",
        "Kinds: lithium (iron phosphate), agm, gel, flooded, sodium. Volts: 12, 24 or 48, as"
        " wired together. Ampere-hours of the whole bank: two of 100 Ah side by side are 200;"
        " in a row still 100.",
        spoken.battery,
    ),
    Question(
        ("array.watts",),
        "Watts of solar panels?",
        "{} W",
        'Add up the labels, or "2 x 400"; 0 if you have none. Taken as lying flat on the roof; the'
        " file says how to tilt them.",
        spoken.panels,
    ),
    Question(
        ("household.pattern", "home"),
        "How do you live: light, medium or heavy; trailer, van or cabin?",
        "{}, {}",
        "light: lights, laptop, small fridge, about 1.2 kWh a day; medium: also internet,"
        " microwave, coffee, about 3.3; heavy: electric kitchen, about 7. The home decides walls,"
        " windows and the furnace.",
        spoken.life,
    ),
)


def usual_answer(question: Question) -> str:
    """Write what the starter answers to a question, as a person would type it."""
    return question.usual.format(*(default_answer(key) for key in question.keys))


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
        title = f"{nights} nights at {' '.join(answers['place'].split())}"
        answers = {**answers, "title": title[:TITLE_LENGTH]}
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


def refusal(answers: Mapping[str, str]) -> str | None:
    """Say what is wrong with these answers, or None if nothing is."""
    text = filled(answers)
    try:
        parse_scenario(text)
    except ScenarioError as error:
        lines = {text[: _line(text, key).start()].count("\n") + 1: key for key in answers}
        for problem in error.problems:
            for line, key in lines.items():
                if f" line {line} " in f" {problem.where} ":
                    words = filter(None, [problem.found, problem.hint and f"  {problem.hint}"])
                    return _without_key("\n".join(words), key)
        return str(error.problems[0])  # of another line, which the starter alone has right
    return None


def _without_key(text: str, key: str) -> str:
    """Leave out the key, which a person who answers a question has never seen."""
    return re.sub(rf"(?:stay\.)?{re.escape(key)} (?:= )?(?=[\"\d-])", "", text)


def _line(text: str, key: str) -> re.Match[str]:
    value = r'(?P<value>"(?:[^"\\]|\\.)*"|[^#\s][^#\n]*?)(?P<rest> *(?:#.*)?)$'
    match = re.search(rf"(?m)^{re.escape(key)}\s*= {value}", text)
    if match is None:
        raise KeyError(key)
    return match
