"""How changes to a rig are ranked in words: best first, and those too small to see with why."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from flatodds.outcomes.said import counted, of_100, range_words
from flatodds.report.compare_words import (
    BETTER_AT,
    chance_cell,
    difference_words,
    in_columns,
    masses_lines,
    shows,
)
from flatodds.report.words import number, plain_ascii, weather_lines, wrapped

COLUMNS = 80  # of a plain terminal: common practice


def upgrades_sentence(summary: Mapping[str, Any]) -> str:
    """Answer in one sentence which change does most."""
    first, rows = summary["as_written"], summary["upgrades"]
    best = rows[0]
    if first["odds_flat"]["estimate"] == 0.0:
        units = counted(summary["members"], summary["record_years"], "simulated stays")
        return f"Nothing to mend: the battery ran flat in none of {units}."
    before = of_100(first["odds_flat"]["estimate"])
    if not best["seen"]:
        return f"The battery runs flat in {before}, and no change here shows a difference."
    cost = best["extra_cost"]
    money = f" for {number(cost)} {summary['currency'] or 'money'}" if cost else ""
    if cost is None and any(row["extra_cost"] for row in rows):
        money = ", whose price is not given"
    words = difference_words(best["difference"])
    return f"Most is done by {best['name']}{money}: {words}, instead of {before}."


def upgrades_text(summary: Mapping[str, Any], heading: str) -> str:
    """Write the ranking for a terminal, at most 80 columns."""
    lines = [plain_ascii(heading, COLUMNS), "", *wrapped(upgrades_sentence(summary))]
    if summary["theta_points"] > 1:
        band = range_words(summary["as_written"]["odds_flat_range"])
        lines += wrapped(f"As written, with what is not known exactly: {band}.")
    lines.append("")
    seen = [row for row in summary["upgrades"] if row["seen"]]
    lines += table_lines(summary, seen)
    harm = [r for r in summary["upgrades"] if shows(r["difference"]) and not r["seen"]]
    small = [r for r in summary["upgrades"] if not shows(r["difference"])]
    if harm or small:
        lines.append("")
    for row in harm:
        lines += wrapped(f"Worse: {row['name']}: {difference_words(row['difference'])}.")
    for row in small:
        why = f": {row['why_not']}" if row["why_not"] else ""
        lines += wrapped(f"Too small to see: {row['name']}{why}.")
    lines += ["", *wrapped(BETTER_AT), *masses_lines(summary, seen)]
    lines += weather_lines(summary)
    units = counted(summary["members"], summary["record_years"], "simulated years")
    lines += wrapped(f"{units}, seed {summary['seed']}.")
    return "\n".join(lines)


def table_lines(summary: Mapping[str, Any], rows: list[Mapping[str, Any]]) -> list[str]:
    """Rows of changes that show: chance after, drop, and drop for money, mass and roof."""
    if not rows:
        return []
    first = summary["as_written"]
    names = ["as written", *[row["name"] for row in rows]]
    columns = [
        ("of 100", [chance_cell(first["odds_flat"]), *[chance_cell(r["odds_flat"]) for r in rows]]),
        ("fewer", ["", *[f"{-100.0 * row['difference']['estimate']:.0f}" for row in rows]]),
    ]
    money = summary["currency"] or "money"
    for key, title in (
        ("drop_per_100_money", f"per 100 {money}"),
        ("drop_per_10_kg", "per 10 kg"),
        ("drop_per_m2", "per m2"),
    ):
        if any(row[key] is not None for row in rows):
            columns.append((title, ["", *[_share(row, key) for row in rows]]))
    return in_columns(names, columns)


def _share(row: Mapping[str, Any], key: str) -> str:
    """Stays of 100 spared for so much, or why there is no such figure."""
    if row[key] is not None:
        return number(100.0 * row[key])
    field = {"drop_per_100_money": "extra_cost", "drop_per_10_kg": "extra_mass_kg"}.get(key)
    amount = row[field or "extra_area_m2"]
    return "?" if amount is None else ("free" if key == "drop_per_100_money" else "-")
