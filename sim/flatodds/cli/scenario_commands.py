"""Commands about scenario files: `new` writes one, `check` reads one, `schema` describes all."""

from __future__ import annotations

import contextlib
import os
from pathlib import Path
from typing import Annotated

import typer

from flatodds.cli.plain import plain, say, tell, wrapped, wrapped_lines
from flatodds.errors import UsageError

STARTER = Path("my.toml")


def new(
    file: Annotated[Path, typer.Argument(help="File to write.")] = STARTER,
    demo: Annotated[
        str | None, typer.Option(help="Copy this packaged demo instead of the starter.")
    ] = None,
    names: Annotated[
        str | None, typer.Option("--list", help="Only print names: appliances, panels or demos.")
    ] = None,
    title: Annotated[str | None, typer.Option(help="Name of the question.")] = None,
    home: Annotated[str | None, typer.Option(help="Kind of home: trailer, van or cabin.")] = None,
    battery: Annotated[str | None, typer.Option(help="Kind of battery, as lithium or agm.")] = None,
    volts: Annotated[str | None, typer.Option(help="Volts of the whole bank.")] = None,
    amp_hours: Annotated[str | None, typer.Option(help="Ampere-hours of the whole bank.")] = None,
    panels: Annotated[str | None, typer.Option(help="Watts of all panels; 0: none.")] = None,
    inverter: Annotated[str | None, typer.Option(help="Watts of the inverter; 0: none.")] = None,
    use: Annotated[
        str | None, typer.Option(help="How much you use: light, medium or heavy.")
    ] = None,
    place: Annotated[
        str | None, typer.Option(help='Coordinates, a town, or "30 miles S of Moab, UT".')
    ] = None,
    first_day: Annotated[str | None, typer.Option(help="First day, as in '20 Sep'.")] = None,
    nights: Annotated[str | None, typer.Option(help="How many nights.")] = None,
    force: Annotated[bool, typer.Option("--force", help="Replace a file of that name.")] = False,
) -> None:
    """Write a commented scenario of your own: asks, or takes what the options say.

    On a terminal, and with no option that answers, it asks five questions; Enter keeps
    what stands in brackets, ? explains. Everything else keeps the value that the file names.
    """
    from flatodds.cli import ask
    from flatodds.scenario import templates

    if names is not None:
        _list_names(names)
        return
    if file.exists() and not force:
        raise UsageError(_exists(file))
    given = {
        "title": title,
        "home": home,
        "bank.chemistry": battery,
        "bank.volts": volts,
        "bank.amp_hours": amp_hours,
        "array.watts": panels,
        "inverter.watts": inverter,
        "household.pattern": use,
        "place": place,
        "first_day": first_day,
        "nights": nights,
    }
    answers = {key: value for key, value in given.items() if value is not None}
    if demo is not None and answers:
        raise UsageError("--demo copies a whole scenario.\n  Leave out the other options.")
    if demo is not None:
        text = templates.demo(demo)
    elif answers or not ask.on_terminal():
        text = ask.checked(answers)
    else:
        text = ask.asked()
    _write(file, text, force=force)
    say(f"Wrote {file}. Change what differs, then: flatodds run {file}")
    _echo(text, file)


def _echo(text: str, file: Path) -> None:
    """Say how the answers were understood, so that a wrong Springfield shows at once."""
    from flatodds.scenario import parse_scenario
    from flatodds.scenario.explain import summary

    scenario = parse_scenario(text, str(file))
    for what, words in summary(scenario):
        if what in ("Battery", "Panels", "Inverter", "Household", "Stay"):
            say(wrapped(words, f"  {what:<10}", " " * 12))
    for caution in scenario.cautions:
        tell(wrapped_lines(f"Caution: {caution}"))


def _exists(file: Path) -> str:
    return f"{file} exists already.\n  Give another name, or add --force to replace it."


def _list_names(names: str) -> None:
    """Print the catalogue of appliances, or the packaged demos."""
    from flatodds.scenario import templates

    if names == "demos":
        for name, title in templates.demos().items():
            say(f"{name:<20} {title}")
    elif names == "appliances":
        _list_appliances()
    elif names == "panels":
        _list_panels()
    else:
        raise UsageError(f"There is no list of {plain(names)}; lists: appliances, demos, panels.")


def _list_appliances() -> None:
    from flatodds.catalog import appliances
    from flatodds.scenario.appliances import catalogue_words, from_catalogue

    for name, item in appliances().items():
        say(f"{name:<26} {catalogue_words(from_catalogue(item))}, {item.need}")
        say(wrapped(f"{item.label}. Watts: {item.sources['watts']}.", " " * 4, " " * 4))


def _list_panels() -> None:
    from flatodds.catalog import panels

    for name, kind in panels().items():
        say(f"{name:<14} {kind.label}: {kind.voc_v:g} V open, {kind.vmp_v:g} V at most power")
        say(wrapped(f"Volts: {kind.sources['voc_v']}.", " " * 4, " " * 4))


def _write(file: Path, text: str, *, force: bool) -> None:
    """Write a whole new file; never touch an existing one unless told to."""
    if not force:
        try:
            with file.open("x", encoding="utf-8", newline="\n") as stream:
                stream.write(text)
        except FileExistsError:
            raise UsageError(_exists(file)) from None
        except OSError as error:
            raise UsageError(f"{file} cannot be written: {error.strerror}.") from None
        return
    beside = file.with_name(f".{file.name}.{os.getpid()}.part")
    try:
        beside.write_text(text, encoding="utf-8", newline="\n")
        beside.replace(file)
    except OSError as error:
        with contextlib.suppress(OSError):
            beside.unlink(missing_ok=True)
        raise UsageError(f"{file} cannot be written: {error.strerror}.") from None


def check(file: Annotated[Path, typer.Argument(help="Scenario file.")]) -> None:
    """Say whether a scenario is valid, and everything it leaves to assumptions."""
    from flatodds.scenario import load_scenario
    from flatodds.scenario.cautions import refuse_sure_estimate
    from flatodds.scenario.explain import appliance_rows, assumed_rows, summary
    from flatodds.scenario.limits import limit_rows

    scenario = load_scenario(file)
    refuse_sure_estimate(scenario)
    say(f"{file} is valid.\n")
    say(f"{scenario.title} ({scenario.home})")
    for what, words in summary(scenario):
        say(wrapped(words, f"  {what:<11}", " " * 13))
    say("\nAppliances")
    for name, words in appliance_rows(scenario):
        say(wrapped(words, f"  {plain(name):<26}", " " * 28))
    say("\nAssumed, because the file does not say")
    for key, value, why in assumed_rows(scenario):
        say(wrapped(f"{value}  ({why})", f"  {plain(key) + ' ':<34}", " " * 36))
    us = scenario.printed_units == "us"
    limits = limit_rows(scenario.arrays, scenario.controllers, scenario.stays, us=us)
    if limits:
        say("\nLimits, to hold against the labels")
        for what, words in limits:
            say(wrapped(words, f"  {plain(what):<26}", " " * 28))
    for caution in scenario.cautions:
        tell("\n" + wrapped_lines(f"Caution: {caution}"))


def schema(
    of: Annotated[
        str | None,
        typer.Argument(
            help="Print that of what a command gives with --json: run, compare, upgrades, "
            "sweep, arrivals, cooling or days-left.",
            show_default=False,
        ),
    ] = None,
) -> None:
    """Print the JSON Schema of scenario files, for editors; or of a command's --json."""
    import json

    from flatodds.scenario import json_schema

    if of is None:
        found = json_schema()
    else:
        from flatodds.outcomes import study_schema, summary_schema

        found = summary_schema() if of == "run" else study_schema(of)
    say(json.dumps(found, indent=2, ensure_ascii=True))
