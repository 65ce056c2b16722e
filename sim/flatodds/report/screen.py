"""What the terminal shows after a run: one answer, how sure it is, and why.

Everything comes from the summary, except what the user put in (battery, panels, reserve, what
was assumed) and the charge at dawn, which come beside it. ASCII only, 80 columns, at most 24
lines for one stay, and a few more for several.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from flatodds.outcomes import Facts
from flatodds.outcomes.said import CANNOT_TELL, UNLIKELY, counted, seen, verdict
from flatodds.report.detail import (
    Part,
    answer_lines,
    month_lines,
    percent,
    plain_detail,
    stay_detail,
)
from flatodds.report.fitting import GAP, GAP_ABOVE, KEPT, MONTHS, Line, fitted, ranked
from flatodds.report.words import (
    basis_sentence,
    nights_text,
    number,
    plain_ascii,
    range_short,
    short_of_100,
    urgent_told,
    wrapped,
)

COLUMNS = 80  # of a plain terminal: common practice
ONE_STAY_LINES = 24  # of a plain terminal: common practice
WITH_MONTHS = 4  # stays whose months have lines of their own; more are left to the report


def screen_text(
    summary: Part,
    facts: Facts,
    dawn: Sequence[Mapping[str, float]],
    *,
    folder: str = "",
    files: Sequence[str] = (),
    scenario_file: str = "FILE",
    next_command: str = "",
    plain: bool = False,
    lines_below: int = 0,
) -> str:
    """Write the answer for a terminal.

    Parameters
    ----------
    summary : mapping
        As ``Outcomes.summary()`` gives it.
    facts : Facts
        As ``Outcomes.facts``: what the user put in and what was assumed.
    dawn : sequence of mapping
        As ``Outcomes.dawn_charge()``: charge at dawn in each stay.
    folder, files : str, sequence of str
        Result folder and the names of the files that were written there, if any.
    scenario_file, next_command : str
        How the user named the scenario, and a command worth trying next.
    plain : bool
        Sentences only, for screen readers and simple terminals.
    lines_below : int
        Lines that the caller will print beneath, for which room is left.

    Returns
    -------
    str
        Lines of at most 80 ASCII characters, ended by a newline.
    """
    worst = worst_stay(summary)
    top = heading(summary, facts)
    end = closing(summary, facts, folder, files, scenario_file, next_command)
    several = len(summary["stays"]) > 1
    if plain:
        trip = [line.strip() for line in trip_lines(summary, facts)] if several else []
        detail = plain_detail(summary, facts, dawn, worst)
        middle = [*stay_sentences(summary, facts), *trip, *detail]
        return joined([*top, *middle, *basis_lines(facts, worst), *notes(summary, True), *end])
    above, most = ranked(top), ONE_STAY_LINES - lines_below
    if several:
        rows = stay_rows(summary)
        above += [Line("", GAP), *rows, Line("", GAP_ABOVE), *ranked(trip_lines(summary, facts))]
        most += sum(row.gives_way == KEPT for row in rows)
    body = [
        *above,
        Line("", KEPT if several else GAP_ABOVE),
        *stay_detail(summary, facts, dawn, worst),
        Line("", GAP),
    ]
    foot = [*ranked(notes(summary, False)), *ranked(end)]
    basis = ranked(basis_lines(facts, worst))
    gaps = sum(line.gives_way == GAP for line in body)
    if len(body) + len(basis) + len(foot) - gaps > most:
        basis = ranked(basis_lines(facts, worst, whole=False))
    return joined(fitted([*body, *basis, *foot], most))


def joined(lines: Sequence[str]) -> str:
    """Join lines, cutting any that is still too long for the terminal."""
    fitted = (line if len(line) <= COLUMNS else cut(line) for line in lines)
    return "\n".join(line.rstrip() for line in fitted) + "\n"


def cut(line: str) -> str:
    """Shorten a line to the width of the terminal."""
    return line[: COLUMNS - 3].rstrip() + "..."


def worst_stay(summary: Part) -> int:
    """Find the stay most likely to run flat; the first of equals."""
    stays = summary["stays"]
    return max(range(len(stays)), key=lambda at: (stays[at]["odds_flat"]["estimate"], -at))


def heading(summary: Part, facts: Facts) -> list[str]:
    """Say what was run: title, nights and place; battery and panels."""
    stays = summary["stays"]
    title = plain_ascii(summary["scenario"]["title"], 38)
    if len(stays) == 1:
        where = plain_ascii(stays[0]["place"])
        when = f"{nights_text(stays[0]['nights'])} from {stays[0]['first_day']}"
        whole = plain_ascii(summary["scenario"]["title"])
        first = f"{title}: {when}, {where}"
        if where and where in whole and len(whole) + len(when) + 2 <= COLUMNS:
            first = f"{whole}: {when}"  # a title that names the place itself, as `new` writes it
    else:
        first = f"{title}: {len(stays)} stays, {sum(s['nights'] for s in stays)} nights"
    bank = f"Battery {number(facts.bank_wh / 1000.0)} kWh"
    bank += f" ({facts.bank_ah:,.0f} Ah, {facts.bank_v:.0f} V)"
    return [cut(first) if len(first) > COLUMNS else first, f"{bank}, {panels_text(facts)}"]


def panels_text(facts: Facts) -> str:
    """Say how much panel there is and how it lies."""
    if facts.array_w <= 0.0:
        return "no panels"
    if any(facts.tilts_deg):
        return f"panels {facts.array_w:,.0f} W, tilted"
    lying = "the roof" if facts.home in ("trailer", "van") else "a flat roof"
    return f"panels {facts.array_w:,.0f} W lying on {lying}"


def stay_rows(summary: Part) -> list[Line]:
    """One row per stay: when, how long, chance with range, verdict; beneath it the months."""
    head = f"{'stay':<22} {'from':>6} {'nights':>6} {'of 100 run flat':>16}"
    rows, few = [Line(head)], len(summary["stays"]) <= WITH_MONTHS
    for stay in summary["stays"]:
        row = f"{plain_ascii(stay['name'], 22):<22} {stay['first_day']:>6} {stay['nights']:>6}"
        chance = short_of_100(stay["odds_flat"]["estimate"])
        cell = f"{chance} {range_short(stay['odds_flat_range'])}"
        row += f" {cell:>16}"
        rows.append(Line(f"{row}  {verdict(stay['odds_flat'], stay['odds_flat_range'])}"))
        rows += ranked(month_lines(stay), KEPT if few else MONTHS)
    return rows


def trip_lines(summary: Part, facts: Facts) -> list[str]:
    """Answer for all stays of the trip together."""
    return answer_lines(summary, facts, summary["trip"], "on the whole trip", "trips")


def basis_lines(facts: Facts, stay: int, *, whole: bool = True) -> list[str]:
    """Say what the weather of a stay rests on, or only the first sentence with its error."""
    basis = facts.bases[stay]
    sentence = basis_sentence(basis.sentence)
    if whole:
        return wrapped(sentence, COLUMNS)
    first = sentence.split(". ")[0].rstrip(".")
    error = basis.typical_error_frac
    return wrapped(f"{first}; typical error {percent(error)}." if error else f"{first}.", COLUMNS)


def notes(summary: Part, whole: bool) -> list[str]:
    """Show the urgent cautions: whole, or the first sentence of each."""
    return [line for text in urgent_told(summary, short=not whole) for line in wrapped(text)]


def closing(
    summary: Part,
    facts: Facts,
    folder: str,
    files: Sequence[str],
    scenario_file: str,
    next_command: str,
) -> list[str]:
    """Say what was assumed, how many stays were run, where the files are, what to do next."""
    count, name = len(facts.assumed), plain_ascii(scenario_file)
    lines = []
    if count:
        values = "value" if count == 1 else "values"
        lines += wrapped(f"Assumed {count} {values}: flatodds check {name}")
    runs = f"{summary['members']:,} simulated stays"
    if facts.record_years is not None:
        runs += f" on {facts.record_years:,} real years"
    lines.append(f"{runs}, seed {summary['seed']}. Odds, not a promise.")
    return [*lines, *last_lines(folder, files, next_command)]


def last_lines(
    folder: str, files: Sequence[str], next_command: str, *, plain: bool = False
) -> list[str]:
    """Say where the files are and what to do next, in one line where both fit."""
    last = files_text(folder, files)
    follow = f"Next: {plain_ascii(next_command)}" if next_command else ""
    if last and follow and not plain and len(last) + len(follow) + 4 <= COLUMNS:
        return [f"{last}    {follow}"]
    return [line for line in (last, follow) if line]


def next_question(summary: Part, scenario_file: str) -> str:
    """Choose the command worth trying next: weather, the rig, or when to come."""
    part = summary["trip"] if len(summary["stays"]) > 1 else summary["stays"][0]
    chance, name = part["odds_flat"]["estimate"], plain_ascii(scenario_file)
    if verdict(part["odds_flat"], part["odds_flat_range"]) == CANNOT_TELL:
        return f"flatodds weather get {name}"
    if chance >= UNLIKELY or len(summary["stays"]) > 1:
        return f"flatodds upgrades {name}"
    return f"flatodds arrivals {name}"


def files_text(folder: str, files: Sequence[str]) -> str:
    """Point to the report, or to the folder when there is none."""
    if not files:
        return ""
    where = plain_ascii(folder).rstrip("/")
    if "report.html" in files:
        return f"Open {where}/report.html"
    return f"Written: {where}/"


def stay_sentences(summary: Part, facts: Facts) -> list[str]:
    """Say the chance of every stay of a longer trip in a sentence."""
    units = counted(summary["members"], facts.record_years)
    if len(summary["stays"]) == 1:
        return []
    lines: list[str] = []
    for stay in summary["stays"]:
        words = verdict(stay["odds_flat"], stay["odds_flat_range"])
        lines += wrapped(
            f"{plain_ascii(stay['name'])}, {nights_text(stay['nights'])} from "
            f"{stay['first_day']}: {seen(stay['odds_flat']['estimate'], units)}, {words}."
        )
    return lines
