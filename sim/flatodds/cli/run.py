"""The command `run`: simulate a scenario, write its result folder, print the answer."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal

import typer

from flatodds.cli import study
from flatodds.cli.plain import plain, say, tell
from flatodds.errors import UsageError

if TYPE_CHECKING:
    import xarray as xr

    from flatodds.outcomes import Outcomes
    from flatodds.report.explain_page import Explained
    from flatodds.scenario import Scenario

PROGRESS_EVERY_S = 0.2  # own choice
LONGEST_COUNT = 12  # digits; more is no count of years


def run(
    file: Annotated[Path, typer.Argument(help="Scenario file.")],
    out: Annotated[
        Path, typer.Option(help="Folder to put the result folder in; made when missing.")
    ] = Path(),
    members: Annotated[
        str, typer.Option(help="Simulated years; auto: as many as the answer needs.")
    ] = "auto",
    seed: study.Seed = 1,
    threads: study.Threads = None,
    as_json: Annotated[
        bool, typer.Option("--json", help="Print summary.json instead of sentences.")
    ] = False,
    quiet: Annotated[bool, typer.Option("--quiet", "-q", help="No progress or messages.")] = False,
    sentences: Annotated[
        bool, typer.Option("--plain", help="Sentences only, for screen readers.")
    ] = False,
    open_page: Annotated[
        bool, typer.Option("--open", help="Show the report in a browser.")
    ] = False,
    explain: Annotated[
        bool, typer.Option("--explain", help="Also: what each appliance costs, and overloads.")
    ] = False,
    units: study.Units = None,
    offline: Annotated[
        bool, typer.Option("--offline", help="Never use the internet (run never does).")
    ] = False,
) -> None:
    """Work out the odds of running flat, and write them to a result folder."""
    from flatodds.engine import prepare

    del offline  # no room that run enters opens a connection; accepted so scripts may say so
    scenario = study.read(file, units)
    show = _progress(quiet)
    prepare.begin()
    from flatodds.report.writer import refuse_foreign, result_folder, summary_json
    from flatodds.studies.live_one import simulate_then_look

    refuse_foreign(result_folder(scenario.title, out))  # rather now than after the work
    wanted = members_word(members)
    outcomes, look = simulate_then_look(
        scenario, members=wanted, seed=seed, threads=threads, progress=show(wanted)
    )
    if sys.stderr.isatty():
        sys.stderr.write(" " * 40 + "\r")
    summary = outcomes.summary()
    counted = _counted(wanted)
    if explain:
        summary |= _explained(scenario, counted, seed, threads)
    if as_json:
        sys.stdout.write(summary_json(summary))
    else:
        where = _shown(result_folder(scenario.title, out))
        last = _last_lines(summary, where, str(file), sentences)
        say(_answer(outcomes, str(file), sentences, len(last)))
        if explain:
            say(_explanation(summary, scenario, counted, sentences))
    sys.stdout.flush()  # the answer need not wait for its report
    shown = _for_page(summary, scenario, counted) if explain else None
    page = _write(outcomes, look, scenario, file, out, shown)
    if not as_json:
        say("\n".join(last))
    if open_page:
        _open(page)


def _counted(wanted: int | Literal["auto"]) -> int:
    """Members to live again for every appliance: no more than were asked for."""
    from flatodds.studies.appliance_costs import MEMBERS

    return MEMBERS if wanted == "auto" else min(wanted, MEMBERS)


def _explained(scenario: Scenario, members: int, seed: int, threads: int | None) -> dict[str, Any]:
    """Find what each appliance costs, and what is too much for the inverter at once."""
    from dataclasses import asdict

    from flatodds.studies.appliance_costs import appliance_costs, cost_rows
    from flatodds.studies.overloads import worst_meetings

    costs = appliance_costs(scenario, members=members, seed=seed, threads=threads)
    return {
        "appliance_costs": cost_rows(costs),
        "overloads": [asdict(one) for one in worst_meetings(scenario, seed=seed)],
    }


def _explanation(
    summary: Mapping[str, Any], scenario: Scenario, members: int, sentences: bool
) -> str:
    from flatodds.report.explain_words import explain_text
    from flatodds.report.without_words import without_text

    return explain_text(
        summary["appliance_costs"],
        summary["overloads"],
        members=members,
        kept=_of_the_heat(scenario),
        taken_up=_takes_up(scenario),
        plain=sentences,
    ) + without_text(summary["stays"], plain=sentences)


def _for_page(summary: Mapping[str, Any], scenario: Scenario, members: int) -> Explained:
    from flatodds.report.explain_page import explained_of

    return explained_of(
        summary["appliance_costs"],
        summary["overloads"],
        members=members,
        kept=_of_the_heat(scenario),
        taken_up=_takes_up(scenario),
    )


def _of_the_heat(scenario: Scenario) -> list[str]:
    """Name the appliances that cannot be dropped."""
    from flatodds.studies.appliance_costs import FIXED

    return [use.name for use in scenario.appliances if use.kind in FIXED]


def _takes_up(scenario: Scenario) -> bool:
    """Whether something takes what others leave: cooling that waits for charge, spare sun."""
    cooled = scenario.cooling is not None and scenario.cooling.need != "must"
    return cooled or any(use.need == "spare-sun" for use in scenario.appliances)


def members_word(text: str) -> int | Literal["auto"]:
    """Read the option --members: a whole number, or auto."""
    if text == "auto":
        return "auto"
    if not (text.isascii() and text.isdecimal() and len(text) <= LONGEST_COUNT):
        raise UsageError(
            f"--members is a whole number or auto, not {plain(text)[:40]}.\n  Try: --members 1000"
        )
    return int(text)


def _answer(outcomes: Outcomes, file: str, sentences: bool, lines_below: int) -> str:
    from flatodds.report.screen import screen_text

    return screen_text(
        outcomes.summary(),
        outcomes.facts,
        outcomes.dawn_charge(),
        scenario_file=file,
        plain=sentences,
        lines_below=lines_below,
    ).rstrip("\n")


def _last_lines(summary: Mapping[str, Any], folder: str, file: str, sentences: bool) -> list[str]:
    """Lines printed when the report is there: where it is, and what to ask next."""
    from flatodds.report.screen import last_lines, next_question
    from flatodds.report.writer import REPORT_FILE

    follow = next_question(summary, file)
    return last_lines(folder, [REPORT_FILE], follow, plain=sentences)


def _write(
    outcomes: Outcomes,
    look: Callable[[Sequence[int]], dict[int, xr.Dataset]],
    scenario: Scenario,
    file: Path,
    out: Path,
    explained: Explained | None,
) -> Path:
    """Write the result folder, and give the path of the report in it."""
    from flatodds.report.page import page_files, shown_stays
    from flatodds.report.writer import REPORT_FILE, write_result

    weeks = look(shown_stays(outcomes))
    pages = page_files(
        outcomes, scenario=scenario, weeks=weeks, scenario_file=file.name, explained=explained
    )
    return write_result(outcomes, out, pages).folder / REPORT_FILE


def _open(page: Path) -> None:
    """Show the report in the user's browser; where there is none, the screen names the file."""
    import webbrowser

    if not webbrowser.open(page.resolve().as_uri()):
        tell(f"No browser was found. The report is {page}")


def _shown(path: Path) -> str:
    """Name a path as a user would type it: relative where it lies below here."""
    here = Path.cwd()
    return str(path.relative_to(here)) if path.is_relative_to(here) else str(path)


def _progress(quiet: bool) -> Callable[[int | Literal["auto"]], Callable[[int], None]]:
    """Make the progress line; on standard error, and only on a terminal."""
    from flatodds.engine import prepare

    if not quiet and not prepare.ready():
        tell("Preparing the fast part, once per version. Usually under a minute ...")
    live = sys.stderr.isatty() and not quiet
    last = [0.0]

    def for_members(wanted: int | Literal["auto"]) -> Callable[[int], None]:
        of = "" if wanted == "auto" else f" of {wanted:,}"

        def show(done: int) -> None:
            now = time.monotonic()
            if live and (done == wanted or now - last[0] > PROGRESS_EVERY_S):
                last[0] = now
                sys.stderr.write("\r" + f"{done:,}{of} years lived".ljust(40) + "\r")
                sys.stderr.flush()

        return show

    return for_members
