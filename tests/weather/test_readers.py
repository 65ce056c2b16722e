"""Every format lands hour by hour where it belongs."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest

from flatodds.errors import WeatherError
from flatodds.sun import sun_position
from flatodds.weather.readers import WeatherYear, read_weather, read_years

if TYPE_CHECKING:
    from tests.weather.conftest import Sample, Writers

NAMES = ("ghi", "dni", "dhi", "temp_air", "wind_speed")
MONTH_EDGES = np.cumsum([0, 31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
COMMA_KINDS = (
    "TMY3",
    "EPW",
    "PVGIS typical year",
    "PVGIS hourly",
    "NSRDB",
    "SolarAnywhere",
    "plain table",
)


def put(folder: Path, text: str, name: str = "weather.txt") -> Path:
    path = folder / name
    path.write_bytes(text.encode())
    return path


@pytest.mark.validation
@pytest.mark.parametrize(
    ("name", "year_kwh", "offset"), [("723170TYA.CSV", 1566.2, -5), ("703165TY.csv", 829.2, -9)]
)
def test_tmy3_totals_are_the_files_own(
    writers: Writers, name: str, year_kwh: float, offset: int
) -> None:
    path = writers.data() / name
    year = read_weather(path)
    own = np.zeros((12, 3))
    for line in path.read_text().splitlines()[2:]:
        cells = line.split(",")
        # A row stamped 24:00 belongs to its own date, so the month is the one written.
        own[int(cells[0][:2]) - 1] += [float(cells[i]) for i in (4, 7, 10)]
    for month in range(12):
        days = slice(MONTH_EDGES[month], MONTH_EDGES[month + 1])
        read = [getattr(year, key)[days].sum() for key in ("ghi", "dni", "dhi")]
        assert read == pytest.approx(own[month].tolist(), abs=1e-6)
    assert year.ghi.sum() / 1000.0 == pytest.approx(year_kwh, abs=0.05)
    assert (year.utc_offset_h, year.typical, year.kind) == (offset, True, "TMY3")


def test_tmy3_end_of_hour_stamps(writers: Writers) -> None:
    path = writers.data() / "723170TYA.CSV"
    year = read_weather(path)
    found = next(
        line.split(",")
        for line in path.read_text().splitlines()
        if line.startswith("06/15/") and line[11:16] == "12:00"
    )
    doy = int(MONTH_EDGES[5]) + 14
    assert year.ghi[doy, 11] == float(found[4])
    assert year.temp_air[doy, 11] == float(found[31])
    assert year.wind_speed[doy, 11] == float(found[46])


@pytest.mark.validation
def test_tmy2_equals_an_independent_reader(writers: Writers) -> None:
    from pvlib.iotools import read_tmy2

    path = writers.data() / "12839.tm2"
    year = read_weather(path)
    data, meta = read_tmy2(str(path))
    for name, column, scale in (
        ("ghi", "GHI", 1.0),
        ("dni", "DNI", 1.0),
        ("dhi", "DHI", 1.0),
        ("temp_air", "DryBulb", 0.1),
        ("wind_speed", "Wspd", 0.1),
    ):
        expected = data[column].to_numpy(dtype=float) * scale
        np.testing.assert_allclose(getattr(year, name).ravel(), expected, atol=1e-9)
    assert year.longitude == pytest.approx(meta["longitude"])
    assert (year.kind, year.typical, year.utc_offset_h) == ("TMY2", True, -5)


def test_tmy2_place_with_several_words(samples: dict[str, Sample], tmp_path: Path) -> None:
    lines = samples["TMY2"].text.splitlines()
    assert "MIAMI                  FL" in lines[0]
    lines[0] = lines[0].replace("MIAMI                  FL", "PORT OF INVENTION      FL")
    assert read_weather(put(tmp_path, "\n".join(lines))).kind == "TMY2"


@pytest.mark.parametrize("kind", COMMA_KINDS)
def test_every_hour_lands_in_its_place(
    samples: dict[str, Sample], tmp_path: Path, kind: str
) -> None:
    sample = samples[kind]
    sky = sample.sky
    assert sky is not None
    year = read_weather(put(tmp_path, sample.text))
    assert year.kind == kind
    assert (year.latitude, year.longitude, year.elevation_m) == (40.0, -105.0, 1600.0)
    assert year.utc_offset_h == -7
    shift = -7 - round(sky.place.offset_h)
    for name in NAMES:
        # PVGIS hourly gives beam on the level plane with two decimals, divided by the height.
        loose = 0.25 if kind == "PVGIS hourly" and name == "dni" else 0.011
        expected = np.roll(getattr(sky, name), shift)
        if kind == "PVGIS hourly" and name == "dni":
            # The made-up sky ends beam at 5.7 degrees, so no hour is lost to the 3-degree limit.
            assert expected.max() > 700.0
        np.testing.assert_allclose(getattr(year, name).ravel(), expected, atol=loose)
    noon = year.ghi.mean(axis=0)
    assert noon.argmax() in (11, 12)


def test_typical_or_real_year(samples: dict[str, Sample], tmp_path: Path) -> None:
    typical = {
        kind: read_weather(put(tmp_path, sample.text)).typical for kind, sample in samples.items()
    }
    real = {kind for kind, value in typical.items() if not value}
    assert real == {"PVGIS hourly", "NSRDB"}


def test_half_hours_are_averaged(writers: Writers, tmp_path: Path) -> None:
    sky = writers.sky(years=(2015,), step_min=30, whole=False)
    year = read_weather(put(tmp_path, writers.nsrdb(sky, minute=15)))
    np.testing.assert_allclose(year.ghi.ravel(), sky.ghi.reshape(-1, 2).mean(axis=1), atol=0.01)
    assert any("averaged" in note for note in year.notes)


def test_half_hours_centred_on_the_hour(writers: Writers, tmp_path: Path) -> None:
    sky = writers.sky(years=(2015,), step_min=30, mid_h=0.0, whole=False)
    year = read_weather(put(tmp_path, writers.nsrdb(sky, minute=0)))
    on, half = sky.ghi[0::2], sky.ghi[1::2]
    expected = 0.25 * on + 0.5 * half + 0.25 * np.roll(on, -1)
    np.testing.assert_allclose(year.ghi.ravel(), expected, atol=0.01)
    assert year.ghi.sum() == pytest.approx(sky.ghi.sum() / 2.0, rel=1e-4)


@pytest.mark.parametrize("late", [0, 1])
def test_the_last_light_on_a_full_hour(writers: Writers, tmp_path: Path, late: int) -> None:
    """A half hour around 17:00 may be lit when the sun's centre has just gone; one later not."""
    sky = writers.sky(years=(2015,), step_min=30, mid_h=0.0, whole=False)
    moment = sky.stamp + np.timedelta64(7, "h")
    zenith, _ = sun_position(moment, 40.0, -105.0, 1600.0)
    evening = np.flatnonzero((zenith > 90.0) & (zenith < 90.5) & (np.diff(zenith, append=0) > 0))
    full = [at for at in evening.tolist() if at % 2 == 0]
    sky.dni[full[0] + 2 * late] = 96.0
    path = put(tmp_path, writers.nsrdb(sky, minute=0))
    if late:
        with pytest.raises(WeatherError, match="sun is down for the whole hour"):
            read_weather(path)
    else:
        assert read_weather(path).kind == "NSRDB"


@pytest.mark.parametrize("offset", ["-1.2", "0.3", "late"])
def test_minute_of_a_pvgis_epw(writers: Writers, tmp_path: Path, offset: str) -> None:
    text = writers.epw(writers.sky())
    said = f"COMMENTS 2,Irradiance Time Offset (h):{offset}"
    with pytest.raises(WeatherError, match=r"Irradiance Time Offset"):
        read_weather(put(tmp_path, text.replace("COMMENTS 2,invented", said)))


def test_leap_day_is_dropped_and_said(writers: Writers, tmp_path: Path) -> None:
    sky = writers.sky(years=(2016,))
    year = read_weather(put(tmp_path, writers.nsrdb(sky)))
    assert "24 rows of 29 February were left out." in year.notes
    leap = sky.stamp.astype("datetime64[D]") == np.datetime64("2016-02-29")
    np.testing.assert_allclose(year.ghi.ravel(), sky.ghi[~leap])


def test_real_years_from_one_file(writers: Writers, tmp_path: Path) -> None:
    sky = writers.sky(writers.place(offset_h=0.0), (2015, 2016, 2017), mid_h=1 / 6, whole=False)
    path = put(tmp_path, writers.pvgis_series(sky))
    series = read_years(path)
    assert series.years == (2015, 2016, 2017)
    assert series.ghi.shape == (3, 365, 24)
    leap = sky.stamp.astype("datetime64[D]") == np.datetime64("2016-02-29")
    expected = np.roll(sky.ghi[~leap], -7)
    np.testing.assert_allclose(series.ghi.ravel(), expected, atol=0.02)
    with pytest.raises(WeatherError, match="holds 3 years, 2015 to 2017"):
        read_weather(path)


def test_real_years_from_several_files(writers: Writers, tmp_path: Path) -> None:
    paths = [
        put(tmp_path, writers.nsrdb(writers.sky(years=(year,))), f"{year}.csv")
        for year in (2017, 2015, 2016)
    ]
    series = read_years(paths)
    assert series.years == (2015, 2016, 2017)
    np.testing.assert_array_equal(series.ghi[0], read_weather(paths[1]).ghi)
    assert len(set(series.sha256)) == 3
    with pytest.raises(WeatherError, match=r"2017\.csv: It begins with 2017; 2016 should be next"):
        read_years(paths[:2])


def test_a_typical_year_is_no_series(samples: dict[str, Sample], tmp_path: Path) -> None:
    with pytest.raises(WeatherError, match="typical year, not a real one"):
        read_years(put(tmp_path, samples["EPW"].text))


def test_zone_on_the_half_hour(writers: Writers, tmp_path: Path) -> None:
    sky = writers.sky(writers.place(22.0, 80.0, 300.0, 5.5))
    year = read_weather(put(tmp_path, writers.epw(sky)))
    assert year.utc_offset_h == 6
    assert any("30 minutes off" in note for note in year.notes)
    np.testing.assert_allclose(year.ghi.ravel(), sky.ghi)


def test_another_clock_on_request(samples: dict[str, Sample], tmp_path: Path) -> None:
    path = put(tmp_path, samples["TMY3"].text)
    own, other = read_weather(path), read_weather(path, utc_offset_h=-8)
    np.testing.assert_array_equal(other.ghi.ravel(), np.roll(own.ghi.ravel(), -1))
    assert other.utc_offset_h == -8
    assert any("moved by -1 to UTC-8" in note for note in other.notes)


def test_global_alone_is_separated(writers: Writers, tmp_path: Path) -> None:
    sky = writers.sky()
    year = read_weather(put(tmp_path, writers.plain(sky, only_ghi=True)))
    np.testing.assert_allclose(year.ghi.ravel(), sky.ghi)
    assert any("Erbs-Driesse" in note for note in year.notes)
    assert (year.dhi <= year.ghi + 1e-9).all()
    assert 0.2 < year.dhi.sum() / year.ghi.sum() < 0.7
    assert year.dni.max() < 1400.0


def test_solaranywhere_averaging_methods(writers: Writers, tmp_path: Path) -> None:
    sky = writers.sky()
    text = writers.solaranywhere(sky, "Beginning of Period", 0)
    np.testing.assert_allclose(read_weather(put(tmp_path, text)).ghi.ravel(), sky.ghi)
    text = writers.solaranywhere(sky, "whatever", 0)
    with pytest.raises(WeatherError, match="Averaging Method is 'whatever'"):
        read_weather(put(tmp_path, text))


def test_tilted_pvgis_is_refused(writers: Writers, tmp_path: Path) -> None:
    sky = writers.sky(writers.place(offset_h=0.0), (2015,), mid_h=1 / 6)
    with pytest.raises(WeatherError, match="plane at slope 35"):
        read_weather(put(tmp_path, writers.pvgis_series(sky, slope=35)))


def test_pvgis_year_without_its_minute_says_so(writers: Writers, tmp_path: Path) -> None:
    sky = writers.sky(writers.place(offset_h=0.0), mid_h=0.1761)
    year = read_weather(put(tmp_path, writers.pvgis_tmy(sky, offset_h=None)))
    assert any("does not say to which minute" in note for note in year.notes)


def test_windows_line_ends_and_byte_order_mark(samples: dict[str, Sample], tmp_path: Path) -> None:
    plain = samples["plain table"].text
    path = tmp_path / "weather.csv"
    path.write_bytes(b"\xef\xbb\xbf" + plain.replace("\n", "\r\n").encode())
    year: WeatherYear = read_weather(path)
    np.testing.assert_array_equal(year.ghi, read_weather(put(tmp_path, plain)).ghi)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "empty"),
        (b"\n\n\n", "empty"),
        (b"\x00\x01\x02" * 50, "not a text file"),
        (b"PK\x03\x04junk", "zip archive"),
        (b"\x1f\x8bjunk", "gzip archive"),
        (b"hello world\n", "no weather file flatodds knows"),
        (b"\xff\xfe\xfd\x80\n", "no weather file flatodds knows"),
        (b"LOCATION,x\n", "has 2 fields of at least 10"),
        (b"# latitude: 1\n", "lacks longitude, elevation_m, utc_offset_h"),
        (b"Source,Location ID,City\n", "ends before its data rows"),
        (b"Latitude (decimal degrees): 45\ntime(UTC),T2m\n", "has no Longitude"),
    ],
)
def test_files_that_are_no_weather(tmp_path: Path, data: bytes, words: str) -> None:
    path = tmp_path / "weather.csv"
    path.write_bytes(data)
    with pytest.raises(WeatherError, match=words):
        read_weather(path)


def test_missing_folder_and_huge(tmp_path: Path) -> None:
    with pytest.raises(WeatherError, match="no such file"):
        read_weather(tmp_path / "none.csv")
    with pytest.raises(WeatherError, match="This is a folder"):
        read_weather(tmp_path)
    huge = tmp_path / "huge.csv"
    with huge.open("wb") as stream:
        stream.truncate(64 * 1024 * 1024 + 1)
    with pytest.raises(WeatherError, match="larger than 64 MiB"):
        read_weather(huge)


@pytest.mark.parametrize("kind", COMMA_KINDS)
def test_heading_without_rows(samples: dict[str, Sample], tmp_path: Path, kind: str) -> None:
    sample = samples[kind]
    text = "\n".join(sample.text.splitlines()[: sample.first])
    with pytest.raises(WeatherError, match=r"no data rows|ends before its data rows"):
        read_weather(put(tmp_path, text))
