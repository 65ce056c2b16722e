"""A year of two packaged weather files, read, run and compared month by month."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import pytest

from flatodds import simulate
from flatodds.weather.readers import WeatherYear, read_weather

if TYPE_CHECKING:
    from tests.validation import square_sun as sq
else:
    import square_sun as sq

pytestmark = pytest.mark.validation

Floats = npt.NDArray[np.float64]

# TMY3 files that come with pvlib, by file and tilt (facing south). Monthly irradiation in the
# plane [kWh/m2] and direct current of 1 kWp [kWh] from pvlib 0.16.1: hours stamped in their
# middle, NREL sun position, Hay-Davies sky, albedo 0.2, glass reflection of the beam only,
# SAPM cell temperature of an open rack, -0.37 % per kelvin, before system losses.
FILES = {"greensboro": ("723170TYA.CSV", 0.0), "sand point": ("703165TY.csv", 60.0)}
PLANE = {
    "greensboro": "74.9 86.0 132.1 162.2 174.9 187.5 188.3 174.2 132.7 111.0 73.2 69.3",
    "sand point": "40.3 50.3 70.1 98.6 89.8 95.9 137.2 80.8 124.9 91.3 54.2 47.2",
}
CURRENT = {
    "greensboro": "75.0 84.4 128.2 154.4 164.9 173.3 172.8 160.4 124.5 106.4 70.2 67.4",
    "sand point": "42.7 53.1 72.9 100.5 92.6 97.2 133.7 80.7 124.4 93.4 56.7 50.3",
}
YEAR_PLANE = {"greensboro": 1566.3, "sand point": 980.6}
YEAR_CURRENT = {"greensboro": 1481.8, "sand point": 998.2}
NAMES = ("ghi", "dni", "dhi", "temp_air", "wind_speed")


@cache
def packaged(name: str) -> WeatherYear:
    import pvlib

    return read_weather(Path(pvlib.__file__).parent / "data" / FILES[name][0])


def months_kwh(name: str, **rig: float | bool | str) -> Floats:
    """What 1 kWp offers in each month, taken or spilled, (12,) [kWh]."""
    year = packaged(name)
    table = sq.weather(
        {column: getattr(year, column).reshape(1, -1) for column in NAMES},
        8760,
        utc_offset_h=year.utc_offset_h,
    )
    words = {
        "place": f"{year.latitude}, {year.longitude}",
        "elevation_m": year.elevation_m,
        "tilt_deg": FILES[name][1],
        "nights": 365,
        **rig,
    }
    scenario = sq.Rig(**words).scenario()  # type: ignore[arg-type]
    assert scenario.stays[0].utc_offset_h == year.utc_offset_h
    result = sq.only(simulate(scenario, table))
    offered = (result["array_wh"] + result["spilled_wh"]).to_numpy()[0]
    return np.asarray(offered / 100.0)  # 100 W of panels: Wh / 100 W = kWh / kWp


def numbers(text: str) -> Floats:
    return np.array([float(word) for word in text.split()])


@pytest.mark.parametrize("name", FILES)
def test_irradiation_in_the_plane(name: str) -> None:
    """Table above, `PLANE`: 0.3 % a year, 3 % a month (sky, albedo and clock are the same).

    A panel without reflection or temperature effect yields the plane's irradiation. The
    largest difference, 1.7 % in Sand Point's November, are hours whose middle has the sun
    below the horizon: their beam counts as nothing here and as shining on the slope there.
    """
    kwh = months_kwh(name)
    assert kwh.sum() == pytest.approx(YEAR_PLANE[name], rel=0.003)
    np.testing.assert_allclose(kwh, numbers(PLANE[name]), rtol=0.03)


@pytest.mark.parametrize("name", FILES)
def test_direct_current(name: str) -> None:
    """Table above, `CURRENT`: 3 % a year and 5 % a month, for other cell and glass models.

    Here cells follow Faiman (+0.8 % at either place) and glass reflects scattered light too
    (Marion), not the beam alone: together 1.3 to 1.4 % below the table over the year.
    """
    kwh = months_kwh(name, temp_coefficient=-0.0037, incidence_loss=True)
    assert kwh.sum() == pytest.approx(YEAR_CURRENT[name], rel=0.03)
    np.testing.assert_allclose(kwh, numbers(CURRENT[name]), rtol=0.05)


def test_close_mount_costs_what_hot_cells_cost() -> None:
    """Same source: Sand Point yields 965.7 in place of 1,005.9 close-mounted, Greensboro
    1,422.0 in place of 1,493.0, that is 4.0 and 4.8 % less.

    Its close mount and Faiman's with 60 % of the open heat loss are different models of
    the same thing: the loss may differ by 2.5 points.
    """
    for name, less in (("greensboro", 0.0476), ("sand point", 0.0400)):
        glass = {"temp_coefficient": -0.0037, "incidence_loss": True}
        open_kwh = months_kwh(name, **glass).sum()
        roof_kwh = months_kwh(name, **glass, mount="roof").sum()
        assert 1.0 - roof_kwh / open_kwh == pytest.approx(less, abs=0.025)
