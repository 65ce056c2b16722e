"""Where the sun stands, against the solar position algorithm's published example."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import pytest

from flatodds import simulate
from flatodds.sun import sun_position

if TYPE_CHECKING:
    from tests.validation import square_sun as sq
else:
    import square_sun as sq

pytestmark = pytest.mark.validation

Floats = npt.NDArray[np.float64]

LATITUDE, LONGITUDE, ELEVATION_M = 39.742476, -105.1786, 1830.14
PLACE = f"{LATITUDE}, {LONGITUDE}"
EXAMPLE = np.array(["2003-10-17T19:30:30"], dtype="datetime64[s]")  # 12:30:30 at UTC-7
SLOPE_DEG, FACING_DEG = 30.0, 170.0  # ten degrees east of south


def cos_incidence(zenith: Floats, azimuth: Floats, slope_deg: float, facing_deg: float) -> Floats:
    """Cosine between the sun and a plane's normal (textbook spherical trigonometry)."""
    z, tilt = np.radians(zenith), np.radians(slope_deg)
    turn = np.radians(azimuth - facing_deg)
    return np.asarray(np.cos(z) * np.cos(tilt) + np.sin(z) * np.sin(tilt) * np.cos(turn))


def almanac_sun(times_utc: npt.NDArray[np.datetime64]) -> tuple[Floats, Floats]:
    """Apparent zenith and azimuth at `PLACE` by another road than the program's [degree].

    Position: the Astronomical Almanac's low-precision formula (Michalsky, Solar Energy 40,
    1988, 227-235), good to 0.01 degree. Refraction: Saemundsson (Sky and Telescope 72,
    1986, 70), times the standard atmosphere's pressure over 1010 hPa and 283 K over 285 K.
    Both from memory.
    """
    since = (times_utc - np.datetime64("2000-01-01T12:00")) / np.timedelta64(1, "s") / 86400.0
    anomaly = np.radians(357.528 + 0.9856003 * since)
    along = np.radians(
        280.460 + 0.9856474 * since + 1.915 * np.sin(anomaly) + 0.020 * np.sin(2.0 * anomaly)
    )
    tilt = np.radians(23.439 - 4e-7 * since)
    ascension = np.arctan2(np.cos(tilt) * np.sin(along), np.cos(along))
    declination = np.arcsin(np.sin(tilt) * np.sin(along))
    clock = ((times_utc - times_utc.astype("datetime64[D]")) / np.timedelta64(1, "s")) / 3600.0
    sidereal = np.radians(15.0 * (6.697375 + 0.0657098242 * since + clock) + LONGITUDE)
    hour = sidereal - ascension
    north = np.radians(LATITUDE)
    sine = np.sin(north) * np.sin(declination) + np.cos(north) * np.cos(declination) * np.cos(hour)
    east = -np.cos(declination) * np.sin(hour)
    ahead = np.sin(declination) * np.cos(north) - np.cos(declination) * np.sin(north) * np.cos(hour)
    height = np.degrees(np.arcsin(sine))
    pressure_hpa = 1013.25 * (1.0 - 2.25577e-5 * ELEVATION_M) ** 5.25588
    lifted = 1.02 / np.tan(np.radians(height + 10.3 / (height + 5.11))) / 60.0
    lifted *= pressure_hpa / 1010.0 * 283.0 / 285.0
    seen = height + np.where(height > -0.83, lifted, 0.0)
    return 90.0 - seen, np.degrees(np.arctan2(east, ahead)) % 360.0


def test_position_of_the_published_example() -> None:
    """NREL/TP-560-34302 (2008), worked example: zenith 50.11162, azimuth 194.34024 degrees.

    Tolerance 0.001 degree: the algorithm states 0.0003.
    """
    zenith, azimuth = sun_position(
        EXAMPLE, LATITUDE, LONGITUDE, ELEVATION_M, pressure_hpa=820.0, temp_air_c=11.0
    )
    assert zenith[0] == pytest.approx(50.11162, abs=1e-3)
    assert azimuth[0] == pytest.approx(194.34024, abs=1e-3)
    incidence = np.degrees(np.arccos(cos_incidence(zenith, azimuth, SLOPE_DEG, FACING_DEG)))
    assert incidence[0] == pytest.approx(25.18700, abs=1e-3)


@pytest.mark.parametrize(
    ("near", "published"), [("13:00", "13:12:43"), ("00:00", "00:20:19")], ids=["rise", "set"]
)
def test_sunrise_and_sunset_of_the_published_example(near: str, published: str) -> None:
    """The same example: sunrise 06:12:43, sunset 17:20:19 at UTC-7; tolerance 2 s.

    The report defines both by 0.8333 degree below the horizon without refraction, so the
    sun is put into a vacuum. It answers for a day of universal time: the sunset of that day
    is the one of the evening of 16 October there (a day later it is 88 s earlier).
    """
    times = np.datetime64(f"2003-10-17T{near}", "s") + np.arange(2400).astype("timedelta64[s]")
    zenith, _ = sun_position(times, LATITUDE, LONGITUDE, ELEVATION_M, pressure_hpa=0.0)
    up = zenith < 90.8333
    crossing = times[int(np.argmax(up != up[0]))]
    assert up[0] != up[-1]
    assert (
        abs((crossing - np.datetime64(f"2003-10-17T{published}")) / np.timedelta64(1, "s")) <= 2.0
    )


@pytest.mark.parametrize(("slope_deg", "facing_deg"), [(0.0, 180.0), (SLOPE_DEG, FACING_DEG)])
def test_beam_alone_gives_the_cosine_at_mid_hour(slope_deg: float, facing_deg: float) -> None:
    """Every hour of a year through the job: beam normal 1,000 W/m2, no other light.

    Member h has its beam in hour h only, so daily sums are hours. Against an independent
    almanac at the middle of the hour, in 2001 (between leap years): 5e-4 of the beam, which
    is 0.03 degree when the sun is low and about three times the almanac's own error.
    """
    hours = np.arange(8760)
    beam = np.zeros((24, 8760), dtype=np.float32)
    beam[hours % 24, hours] = 1000.0
    rig = sq.Rig(
        place=PLACE,
        elevation_m=ELEVATION_M,
        tilt_deg=slope_deg,
        azimuth_deg=facing_deg,
        nights=365,
    )
    result = sq.only(simulate(rig.scenario(), sq.weather({"dni": beam}, 8760, 24)))
    seen = result["daily_array_wh"].to_numpy().T.ravel() / rig.watts

    middle = np.datetime64("2001-01-01T00:30", "s") + (3600 * (hours + 7)).astype("timedelta64[s]")
    zenith, azimuth = almanac_sun(middle)
    wanted = np.maximum(cos_incidence(zenith, azimuth, slope_deg, facing_deg), 0.0)
    clear = np.abs(zenith - 90.0) > 0.05  # the sun's centre on the horizon: either is right
    wanted[zenith > 90.0] = 0.0
    np.testing.assert_allclose(seen[clear], wanted[clear], rtol=0.0, atol=5e-4)
    assert (wanted > 0.0).sum() > 4000
