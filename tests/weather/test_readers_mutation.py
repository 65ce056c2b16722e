"""Seeded damage to every kind of file: a usable year or our own error, and nothing in silence.

Every kind with every damage is tried once on a whole file. Damage to single lines is tried
thousands of times (FLATODDS_MUTATIONS) on excerpts of two days with the file's own heading: the
reader reads the excerpt, its rows take the place of those of the good year, and that year goes
through all further checks. Whatever a reader finds in one line it finds there too, while
reading 8,760 lines each time would take ten minutes.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest

from flatodds.errors import WeatherError
from flatodds.weather.readers import (
    WeatherYear,
    compare,
    judged,
    one_year,
    read_weather,
    recognise,
)
from flatodds.weather.rows import Source, open_source, source_of

if TYPE_CHECKING:
    from tests.weather.conftest import Sample

COUNT = int(os.environ.get("FLATODDS_MUTATIONS", "5000"))
WINDOW = 48  # rows of an excerpt
SEED = 20261125
NOTED, REFUSED, ANY = "noted", "refused", "any"
Lines = list[str]
Rng = np.random.Generator
# What may become of a file damaged so: refused; accepted, with a note about it; or anything that
# is finite, because a wrong but possible value cannot be seen.
Mutation = tuple[Callable[[Lines, "Sample", Rng], Lines], str]


def row(lines: Lines, sample: Sample, rng: Rng) -> int:
    """A data row, not among the last ten."""
    return int(rng.integers(sample.first, sample.first + sample.rows - 20))


def delete(lines: Lines, sample: Sample, rng: Rng) -> Lines:
    at = row(lines, sample, rng)
    return lines[:at] + lines[at + 1 :]


def delete_day(lines: Lines, sample: Sample, rng: Rng) -> Lines:
    at = min(row(lines, sample, rng), sample.first + sample.rows - 40)
    return lines[:at] + lines[at + 24 :]


def double(lines: Lines, sample: Sample, rng: Rng) -> Lines:
    at = row(lines, sample, rng)
    return [*lines[:at], lines[at], *lines[at:]]


def exchange(lines: Lines, sample: Sample, rng: Rng) -> Lines:
    a = row(lines, sample, rng)
    b = a + int(rng.integers(1, 12))
    lines = list(lines)
    lines[a], lines[b] = lines[b], lines[a]
    return lines


def truncate(lines: Lines, sample: Sample, rng: Rng) -> Lines:
    at = row(lines, sample, rng)
    return [*lines[:at], lines[at][: int(rng.integers(0, len(lines[at])))]]


def garble(lines: Lines, sample: Sample, rng: Rng) -> Lines:
    lines = list(lines)
    for _ in range(int(rng.integers(1, 6))):
        at = int(rng.integers(0, len(lines)))
        line = lines[at] or " "
        spot = int(rng.integers(0, len(line)))
        lines[at] = line[:spot] + chr(int(rng.integers(1, 256))) + line[spot + 1 :]
    return lines


def cells(lines: Lines, sample: Sample, change: Callable[[list[str]], object]) -> Lines:
    changed = list(lines)
    for at in range(sample.first, sample.first + 8760):
        parts = changed[at].split(",")
        change(parts)
        changed[at] = ",".join(parts)
    return changed


def text_in_number(lines: Lines, sample: Sample, rng: Rng) -> Lines:
    at, column = row(lines, sample, rng), int(rng.choice(sample.fields))
    parts = lines[at].split(",")
    words = ("x", "1.2.3", "12a", "#REF!", "-", "1;2", "O", "1e", "inf")
    parts[column] = words[int(rng.integers(0, len(words)))]
    return [*lines[:at], ",".join(parts), *lines[at + 1 :]]


def far_out(lines: Lines, sample: Sample, rng: Rng) -> Lines:
    at, column = row(lines, sample, rng), int(rng.choice(sample.fields))
    parts = lines[at].split(",")
    # Neither value is one that a format uses for missing.
    parts[column] = str(rng.choice(["5000", "-777"]))
    return [*lines[:at], ",".join(parts), *lines[at + 1 :]]


def night_sun(lines: Lines, sample: Sample, rng: Rng) -> Lines:
    assert sample.sky is not None
    site_hour = sample.sky.stamp.astype("datetime64[h]").astype(int) - 7
    hour = (site_hour - int(sample.sky.place.offset_h)) % 24
    hour = hour[sample.skipped : sample.skipped + sample.rows]
    at = sample.first + int(rng.choice(np.flatnonzero(hour == 1)))
    parts = lines[at].split(",")
    parts[sample.fields[int(rng.integers(0, 3))]] = "80"
    return [*lines[:at], ",".join(parts), *lines[at + 1 :]]


def times_ten(lines: Lines, sample: Sample, rng: Rng) -> Lines:
    # Parts that are added up can be scaled alone and still be possible.
    added = sample.kind == "PVGIS hourly"
    chosen = sample.fields[:3] if added else (sample.fields[int(rng.integers(0, 3))],)
    factor = float(rng.choice([10.0, 0.1]))

    def change(parts: list[str]) -> None:
        for column in chosen:
            parts[column] = f"{float(parts[column]) * factor:.5g}"

    return cells(lines, sample, change)


def swap_columns(lines: Lines, sample: Sample, rng: Rng) -> Lines:
    ghi, dni, dhi, temp, _ = sample.fields
    pairs = ((ghi, temp), (dni, dhi), (dni, temp), (dhi, temp))
    a, b = pairs[int(rng.integers(0, len(pairs)))]

    def change(parts: list[str]) -> None:
        parts[a], parts[b] = parts[b], parts[a]

    return cells(lines, sample, change)


def shift_clock(lines: Lines, sample: Sample, rng: Rng) -> Lines:
    """Move all values, not the stamps, by an hour or more."""
    return moved_by(lines, sample, int(rng.choice([-3, -2, -1, 1, 2, 3])))


def moved_by(lines: Lines, sample: Sample, by: int) -> Lines:
    """All values, not the stamps, so many hours later; the ends wrap around."""
    first, last = sample.first, sample.first + 8760
    used = sorted(sample.fields)
    rows = [line.split(",") for line in lines[first:last]]
    moved = [[parts[column] for column in used] for parts in rows]
    for at, parts in enumerate(rows):
        for column, value in zip(used, moved[(at - by) % 8760], strict=True):
            parts[column] = value
    return [*lines[:first], *(",".join(parts) for parts in rows), *lines[last:]]


LINE_WISE: dict[str, Mutation] = {
    "delete": (delete, NOTED),
    "delete_day": (delete_day, REFUSED),
    "double": (double, REFUSED),
    "exchange": (exchange, REFUSED),
    "truncate": (truncate, REFUSED),
    "garble": (garble, ANY),
}
CELL_WISE: dict[str, Mutation] = {
    "text_in_number": (text_in_number, REFUSED),
    "far_out": (far_out, REFUSED),
    "night_sun": (night_sun, REFUSED),
    "times_ten": (times_ten, REFUSED),
    "swap_columns": (swap_columns, REFUSED),
    "shift_clock": (shift_clock, REFUSED),
}


def outcome(path: Path) -> WeatherYear | WeatherError:
    try:
        return read_weather(path)
    except WeatherError as error:
        return error


def judge(result: WeatherYear | WeatherError, allowed: str) -> str:
    """Empty if the outcome is allowed, else what is wrong with it."""
    if isinstance(result, WeatherError):
        good = all(problem.where and problem.found for problem in result.problems)
        return "" if good else f"a problem without place or words: {result}"
    columns = (result.ghi, result.dni, result.dhi, result.temp_air, result.wind_speed)
    if not all(c.shape == (365, 24) and np.isfinite(c).all() for c in columns):
        return "accepted with holes"
    if allowed == REFUSED:
        return "accepted in silence"
    if allowed == NOTED and not any("missing hours were filled" in n for n in result.notes):
        return "gap filled in silence"
    return ""


def test_damaged_files(samples: dict[str, Sample], tmp_path: Path) -> None:
    cases = [(s, n, m) for s in samples.values() for n, m in LINE_WISE.items()]
    cases += [(s, n, m) for s in samples.values() if s.fields for n, m in CELL_WISE.items()]
    path = tmp_path / "damaged.txt"
    split = {sample.kind: sample.text.splitlines() for sample in samples.values()}
    wrong, accepted = [], 0
    for at, (sample, name, (change, allowed)) in enumerate(cases):
        rng = np.random.default_rng((SEED, at))
        damaged = change(split[sample.kind], sample, rng)
        path.write_text("\n".join(damaged), encoding="latin-1")
        result = outcome(path)
        accepted += isinstance(result, WeatherYear)
        fault = judge(result, allowed)
        if fault:
            wrong.append(f"{at} {sample.kind} {name}: {fault}")
    assert not wrong, "\n".join(wrong)
    assert 0 < accepted < len(cases) / 2


@pytest.mark.parametrize("by", [-1, 1])
def test_a_clock_an_hour_off_in_every_kind(
    samples: dict[str, Sample], tmp_path: Path, by: int
) -> None:
    """The smallest shift that is promised to be found, either way, in every kind with columns."""
    path = tmp_path / "shifted.txt"
    for sample in samples.values():
        if sample.fields:
            path.write_text("\n".join(moved_by(sample.text.splitlines(), sample, by)))
            assert isinstance(outcome(path), WeatherError), sample.kind


SMALL = {name: LINE_WISE[name] for name in LINE_WISE}
SMALL |= {name: CELL_WISE[name] for name in ("text_in_number", "far_out", "night_sun")}


class Good:
    """A good file, the lines of each part, and what its reader makes of it."""

    def __init__(self, sample: Sample, folder: Path) -> None:
        self.sample, self.path = sample, folder / f"{sample.kind}.txt"
        self.path.write_text(sample.text, encoding="latin-1")
        source = open_source(self.path)
        self.family = recognise(source)
        self.raw = self.family.read(source)
        self.head = list(source.lines[: sample.first])
        self.rows = list(source.lines[sample.first : sample.first + 8760])
        self.tail = list(source.lines[sample.first + 8760 :])
        # pvlib's readers of these want whole years, so the excerpt is put back among its rows.
        self.again = sample.kind not in ("PVGIS typical year", "SolarAnywhere")

    def excerpt(self, skipped: int) -> tuple[Lines, Sample]:
        """Lines of an excerpt, and the sample that the damage is told it is."""
        lines = [*self.head, *self.rows[skipped : skipped + WINDOW], *self.tail]
        return lines, replace(self.sample, rows=WINDOW, skipped=skipped)

    def put_back(self, lines: Lines, skipped: int, *, cut: bool) -> Source:
        """Source of the whole year with the damaged lines of an excerpt in their place."""
        first = self.sample.first
        last = len(lines) if cut else len(lines) - len(self.tail)
        after = [] if cut else [*self.rows[skipped + WINDOW :], *lines[last:]]
        whole = [*lines[:first], *self.rows[:skipped], *lines[first:last], *after]
        return source_of(self.path, "\n".join(whole).encode("latin-1", "replace"))

    def outcome(self, lines: Lines, skipped: int, *, cut: bool) -> WeatherYear | WeatherError:
        """Read damaged lines in the place of the good ones; `cut`: what follows is lost."""
        data = "\n".join(lines).encode("latin-1", "replace")
        try:
            source = source_of(self.path, data)
            family = recognise(source)
            part = family.read(source)
            if set(part.values) != set(self.raw.values):
                return one_year(judged(part, lambda: compare(part, family)), None)
            keep = (slice(0, skipped), slice(skipped + WINDOW, 0 if cut else None))
            start, line = (
                np.concatenate([whole[keep[0]], new, whole[keep[1]]])
                for whole, new in ((self.raw.start, part.start), (self.raw.line, part.line))
            )
            values = {
                name: np.concatenate([whole[keep[0]], part.values[name], whole[keep[1]]])
                for name, whole in self.raw.values.items()
            }
            year = replace(part, start=start, line=line, values=values)
            if self.again:
                return one_year(judged(year, lambda: compare(part, family)), None)
            whole = replace(year, source=self.put_back(lines, skipped, cut=cut))
            return one_year(judged(year, lambda: compare(whole, family)), None)
        except WeatherError as error:
            return error


def test_thousands_of_damaged_excerpts(samples: dict[str, Sample], tmp_path: Path) -> None:
    goods = [Good(sample, tmp_path) for sample in samples.values()]
    cases = [
        (good, name, mutation)
        for good in goods
        for name, mutation in SMALL.items()
        if name in LINE_WISE or good.sample.fields
    ]
    wrong, accepted = [], 0
    for at in range(COUNT):
        good, name, (change, allowed) = cases[at % len(cases)]
        rng = np.random.default_rng((SEED, 1, at))
        skipped = 24 * int(rng.integers(0, 362))
        lines, sample = good.excerpt(skipped)
        result = good.outcome(change(lines, sample, rng), skipped, cut=name == "truncate")
        accepted += isinstance(result, WeatherYear)
        fault = judge(result, allowed)
        if fault:
            wrong.append(f"{at} {sample.kind} {name}: {fault}")
    assert not wrong, "\n".join(wrong)
    assert len(cases) > COUNT or 0 < accepted < COUNT / 2


def test_undamaged_excerpts_are_the_year(samples: dict[str, Sample], tmp_path: Path) -> None:
    """Without damage the way by excerpts gives what reading the file gives, to the bit."""
    for sample in samples.values():
        good = Good(sample, tmp_path)
        whole = read_weather(good.path)
        for skipped in (0, 24 * 171, 24 * 361):
            lines, _ = good.excerpt(skipped)
            pieced = good.outcome(lines, skipped, cut=False)
            assert isinstance(pieced, WeatherYear), f"{sample.kind}: {pieced}"
            assert (pieced.ghi == whole.ghi).all()
            assert (pieced.temp_air == whole.temp_air).all()


@pytest.mark.parametrize("allowed", [REFUSED, NOTED])
def test_the_judge_sees_silence(samples: dict[str, Sample], tmp_path: Path, allowed: str) -> None:
    """A good file passed off as a damaged one is reported, so the test above can fail."""
    path = tmp_path / "good.txt"
    path.write_text(samples["EPW"].text)
    assert judge(outcome(path), allowed)
