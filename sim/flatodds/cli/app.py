"""The program `flatodds`: registers the commands and turns errors into exit codes."""

from __future__ import annotations

from collections.abc import Sequence

import typer

from flatodds.cli import (
    decide,
    decide_arrivals,
    decide_cooling,
    decide_days,
    decide_sweep,
    decide_upgrades,
    run,
    scenario_commands,
    weather,
)
from flatodds.cli.plain import say, tell, wrapped_lines
from flatodds.errors import FlatoddsError

INTERRUPTED = 130

app = typer.Typer(
    name="flatodds",
    help="How likely an off-grid battery bank is to run flat.",
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    add_completion=False,
    invoke_without_command=True,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 80},
)
app.command("new")(scenario_commands.new)
app.command("check")(scenario_commands.check)
app.command("run")(run.run)
app.command("compare")(decide.compare)
app.command("upgrades")(decide_upgrades.upgrades)
app.command("sweep")(decide_sweep.sweep)
app.command("arrivals")(decide_arrivals.arrivals)
app.command("cooling")(decide_cooling.cooling)
app.command("days-left")(decide_days.days_left)
app.command("schema")(scenario_commands.schema)
app.add_typer(weather.app)


@app.callback()
def first_words(
    context: typer.Context,
    version: bool = typer.Option(False, "--version", help="Print the version and stop."),
) -> None:
    """How likely an off-grid battery bank is to run flat."""
    if version:
        from importlib.metadata import version as installed

        say(f"flatodds {installed('flatodds')}")
        raise typer.Exit
    if context.invoked_subcommand is None:
        say("flatodds new my.toml   writes a scenario to change: rig, household, stays")
        say("flatodds run my.toml   works out the odds of running flat")
        say("The report is then in a folder named after the title, ending in -result.")


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the program and give its exit code; messages for people go to standard error."""
    try:
        app(arguments, prog_name="flatodds")
    except FlatoddsError as error:
        tell(wrapped_lines(str(error)))
        return error.exit_code
    except OSError as error:  # what no room could put better: a name too long, a lost disk
        tell(wrapped_lines(f"{error.filename or 'flatodds'}: {error.strerror or error}."))
        return FlatoddsError.exit_code
    except KeyboardInterrupt:
        tell("Stopped.")
        return INTERRUPTED
    except SystemExit as leaving:
        return leaving.code if isinstance(leaving.code, int) else int(leaving.code is not None)
    return 0
