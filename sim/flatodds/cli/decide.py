"""The command `compare`: which of several rigs, over the same weather."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from flatodds.cli import study
from flatodds.errors import UsageError

if TYPE_CHECKING:
    from flatodds.scenario import Scenario
    from flatodds.scenario.variants import Variant
    from flatodds.studies.compare import Comparison


def compare(
    files: Annotated[
        list[Path], typer.Argument(help="A scenario with variants, or several scenarios.")
    ],
    change: Annotated[
        list[str] | None,
        typer.Option(
            help="A variant, as in bank.amp_hours=400,array.watts=800; may be repeated.",
            show_default=False,
            metavar="<word=value,...>",
        ),
    ] = None,
    name: Annotated[
        list[str] | None,
        typer.Option(
            help="Names of the changes, in their order.", show_default=False, metavar="<text>"
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
    """Compare rigs over the same weather and household.

    Variants stand in the scenario under [[variant]], or are given with --change; or
    give several scenario files. The first is what the others are held against.
    """
    scenarios = [study.read(file, units) for file in files]
    variants = _variants(scenarios, change or [], name or [])
    folder = study.ready_folder(scenarios[0], "compare", out)
    progress = study.begun(quiet)
    from flatodds.studies import compare as job

    count = job.MEMBERS if members is None else members
    if len(scenarios) > 1:
        found = job.compare_scenarios(
            scenarios, members=count, seed=seed, threads=threads, progress=progress
        )
    else:
        found = job.compare(
            scenarios[0], variants, members=count, seed=seed, threads=threads, progress=progress
        )
    _finish(found, folder, as_json=as_json)


def _variants(scenarios: list[Scenario], change: list[str], name: list[str]) -> list[Variant]:
    """Variants of the one scenario: those it lists, then those typed."""
    from flatodds.scenario.variants import typed_variant, variants_in

    if len(scenarios) > 1:
        if change:
            raise UsageError("Give several scenarios, or one with --change, not both.")
        return []
    if len(name) > len(change):
        raise UsageError("There are more names than changes.\n  Write: --change ... --name ...")
    names = [*name, *[None] * (len(change) - len(name))]
    typed = [typed_variant(text, words) for text, words in zip(change, names, strict=True)]
    return [*variants_in(scenarios[0]), *typed]


def _finish(found: Comparison, folder: Path, *, as_json: bool) -> None:
    from flatodds.report.compare_words import compare_finding, compare_text
    from flatodds.report.figures_compare import variants_figure
    from flatodds.report.study_folder import csv_text

    summary = found.summary()
    head = ("name", "odds_flat", "odds_flat_low", "odds_flat_high", "range_low", "range_high")
    more = ("difference", "difference_low", "difference_high", "did_without_kwh")
    last = ("generator_hours", "extra_cost", "extra_mass_kg", "extra_area_m2")
    rows = [
        [
            row["name"],
            *row["odds_flat"].values(),
            *row["odds_flat_range"].values(),
            *(row["difference"] or dict.fromkeys(("estimate", "low", "high"))).values(),
            row["did_without_kwh"],
            *[row[key] for key in last],
        ]
        for row in summary["variants"]
    ]
    first = found.scenarios[0]
    study.finish(
        folder,
        summary,
        compare_text(summary, study.heading(first)),
        found.dataset,
        {"variants": csv_text([*head, *more, *last], rows)},
        lambda: [variants_figure(summary, compare_finding(summary))],
        as_json=as_json,
    )
