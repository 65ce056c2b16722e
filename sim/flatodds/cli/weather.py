"""Commands about weather: `get` real years, `list` and `clear` what is kept, `show` how dull."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from flatodds.cli.plain import plain, say, tell, wrapped, wrapped_lines
from flatodds.errors import UsageError

GUIDE = """Weather: see it, and get better weather than the built-in estimate.

Without weather of its own a stay uses a worldwide estimate: its dullest
season is typically 12 % off, far more on monsoon coasts and in mountains.
Better, from good to best:

\b
- a file of one typical year (TMY, EPW, PVGIS, NSRDB): weather = "FILE"
- ten or more real years of the place itself: flatodds weather get
  then write in the stay: weather = "fetched"

\b
flatodds weather get my.toml           real years for every stay, kept here
flatodds weather get --at 44.9,-93.6   the same for one place
flatodds weather show my.toml          monthly sun and the worst dull spells

Only `weather get` uses the internet, and a run never does. Services: pvgis
covers the world, best in Europe, Africa and Asia; power (NASA POWER) covers
the world, coarsely; nsrdb covers the Americas finely, with your own free key
in FLATODDS_NSRDB_KEY and your email in FLATODDS_NSRDB_EMAIL."""

app = typer.Typer(
    name="weather",
    help=GUIDE,
    short_help="Get real weather, and see how dull a place gets.",
    rich_markup_mode=None,
    invoke_without_command=True,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 80},
)


@app.callback()
def first_words(context: typer.Context) -> None:
    """Print the guide when no command is given."""
    if context.invoked_subcommand is None:
        say(context.get_help())


@app.command()
def get(
    scenario: Annotated[
        Path | None, typer.Argument(help="Scenario: weather for each of its stays.")
    ] = None,
    at: Annotated[
        str | None, typer.Option(help='Or one place, as in "44.9,-93.6".', show_default=False)
    ] = None,
    years: Annotated[str, typer.Option(help="First and last year, or one year.")] = "2005-2020",
    service: Annotated[
        str, typer.Option(help="pvgis, pvgis-tmy (one typical year), power or nsrdb.")
    ] = "pvgis",
    refresh: Annotated[
        bool, typer.Option("--refresh", help="Ask again for what is kept already.")
    ] = False,
    offline: Annotated[
        bool, typer.Option("--offline", help="Never use the internet; say what is missing.")
    ] = False,
    quiet: Annotated[bool, typer.Option("--quiet", "-q", help="No progress.")] = False,
) -> None:
    """Fetch real hourly weather and keep it for use without internet.

    About 0.4 MB a year. Then write weather = "fetched" in the stay: it takes the
    real years kept nearest to it, within 0.1 degree ("fetched typical": the typical
    year of pvgis-tmy).
    """
    from flatodds.weather.fetch import fetch

    span = _years(years)
    places = _places(scenario, at)
    for latitude, longitude in places:
        kept = fetch(
            latitude,
            longitude,
            span,
            service,
            offline=offline,
            refresh=refresh,
            progress=(lambda words: None) if quiet else (lambda words: tell(wrapped(words))),
        )
        say(f"{latitude:.3f}, {longitude:.3f}: {kept.service} {kept.years_text}, {kept.origin}")
        say(f"  {kept.path}")
    use = 'weather = "fetched typical"' if kept.typical else 'weather = "fetched"'
    tell(wrapped(f"To use it, write in the stay: {use}", "", "  "))


@app.command("list")
def list_sets() -> None:
    """List the weather that has been fetched."""
    from flatodds.weather.cache import cached_sets, state_of
    from flatodds.weather.cache_note import weather_folder

    found, damaged = cached_sets()
    tell(f"In {weather_folder()}")
    if not found and not damaged:
        say("No weather has been fetched yet; flatodds weather --help tells how.")
        return
    say(f"{'latitude':>9}{'longitude':>11}  {'service':<10} {'years':<10} {'fetched':<11} state")
    for one in found:
        place = f"{one.latitude:9.3f}{one.longitude:11.3f}"
        when = plain(one.fetched)[:10]
        say(f"{place}  {one.service:<10} {one.years_text:<10} {when:<11} {state_of(one)}")
    for name in damaged:
        say(f"{name}: this note is damaged; fetch the place again.")


@app.command()
def clear(
    yes: Annotated[bool, typer.Option("--yes", "-y", help="Do not ask.")] = False,
) -> None:
    """Delete all fetched weather, and nothing else."""
    from flatodds.weather.cache import clear as delete
    from flatodds.weather.cache_note import weather_folder

    if not yes:
        if not sys.stdin.isatty():
            raise UsageError("Deleting needs a yes.\n  Write: flatodds weather clear --yes")
        typer.confirm(f"Delete all fetched weather in {weather_folder()}?", abort=True)
    gone, left = delete()
    say(f"Deleted {gone} files of fetched weather.")
    if left:
        tell(f"Left alone, as not ours: {len(left)} in {weather_folder()}")


@app.command(context_settings={"ignore_unknown_options": True})  # places may begin with a minus
def show(
    target: Annotated[
        str, typer.Argument(help='A weather file, a place as in "44.9,-93.6", or a scenario.')
    ],
    picture: Annotated[
        Path | None,
        typer.Option(help="Also draw a calendar of daily sun: FILE.svg or FILE.png."),
    ] = None,
    force: Annotated[bool, typer.Option("--force", help="Replace a picture.")] = False,
    offline: Annotated[
        bool, typer.Option("--offline", help="Never use the internet (show never does).")
    ] = False,
) -> None:
    """Show monthly sun, temperature, and the worst dull spells.

    Real years of a file are shown as they were. For a place, or a file of one year, the
    numbers come from generated years, and the output says so.
    """
    from flatodds.cli import weather_targets
    from flatodds.report.weather_words import weather_text
    from flatodds.weather.spells import dullness, months

    del offline
    looks = weather_targets.days_of(target)
    if picture is not None:
        weather_targets.check_picture(picture, len(looks), force=force)
    for at, daily in enumerate(looks):
        dull = dullness(daily)
        say(("\n" if at else "") + weather_text(daily, months(daily), dull))
        if picture is not None:
            weather_targets.write_picture(daily, dull, picture)
            say(f"\nPicture: {picture}")


def _years(text: str) -> tuple[int, int]:
    """First and last year of "2005-2020" or "2015"."""
    parts = [part.strip() for part in text.split("-")]
    if len(parts) not in (1, 2) or not all(part.isdigit() and len(part) == 4 for part in parts):
        raise UsageError(f"--years {plain(text)[:20]} is not a span of years.\n  Write: 2005-2020")
    return int(parts[0]), int(parts[-1])


def _places(scenario: Path | None, at: str | None) -> list[tuple[float, float]]:
    """Places to fetch weather for, each once."""
    from flatodds.cli.weather_targets import place_of

    if (scenario is None) == (at is None):
        raise UsageError(
            "Give a scenario, or a place with --at.\n"
            "  flatodds weather get my.toml\n  flatodds weather get --at 44.9,-93.6"
        )
    if at is not None:
        return [place_of(at, "--at")]
    from flatodds.scenario import load_scenario

    assert scenario is not None  # noqa: S101  (for the type checker)
    stays = load_scenario(scenario).stays
    wanted = [stay for stay in stays if stay.weather in (None, "fetched", "fetched typical")]
    if not wanted:
        tell(wrapped_lines("Every stay names weather of its own; fetching for all of them."))
        wanted = list(stays)
    return list(dict.fromkeys((stay.latitude, stay.longitude) for stay in wanted))
