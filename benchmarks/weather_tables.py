"""Print how well generated weather matches station records: the tables of DEVELOPERS.md.

    python benchmarks/weather_tables.py FOLDER

FOLDER holds daily records as `flatodds.weather.stations` describes them.
"""

from __future__ import annotations

import argparse
from pathlib import Path

import numpy as np

from flatodds.weather.realism import (
    BANK_DAYS,
    LENGTHS,
    ODDS,
    SpellError,
    equivalent_sun_errors,
    spell_error,
    spell_errors,
    year_spread,
)
from flatodds.weather.stations import METHODS, STATIONS, Held, record_of

SPELL_ROWS = ((5, None), (5, 0.1), (7, None), (7, 0.1))  # days in a row; mean, or once in ten
SPELL_LIMIT = 0.05  # beyond the record's own standard error
RECORDS_DRAWN = 60  # for what chance alone does
SPELL_METHODS = ("default", "fitted", "blocks")
SHOWN = ("default", "fitted", "blocks", "monthly", "grid")  # with a table of their own


def percent(values: np.ndarray) -> list[str]:
    return [f"{100.0 * value:+.0f}" for value in np.ravel(values)]


def line(cells: list[str]) -> str:
    return "|" + "|".join(cells) + "|"


def head(first: str, more: list[str]) -> None:
    print(line([first, *more]))
    print(line(["---"] * (len(more) + 1)))


def spells(real: np.ndarray, made: np.ndarray, resamples: int = 40_000) -> list[SpellError]:
    return [spell_error(real, made, length, odds, resamples) for length, odds in SPELL_ROWS]


def misses(error: SpellError) -> bool:
    return abs(error.error) > error.standard_error + SPELL_LIMIT


def by_chance(seasons: dict[str, tuple[np.ndarray, np.ndarray]]) -> np.ndarray:
    """Checks missed by a generator that is right: records drawn from its own seasons, (record,)."""
    rng = np.random.default_rng(11)
    found = np.zeros(RECORDS_DRAWN)
    for real, made in seasons.values():
        for at in range(RECORDS_DRAWN):
            record = made[rng.integers(0, len(made), len(real))]
            found[at] += sum(misses(error) for error in spells(record, made, 1500))
    return found


def print_spells(folder: Path) -> None:
    """Worst spells of every place against what its record allows."""
    words = [f"{n} d{'' if odds is None else ' 1-in-10'}" for n, odds in SPELL_ROWS]
    records = {name: record_of(folder, name) for name in STATIONS}
    held = {name: Held(name, record) for name, record in records.items() if record is not None}
    rows: dict[str, list[str]] = {name: [f"{name} ({len(held[name].real)})"] for name in held}
    count = {}
    for method in SPELL_METHODS:
        count[method] = 0
        for name, one in held.items():
            for error in spells(one.real, one.made(method)[:, : one.size]):
                allowed = error.standard_error + SPELL_LIMIT
                star = " *" if misses(error) else ""
                rows[name].append(f"{100 * error.error:+.1f} ({100 * allowed:.1f}){star}")
                count[method] += bool(star)
    print("\nWorst spells: error, in brackets what is allowed [%]; * outside\n")
    head("place (seasons)", [f"{method} {word}" for method in SPELL_METHODS for word in words])
    for cells in rows.values():
        print(line(cells))
    print("\noutside, of", len(held) * len(SPELL_ROWS), "checks:", count)
    for method in ("no memory", "typical year in blocks"):
        found = [
            e for one in held.values() for e in spells(one.real, one.made(method)[:, : one.size])
        ]
        print(f"{method}: {sum(map(misses, found))}")
    seasons = {name: (one.real, one.made("default")[:, : one.size]) for name, one in held.items()}
    chance = by_chance(seasons)
    ends = np.quantile(chance, (0.05, 0.95))
    print(f"by chance {chance.mean():.1f}, nine of ten times {ends[0]:.0f} to {ends[1]:.0f}")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("folder", type=Path, help="folder of daily records")
    folder = parser.parse_args().folder
    found: dict[str, dict[str, np.ndarray]] = {method: {} for method in METHODS}
    years = {}
    for name in STATIONS:
        record = record_of(folder, name)
        if record is None:
            continue
        held = Held(name, record)
        years[name] = len(held.record.years)
        real = np.array(year_spread(held.record.ghi_wh_m2))
        for method in METHODS:
            made = held.made(method)
            season = made[:, : held.size]
            found[method][name] = np.concatenate(
                [
                    equivalent_sun_errors(held.real, season).ravel(),
                    spell_errors(held.real, season).ravel(),
                    [season.mean() / held.real.mean() - 1.0],
                    np.array(year_spread(held.by_calendar(made))) / real,
                ]
            )
    if not years:
        parser.error(f"no records in {folder}")
    sun = [f"{bank:g} d, {100 * odds:.0f} %" for bank in BANK_DAYS for odds in ODDS]
    spells = [f"{n} d{what}" for n in LENGTHS for what in ("", " 1-in-10")]
    tail = ["dull season", "month sd", "year sd"]
    split = len(sun) + len(spells) + 1
    print(f"Mean over {len(years)} places [%]; in brackets root mean square; sd as ratio.\n")
    head("method", sun + spells + tail)
    for method in METHODS:
        table = np.array(list(found[method].values()))
        mean, rms = table.mean(axis=0), np.sqrt((table**2).mean(axis=0))
        cells = [f"{100 * m:+.1f} ({100 * r:.0f})" for m, r in zip(mean, rms, strict=True)]
        print(line([method, *cells[:split], *(f"{m:.2f}" for m in mean[split:])]))
    for method in SHOWN:
        print(f"\n{method}, each place [%]\n")
        head("place (years)", sun + spells + tail)
        for name, row in found[method].items():
            ratios = [f"{value:.2f}" for value in row[split:]]
            print(line([f"{name} ({years[name]})", *percent(row[:split]), *ratios]))
    print_spells(folder)


if __name__ == "__main__":
    main()
