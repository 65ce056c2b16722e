"""The report: one page that answers, shows why, and says how far to trust it.

One HTML file without script or outside request. What people are told comes from the summary;
the figures also read the Dataset behind it.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from flatodds.outcomes import Facts, Outcomes
from flatodds.report.answers import Answer, StayRow, stay_answer, stay_table, trip_answer
from flatodds.report.background import Background, background_of
from flatodds.report.figures import Part, Shown
from flatodds.report.screen import panels_text
from flatodds.report.tables import csv_text
from flatodds.report.without_page import Without, without_of
from flatodds.report.words import clean, nights_text, number, tied
from flatodds.report.writer import REPORT_FILE, Content

if TYPE_CHECKING:
    import pandas as pd
    import xarray as xr

    from flatodds.report.explain_page import Explained
    from flatodds.report.figures_charge import Lines
    from flatodds.scenario import Scenario

TEMPLATES = Path(__file__).parent / "templates"
WEEKS_FILE = "tables/bad_week_hours.csv"
DIGITS = 4  # after the point in that table: finer than any input
MOST_STAYS = 6  # shown in detail; keeps the page small. Own choice


@dataclass(frozen=True, slots=True)
class StaySection:
    """One stay in detail."""

    anchor: str
    name: str
    when: str
    answer: Answer
    figures: tuple[Shown, ...]


def shown_stays(outcomes: Outcomes) -> list[int]:
    """Stays that the page shows in detail: all, or the likeliest to run flat, in time order."""
    return _shown_stays(outcomes.summary())


def _shown_stays(summary: Part) -> list[int]:
    stays = summary["stays"]
    ranked = sorted(range(len(stays)), key=lambda at: (-stays[at]["odds_flat"]["estimate"], at))
    return sorted(ranked[:MOST_STAYS])


def page_html(
    outcomes: Outcomes,
    *,
    scenario: Scenario | None = None,
    weeks: Mapping[int, xr.Dataset] | None = None,
    scenario_file: str = "my.toml",
    explained: Explained | None = None,
) -> str:
    """Write the report.

    Parameters
    ----------
    outcomes : Outcomes
        What to tell.
    scenario : Scenario, optional
        What was run; adds the cut-off line, classes of appliances and the idling inverter.
    weeks : mapping of int to xarray.Dataset, optional
        One bad week by hour for each stay shown, as ``studies.live_one`` cuts it.
    scenario_file : str
        How the scenario's file is called, for the command that repeats the run.
    explained : Explained, optional
        What each appliance costs, and what overloads the inverter.

    Returns
    -------
    str
        A whole HTML document.
    """
    summary, facts = outcomes.summary(), outcomes.facts
    several = len(summary["stays"]) > 1
    source = _Source(
        summary=summary,
        facts=facts,
        dataset=outcomes.unread_dataset,
        odds=[dict(row) for _, row in outcomes.odds("month").iterrows()],
        worst_days=outcomes.table("worst_stay_days"),
        dawn=outcomes.dawn_charge(),
        scenario=scenario,
        weeks=weeks or {},
    )
    sections = _sections(source)
    return _rendered(
        title=clean(facts.title, 120),
        rig=rig_text(facts),
        when=when_text(summary),
        several=several,
        trip=trip_answer(summary, facts) if several else sections[0].answer,
        stays=stay_table(summary, facts, {s.anchor for s in sections}) if several else (),
        sections=sections,
        left_out=len(summary["stays"]) - len(sections),
        background=background_of(summary, facts, scenario_file),
        explained=explained,
        without=without_of(summary["stays"]),
    )


def page_files(
    outcomes: Outcomes,
    *,
    scenario: Scenario,
    weeks: Mapping[int, xr.Dataset],
    scenario_file: str,
    explained: Explained | None = None,
) -> dict[str, Content]:
    """Write the report and the hours behind its bad weeks: file name to content."""
    page = page_html(
        outcomes,
        scenario=scenario,
        weeks=weeks,
        scenario_file=scenario_file,
        explained=explained,
    )
    names = [clean(stay.name, 80) for stay in outcomes.facts.stays]
    return {REPORT_FILE: page, WEEKS_FILE: weeks_csv(weeks, names)}


def weeks_csv(weeks: Mapping[int, xr.Dataset], names: Sequence[str]) -> str:
    """Write every hour of the bad weeks as a table."""
    import pandas as pd

    frames = []
    for stay, week in weeks.items():
        frame = week.to_dataframe().reset_index()
        frame["time"] = frame["time"].dt.strftime("%m-%d %H:%M")  # the year stands for any
        frame["stay"] = names[stay]
        frame.insert(0, "member", week.attrs["member"])
        frame["flat"] = frame["flat"].astype(int)
        frames.append(frame.round(DIGITS))
    table = pd.concat(frames, ignore_index=True)
    first = ["stay", "member", "day", "time", "flat"]
    return csv_text(table[[*first, *(key for key in table.columns if key not in first)]])


def _rendered(
    *,
    title: str,
    rig: str,
    when: str,
    several: bool,
    trip: Answer,
    stays: Sequence[StayRow],
    sections: Sequence[StaySection],
    left_out: int,
    background: Background,
    explained: Explained | None,
    without: Without | None,
) -> str:
    """Fill the template; every text is escaped, only drawings of our own are not."""
    from jinja2 import Environment, FileSystemLoader, StrictUndefined
    from markupsafe import Markup

    environment = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["tied"] = tied
    environment.filters["breakable"] = lambda key: Markup("<wbr>").join(_AFTER.split(key))
    environment.filters["drawing"] = lambda shown: Markup(shown.svg)  # noqa: S704
    return environment.get_template("page.html.j2").render(
        title=title,
        rig=rig,
        when=when,
        several=several,
        trip=trip,
        stays=stays,
        sections=sections,
        left_out=left_out,
        background=background,
        explained=explained,
        without=without,
    )


@dataclass(frozen=True, slots=True)
class _Source:
    """What the figures are drawn from, worked out once for all stays."""

    summary: Part
    facts: Facts
    dataset: xr.Dataset
    odds: list[dict[str, Any]]
    worst_days: pd.DataFrame
    dawn: Sequence[Mapping[str, float]]
    scenario: Scenario | None
    weeks: Mapping[int, xr.Dataset]


def _sections(source: _Source) -> list[StaySection]:
    shown, first, sections = _shown_stays(source.summary), 0, []
    for at, stay in enumerate(source.summary["stays"]):
        odds = source.odds[first : first + len(stay["months"])]
        first += len(stay["months"])
        if at not in shown:
            continue
        sections.append(
            StaySection(
                anchor=f"s{at + 1}",
                name=clean(stay["name"], 80),
                when=stay_when(stay),
                answer=stay_answer(source.summary, source.facts, source.dawn[at], at),
                figures=_figures(source, at, odds),
            )
        )
    return sections


def _figures(source: _Source, at: int, odds: Sequence[Part]) -> tuple[Shown, ...]:
    """Draw all figures of one stay, in the order they are told."""
    from flatodds.report import figures_charge as charge
    from flatodds.report import figures_energy as amounts
    from flatodds.report import figures_generator as generator
    from flatodds.report import figures_heat as heat
    from flatodds.report import figures_odds as chances
    from flatodds.report import figures_use as use

    facts, stay, name = source.facts, source.summary["stays"][at], f"s{at + 1}"
    members, lines = source.summary["members"], _levels(facts, source.scenario)
    months = amounts.months_of(source.dataset, at)
    uses = use.uses_of(stay, *_habits(source.scenario))
    dawns, week = charge.dawns_of(source.dataset, source.worst_days, at), source.weeks.get(at)
    engine = None if source.scenario is None else source.scenario.generator
    oil = None if engine is None else engine.service_hours
    found = (
        chances.squares_figure(f"{name}-hundred", stay, facts, members, "stays"),
        charge.dawn_figure(f"{name}-dawn", dawns, lines),
        charge.week_figure(f"{name}-week", week, lines) if week is not None else None,
        chances.month_odds_figure(f"{name}-months", odds),
        amounts.sun_figure(f"{name}-sun", months, facts),
        amounts.went_figure(f"{name}-went", months),
        generator.generator_figure(
            f"{name}-generator", generator.runs_of(source.dataset, at), oil, facts
        ),
        heat.heat_figure(f"{name}-heat", heat.heat_of(source.dataset, at), facts),
        use.uses_figure(f"{name}-uses", uses, facts),
        chances.wrong_figure(f"{name}-wrong", stay, facts, members),
        _filling(source, at, name),
    )
    return tuple(shown for shown in found if shown is not None)


def _filling(source: _Source, at: int, name: str) -> Shown | None:
    """Draw how the bank fills, once on a page: with the first stay shown."""
    from flatodds.report.figures_charge_curve import charge_curve_figure

    if source.scenario is None or at != min(_shown_stays(source.summary)):
        return None
    return charge_curve_figure(f"{name}-filling", source.scenario, source.summary["stays"][at])


def _levels(facts: Facts, scenario: Scenario | None) -> Lines:
    """Levels of charge that matter."""
    from flatodds.report.figures_charge import Lines

    if scenario is None:
        return Lines(facts.reserve_frac, None)
    cold = any(share < 1.0 for _, share in scenario.bank.capacity_points)
    return Lines(facts.reserve_frac, scenario.bank.cutoff_frac, cold, facts.units == "us")


def _habits(scenario: Scenario | None) -> tuple[dict[str, str], float | None]:
    """Class of every appliance by name, and what the idling inverter draws [kWh a day]."""
    if scenario is None:
        return {}, None
    from flatodds.report.figures_use import shown_name

    needs: dict[str, str] = {shown_name(use.name): use.need for use in scenario.appliances}
    if scenario.cooling is not None:
        needs[shown_name(scenario.cooling.unit)] = scenario.cooling.need
    inverter = scenario.inverter
    idle_wh = inverter.idle_w * inverter.hours_on if inverter.watts > 0.0 else 0.0
    return needs, idle_wh / 1000.0


_AFTER = re.compile(r"(?<=[._])")  # where a long key may break


def rig_text(facts: Facts) -> str:
    """Say what battery and panels there are."""
    bank = f"Battery {number(facts.bank_wh / 1000.0)} kWh ({facts.bank_ah:,.0f} Ah, "
    return f"{bank}{facts.bank_v:.0f} V, {facts.chemistry}), {panels_text(facts)}"


def stay_when(stay: Mapping[str, Any]) -> str:
    """Say when and where a stay is."""
    place = clean(stay["place"], 80)
    return f"{nights_text(stay['nights'])} from {stay['first_day']}, {place}"


def when_text(summary: Part) -> str:
    """Say when and where all of it is."""
    stays = summary["stays"]
    if len(stays) == 1:
        name, place = clean(stays[0]["name"], 80), clean(stays[0]["place"], 80)
        return stay_when(stays[0]) if name == place else f"{name}: {stay_when(stays[0])}"
    return f"{len(stays)} stays, {nights_text(sum(stay['nights'] for stay in stays))}"
