"""Generated years against station records of many years, where such records are at hand.

The records are not part of the repository (see `flatodds.weather.stations`). The folder is
named by FLATODDS_WEATHER_RECORDS, or lies beside the repository; without it these tests skip.
What tests find to be a copy or the instrument's doing is taken out of a record first
(`flatodds.weather.homogeneity`). Places outside a limit are kept as expected failures with
their figure; limits stay.
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from functools import cache
from itertools import product
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest

from flatodds.weather import climate, realism, tables
from flatodds.weather.homogeneity import step
from flatodds.weather.realism import Days, SpellError
from flatodds.weather.regions import region_caution
from flatodds.weather.stations import STATIONS, Held, record_of
from flatodds.weather.tables import MONTH_OF_DAY, daily_clearness, monthly_mean

Floats = npt.NDArray[np.float64]

pytestmark = pytest.mark.validation

SUN_LIMIT = 0.03  # of the mean equivalent-sun error over places, every bank and odds
RARE_SPELL_LIMIT = 0.05  # of the mean error of 1-in-10 worst spells over places; judgement
SPELL_LIMIT = 0.05  # of one place's worst spells, beyond the record's own standard error
SPREAD_LIMIT = 0.7  # least year-to-year sd over the real one
GRID_LIMIT = 0.10  # root mean square over places of the corrected grid's yearly sun


def records_folder() -> Path | None:
    """Folder of the records: named by the environment, or beside the repository."""
    named = os.environ.get("FLATODDS_WEATHER_RECORDS")
    folder = Path(named) if named else Path(__file__).parents[3] / "shared" / "data"
    return folder if folder.is_dir() else None


@cache
def held(name: str) -> Held:
    folder = records_folder()
    record = None if folder is None else record_of(folder, name)
    if record is None:
        pytest.skip("no multi-year weather records at hand")
    return Held(name, record)


@cache
def made(name: str, method: str) -> Floats:
    return held(name).made(method)


def season(name: str, method: str) -> Floats:
    return made(name, method)[:, : held(name).size]


def places(why: Mapping[str, str]) -> list[object]:
    """Every station; those with a reason are expected to fail."""
    return [
        pytest.param(name, marks=pytest.mark.xfail(reason=why[name])) if name in why else name
        for name in STATIONS
    ]


@cache
def sun_errors(method: str) -> Floats:
    """Mean equivalent-sun error over places, (bank, odds)."""
    return realism.mean_over(
        [realism.equivalent_sun_errors(held(name).real, season(name, method)) for name in STATIONS]
    )


@cache
def rare_spells(method: str) -> Floats:
    """Mean error over places of the 1-in-10 worst spells of 3, 5 and 7 days, (3,)."""
    errors = [realism.spell_errors(held(n).real, season(n, method))[:, 1] for n in STATIONS]
    return realism.mean_over(errors)


@pytest.mark.parametrize("method", ["default", "fitted", "blocks"])
def test_as_much_sun_is_needed_as_in_the_real_years(method: str) -> None:
    """The deciding measure: within 3 points at banks of 2 to 15 days, 10 and 30 % odds."""
    assert np.abs(sun_errors(method)).max() < SUN_LIMIT, sun_errors(method)


@pytest.mark.parametrize("method", ["default", "fitted", "blocks"])
def test_as_much_sun_is_needed_as_in_the_records_unmended(method: str) -> None:
    errors = []
    for name in STATIONS:
        folder = records_folder()
        record = None if folder is None else record_of(folder, name)
        if record is None:
            pytest.skip("no multi-year weather records at hand")
        raw = Held(name, record, mend=False)
        lived = raw.made(method)[:, : raw.size]
        errors.append(realism.equivalent_sun_errors(raw.real, lived))
    assert np.abs(realism.mean_over(errors)).max() < SUN_LIMIT


@pytest.mark.parametrize("method", ["default", "fitted", "blocks"])
def test_rare_worst_spells(method: str) -> None:
    assert np.abs(rare_spells(method)).max() < RARE_SPELL_LIMIT, rare_spells(method)


@pytest.mark.parametrize("method", ["no memory", "typical year in blocks"])
def test_the_gate_refuses_weather_without_bad_weeks(method: str) -> None:
    """Days without memory, and one typical year in blocks, must fail, and on the bold side."""
    assert sun_errors(method).min() < -3.0 * SUN_LIMIT
    assert rare_spells(method).max() > 3.0 * RARE_SPELL_LIMIT


def spread_ratio(name: str, method: str) -> tuple[float, float]:
    """Year-to-year sd of generated over real years: calendar months, whole years."""
    real = realism.year_spread(held(name).record.ghi_wh_m2)
    mine = realism.year_spread(held(name).by_calendar(made(name, method)))
    return mine[0] / real[0], mine[1] / real[1]


YEARS_TOO_ALIKE = {
    "everglades": ".696 of nine years that may still drift; too few for the tests to tell"
}


@pytest.mark.parametrize("name", STATIONS)
def test_months_differ_from_year_to_year_by_default(name: str) -> None:
    assert spread_ratio(name, "default")[0] > SPREAD_LIMIT


@pytest.mark.parametrize("name", STATIONS)
def test_months_differ_from_year_to_year_in_blocks(name: str) -> None:
    assert spread_ratio(name, "blocks")[0] > SPREAD_LIMIT


@pytest.mark.parametrize("name", places(YEARS_TOO_ALIKE))
def test_years_differ_by_default(name: str) -> None:
    assert spread_ratio(name, "default")[1] > SPREAD_LIMIT


@pytest.mark.parametrize("name", STATIONS)
def test_years_differ_in_blocks(name: str) -> None:
    assert spread_ratio(name, "blocks")[1] > SPREAD_LIMIT


def by_month(name: str) -> tuple[Floats, Floats]:
    """Generated over real mean, and over real sd of days, of each month: (12,) each."""
    real, mine = held(name).record.ghi_wh_m2, held(name).by_calendar(made(name, "default"))
    sd = [mine[:, m == MONTH_OF_DAY].std() / real[:, m == MONTH_OF_DAY].std() for m in range(12)]
    return monthly_mean(mine.mean(axis=0)) / monthly_mean(real.mean(axis=0)), np.array(sd)


@pytest.mark.parametrize("name", STATIONS)
def test_monthly_means_of_the_record_come_back(name: str) -> None:
    """Own quantiles give back every month's mean to 3 %."""
    assert np.abs(by_month(name)[0] - 1.0).max() < 0.03


NARROW = {"kadoma": ".089 too narrow in one month of twelve years"}


@pytest.mark.parametrize("name", places(NARROW))
def test_spread_of_days_of_the_record_comes_back(name: str) -> None:
    """The sd of a month's days comes back to 8 %."""
    assert np.abs(by_month(name)[1] - 1.0).max() < 0.08


ROWS = ((5, None), (5, 0.1), (7, None), (7, 0.1))  # days in a row; mean, or once in ten seasons
TWO_RECORDS = "two instruments in one record, see the test of its two halves"
SPELLS_OFF = {
    ("default", "iowa", 7, None): "14.8 % too sunny, allowed 13.0: nine seasons that drift",
    ("default", "gainesville", 5, None): f"13.3 % too dull, allowed 10.7: {TWO_RECORDS}",
    ("fitted", "gainesville", 5, None): f"10.8 % too dull, allowed 10.7: {TWO_RECORDS}",
    ("blocks", "gainesville", 5, None): f"11.5 % too dull, allowed 10.7: {TWO_RECORDS}",
    (
        "default",
        "gazipur",
        5,
        0.1,
    ): "20.7 % too sunny, allowed 16.9: long memory",
    ("fitted", "carrington", 5, 0.1): "13.8 % too dull, allowed 8.3",
    ("fitted", "kadoma", 5, 0.1): "12.9 % too dull, allowed 9.8",
}


@cache
def spell(name: str, method: str, length: int, odds: float | None) -> SpellError:
    return realism.spell_error(held(name).real, season(name, method), length, odds)


def misses(error: SpellError) -> bool:
    return abs(error.error) > error.standard_error + SPELL_LIMIT


@pytest.mark.parametrize(
    ("method", "name", "length", "odds"),
    [
        pytest.param(*key, marks=pytest.mark.xfail(reason=SPELLS_OFF[key]))
        if key in SPELLS_OFF
        else key
        for method, name, row in product(("default", "fitted", "blocks"), STATIONS, ROWS)
        for key in [(method, name, *row)]
    ],
)
def test_worst_spells_of_every_place(
    method: str, name: str, length: int, odds: float | None
) -> None:
    """Worst 5 and 7 days of the dull quarter: standard error of the record plus 5 %."""
    found = spell(name, method, length, odds)
    assert not misses(found), found


@pytest.mark.parametrize("method", ["no memory", "typical year in blocks"])
def test_worst_spells_refuse_weather_without_bad_weeks(method: str) -> None:
    """More than a third of the places' checks fail, nearly all on the bold side."""
    found = [spell(name, method, *row) for name, row in product(STATIONS, ROWS)]
    off = [error for error in found if misses(error)]
    assert len(off) > len(found) / 3
    assert sum(error.error > 0.0 for error in off) > 0.9 * len(off)


@pytest.mark.parametrize("after", [False, True])
def test_each_half_of_a_record_of_two_instruments(after: bool) -> None:
    """Gainesville's days spread 1.4 times as much from 1978 on; each half alone comes out."""
    whole = held("gainesville")
    spread = daily_clearness(whole.record.ghi_wh_m2, whole.sun.h0_wh_m2).std(axis=1)
    at = step(spread)
    assert at is not None
    assert whole.record.years[at] == 1978
    assert spread[at:].mean() > 1.3 * spread[:at].mean()
    rows = slice(at, None) if after else slice(at)
    half = Days(whole.record.years[rows], whole.record.ghi_wh_m2[rows])
    alone = Held("gainesville", half, mend=False)
    for method, row in product(("default", "fitted", "blocks"), ROWS):
        mine = alone.made(method)[:, : alone.size]
        found = realism.spell_error(alone.real, mine, *row)
        assert not misses(found), (method, row, found)


def test_yearly_sun_of_the_corrected_grid() -> None:
    """Within 10 % of the records, root mean square over places; measured 7.6, uncorrected 15."""
    raw: list[float] = []
    mended: list[float] = []
    for name, (lat, lon, _, _) in STATIONS.items():
        real = held(name).record.ghi_wh_m2.mean()
        for out, correct in ((raw, False), (mended, True)):
            k = climate.world_quantiles(lat, lon, correct=correct)
            out.append(np.average(k.ghi_wh_m2, weights=tables.MONTH_DAYS) / real - 1.0)
    assert np.sqrt(np.mean(np.square(mended))) < GRID_LIMIT
    assert np.sqrt(np.mean(np.square(raw))) > 1.5 * GRID_LIMIT  # as it comes it does not pass
    assert abs(np.mean(mended)) < 0.05


def test_where_the_grid_fails_the_program_says_so() -> None:
    """No dull season is more than a sixth too sunny without a caution about the place."""
    for name, (lat, lon, height, _) in STATIONS.items():
        off = season(name, "grid").mean() / held(name).real.mean() - 1.0
        assert off < 1.0 / 6.0 or region_caution(lat, lon, height) is not None, (name, off)
    assert season("anguededou", "grid").mean() > 1.4 * held("anguededou").real.mean()


def test_typed_months_beat_the_grid() -> None:
    """The same grid with a station's own months is nearer at every bank, on average."""
    errors = {
        method: np.mean(
            [
                np.abs(realism.equivalent_sun_errors(held(n).real, season(n, method)))
                for n in STATIONS
            ],
            axis=0,
        )
        for method in ("monthly", "grid")
    }
    assert (errors["monthly"] < errors["grid"]).all()
