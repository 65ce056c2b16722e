"""Text of a weather file: opened with care, cut into rows, numbers and dates read strictly."""

from __future__ import annotations

import hashlib
import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

from flatodds.errors import Problem, WeatherError

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

MAX_BYTES = 64 * 1024 * 1024  # judgement: twenty years of half hours are under 30 MB
SHOWN = 40  # characters of the user's text repeated in a message; judgement
PACKED = {b"PK": "a zip archive", b"\x1f\x8b": "a gzip archive", b"BZh": "a bzip2 archive"}
NUMBER = re.compile(r" *[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d{1,3})? *", re.ASCII)
NUMBER_LETTERS = frozenset("0123456789+-. eE")
BLANK = frozenset({"", "nan"})
MONTH_DAYS = np.array([31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])


@dataclass(frozen=True, slots=True)
class Source:
    """One weather file in memory.

    Attributes
    ----------
    name : str
        The file's name, for messages.
    path : Path
        Where it was read from.
    lines : tuple of str
        Its lines without line ends; trailing empty lines are gone.
    sha256 : str
        Of the bytes on disk.
    """

    name: str
    path: Path
    lines: tuple[str, ...]
    sha256: str

    @property
    def text(self) -> str:
        """The whole file with plain line ends."""
        return "\n".join(self.lines) + "\n"

    def at(self, index: int) -> str:
        """Name the place of the line with this 0-based index."""
        return f"{self.name} line {index + 1}"


@dataclass(frozen=True, slots=True)
class Site:
    """Where a file's weather was taken.

    Attributes
    ----------
    latitude, longitude : float
        Degrees north and east [degree].
    elevation_m : float
        Height above the sea [m].
    offset_h : float
        Hours the file's clock is ahead of UTC [h].
    """

    latitude: float
    longitude: float
    elevation_m: float
    offset_h: float


@dataclass(frozen=True, slots=True)
class Raw:
    """What one file says, row by row, before anything is judged.

    Attributes
    ----------
    source : Source
        The file.
    kind : str
        Name of its format.
    site : Site
        Where it was taken and which clock it keeps.
    line : ndarray of int64, (row,)
        0-based line of each row.
    start : ndarray of datetime64[m], (row,)
        Start of each row's interval on the file's clock.
    values : mapping of str to ndarray of float64, (row,)
        Names of `contract.NAMES`; NaN where the file says a value is missing.
    step_min : int
        Length of an interval, 60 or 30 [min].
    mid_h : float
        The moment the radiation stands for, in hours after the start of its hour [h].
    typical : bool or None
        Whether it is a typical year; None leaves it to the years of the rows.
    centred : bool
        Half-hour values stand for the half hour around their stamp.
    notes : tuple of str
        What a reader of the results should know.
    """

    source: Source
    kind: str
    site: Site
    line: Ints
    start: npt.NDArray[np.datetime64]
    values: Mapping[str, Floats]
    step_min: int = 60
    mid_h: float = 0.5
    typical: bool | None = None
    centred: bool = False
    notes: tuple[str, ...] = ()


def open_source(path: str | Path) -> Source:
    """Read a file's bytes once, refuse what cannot be a weather table, decode the rest."""
    path = Path(path)
    return source_of(path, _read_bytes(path))


def source_of(path: Path, data: bytes) -> Source:
    """Lines of a file's bytes, if they can be a weather table."""
    name = path.name
    for magic, what in PACKED.items():
        if data.startswith(magic):
            raise WeatherError(Problem(name, f"This is {what}.", "Unpack it first."))
    if b"\0" in data:
        raise WeatherError(
            Problem(name, "This is not a text file.", "Give a weather file as downloaded.")
        )
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = data.decode("latin-1")
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    while lines and not lines[-1].strip(" ,"):
        lines.pop()
    if not lines:
        raise WeatherError(Problem(name, "The file is empty."))
    return Source(name, path, tuple(lines), hashlib.sha256(data).hexdigest())


def _read_bytes(path: Path) -> bytes:
    """Read the bytes of a plain file of acceptable size, or say why not."""
    name = path.name or str(path)
    try:
        if path.is_dir():
            raise WeatherError(Problem(name, "This is a folder.", "Give one weather file."))
        with path.open("rb") as stream:
            data = stream.read(MAX_BYTES + 1)
    except FileNotFoundError as error:
        raise WeatherError(Problem(str(path), "There is no such file.")) from error
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or str(error)
        raise WeatherError(Problem(str(path), f"The file cannot be read: {why}.")) from error
    if len(data) > MAX_BYTES:
        raise WeatherError(
            Problem(
                name,
                f"The file is larger than {MAX_BYTES // 2**20} MiB.",
                "Give fewer years, in hourly steps.",
            )
        )
    return data


def shorten(text: str) -> str:
    """Cut the user's text to what is safe and short enough to repeat."""
    shown = text if len(text) <= SHOWN else text[:SHOWN] + "..."
    return ascii(shown) if not shown.isprintable() else f'"{shown}"'


def number(source: Source, index: int, name: str, text: str) -> float:
    """One number of a file's heading."""
    if NUMBER.fullmatch(text) is None:
        raise WeatherError(
            Problem(source.at(index), f"{name} should be a number, found {shorten(text)}.")
        )
    return float(text)


def checked_site(source: Source, index: int, site: Site) -> Site:
    """Return the site itself if it can be on Earth."""
    limits = (
        ("latitude", site.latitude, -90.0, 90.0),
        ("longitude", site.longitude, -180.0, 180.0),
        # Dead Sea shore and the highest summits, rounded outwards; judgement
        ("elevation_m", site.elevation_m, -500.0, 9000.0),
        ("hours ahead of UTC", site.offset_h, -12.0, 14.0),
    )
    problems = [
        Problem(source.at(index), f"{name} is {value:g}; {low:g} to {high:g} is possible.")
        for name, value, low, high in limits
        if not low <= value <= high
    ]
    if problems:
        raise WeatherError(problems)
    return site


class Table:
    """The data rows of a file, cut at their commas."""

    def __init__(self, source: Source, first: int, last: int | None = None) -> None:
        """Cut lines `first` to before `last` (0-based) and refuse rows of uneven length."""
        self.source = source
        rows = [line.split(",") for line in source.lines[first:last]]
        if not rows:
            raise WeatherError(Problem(source.name, "The file has a heading but no data rows."))
        self.line: Ints = np.arange(first, first + len(rows), dtype=np.int64)
        counts = [len(row) for row in rows]
        self.width = Counter(counts).most_common(1)[0][0]
        uneven = [at for at, count in enumerate(counts) if count != self.width]
        if uneven:
            found = rows[uneven[0]]
            what = "is empty" if found == [""] else f"has {len(found)} fields"
            raise WeatherError(
                Problem(
                    source.at(first + uneven[0]),
                    f"The row {what}; the others have {self.width}. "
                    f"{len(uneven)} such rows in all.",
                    "Was the file cut off or edited? Download it again.",
                )
            )
        self.columns: list[tuple[str, ...]] = list(zip(*rows, strict=True))

    def column(self, index: int) -> tuple[str, ...]:
        """Return the cells of one column."""
        if index >= self.width:
            raise WeatherError(
                Problem(self.source.at(int(self.line[0])), f"Rows have no field {index + 1}.")
            )
        return self.columns[index]

    def numbers(self, columns: Mapping[str, int]) -> dict[str, Floats]:
        """Columns of numbers by name; all text found among them is reported together."""
        problems: list[Problem] = []
        found = {
            name: strict_numbers(self.source, self.line, name, self.column(index), problems)
            for name, index in columns.items()
        }
        if problems:
            raise WeatherError(problems)
        return found


def strict_numbers(
    source: Source, line: Ints, name: str, cells: Sequence[str], problems: list[Problem]
) -> Floats:
    """Cells as numbers, NaN for blanks; anything else becomes a problem."""
    if set("".join(cells)) <= NUMBER_LETTERS and all(cells):
        try:
            return np.array(list(map(float, cells)), dtype=np.float64)
        except ValueError:
            pass
    values = np.full(len(cells), np.nan)
    wrong = []
    for at, cell in enumerate(cells):
        if NUMBER.fullmatch(cell):
            values[at] = float(cell)
        elif cell.strip().lower() not in BLANK:
            wrong.append(at)
    if wrong:
        at = wrong[0]
        problems.append(
            Problem(
                source.at(int(line[at])),
                f"{name} should be a number, found {shorten(cells[at])}. "
                f"{len(wrong)} such cells in this column.",
            )
        )
    return values


def _date_parts(cells: Sequence[str], pattern: re.Pattern[str]) -> tuple[Ints, list[int]]:
    """Year, month, day, hour and minute of each cell, (5, cell), and the cells that are none."""
    names = [name for name in ("y", "m", "d", "h", "min") if name in pattern.groupindex]
    order = [pattern.groupindex[name] - 1 for name in names]
    parts = np.zeros((5, len(cells)), dtype=np.int64)
    # All cells in one search; only if some do not match is each looked at alone.
    at_once = re.compile(f"^(?:{pattern.pattern})$", re.MULTILINE | re.ASCII)
    found = at_once.findall("\n".join(cells))
    if len(found) == len(cells):
        columns = list(zip(*found, strict=True))
        for row, group in enumerate(order):
            parts[row] = list(map(int, columns[group]))
        return parts, []
    wrong = []
    for at, cell in enumerate(cells):
        match = pattern.fullmatch(cell)
        if match is None:
            wrong.append(at)
        else:
            parts[: len(names), at] = [int(text) for text in match.group(*names)]
    return parts, wrong


def stamps(
    source: Source, line: Ints, cells: Sequence[str], pattern: re.Pattern[str], like: str
) -> npt.NDArray[np.datetime64]:
    """Date and time cells as moments; hour 24 is the next day's midnight.

    Parameters
    ----------
    pattern : re.Pattern
        With the groups y, m, d, h and, if it has minutes, min.
    like : str
        How a correct cell looks, for the message.
    """
    parts, wrong = _date_parts(cells, pattern)
    year, month, day, hour, minute = parts
    month_length = MONTH_DAYS[np.clip(month, 1, 12) - 1]
    leap = (year % 4 == 0) & ((year % 100 != 0) | (year % 400 == 0))
    month_length = month_length - ((month == 2) & ~leap)
    good = (month >= 1) & (month <= 12) & (day >= 1) & (day <= month_length)
    good &= (hour <= 24) & (minute <= 59) & ((hour < 24) | (minute == 0))
    good[wrong] = False
    if not good.all():
        at = int(np.flatnonzero(~good)[0])
        raise WeatherError(
            Problem(
                source.at(int(line[at])),
                f"{shorten(cells[at])} is not a date and time. "
                f"{int((~good).sum())} such rows in all.",
                f"It should look like {like}.",
            )
        )
    months = ((year - 1970) * 12 + month - 1).astype("datetime64[M]")
    minutes = ((day - 1) * 24 + hour) * 60 + minute
    result: npt.NDArray[np.datetime64] = months.astype("datetime64[m]") + minutes
    return result


def places(source: Source, index: int, names: Mapping[str, Sequence[str]]) -> dict[str, int]:
    """Where the needed columns stand in a heading line.

    Parameters
    ----------
    names : mapping of str to sequence of str
        For each name of ours the headings that may stand for it.
    """
    headings = [cell.strip().strip('"').strip() for cell in source.lines[index].split(",")]
    found: dict[str, int] = {}
    problems = []
    for name, spellings in names.items():
        at = [i for i, heading in enumerate(headings) if heading in spellings]
        if len(at) == 1:
            found[name] = at[0]
        else:
            what = "no column" if not at else f"{len(at)} columns"
            problems.append(
                Problem(source.at(index), f"There is {what} called {shorten(spellings[0])}.")
            )
    if problems:
        raise WeatherError(problems)
    return found
