"""The command `cooling`: how much air conditioning a rig can hold."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from flatodds.cli import study


def cooling(
    file: study.File,
    unit: Annotated[
        str | None,
        typer.Option(help="Air conditioner, in place of the scenario's.", show_default=False),
    ] = None,
    months: Annotated[
        str | None,
        typer.Option(help="Whole months instead of the stays, as in may-sep.", show_default=False),
    ] = None,
    out: study.Out = Path(),
    members: study.Members = None,
    seed: study.Seed = 1,
    threads: study.Threads = None,
    units: study.Units = None,
    as_json: study.AsJson = False,
    quiet: study.Quiet = False,
) -> None:
    """Work out how much air conditioning a rig holds, without and with a generator.

    Hours a day it runs, share of hot days held and the odds of running flat, by month.
    """
    from flatodds.studies import cooling as job

    scenario = study.read(file, units)
    asked = None if months is None else job.parse_months(months)
    folder = study.ready_folder(scenario, "cooling", out)
    progress = study.begun(quiet)
    from flatodds.report.cooling_words import cooling_text
    from flatodds.report.figures_cooling import cooling_figure
    from flatodds.report.study_folder import csv_text

    found = job.air_conditioning(
        scenario,
        unit=unit,
        months=asked,
        members=job.MEMBERS if members is None else members,
        seed=seed,
        threads=threads,
        progress=progress,
    )
    summary, us = found.summary(), found.scenario.printed_units == "us"
    keys = ("hot_hours_day", "held_hours_day", "cooling_hours_day", "cooling_kwh_day")
    more = ("hot_days", "held_frac", "generator_hours_day")
    rows = [
        [
            way["name"],
            month["stay"],
            month["month"],
            *month["odds_flat"].values(),
            *[month[key] for key in (*keys, *more)],
        ]
        for way in summary["ways"]
        for month in way["months"]
    ]
    head = ("way", "stay", "month", "odds_flat", "low", "high", *keys, *more)
    study.finish(
        folder,
        summary,
        cooling_text(summary, study.heading(found.scenario), us=us),
        found.dataset,
        {"months": csv_text(head, rows)},
        lambda: [cooling_figure(summary, us=us)],
        as_json=as_json,
    )
