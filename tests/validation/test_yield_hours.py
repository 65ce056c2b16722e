"""A year of hours whose yield an independent service computed, month by month."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import pytest

from flatodds import simulate
from flatodds.sun import sun_position, sun_table

if TYPE_CHECKING:
    from tests.validation import square_sun as sq
else:
    import square_sun as sq

pytestmark = pytest.mark.validation

Floats = npt.NDArray[np.float64]

# Output of NREL's PVWatts service, see data/SOURCES.md: 4 kW, 20 degrees south, 14.08 % losses.
FILE = Path(__file__).parent / "data" / "yield-8760.csv.gz"
BEAM, DIFFUSE, AIR, WIND, PLANE, CELL, DC = range(7)
MONTHS_KWH = "410.1 449.5 582.6 581.8 611.8 627.8 587.2 574.5 553.3 489.5 440.5 383.3"
SMALLER = 40.0
LATITUDE, LONGITUDE, ELEVATION_M, UTC_OFFSET_H = 39.73, -105.18, 1819.6, -7


@cache
def hours() -> Floats:
    return np.loadtxt(FILE, delimiter=",", skiprows=1)


def lived(**words: float | bool) -> tuple[Floats, Floats]:
    """Days (365,) and months (12,) of 4 kW in the same light and air [kWh]."""
    sun = sun_table(LATITUDE, LONGITUDE, ELEVATION_M, UTC_OFFSET_H)
    up = np.maximum(sun.cos_zenith, 0.0).ravel()
    table = hours()
    columns = {
        "ghi": table[:, BEAM] * up + table[:, DIFFUSE],
        "dni": table[:, BEAM],
        "dhi": table[:, DIFFUSE],
        "temp_air": table[:, AIR],
        "wind_speed": table[:, WIND],
    }
    rig = sq.Rig(
        watts=4000.0 / SMALLER,  # a year of it fits the bank
        tilt_deg=20.0,
        place=f"{LATITUDE}, {LONGITUDE}",
        elevation_m=ELEVATION_M,
        nights=365,
        **words,  # type: ignore[arg-type]
    )
    result = sq.only(simulate(rig.scenario(), sq.weather(columns, 8760, utc_offset_h=UTC_OFFSET_H)))
    assert float(result["spilled_wh"].sum()) == pytest.approx(0.0, abs=1.0)
    kwh = SMALLER / 1000.0
    return kwh * result["daily_array_wh"].to_numpy()[0], kwh * result["array_wh"].to_numpy()[0]


def test_the_file_is_what_was_published() -> None:
    table = hours()
    plane = table[:, PLANE]
    assert plane.sum() / 1000.0 == pytest.approx(1930.9, abs=0.1)
    assert table[:, DC].sum() / 1000.0 == pytest.approx(6291.9, abs=0.1)
    assert (plane * table[:, CELL]).sum() / plane.sum() == pytest.approx(32.2, abs=0.1)


def test_irradiation_in_the_plane_of_an_independent_year() -> None:
    """1,930.9 kWh/m2 a year by Perez's sky, 3 % where the sky is another: ours is Hay-Davies's.

    On the same hours and sun pvlib's isotropic sky gives 1,879.3 (2.7 % less), Hay-Davies 1,916.2
    (0.8 % less), Reindl 1,917.2, Klucher 1,940.9, Perez 1,930.6: they differ in how much of the
    diffuse light is bright about the sun and the horizon, and one sky is enough for banks. A run
    gives pvlib's Hay-Davies to 0.05 %, so that all of the difference is the sky's.
    """
    _, months = lived()
    ours = months.sum() / 4.0
    assert ours == pytest.approx(1930.9, rel=0.03)
    assert ours == pytest.approx(plane_kwh_m2(0, "haydavies"), rel=0.0005)
    assert plane_kwh_m2(0, "isotropic") < 0.985 * ours


def plane_kwh_m2(minutes_late: int, sky: str = "perez") -> float:
    """Year's irradiation in the plane by one of pvlib's skies, our sun at the hours' middle."""
    from pvlib import atmosphere, irradiance

    hour = np.datetime64("2001-01-01T00:00", "m") + np.arange(8760) * np.timedelta64(60, "m")
    moment = hour + np.timedelta64(30 + minutes_late - 60 * UTC_OFFSET_H, "m")
    zenith, azimuth = sun_position(moment, LATITUDE, LONGITUDE, ELEVATION_M)
    beam, diffuse = hours()[:, BEAM], hours()[:, DIFFUSE]
    level = beam * np.maximum(np.cos(np.radians(zenith)), 0.0) + diffuse
    found = irradiance.get_total_irradiance(
        *(20.0, 180.0, zenith, azimuth, beam, level, diffuse),
        dni_extra=irradiance.get_extra_radiation(np.repeat(np.arange(1, 366), 24)),
        airmass=atmosphere.get_relative_airmass(zenith),
        albedo=0.2,
        model=sky,
    )
    return float(np.nansum(found["poa_global"])) / 1000.0


def test_stamps_half_an_hour_off_move_the_plane_of_an_independent_year() -> None:
    """Right stamps give the published 1,930.9 kWh/m2 to 0.1 %; half an hour either way does not.

    Measured: 1,930.6; half an hour early 1,898.1, half an hour late 1,939.3.
    """
    assert plane_kwh_m2(0) == pytest.approx(1930.9, rel=0.001)
    for minutes in (-30, 30):
        assert plane_kwh_m2(minutes) != pytest.approx(1930.9, rel=0.004)


def test_cells_of_an_independent_year() -> None:
    """32.2 C in the mean, weighed by light in the plane; 2 K, for its cells sit in a rack by
    another model of theirs. Read from the power lost at -0.5 % a kelvin.
    """
    cool, warm = lived()[1].sum(), lived(temp_coefficient=-0.005)[1].sum()
    assert 25.0 + (1.0 - warm / cool) / 0.005 == pytest.approx(32.2, abs=2.0)


def test_current_of_an_independent_year() -> None:
    """6,291.9 kWh of direct current: 3 % a year, 5 % a month, with the service's -0.47 % per
    kelvin (standard module, its manual) and 14.08 % of losses; the worst day and the worst
    three days (2.20 and 5.52 kWh a day) within a tenth, as dull skies differ most by model.
    """
    days, months = lived(temp_coefficient=-0.0047, incidence_loss=True, loss_frac=0.1408)
    assert months.sum() == pytest.approx(6291.9, rel=0.03)
    wanted = np.array([float(word) for word in MONTHS_KWH.split()])
    np.testing.assert_allclose(months, wanted, rtol=0.05)
    assert days.min() == pytest.approx(2.20, rel=0.1)
    three = np.convolve(days, np.ones(3) / 3.0, mode="valid")
    assert three.min() == pytest.approx(5.52, rel=0.1)
    bare = lived(temp_coefficient=-0.0047, loss_frac=0.1408)[1].sum()
    assert 1.0 < bare / months.sum() < 1.04  # without glass: the source finds 1.9 % more
