"""Which way of living real years a stay gets, what is refused, and what people are told."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

import numpy as np
import numpy.typing as npt
import pytest

from flatodds.errors import WeatherError
from flatodds.sun import SunTable, sun_table
from flatodds.weather import own_years
from flatodds.weather.ensembles import RealYears
from flatodds.weather.readers import WeatherYear, WeatherYears
from flatodds.weather.resampled import ShuffledYears
from flatodds.weather.source import StayWeather, stay_weather
from flatodds.weather.tables import clear_sky, default_dependence, monthly_mean

Floats = npt.NDArray[np.float64]
PLACE = (36.1, -79.95, 273.0)


@dataclass(frozen=True)
class Stay:
    latitude: float = 36.1
    longitude: float = -79.95
    elevation_m: float | None = 273.0
    weather: str | tuple[str, ...] | None = "years.csv"
    years: str | None = None
    monthly_sun_kwh_m2: tuple[float, ...] | None = None
    monthly_temp_c: tuple[float, ...] | None = None


@cache
def sun() -> SunTable:
    return sun_table(*PLACE, -5)


@cache
def record(count: int) -> WeatherYears:
    rng = np.random.default_rng(4)
    clear = clear_sky(*PLACE, sun())
    ghi = clear * rng.uniform(0.1, 1.0, (count, 365, 1))
    temp = 10.0 + rng.normal(0.0, 4.0, (count, 365, 1)) + np.zeros(24)
    return WeatherYears(
        latitude=36.1,
        longitude=-79.95,
        elevation_m=273.0,
        utc_offset_h=-5,
        years=tuple(range(2001, 2001 + count)),
        ghi=ghi,
        dni=0.0 * ghi,
        dhi=ghi,
        temp_air=temp,
        wind_speed=0.0 * ghi + 3.0,
        kind="invented",
        sha256=("ab" * 32,),
        notes=("a note",),
    )


def typical(is_typical: bool) -> WeatherYear:
    many = record(2)
    names = ("ghi", "dni", "dhi", "temp_air", "wind_speed")
    arrays = {name: getattr(many, name)[0] for name in names}
    return WeatherYear(36.1, -79.95, 273.0, -5, **arrays, kind="x", typical=is_typical,
                       sha256="cd" * 32, notes=())  # fmt: skip


@pytest.fixture
def found(monkeypatch: pytest.MonkeyPatch) -> Callable[..., StayWeather]:
    """Weather of a stay whose files hold a given record."""

    def give(held: WeatherYear | WeatherYears, years: str | None = None) -> StayWeather:
        monkeypatch.setattr(own_years, "read_files", lambda paths, offset: held)
        return stay_weather(Stay(years=years), sun())

    return give


Found = Callable[..., StayWeather]


@pytest.mark.parametrize(
    ("count", "years", "kind"),
    [
        (12, None, "real years"),
        (10, None, "real years"),
        (9, None, "resampled"),
        (5, None, "resampled"),
        (4, None, "fitted years"),
        (2, "as they were", "real years"),
        (12, "shuffled", "resampled"),
        (12, "invented", "fitted years"),
    ],
)
def test_the_number_of_years_decides_unless_the_user_does(
    found: Found, count: int, years: str | None, kind: str
) -> None:
    weather = found(record(count), years)
    assert weather.basis.kind == kind
    assert f"{count} real years near here (2001 to {2000 + count})" in weather.basis.sentence
    assert (weather.tables is None) == (weather.ensemble is not None)
    wanted = {"real years": RealYears, "resampled": ShuffledYears, "fitted years": type(None)}
    assert isinstance(weather.ensemble, wanted[kind])
    assert weather.basis.sha256 == "ab" * 32
    assert "a note" in weather.basis.cautions


@pytest.mark.parametrize("years", ["as they were", "shuffled"])
@pytest.mark.parametrize("is_typical", [True, False])
def test_one_year_is_neither_repeated_nor_shuffled(
    found: Found, years: str, is_typical: bool
) -> None:
    with pytest.raises(WeatherError, match="no bad weeks but its own") as caught:
        found(typical(is_typical), years)
    assert "invented" in caught.value.problems[0].hint
    assert found(typical(is_typical), "invented").basis.kind == "one typical year"


def test_too_few_years_are_not_shuffled(found: Found) -> None:
    with pytest.raises(WeatherError, match="at least 5 real years; there are 4"):
        found(record(4), "shuffled")


def test_error_falls_with_years_and_is_told(found: Found) -> None:
    errors = [found(record(n), "invented").basis.typical_error_frac for n in (2, 4, 12)]
    assert errors == sorted(errors, reverse=True)
    assert errors[-1] > found(record(12), "shuffled").basis.typical_error_frac
    assert found(record(12)).basis.typical_error_frac == 0.05
    for weather in (found(record(4)), found(record(7)), found(record(12))):
        error = weather.basis.typical_error_frac
        assert f"±{error:.0%}" in weather.basis.sentence


def test_words_say_what_was_done(found: Found) -> None:
    assert "as they were" in found(record(12)).basis.sentence
    assert "shuffled in 30-day pieces" in found(record(6)).basis.sentence
    assert "invented years" in found(record(3)).basis.sentence
    assert any("equally often" in text for text in found(record(12)).basis.cautions)
    assert any("too few" in text for text in found(record(3)).basis.cautions)


def test_invented_years_have_the_records_months(found: Found) -> None:
    made = found(record(9), "invented").tables
    assert made is not None
    own = monthly_mean(record(9).ghi.sum(axis=2).mean(axis=0))
    np.testing.assert_allclose(monthly_mean(made.k_mean * made.h0_wh_m2), own, rtol=1e-3)
    assert made.temp_mean_c.mean() == pytest.approx(record(9).temp_air.mean(), abs=0.01)


def test_memory_is_fitted_from_eight_years_on(found: Found) -> None:
    few, many = (found(record(n), "invented").tables for n in (7, 8))
    assert few is not None
    assert many is not None
    np.testing.assert_array_equal(few.fast, default_dependence(36.1)[0])
    assert not np.array_equal(many.fast, few.fast)
    assert np.abs((1.0 - many.slow_weight) * many.fast).max() < 0.2  # its days are independent
