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

INTERRUPTED = 130  # as shells tell of Ctrl-C: 128 and the signal's 2

app = typer.Typer(
    name="flatodds",
    help="How likely an off-grid battery bank is to run flat.",
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    add_completion=False,
    invoke_without_command=True,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 80},
)
app.command("new", short_help="Write a scenario of your own: asks, or takes options.")(
    scenario_commands.new
)
app.command("check", short_help="Say whether a scenario is valid, and what it assumes.")(
    scenario_commands.check
)
app.command("run", short_help="Will we run flat there, then, with this rig?")(run.run)
app.command("compare", short_help="Which of these rigs? The same weather for all.")(decide.compare)
app.command("upgrades", short_help="What should we change next?")(decide_upgrades.upgrades)
app.command("sweep", short_help="Which panels and battery are enough?")(decide_sweep.sweep)
app.command("arrivals", short_help="In which weeks can we come?")(decide_arrivals.arrivals)
app.command("cooling", short_help="How many hot days does an air conditioner hold?")(
    decide_cooling.cooling
)
app.command("days-left", short_help="How long will the charge we have last?")(decide_days.days_left)
app.command("schema", short_help="Print the JSON Schema of scenario files, for editors.")(
    scenario_commands.schema
)
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
        say("flatodds --help        the other questions; reports lie in TITLE-result/")


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
        code = leaving.code if isinstance(leaving.code, int) else int(leaving.code is not None)
        if code == INTERRUPTED:  # the parser of commands has caught the interruption
            tell("Stopped.")
        return code
    return 0
