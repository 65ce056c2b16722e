"""What the terminal shows after a run: one answer, how sure it is, and why.

Everything comes from the summary, except what the user put in (battery, panels, reserve, what
was assumed) and the charge at dawn, which come beside it. ASCII only, 80 columns, at most 24
lines for one stay.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from flatodds.outcomes import Facts
from flatodds.report.detail import Part, answer_lines, plain_detail, stay_detail
from flatodds.report.words import (
    basis_sentence,
    counted,
    nights_text,
    number,
    plain_ascii,
    seen,
    urgent_notes,
    verdict,
    wrapped,
)

COLUMNS = 80
ONE_STAY_LINES = 24
BASIS_LINES = (4, 3, 2, 1)  # as many lines of the weather sentence as there is room for


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
    if several:
        top += ["", *stay_rows(summary, facts), "", *trip_lines(summary, facts), ""]
    else:
        top.append("")
    detail = stay_detail(summary, facts, dawn, worst)
    for limit in BASIS_LINES:
        foot = ["", *basis_lines(facts, worst, limit), *notes(summary, False), *end]
        lines = [*top, *detail, *foot]
        if several or len(squeezed(lines)) <= ONE_STAY_LINES:
            break
    return joined(lines if several else squeezed(lines))


def joined(lines: Sequence[str]) -> str:
    """Join lines, cutting any that is still too long for the terminal."""
    fitted = (line if len(line) <= COLUMNS else cut(line) for line in lines)
    return "\n".join(line.rstrip() for line in fitted) + "\n"


def cut(line: str) -> str:
    """Shorten a line to the width of the terminal."""
    return line[: COLUMNS - 3].rstrip() + "..."


def squeezed(lines: list[str]) -> list[str]:
    """Drop blank lines from the bottom up until one stay fits on one screen."""
    kept = list(lines)
    for at in range(len(kept) - 1, -1, -1):
        if len(kept) <= ONE_STAY_LINES:
            break
        if not kept[at]:
            del kept[at]
    return kept


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
        first = f"{title}: {nights_text(stays[0]['nights'])} from {stays[0]['first_day']}, {where}"
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


def stay_rows(summary: Part, facts: Facts) -> list[str]:
    """One row per stay: when, how long, chance, verdict."""
    units = counted(summary["members"], facts.record_years, "stays")
    rows = [f"{'stay':<22} {'from':>6} {'nights':>6}  {'runs flat in':<21}"]
    for stay in summary["stays"]:
        row = f"{plain_ascii(stay['name'], 22):<22} {stay['first_day']:>6} {stay['nights']:>6}"
        row += f"  {seen(stay['odds_flat']['estimate'], units):<21}"
        rows.append(f"{row}  {verdict(stay['odds_flat'], stay['odds_flat_range'])}")
    return rows


def trip_lines(summary: Part, facts: Facts) -> list[str]:
    """Answer for all stays of the trip together."""
    return answer_lines(summary, facts, summary["trip"], "on the whole trip", "trips")


def basis_lines(facts: Facts, stay: int, limit: int | None = None) -> list[str]:
    """Say what the weather rests on, cut after so many lines when there is a limit."""
    lines = wrapped(basis_sentence(facts.bases[stay].sentence), COLUMNS)
    if limit is not None and len(lines) > limit:
        lines = [*lines[: limit - 1], cut(f"{lines[limit - 1]:<{COLUMNS}}")]
    return lines


def notes(summary: Part, whole: bool) -> list[str]:
    """Show the urgent cautions: whole, or the first sentence of each."""
    lines: list[str] = []
    for text in urgent_notes(summary):
        lines += wrapped(text) if whole else [plain_ascii(text.split(". ")[0] + ".", COLUMNS)]
    return lines


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
        lines += wrapped(f"Assumed {count} {values} you did not give: flatodds check {name}")
    runs = f"{summary['members']:,} simulated stays"
    if facts.record_years is not None:
        runs += f" on {facts.record_years:,} real years"
    lines.append(f"{runs}, seed {summary['seed']}. Odds, not a promise.")
    last = files_text(folder, files)
    follow = f"Next: {plain_ascii(next_command)}" if next_command else ""
    if last and follow and len(last) + len(follow) + 4 <= COLUMNS:
        return [*lines, f"{last}    {follow}"]
    return [*lines, *([last] if last else []), *([follow] if follow else [])]


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
