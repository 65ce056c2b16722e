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
    equivalent_sun_errors,
    spell_errors,
    year_spread,
)
from flatodds.weather.stations import METHODS, STATIONS, Held, record_of

SHOWN = ("default", "fitted", "blocks", "monthly", "grid")  # with a table of their own


def percent(values: np.ndarray) -> list[str]:
    return [f"{100.0 * value:+.0f}" for value in np.ravel(values)]


def line(cells: list[str]) -> str:
    return "|" + "|".join(cells) + "|"


def head(first: str, more: list[str]) -> None:
    print(line([first, *more]))
    print(line(["---"] * (len(more) + 1)))


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


if __name__ == "__main__":
    main()
