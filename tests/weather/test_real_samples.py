"""Files as services gave them out, read to the monthly totals that stand in them.

Totals are added up from the text, cell by cell, without any of the readers. Some samples may not
be passed on with the program: FLATODDS_PVLIB_TEST_DATA may point to the folder tests/data of
pvlib's source archive, and what needs it skips without.
"""

from __future__ import annotations

import gzip
import os
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest

from flatodds.weather.readers import WeatherYear, read_weather

if TYPE_CHECKING:
    from tests.weather.conftest import Writers

pytestmark = pytest.mark.validation

DATA = Path(__file__).parent / "data"
MONTH = np.repeat(np.arange(12), [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
NAMES = ("ghi", "dni", "dhi")


def unpacked(name: str, folder: Path) -> Path:
    path = folder / name.removesuffix(".gz")
    path.write_bytes(gzip.decompress((DATA / name).read_bytes()))
    return path


def of_pvlib(name: str) -> Path:
    folder = os.environ.get("FLATODDS_PVLIB_TEST_DATA")
    if not folder:
        pytest.skip("pvlib's own test data are not at hand")
    return Path(folder) / name


def own_totals(
    path: Path, month: Callable[[list[str]], int | None], columns: Sequence[int], per_hour: int = 1
) -> np.ndarray:
    """Totals of months from the file's text, (12, column) [Wh/m2]; month None: no data row."""
    sums = np.zeros((12, len(columns)))
    for line in path.read_text(encoding="latin-1").splitlines():
        cells = line.split(",")
        at = month(cells)
        if at is not None:
            sums[at - 1] += [float(cells[column]) / per_hour for column in columns]
    return sums


def read_totals(year: WeatherYear, back_h: int = 0) -> np.ndarray:
    """The same of the year as read, put back on the file's clock."""
    out = np.empty((12, 3))
    for column, name in enumerate(NAMES):
        days = np.roll(getattr(year, name).ravel(), back_h).reshape(365, 24).sum(axis=1)
        out[:, column] = [days[month == MONTH].sum() for month in range(12)]
    return out


def utc_month(cells: list[str]) -> int | None:
    return int(cells[0][4:6]) if len(cells) == 10 and cells[0][8:9] == ":" else None


def epw_month(cells: list[str]) -> int | None:
    return int(cells[1]) if len(cells) == 35 else None


def test_tmy2_of_fixed_columns(writers: Writers) -> None:
    """Columns 18 to 21, 24 to 27 and 30 to 33 (TMY2 manual, table 3-2), one row an hour."""
    path = writers.data() / "12839.tm2"
    own = np.zeros((12, 3))
    for line in path.read_text().splitlines()[1:]:
        own[int(line[3:5]) - 1] += [float(line[at : at + 4]) for at in (17, 23, 29)]
    np.testing.assert_allclose(read_totals(read_weather(path)), own, atol=1e-6)


def test_pvgis_typical_year(tmp_path: Path) -> None:
    path = unpacked("pvgis-45n-8e.csv.gz", tmp_path)
    year = read_weather(path)
    own = own_totals(path, utc_month, (3, 4, 5))
    np.testing.assert_allclose(read_totals(year, -1), own, atol=1e-6)
    assert year.ghi.sum() == pytest.approx(1_435_861.0)
    assert (year.kind, year.typical, year.utc_offset_h) == ("PVGIS typical year", True, 1)


def test_pvgis_in_the_layout_of_epw(tmp_path: Path) -> None:
    """The heading says zone +1, the rows are in UTC: both layouts must give the same hours."""
    path = unpacked("pvgis-45n-8e.epw.gz", tmp_path)
    year, other = read_weather(path), read_weather(unpacked("pvgis-45n-8e.csv.gz", tmp_path))
    own = own_totals(path, epw_month, (13, 14, 15))
    np.testing.assert_allclose(read_totals(year, -1), own, atol=1e-6)
    for name in (*NAMES, "temp_air"):
        np.testing.assert_array_equal(getattr(year, name), getattr(other, name))
    assert (year.kind, year.typical, year.utc_offset_h) == ("PVGIS EPW", True, 1)
    assert any("in UTC, though its heading says zone +1" in note for note in year.notes)
    assert any("minute 11" in note for note in year.notes)


def test_epw_of_a_weather_service() -> None:
    path = of_pvlib("NLD_Amsterdam062400_IWEC.epw")
    year = read_weather(path)
    np.testing.assert_allclose(
        read_totals(year), own_totals(path, epw_month, (13, 14, 15)), atol=1e-6
    )
    assert year.ghi.sum() / 1000.0 == pytest.approx(982.5, abs=0.05)
    assert year.typical


def test_half_hours_of_a_real_nsrdb_year() -> None:
    """Sunset on a full hour is light, though the sun's centre has just gone: no night sun."""
    path = of_pvlib("test_read_psm4.csv")
    year = read_weather(path)

    def month(cells: list[str]) -> int | None:
        return int(cells[1]) if cells[0] == "2023" else None

    heading = path.read_text().splitlines()[2].split(",")
    columns = [heading.index(name) for name in ("GHI", "DNI", "DHI")]
    own = own_totals(path, month, columns, per_hour=2)
    np.testing.assert_allclose(read_totals(year), own, rtol=1e-3)
    assert (year.kind, year.typical, year.utc_offset_h) == ("NSRDB", False, -7)
