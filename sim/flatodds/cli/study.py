"""What the commands of all studies share: their options, progress, and where results go."""

from __future__ import annotations

import contextlib
import importlib
import sys
import threading
import time
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from flatodds.cli.numbers import number, whole
from flatodds.cli.plain import say, tell
from flatodds.errors import Problem, UsageError

if TYPE_CHECKING:
    import xarray as xr

    from flatodds.report.study_folder import Drawn
    from flatodds.scenario import Scenario

PROGRESS_EVERY_S = 0.2  # own choice
WRITTEN_WITH = ("h5netcdf", "matplotlib.backends.backend_agg", "matplotlib.backends.backend_svg")

File = Annotated[Path, typer.Argument(help="Scenario file.")]
Out = Annotated[Path, typer.Option(help="Folder to put the result folder in.")]
Members = Annotated[
    int | None,
    typer.Option(
        help="Simulated years; left out: as the study needs.",
        parser=whole("--members", "1000"),
        metavar="<int>",
    ),
]
Seed = Annotated[
    int,
    typer.Option(help="Key of all random draws.", parser=whole("--seed", "1"), metavar="<int>"),
]
Threads = Annotated[
    int | None,
    typer.Option(
        help="Worker threads; all processors unless stated.",
        show_default=False,
        parser=whole("--threads", "2"),
        metavar="<int>",
    ),
]
Odds = Annotated[
    float,
    typer.Option(
        help="Stays of 100 that you would let run flat.",
        parser=number("--odds", "5"),
        metavar="<float>",
    ),
]
Units = Annotated[
    str | None,
    typer.Option(help="Units in what is printed.", show_default=False, metavar="<us|si>"),
]
AsJson = Annotated[bool, typer.Option("--json", help="Print the summary as JSON.")]
Quiet = Annotated[bool, typer.Option("--quiet", "-q", help="No progress or messages.")]


def read(file: Path, units: str | None) -> Scenario:
    """Read a scenario file; its units are those of the option, where it was given."""
    from flatodds.scenario import load_scenario

    scenario = load_scenario(file)
    return scenario if units is None else scenario.with_changes({"units": units})


def begun(quiet: bool) -> Callable[[int, int], None]:
    """Give the progress line of a study.

    The study itself begins to prepare the fast part, once it has found nothing to refuse;
    then that is told.
    """
    from flatodds.engine import prepare

    if not quiet:
        words = "Preparing the fast part, once per version. Usually under a minute ..."
        prepare.announce(lambda: tell(words))
    live = sys.stderr.isatty() and not quiet
    last = [0.0]
    ahead = threading.Thread(target=read_ahead, name="flatodds-ahead", daemon=True)

    def show(done: int, wanted: int) -> None:
        if ahead.ident is None and done < wanted:
            ahead.start()
        if ahead.ident is not None and done >= wanted:
            ahead.join()  # two threads that import the same libraries may meet half of one
        now = time.monotonic()
        if live and (done >= wanted or now - last[0] > PROGRESS_EVERY_S):
            last[0] = now
            sys.stderr.write(f"\r{100 * done // wanted} % done")
            sys.stderr.write("\r" + " " * 20 + "\r" if done >= wanted else "")
            sys.stderr.flush()

    return show


def read_ahead() -> None:
    """Load the libraries that results are written with, while the simulation goes on.

    The simulation leaves the interpreter free for seconds; they take one and a half to load
    (measured). One that cannot be loaded is complained of by what needs it.
    """
    with contextlib.suppress(ImportError):
        for name in WRITTEN_WITH:
            importlib.import_module(name)
        import xarray as xr

        xr.Variable("nothing", [0.0])  # loads what it looks for in arrays of other libraries


def share(percent: float, option: str, example: str) -> float:
    """Share of an option that is told in parts of 100; a share typed instead is a slip.

    Raises
    ------
    UsageError
        Above 0 and below 1: nobody means half a percent.
    """
    if 0.0 < percent < 1.0:
        found = f"{percent:g} would be less than 1 of 100."
        raise UsageError(Problem(option, found, f"Write it in parts of 100: {option} {example}"))
    return percent / 100.0


def ready_folder(scenario: Scenario, study: str, out: Path) -> Path:
    """Name the result folder, refusing now rather than after the work what stands in its way."""
    from flatodds.report.study_folder import study_folder
    from flatodds.report.writer import refuse_foreign

    folder = study_folder(scenario.title, study, out)
    refuse_foreign(folder)
    return folder


def finish(
    folder: Path,
    summary: Mapping[str, Any],
    words: str,
    dataset: xr.Dataset,
    tables: Mapping[str, str],
    figures: Callable[[], Sequence[Drawn]],
    *,
    as_json: bool,
) -> None:
    """Print the answer, then write the folder; figures are drawn after the answer."""
    from flatodds.report.study_folder import write_study
    from flatodds.report.writer import summary_json

    if as_json:
        sys.stdout.write(summary_json(summary))
    else:
        say(words)
    sys.stdout.flush()
    write_study(folder, summary, dataset, tables, figures())
    if not as_json:
        say(f"Table, figures and data: {_shown(folder)}")


def _shown(path: Path) -> str:
    """Name a path as a user would type it: relative where it lies below here."""
    here = Path.cwd()
    return str(path.relative_to(here)) if path.is_relative_to(here) else str(path)


def heading(scenario: Scenario) -> str:
    """Title, place and nights of a scenario in one line."""
    stays = scenario.stays
    nights = sum(stay.nights for stay in stays)
    if len(stays) > 1:
        return f"{scenario.title}: {len(stays)} stays, {nights} nights"
    day, month = stays[0].first_day[1], stays[0].first_day[0]
    return f"{scenario.title}: {nights} nights from {day} {MONTHS[month - 1]}, {stays[0].place}"


MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
