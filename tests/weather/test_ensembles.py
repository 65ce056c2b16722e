"""Real years lived as they were: which year, which day, and what follows New Year."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from flatodds.weather.contract import NAMES
from flatodds.weather.ensembles import RealYears, common_years, real_years

Floats = npt.NDArray[np.float64]
KEY = (np.uint64(1), np.uint64(2))
YEAR = 365


@dataclass(frozen=True)
class Hours:
    """Hours that tell where they come from: ghi is the year, temp_air the day, wind the hour."""

    years: tuple[int, ...]
    ghi: Floats
    dni: Floats
    dhi: Floats
    temp_air: Floats
    wind_speed: Floats


def telling(count: int, first: int = 2001) -> RealYears:
    shape = (count, YEAR, 24)
    year, day, hour = (part.astype(np.float64) for part in np.indices(shape))
    none = np.zeros(shape)
    years = tuple(range(first, first + count))
    return real_years(Hours(years, year + first, none, none, day, hour))


def lived(ensemble: RealYears, first_day: int, days: int, members: list[int]) -> Floats:
    return ensemble.hours(first_day, days, np.array(members), KEY)


def test_member_i_lives_year_i_modulo_their_number_hour_by_hour() -> None:
    hours = lived(telling(3), YEAR + 40, 10, [0, 1, 2, 3, 64])
    assert hours.shape == (5, 240, len(NAMES))
    assert (hours[..., 0] == np.array([2001, 2002, 2003, 2001, 2002])[:, None]).all()
    np.testing.assert_array_equal(hours[0, :, 3], np.repeat(np.arange(40, 50), 24))
    np.testing.assert_array_equal(hours[0, :, 4], np.tile(np.arange(24), 10))


def test_after_new_year_comes_the_next_year_and_after_the_last_the_first() -> None:
    hours = lived(telling(3), YEAR + 363, 4, [0, 2])
    assert hours[0, ::24, 0].tolist() == [2001, 2001, 2002, 2002]
    assert hours[1, ::24, 0].tolist() == [2003, 2003, 2001, 2001]
    assert hours[0, ::24, 3].tolist() == [363, 364, 0, 1]


def test_a_later_stay_of_the_itinerary_goes_on_in_the_same_year() -> None:
    ensemble = telling(4)
    december, spring = lived(ensemble, YEAR + 350, 5, [1]), lived(ensemble, 2 * YEAR + 90, 5, [1])
    assert december[0, 0, 0] == 2002
    assert spring[0, 0, 0] == 2003


def test_the_seed_changes_nothing() -> None:
    ensemble = telling(3)
    other = ensemble.hours(YEAR, 5, np.array([0, 1]), (np.uint64(9), np.uint64(9)))
    np.testing.assert_array_equal(lived(ensemble, YEAR, 5, [0, 1]), other)


def test_stays_share_the_years_that_all_files_hold() -> None:
    one, two = telling(6, 2001), telling(6, 2004)
    shared = common_years([one, two])
    assert shared == (2004, 2005, 2006)
    for ensemble in (one, two):
        only = ensemble.only(shared)
        assert only.years == shared
        assert lived(only, YEAR, 1, [0, 1, 2, 3])[:, 0, 0].tolist() == [2004, 2005, 2006, 2004]
    assert common_years([one, telling(2, 2050)]) == ()


def test_mean_temperature_of_a_day_is_over_the_years() -> None:
    assert telling(4).mean_temp_c(17) == 17.0
