"""The plain table as written by us: read back to the digit, its moment kept."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest

from flatodds.errors import WeatherError
from flatodds.weather.plain import plain_text
from flatodds.weather.readers import read_weather
from flatodds.weather.rows import Site

if TYPE_CHECKING:
    from tests.conftest import Made

NAMES = ("ghi", "dni", "dhi", "temp_air", "wind_speed")
SITE = Site(40.0, -105.0, 1600.0, 0.0)


@pytest.fixture
def text(sky: Callable[..., Made]) -> Callable[..., str]:
    def make(names: tuple[str, ...] = NAMES, minute: float = 10.0) -> str:
        hours = sky((2015,), 10.0)
        values = {name: getattr(hours, name).copy() for name in names}
        values["temp_air"][4000] = np.nan
        return plain_text(SITE, hours.stamp, values, minute, ("invented",))

    return make


def test_written_and_read_back(
    text: Callable[..., str], sky: Callable[..., Made], tmp_path: Path
) -> None:
    path = tmp_path / "w.csv"
    path.write_text(text())
    year = read_weather(path, utc_offset_h=0)
    hours = sky((2015,), 10.0)
    for name in NAMES:
        wanted = getattr(hours, name).copy()
        if name == "temp_air":
            wanted[4000] = (wanted[3999] + wanted[4001]) / 2
        np.testing.assert_allclose(getattr(year, name).ravel(), wanted, atol=1e-9)
    assert (year.latitude, year.longitude, year.elevation_m) == (40.0, -105.0, 1600.0)
    assert any("minute 10 of each hour" in note for note in year.notes)


def test_without_its_moment_the_clock_is_still_judged(
    text: Callable[..., str], tmp_path: Path
) -> None:
    """Said to belong to minute 55, hours of minute 10 are 45 minutes off, and refused."""
    path = tmp_path / "w.csv"
    path.write_text(text(minute=55.0))
    with pytest.raises(WeatherError, match=r"minutes (earlier|later) in this file"):
        read_weather(path)


@pytest.mark.parametrize("minute", ["60", "-1", "ten"])
def test_moments_that_are_none(text: Callable[..., str], tmp_path: Path, minute: str) -> None:
    path = tmp_path / "w.csv"
    path.write_text(text().replace("radiation_minute: 10", f"radiation_minute: {minute}"))
    with pytest.raises(WeatherError, match="radiation_minute"):
        read_weather(path)


def test_parts_may_be_left_out(text: Callable[..., str], tmp_path: Path) -> None:
    path = tmp_path / "w.csv"
    path.write_text(text(("ghi", "temp_air", "wind_speed")))
    assert any("Erbs-Driesse" in note for note in read_weather(path).notes)
