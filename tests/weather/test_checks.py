"""What cannot be weather is refused, with its place and its reason."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest

from flatodds.errors import WeatherError
from flatodds.weather.clock import bright_hours, clock_shift_min
from flatodds.weather.readers import read_weather
from flatodds.weather.rows import Site

if TYPE_CHECKING:
    from tests.weather.conftest import Sample, Writers

FIRST = 6  # 0-based line of the first hour in the plain table
GHI, DNI, DHI, TEMP, WIND = range(1, 6)


def put(folder: Path, text: str) -> Path:
    path = folder / "mine.csv"
    path.write_text(text)
    return path


@pytest.fixture
def refuse(
    samples: dict[str, Sample], tmp_path: Path
) -> Callable[[Callable[[list[list[str]]], object]], str]:
    """Change the cells of the good plain table, and return the message of the refusal."""

    def change(edit: Callable[[list[list[str]]], object]) -> str:
        rows = [line.split(",") for line in samples["plain table"].text.splitlines()]
        edit(rows)
        path = put(tmp_path, "\n".join(",".join(row) for row in rows) + "\n")
        with pytest.raises(WeatherError) as caught:
            read_weather(path)
        return str(caught.value)

    return change


Refuse = Callable[[Callable[[list[list[str]]], object]], str]


def scale(rows: list[list[str]], columns: tuple[int, ...], factor: float, add: float = 0.0) -> None:
    for row in rows[FIRST:]:
        for column in columns:
            row[column] = f"{float(row[column]) * factor + add:.4g}"


SITES = {
    "723170TYA.CSV": Site(36.1, -79.95, 273.0, -5.0),
    "703165TY.csv": Site(55.317, -160.517, 7.0, -9.0),
    "12839.tm2": Site(25.8, -80.267, 2.0, -5.0),
}


@pytest.mark.parametrize("name", SITES)
def test_clock_of_measured_years(writers: Writers, name: str) -> None:
    ghi = read_weather(writers.data() / name).ghi
    right = clock_shift_min(bright_hours(ghi[None]), SITES[name], 0.5)
    assert abs(right) < 10.0
    for hours in (-1, 1):
        moved = np.roll(ghi.ravel(), hours).reshape(1, 365, 24)
        assert clock_shift_min(bright_hours(moved), SITES[name], 0.5) == pytest.approx(
            right - 60 * hours, abs=1
        )


@pytest.mark.parametrize("name", ["723170TYA.CSV", "703165TY.csv"])
@pytest.mark.parametrize("zone", [-1, 1])
def test_wrong_zone_of_measured_years(
    writers: Writers, tmp_path: Path, name: str, zone: int
) -> None:
    lines = (writers.data() / name).read_text().splitlines()
    cells = lines[0].split(",")
    cells[3] = str(float(cells[3]) + zone)
    lines[0] = ",".join(cells)
    with pytest.raises(WeatherError, match=r"sun is down|minutes (later|earlier)"):
        read_weather(put(tmp_path, "\n".join(lines)))


def test_an_hour_off_without_night_sun(samples: dict[str, Sample], tmp_path: Path) -> None:
    """A site whose hills hide the low sun still shows a wrong clock."""
    sky = samples["plain table"].sky
    assert sky is not None
    ghi = np.where(sky.ghi > 250.0, sky.ghi, 0.0)
    site = Site(40.0, -105.0, 1600.0, -7.0)
    assert abs(clock_shift_min(bright_hours(ghi.reshape(1, 365, 24)), site, 0.5)) < 15.0
    moved = np.roll(ghi, 1).reshape(1, 365, 24)
    assert clock_shift_min(bright_hours(moved), site, 0.5) == pytest.approx(-60.0, abs=15.0)


def test_summer_clock_hidden_in_the_values(refuse: Refuse) -> None:
    """Stamps are complete, but from April to October the values keep summer time."""

    def edit(rows: list[list[str]]) -> None:
        first, last = FIRST + 90 * 24, FIRST + 300 * 24
        values = [row[1:] for row in rows[first : last + 1]]
        for row, new in zip(rows[first + 1 : last + 1], values, strict=False):
            row[1:] = new

    message = refuse(edit)
    assert "the sun is" in message


def test_summer_time_in_the_stamps(refuse: Refuse) -> None:
    spring, autumn = FIRST + (72 * 24 + 2), FIRST + (310 * 24 + 1)

    def edit(rows: list[list[str]]) -> None:
        again = list(rows[autumn])
        rows.insert(autumn, again)
        del rows[spring]

    message = refuse(edit)
    assert "7 Nov 01:00 is there twice" in message
    assert "looks like summer time" in message


def test_row_twice(refuse: Refuse) -> None:
    message = refuse(lambda rows: rows.insert(100, list(rows[100])))
    assert message.startswith("mine.csv line 102: 4 Jan 22:00 is there twice.")


def test_rows_exchanged(refuse: Refuse) -> None:
    def edit(rows: list[list[str]]) -> None:
        rows[100], rows[101] = rows[101], rows[100]

    assert "mine.csv line 102: 4 Jan 22:00 comes after 4 Jan 23:00" in refuse(edit)


def test_small_gap_is_filled_and_said(samples: dict[str, Sample], tmp_path: Path) -> None:
    lines = samples["plain table"].text.splitlines()
    noon = FIRST + 200 * 24 + 11
    good = read_weather(put(tmp_path, "\n".join(lines)))
    del lines[noon : noon + 3]
    year = read_weather(put(tmp_path, "\n".join(lines)))
    assert "ghi: 3 missing hours were filled from their neighbours, the first is 20 Jul 11:00." in (
        year.notes
    )
    # The invented sky keeps one dullness all day, so a share of the sun's height fills it well.
    np.testing.assert_allclose(year.ghi[200, 11:14], good.ghi[200, 11:14], rtol=0.05)
    np.testing.assert_allclose(year.temp_air[200, 11:14], good.temp_air[200, 11:14], atol=1.0)
    rest = np.ones(8760, dtype=bool)
    rest[200 * 24 + 11 : 200 * 24 + 14] = False
    np.testing.assert_array_equal(year.ghi.ravel()[rest], good.ghi.ravel()[rest])


def test_blank_cells_are_gaps(samples: dict[str, Sample], tmp_path: Path) -> None:
    rows = [line.split(",") for line in samples["plain table"].text.splitlines()]
    rows[FIRST + 5000][TEMP] = ""
    year = read_weather(put(tmp_path, "\n".join(",".join(row) for row in rows)))
    assert any(note.startswith("temp_air: 1 missing hours") for note in year.notes)


def test_long_gap(refuse: Refuse) -> None:
    def edit(rows: list[list[str]]) -> None:
        del rows[FIRST + 1000 : FIRST + 1004]

    message = refuse(edit)
    assert "4 of 8760 hourly rows are missing" in message
    assert "11 Feb 16:00 (4 h)" in message


def test_too_many_gaps(refuse: Refuse) -> None:
    def edit(rows: list[list[str]]) -> None:
        for at in range(FIRST + 8000, FIRST, -80):
            rows[at][GHI] = ""

    assert "100 of 8760 hourly ghi values are missing" in refuse(edit)


def test_part_of_a_year(refuse: Refuse) -> None:
    message = refuse(lambda rows: rows.__delitem__(slice(FIRST + 4000, None)))
    assert "4760 of 8760 hourly rows are missing" in message


@pytest.mark.parametrize("text", ["abc", "12,5", "0x10", "1e999x", "--", "1_000", "１２", "inf"])
def test_text_among_numbers(refuse: Refuse, text: str) -> None:
    def edit(rows: list[list[str]]) -> None:
        rows[FIRST + 12][TEMP] = text

    message = refuse(edit)
    assert message.startswith("mine.csv line 19: ")


@pytest.mark.parametrize(
    "stamp", ["2001-13-01T00:00", "2001-02-30T00:00", "2001-01-01T25:00", "yesterday", "2001-01-01"]
)
def test_impossible_dates(refuse: Refuse, stamp: str) -> None:
    def edit(rows: list[list[str]]) -> None:
        rows[FIRST + 3][0] = stamp

    message = refuse(edit)
    assert message.startswith("mine.csv line 10: ")
    assert "is not a date and time" in message


@pytest.mark.parametrize(
    "bad",
    [
        {
            GHI: ("1400", "ghi is 1400; -4 to "),
            DNI: ("1500", "dni is 1500; -4 to "),
            DHI: ("900", "dhi is 900; -4 to "),
            TEMP: ("61", "temp_air is 61; -90 to 60 degC is possible"),
            WIND: ("116", "wind_speed is 116; 0 to 115 m/s is possible"),
        },
        {
            GHI: ("-20", "ghi is -20; -4 to "),
            TEMP: ("-91", "temp_air is -91; -90 to 60 degC is possible"),
            WIND: ("-1", "wind_speed is -1; 0 to 115 m/s is possible"),
        },
    ],
)
def test_values_out_of_bounds(refuse: Refuse, bad: dict[int, tuple[str, str]]) -> None:
    def edit(rows: list[list[str]]) -> None:
        for column, (value, _) in bad.items():
            rows[FIRST + 12][column] = value

    message = refuse(edit)
    for _, words in bad.values():
        assert f"mine.csv line 19 (1 Jan 12:00): {words}" in message


@pytest.mark.parametrize("column", [GHI, DNI, DHI])
def test_sun_at_night(refuse: Refuse, column: int) -> None:
    def edit(rows: list[list[str]]) -> None:
        rows[FIRST + 2][column] = "11"

    message = refuse(edit)
    assert "mine.csv line 9 (1 Jan 02:00)" in message
    assert "the sun is down for the whole hour" in message


@pytest.mark.parametrize(
    ("columns", "factor", "words"),
    [
        ((GHI, DNI, DHI), 3.6, "kJ/m2 an hour"),
        ((GHI, DNI, DHI), 0.001, "kW/m2"),
        ((GHI, DNI, DHI), 10.0, "ten times too large"),
        ((WIND,), 8.0, "m/s on average"),
        ((DNI,), 0.5, "of ghi over the year"),
    ],
)
def test_other_units(refuse: Refuse, columns: tuple[int, ...], factor: float, words: str) -> None:
    assert words in refuse(lambda rows: scale(rows, columns, factor))


def test_kelvin_and_fahrenheit(refuse: Refuse) -> None:
    assert "look like kelvin" in refuse(lambda rows: scale(rows, (TEMP,), 1.0, 273.15))
    assert "Fahrenheit" in refuse(lambda rows: scale(rows, (TEMP,), 1.8, 32.0))


@pytest.mark.parametrize("pair", [(GHI, DNI), (GHI, DHI), (DNI, DHI), (GHI, TEMP)])
def test_columns_exchanged(refuse: Refuse, pair: tuple[int, int]) -> None:
    def edit(rows: list[list[str]]) -> None:
        for row in rows[FIRST:]:
            row[pair[0]], row[pair[1]] = row[pair[1]], row[pair[0]]

    assert refuse(edit)


def test_place_on_the_other_side(refuse: Refuse) -> None:
    south = refuse(lambda rows: rows[1].__setitem__(0, "# latitude: -40"))
    assert "top of the atmosphere" in south
    east = refuse(lambda rows: rows[2].__setitem__(0, "# longitude: 105"))
    assert "the sun is down for the whole hour" in east


def test_all_problems_at_once(refuse: Refuse) -> None:
    def edit(rows: list[list[str]]) -> None:
        rows[FIRST + 12][TEMP] = "99"
        rows[FIRST + 13][WIND] = "300"
        rows[FIRST + 1][GHI] = "50"

    message = refuse(edit)
    assert [word in message for word in ("temp_air is 99", "wind_speed is 300", "ghi is 50")] == [
        True
    ] * 3


def test_polar_place(writers: Writers, tmp_path: Path) -> None:
    """Midnight sun and polar night are no fault."""
    sky = writers.sky(replace(writers.place(), latitude=71.0, longitude=25.0, offset_h=2.0))
    year = read_weather(put(tmp_path, writers.plain(sky)))
    assert year.ghi[172].min() > 0.0
    assert year.ghi[355].max() == 0.0
