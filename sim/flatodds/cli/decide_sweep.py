"""The command `sweep`: a grid of rigs."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from flatodds.cli import study
from flatodds.cli.plain import tell

if TYPE_CHECKING:
    from flatodds.studies.sweep import Sweep


def sweep(
    file: study.File,
    vary: Annotated[
        list[str],
        typer.Option(
            help="As in array.watts=400:2400:200 or bank.chemistry=agm,lithium.",
            metavar="<word=values>",
        ),
    ],
    odds: study.Odds = 5.0,
    with_uncertainty: Annotated[
        bool,
        typer.Option("--with-uncertainty", help="Count what is not known exactly; slow."),
    ] = False,
    cluster: Annotated[
        str | None,
        typer.Option(
            help="Address of your own dask scheduler, whose workers shall do the work.",
            show_default=False,
        ),
    ] = None,
    out: study.Out = Path(),
    members: study.Members = None,
    seed: study.Seed = 1,
    threads: study.Threads = None,
    units: study.Units = None,
    as_json: study.AsJson = False,
    quiet: study.Quiet = False,
) -> None:
    """Live a grid of rigs over the same weather, and find those that are enough.

    One --vary or two. Finished parts are kept, so that the same command goes on where
    an interrupted one stopped.
    """
    from flatodds.studies.grid import typed_axes

    scenario = study.read(file, units)
    axes = typed_axes(vary, scenario)
    folder = study.ready_folder(scenario, "sweep", out)
    unfinished = folder.with_name(f"{folder.name}-unfinished")
    progress = study.begun(quiet)
    from flatodds.studies import sweep as job
    from flatodds.studies.store import forget

    try:
        found = job.sweep(
            scenario,
            axes,
            wanted_odds=odds / 100.0,
            with_uncertainty=with_uncertainty,
            members=job.MEMBERS if members is None else members,
            seed=seed,
            threads=threads,
            progress=progress,
            store_folder=unfinished,
            cluster=cluster,
        )
    except KeyboardInterrupt:
        if unfinished.is_dir():
            tell(f"What is finished is kept in {unfinished}; the same command goes on from there.")
        raise
    _finish(found, folder, as_json=as_json)
    forget(unfinished)


def _finish(found: Sweep, folder: Path, *, as_json: bool) -> None:
    from flatodds.report.figures_sweep import sweep_figure
    from flatodds.report.study_folder import csv_text
    from flatodds.report.sweep_words import sweep_text

    summary = found.summary()
    keys = [axis.key for axis in found.axes]
    more = ["odds_flat", "low", "high", "did_without_kwh", "spilled_kwh", "generator_hours"]
    rows = [
        [*row["values"], *row["odds_flat"].values(), *[row[key] for key in (*more[3:], *LAST)]]
        for row in summary["designs"]
    ]
    study.finish(
        folder,
        summary,
        sweep_text(summary, study.heading(found.scenario)),
        found.dataset,
        {"designs": csv_text([*keys, *more, *LAST], rows)},
        lambda: [sweep_figure(summary)],
        as_json=as_json,
    )


LAST = ("extra_cost", "extra_mass_kg")
