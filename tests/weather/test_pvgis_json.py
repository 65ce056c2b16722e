"""PVGIS weather in JSON: the same hours as in the comma layout, and nothing damaged in silence."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from flatodds.errors import WeatherError
from flatodds.weather.readers import read_weather, read_years

if TYPE_CHECKING:
    from tests.conftest import Made

QUERY = {"lat": "40.0", "lon": "-105.0", "startyear": "2015", "endyear": "2016"}
ONE = {**QUERY, "endyear": "2015"}
TMY_YEARS = (2008, 2003, 2006, 2002, 2009, 2011, 2007, 2005, 2010, 2014, 2013, 2012)
NAMES = ("ghi", "dni", "dhi", "temp_air", "wind_speed")
Answers = dict[str, Callable[[dict[str, str]], str]]


@pytest.fixture
def put(tmp_path: Path) -> Callable[[str], Path]:
    def write(text: str) -> Path:
        path = tmp_path / "weather.json"
        path.write_text(text)
        return path

    return write


@pytest.mark.validation
def test_series_as_pvlib_reads_it(put: Callable[[str], Path], service_answers: Answers) -> None:
    from pvlib.iotools import read_pvgis_hourly

    path = put(service_answers["/pvgis/seriescalc"](QUERY))
    series = read_years(path, utc_offset_h=0)
    data, _ = read_pvgis_hourly(path)
    data = data[~((data.index.month == 2) & (data.index.day == 29))]
    parts = ("poa_direct", "poa_sky_diffuse", "poa_ground_diffuse")
    np.testing.assert_allclose(series.ghi.ravel(), sum(data[name] for name in parts), atol=1e-9)
    np.testing.assert_allclose(series.dhi.ravel(), data["poa_sky_diffuse"], atol=1e-9)
    np.testing.assert_allclose(series.temp_air.ravel(), data["temp_air"], atol=1e-9)
    assert (series.years, series.kind) == ((2015, 2016), "PVGIS hourly")
    assert any("minute 10" in note for note in series.notes)


@pytest.mark.parametrize("offset_h", [0.1761, -0.2])
def test_typical_year(
    put: Callable[[str], Path],
    service_answers: Answers,
    sky: Callable[..., Made],
    offset_h: float,
) -> None:
    answer: Any = service_answers["/pvgis/tmy"]
    year = read_weather(put(answer(QUERY, offset_h)), utc_offset_h=0)
    expected = sky(TMY_YEARS, 60.0 * offset_h)
    for name in NAMES:
        wanted = np.roll(getattr(expected, name), -(offset_h < 0))
        np.testing.assert_allclose(getattr(year, name).ravel(), wanted, atol=1e-9)
    assert year.typical


def test_pretty_printed_and_with_gaps(put: Callable[[str], Path], service_answers: Answers) -> None:
    document = json.loads(service_answers["/pvgis/seriescalc"](ONE))
    document["outputs"]["hourly"][3000]["T2m"] = None
    year = read_weather(put(json.dumps(document, indent=1)))
    assert any("temp_air: 1 missing hours were filled" in note for note in year.notes)


Change = Callable[[dict[str, Any]], object]
CHANGES: list[tuple[Change, str]] = [
    (lambda d: d.pop("inputs"), "There is no inputs"),
    (lambda d: d["inputs"].pop("location"), "There is no location"),
    (lambda d: d["inputs"]["location"].pop("latitude"), "has no Latitude"),
    (lambda d: d["inputs"]["location"].update(latitude="north"), "latitude should be a number"),
    (lambda d: d["outputs"].update(hourly=[]), "There are no rows"),
    (lambda d: d["outputs"].update(hourly={"time": 1}), "There are no rows"),
    (lambda d: d["outputs"]["hourly"][7].pop("T2m"), "Row 8 has other columns"),
    (lambda d: d["outputs"]["hourly"][7].update(T2m=True), "Row 8 holds"),
    (lambda d: d["outputs"]["hourly"][7].update(T2m=[1]), "Row 8 holds"),
    (lambda d: d["outputs"]["hourly"][7].update(T2m="1,2"), "Row 8 holds"),
    (lambda d: d["outputs"]["hourly"][7].update(T2m="warm"), "temp_air should be a number"),
    (lambda d: d["outputs"]["hourly"][7].update(T2m=float("inf")), "temp_air should be a number"),
    (lambda d: d["outputs"]["hourly"][7].update(time="20150101"), "is not a date and time"),
    (lambda d: d["outputs"]["hourly"].append(d["outputs"]["hourly"][0]), "is there twice"),
    (
        lambda d: d["inputs"]["mounting_system"]["fixed"]["slope"].update(value=35),
        "plane at slope 35",
    ),
    (
        lambda d: d["inputs"].update(mounting_system={"two_axis": {}}),
        "plane at slope of a plane that",
    ),
]


@pytest.mark.parametrize(("change", "words"), CHANGES)
def test_damage_is_refused(
    put: Callable[[str], Path], service_answers: Answers, change: Change, words: str
) -> None:
    document = json.loads(service_answers["/pvgis/seriescalc"](ONE))
    document["outputs"]["hourly"] = document["outputs"]["hourly"][:48]  # found before the gap is
    change(document)
    with pytest.raises(WeatherError, match=words):
        read_weather(put(json.dumps(document)))


def test_a_lost_hour_is_filled_and_said(
    put: Callable[[str], Path], service_answers: Answers
) -> None:
    document = json.loads(service_answers["/pvgis/seriescalc"](ONE))
    del document["outputs"]["hourly"][100]
    notes = read_weather(put(json.dumps(document))).notes
    assert any("ghi: 1 missing hours were filled" in note for note in notes)


@pytest.mark.parametrize("share", [0.3, 0.999])
def test_half_a_file(put: Callable[[str], Path], service_answers: Answers, share: float) -> None:
    text = service_answers["/pvgis/seriescalc"](ONE)
    with pytest.raises(WeatherError, match="This JSON cannot be read"):
        read_weather(put(text[: int(len(text) * share)]))


def test_deep_json(put: Callable[[str], Path]) -> None:
    with pytest.raises(WeatherError):
        read_weather(put('{"hourly": ' + "[" * 100_000))
