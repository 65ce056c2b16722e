"""How differences between rigs are said: sentences that answer, and a table for the terminal."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from flatodds.outcomes.said import counted, of_100, range_words, rounded, seen
from flatodds.report.words import number, plain_ascii, weather_lines, wrapped

COLUMNS = 80  # of a plain terminal: common practice
NAME_COLUMNS = 38  # own choice
USUAL_MASSES = "Mass and roof: usual figures of batteries and panels; [prices] takes your own."
ENDS: Any = (("low", "down"), ("high", "up"))
BETTER_AT = "Better at choosing between rigs than at the exact level: all live the same weather."


def difference_words(difference: Mapping[str, float], many: str = "stays") -> str:
    """Say a paired difference of chances: ``"flat in 9 fewer of 100 such stays (6 to 12)"``.

    Parameters
    ----------
    difference : mapping
        ``estimate``, ``low`` and ``high`` of second less first, -1 to 1. The interval must
        not hold zero.
    many : str
        What is counted.
    """
    word = "fewer" if difference["estimate"] < 0.0 else "more"
    sizes = sorted(abs(difference[key]) for key in ("low", "high"))
    middle = abs(difference["estimate"])
    per = 100 if rounded(sizes[0] * 100.0, "down") >= 1 else 1000
    low, high = rounded(sizes[0] * per, "down"), rounded(sizes[1] * per, "up")
    shown = max(rounded(middle * per, "nearest"), 1)
    return f"flat in {shown} {word} of {per:,} such {many} ({low} to {high})"


def shows(difference: Mapping[str, float]) -> bool:
    """Whether the interval of a difference leaves out zero."""
    return difference["low"] > 0.0 or difference["high"] < 0.0


def no_difference_words(
    difference: Mapping[str, float], members: int, record_years: int | None, many: str = "stays"
) -> str:
    """Say that a difference is too small to be seen, and how large it might still be."""
    units = counted(members, record_years, "simulated years")
    per = 100 if max(abs(difference["low"]), abs(difference["high"])) >= 0.01 else 1000
    fewer = rounded(max(-difference["low"], 0.0) * per, "up")
    more = rounded(max(difference["high"], 0.0) * per, "up")
    limits = f"from {fewer} fewer to {more} more of {per:,} such {many}"
    return f"no difference that {units} can show ({limits})"


def many_of(summary: Mapping[str, Any]) -> str:
    """Choose what is counted: stays, or whole trips where there are several stays."""
    several = any(len(row["stays"]) > 1 for row in summary["variants"])
    return "trips" if several else "stays"


def compare_sentences(summary: Mapping[str, Any]) -> list[str]:
    """Answer in one sentence for each variant but the first."""
    first, *others = summary["variants"]
    many = many_of(summary)
    sentences = []
    for row in others:
        name = row["name"]
        if shows(row["difference"]):
            words = difference_words(row["difference"], many)
            sentences.append(f"{name}: {words}, same weather.")
        else:
            words = no_difference_words(
                row["difference"], summary["members"], summary["record_years"], many
            )
            sentences.append(f"{name}: {words}.")
    if all(row["odds_flat"]["estimate"] == 0.0 for row in summary["variants"]):
        sentences.append(f"None of them ran flat, nor did {first['name']}.")
    return sentences


def compare_finding(summary: Mapping[str, Any]) -> str:
    """Say which variant runs flat least, and by how much less than the first, in one sentence."""
    first, *others = summary["variants"]
    if not others:
        return f"{first['name']}: {chance_words(first, summary)}."
    best = min(others, key=lambda row: row["difference"]["estimate"])
    better = shows(best["difference"]) and best["difference"]["estimate"] < 0.0
    if better:
        words = difference_words(best["difference"], many_of(summary))
        return f"Least likely to run flat: {best['name']}, {words} than {first['name']}."
    return f"None can be seen to run flat less often than {first['name']}."


def compare_text(summary: Mapping[str, Any], heading: str) -> str:
    """Write the answer of a comparison for a terminal, at most 80 columns."""
    lines = [plain_ascii(heading, COLUMNS), ""]
    first = summary["variants"][0]["name"]
    lines += wrapped(f"Against {first!r}:") if len(summary["variants"]) > 2 else []
    for sentence in compare_sentences(summary):
        lines += wrapped(sentence, COLUMNS, "  ")
    lines += ["", *table_lines(summary), ""]
    lines += wrapped(BETTER_AT)
    lines += masses_lines(summary, summary["variants"])
    lines += weather_lines(summary)
    if summary["record_years"] is None:
        lines += wrapped(f"{summary['members']:,} simulated years, seed {summary['seed']}.")
    else:
        years = counted(summary["members"], summary["record_years"])
        lines += wrapped(f"{years}, lived {summary['members']:,} times.")
    return "\n".join(lines)


def masses_lines(summary: Mapping[str, Any], rows: Iterable[Mapping[str, Any]]) -> list[str]:
    """Say where masses come from, where any is told and not the user's own."""
    told = any(row["extra_mass_kg"] for row in rows)
    return wrapped(USUAL_MASSES) if told and summary["usual_masses"] else []


def table_lines(summary: Mapping[str, Any]) -> list[str]:
    """Rows of variants: chance, range, energy gone without, and what is known of the rest."""
    rows = summary["variants"]
    money = summary["currency"] or "money"
    columns: list[tuple[str, list[str]]] = [
        ("of 100", [chance_cell(row["odds_flat"]) for row in rows]),
        ("range", [range_cell(row["odds_flat_range"]) for row in rows]),
        ("went without", [f"{number(row['did_without_kwh'])} kWh" for row in rows]),
    ]
    if any(row["generator_hours"] is not None for row in rows):
        cells = [number((row["generator_hours"] or 0.0) / row["nights"]) for row in rows]
        columns.append(("gen h/day", cells))
    more = (("extra_cost", money), ("extra_mass_kg", "kg more"), ("extra_area_m2", "m2 more"))
    for key, title in more:
        if any(row[key] for row in rows):
            columns.append((title, [amount_cell(row[key]) for row in rows]))
    return in_columns([row["name"] for row in rows], columns)


def in_columns(names: list[str], columns: list[tuple[str, list[str]]]) -> list[str]:
    """Lay names and columns out for a terminal; columns that do not fit are left out."""
    width = min(max(len(plain_ascii(name)) for name in names), NAME_COLUMNS)
    lines = [" " * width, *[plain_ascii(name, width).ljust(width) for name in names]]
    for title, cells in columns:
        wide = max(len(plain_ascii(cell)) for cell in [title, *cells]) + 2
        if len(lines[0]) + wide + 2 > COLUMNS:
            break
        for at, cell in enumerate([title, *cells]):
            lines[at] += plain_ascii(cell).rjust(wide)
    return ["  " + line.rstrip() for line in lines]


def chance_cell(chance: Mapping[str, float]) -> str:
    """Write a chance with its sampling interval: ``"23 (21 to 25)"``; beyond 1 and 99 in words."""
    if chance["estimate"] < 0.01:
        return f"<1 (to {max(rounded(chance['high'] * 100.0, 'up'), 1)})"
    if chance["estimate"] > 0.99:
        return f">99 (from {rounded(chance['low'] * 100.0, 'down')})"
    return f"{rounded(chance['estimate'] * 100.0, 'nearest')} ({range_cell(chance)})"


def range_cell(band: Mapping[str, float]) -> str:
    """Write a range in whole parts of 100, rounded outwards, never to none or all."""
    low, high = (rounded(band[key] * 100.0, way) for key, way in ENDS)
    return f"{low or '<1'} to {high if high < 100 else '>99'}"


def amount_cell(amount: float | None) -> str:
    """Write an amount, or a question mark where it is not known."""
    if amount is None:
        return "?"
    return number(amount) if amount else "0"


def chance_words(row: Mapping[str, Any], summary: Mapping[str, Any]) -> str:
    """Say one variant's chance and range in words."""
    units = counted(summary["members"], summary["record_years"], f"simulated {many_of(summary)}")
    estimate = row["odds_flat"]["estimate"]
    words = seen(estimate, units) if estimate in (0.0, 1.0) else of_100(estimate)
    return f"{words}; with what is not known exactly {range_words(row['odds_flat_range'])}"
