"""The command `arrivals`: when one can come."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from flatodds.cli import study
from flatodds.cli.numbers import number, whole


class By(StrEnum):
    """Rows of the printed table."""

    WEEK = "week"
    SEASON = "season"


def arrivals(
    file: study.File,
    nights: Annotated[
        int | None,
        typer.Option(
            help="Length of each stay; 14 unless stated.",
            show_default=False,
            parser=whole("--nights", "14"),
            metavar="<int>",
        ),
    ] = None,
    charge: Annotated[
        float,
        typer.Option(
            help="Charge on arrival, in percent.",
            parser=number("--charge", "80"),
            metavar="<float>",
        ),
    ] = 100.0,
    odds: study.Odds = 5.0,
    by: Annotated[By, typer.Option(help="Print a table by week or by season.")] = By.WEEK,
    out: study.Out = Path(),
    members: study.Members = None,
    seed: study.Seed = 1,
    threads: study.Threads = None,
    units: study.Units = None,
    as_json: study.AsJson = False,
    quiet: study.Quiet = False,
) -> None:
    """Work out the odds of a stay for every week of arrival, at each of the places."""
    scenario = study.read(file, units)
    folder = study.ready_folder(scenario, "arrivals", out)
    progress = study.begun(quiet)
    from flatodds.report.arrivals_words import arrivals_figure, arrivals_text
    from flatodds.report.study_folder import csv_text
    from flatodds.studies import arrivals as job

    found = job.arrivals(
        scenario,
        nights=job.NIGHTS if nights is None else nights,
        charge_frac=study.share(charge, "--charge", "80"),
        wanted_odds=odds / 100.0,
        members=job.MEMBERS if members is None else members,
        seed=seed,
        threads=threads,
        progress=progress,
    )
    summary = found.summary()
    head = (
        "place",
        "first_day",
        "odds_flat",
        "low",
        "high",
        "range_low",
        "range_high",
        "generator_hours",
    )
    rows = [
        [
            place["name"],
            week["first_day"],
            *week["odds_flat"].values(),
            *week["odds_flat_range"].values(),
            week["generator_hours"],
        ]
        for place in summary["places"]
        for week in place["weeks"]
    ]
    study.finish(
        folder,
        summary,
        arrivals_text(summary, scenario.title, by_season=by is By.SEASON),
        found.dataset,
        {"weeks": csv_text(head, rows)},
        lambda: [arrivals_figure(summary)],
        as_json=as_json,
    )
