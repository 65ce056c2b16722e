"""The one family of errors a user of flatodds meets; each class owns its exit code."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

SAYS = ("is ", "cannot ", "holds ", "takes ")  # begins what is said of something named before
WARNING = "Warning: "  # begins a caution whose first sentence no screen leaves out


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong with something the user wrote.

    Attributes
    ----------
    where : str
        File and line, or the name of the argument: ``"my.toml line 6"``.
    found : str
        What is wrong and what was found, as a full sentence, or as what is said of `where`.
    hint : str
        What to write instead, or what to try; may be empty.
    """

    where: str
    found: str
    hint: str = ""

    def __str__(self) -> str:
        """Two lines: where and what, then what to try."""
        colon = "" if self.found.startswith(SAYS) else ":"
        text = f"{self.where}{colon} {self.found}" if self.where else self.found
        return f"{text}\n  {self.hint}" if self.hint else text


class FlatoddsError(Exception):
    """An error whose message is meant for the user, not a programming fault."""

    exit_code = 1

    def __init__(self, problems: str | Problem | Sequence[Problem]) -> None:
        if isinstance(problems, str):
            problems = Problem("", problems)
        if isinstance(problems, Problem):
            problems = [problems]
        self.problems: tuple[Problem, ...] = tuple(problems)
        super().__init__("\n\n".join(str(problem) for problem in self.problems))


class UsageError(FlatoddsError):
    """The command or the call is used in a way it does not offer."""

    exit_code = 2


class ScenarioError(FlatoddsError):
    """The scenario cannot be used as written; holds every problem of the file."""

    exit_code = 3


class WeatherError(FlatoddsError):
    """A weather file or source is unusable or unreachable."""

    exit_code = 4


class StudyIncomplete(FlatoddsError):  # noqa: N818  (it names a state the user can resume from)
    """A study stopped before its end and can be resumed."""

    exit_code = 5


def usage_errors_together(*checks: Callable[[], object]) -> None:
    """Make several checks and tell of all that they refuse, not only of the first.

    Raises
    ------
    UsageError
        With the problems of every check that raised one.
    """
    problems: list[Problem] = []
    for check in checks:
        try:
            check()
        except UsageError as error:
            problems += error.problems
    if problems:
        raise UsageError(problems)


def refuse(*problems: Problem | None) -> None:
    """Raise what of these is a problem, if any is.

    Raises
    ------
    UsageError
        With all of them.
    """
    found = [problem for problem in problems if problem is not None]
    if found:
        raise UsageError(found)


def outside_share(where: str, share: float) -> Problem | None:
    """Say that a share is not one, in parts of 100 as people give it; None if it is one."""
    if 0.0 <= share <= 1.0:
        return None
    return Problem(where, f"{100.0 * share:g} % is outside 0 to 100 %.")


def outside_odds(where: str, odds: float) -> Problem | None:
    """Say that a share cannot be a chance one would take; None if it can."""
    if 0.0 < odds < 1.0:
        return None
    return Problem(where, f"{100.0 * odds:g} of 100 is not between 0 and 100.")
