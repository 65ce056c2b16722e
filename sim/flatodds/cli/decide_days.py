"""The command `days-left`: how long the charge in the bank lasts."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from flatodds.cli import study
from flatodds.cli.numbers import number, whole
from flatodds.errors import Problem, UsageError


def days_left(
    file: study.File,
    charge: Annotated[
        float,
        typer.Option(
            help="Charge of the bank now, in percent.",
            parser=number("--charge", "62"),
            metavar="<float>",
        ),
    ],
    first_day: Annotated[
        str | None,
        typer.Option("--from", help='The day, as in "24 Nov"; else the first stay\'s first day.'),
    ] = None,
    nights: Annotated[
        int | None,
        typer.Option(
            help="Nights to look ahead; 30 unless stated.",
            show_default=False,
            parser=whole("--nights", "30"),
            metavar="<int>",
        ),
    ] = None,
    lately: Annotated[
        str | None,
        typer.Option(help="The last three days were dull, mixed or clear.", show_default=False),
    ] = None,
    sun_lately: Annotated[
        str | None,
        typer.Option(
            help="Or their sun on the level in kWh/m2, latest last: 0.8,1.1,0.6",
            show_default=False,
        ),
    ] = None,
    without: Annotated[
        list[str] | None,
        typer.Option(
            help="What changes without this appliance; may be repeated.",
            show_default=False,
            metavar="<name>",
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
    """Work out how long the charge in the bank lasts, night by night.

    The charge is that at midnight, as the day begins, and may be some 5 points off.
    """
    scenario = study.read(file, units)
    known = _known(lately, sun_lately)
    now = study.share(charge, "--charge", "62")
    folder = study.ready_folder(scenario, "days-left", out)
    progress = study.begun(quiet)
    from flatodds.report.days_left_words import days_left_text
    from flatodds.report.figures_days_left import dawn_figure, through_figure
    from flatodds.report.study_folder import csv_text
    from flatodds.studies import days_left as job

    found = job.days_left(
        scenario,
        now,
        first_day,
        nights=job.NIGHTS if nights is None else nights,
        lately=known,
        without=without or (),
        members=job.MEMBERS if members is None else members,
        seed=seed,
        threads=threads,
        progress=progress,
    )
    summary = found.summary()
    dawn = summary["dawn_charge_frac"]
    rows = [
        [n + 1, *night.values(), *[dawn[key][n] for key in dawn]]
        for n, night in enumerate(summary["through"])
    ]
    head = ["nights", "chance_through", "low", "high", *[f"dawn_charge_frac_{key}" for key in dawn]]
    study.finish(
        folder,
        summary,
        days_left_text(summary),
        found.dataset,
        {"nights": csv_text(head, rows)},
        lambda: [through_figure(summary), dawn_figure(summary)],
        as_json=as_json,
    )


def _known(lately: str | None, sun_lately: str | None) -> str | list[float] | None:
    """Weather of the last days, told in one way or the other."""
    if lately is not None and sun_lately is not None:
        raise UsageError("Give --lately or --sun-lately, not both.")
    if sun_lately is None:
        return lately
    try:
        return [float(part) for part in sun_lately.split(",")]
    except ValueError:
        raise UsageError(
            Problem(
                "--sun-lately",
                f"{sun_lately[:60]!r} is no list of numbers.",
                "Write: --sun-lately 0.8,1.1,0.6",
            )
        ) from None
