"""The command `upgrades`: which change does most."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from flatodds.cli import study
from flatodds.cli.numbers import number


def upgrades(
    file: study.File,
    budget: Annotated[
        float | None,
        typer.Option(
            help="Leave out what is known to cost more.",
            show_default=False,
            parser=number("--budget", "1500"),
            metavar="<float>",
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
    """Rank sensible changes to the rig and its use, and the scenario's own variants.

    With your own [prices] also by money, mass and roof.
    """
    scenario = study.read(file, units)
    folder = study.ready_folder(scenario, "upgrades", out)
    progress = study.begun(quiet)
    from flatodds.report.figures_compare import variants_figure
    from flatodds.report.study_folder import csv_text
    from flatodds.report.upgrades_words import upgrades_sentence, upgrades_text
    from flatodds.studies import upgrades as job

    found = job.upgrades(
        scenario,
        budget=budget,
        members=job.MEMBERS if members is None else members,
        seed=seed,
        threads=threads,
        progress=progress,
    )
    summary = found.summary()
    head = ("name", "odds_flat", "low", "high", "difference", "difference_low", "difference_high")
    more = ("extra_cost", "extra_mass_kg", "drop_per_100_money", "drop_per_10_kg", "drop_per_m2")
    rows = [
        [
            row["name"],
            *row["odds_flat"].values(),
            *row["difference"].values(),
            *[row[key] for key in more],
            row["why_not"],
        ]
        for row in summary["upgrades"]
    ]
    drawn = {**summary, "variants": [summary["as_written"], *summary["upgrades"]]}
    study.finish(
        folder,
        summary,
        upgrades_text(summary, study.heading(scenario)),
        found.dataset,
        {"upgrades": csv_text([*head, *more, "why_not"], rows)},
        lambda: [variants_figure(drawn, upgrades_sentence(summary))],
        as_json=as_json,
    )
