"""Questions that `flatodds new` asks on a terminal, and the same answers from options."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from typing import TYPE_CHECKING

from flatodds.cli.plain import tell, wrapped_lines
from flatodds.errors import UsageError

if TYPE_CHECKING:
    from flatodds.scenario.filled import Question

# Options of `new` by the key of the scenario that each answers.
OPTIONS = {
    "title": "--title",
    "home": "--home",
    "bank.chemistry": "--battery",
    "bank.volts": "--volts",
    "bank.amp_hours": "--amp-hours",
    "array.watts": "--panels",
    "inverter.watts": "--inverter",
    "household.pattern": "--use",
    "place": "--place",
    "first_day": "--first-day",
    "nights": "--nights",
}
MOST_TRIES = 5  # per question, so that a stuck pipe ends: common practice, no source


def on_terminal() -> bool:
    """Whether a person is there to answer."""
    return sys.stdin.isatty() and sys.stderr.isatty()


def checked(answers: Mapping[str, str]) -> str:
    """Text of the scenario with answers from options.

    Raises
    ------
    UsageError
        With every answer that cannot stand.
    """
    from flatodds.scenario.filled import filled, refusal

    wrong = []
    for key, answer in answers.items():
        why = refusal({key: answer})
        if why is not None:
            wrong.append(f"{OPTIONS[key]}: {why}")
    if wrong:
        raise UsageError("\n".join(wrong))
    return filled(answers)


def asked() -> str:
    """Ask the five questions, and give the starter's text with the answers.

    Raises
    ------
    UsageError
        If the answers end, or one question is answered wrongly again and again.
    """
    from flatodds.scenario.filled import QUESTIONS, filled

    tell("Five questions. Enter keeps what is in brackets; ? explains.")
    answers: dict[str, str] = {}
    for question in QUESTIONS:
        answers |= _answered(question)
    return filled(answers)


def _answered(question: Question) -> dict[str, str]:
    """Ask one question until its answer can stand; values by key of the starter."""
    from flatodds.scenario.filled import refusal, usual_answer
    from flatodds.scenario.spoken import UnclearError

    prompt = f"{question.words}\n  [{usual_answer(question)}] "
    for _ in range(MOST_TRIES):
        answer = _line(prompt)
        if answer == "?":
            tell(wrapped_lines("  " + question.help))
            continue
        if not answer:
            return {}
        try:
            parts = question.read(answer)
        except UnclearError as unclear:
            tell(wrapped_lines(f"  {unclear}"))
            continue
        why = refusal(parts)
        if why is None:
            return parts
        tell(wrapped_lines("  " + why.replace("\n", "\n  ")))
    again = "Start again, or change a demo: flatodds new --demo lakeshore-autumn"
    raise UsageError(f"Nothing was written.\n  {again}")


def _line(prompt: str) -> str:
    """One answer typed by a person, without the spaces around it."""
    sys.stderr.write(prompt)
    sys.stderr.flush()
    line = sys.stdin.readline()
    if not line:
        sys.stderr.write("\n")
        raise UsageError("The answers ended early; nothing was written.")
    return line.strip()
