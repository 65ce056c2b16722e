"""Real years lived as they were: which hours each member of a run gets.

An ensemble makes the hours of any member alone, from the seed and the member's number, so
neither the number of threads nor the order of blocks can change them. Its day counter is the
run's: day 365 is 1 January of the itinerary's first year.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np
import numpy.typing as npt

from flatodds.sun import DAYS
from flatodds.weather.contract import NAMES, SKY
from flatodds.weather.moisture import clearness_scores
from flatodds.weather.tables import WINDOW_DAYS, yearly_course

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Key = tuple[np.uint64, np.uint64]  # the two words of the seed

LEAST_COURSE = 0.02  # of the brightest season's sun, below which days are not told apart; judgement
RARE_YEARS = 10  # fewer real years rarely hold a bad winter; judgement


class HoursOfYears(Protocol):
    """Several real years of hours, (year, 365, 24) each, as the readers give them."""

    @property
    def years(self) -> tuple[int, ...]: ...  # noqa: D102
    @property
    def ghi(self) -> Floats: ...  # noqa: D102  [W/m2]
    @property
    def dni(self) -> Floats: ...  # noqa: D102  [W/m2]
    @property
    def dhi(self) -> Floats: ...  # noqa: D102  [W/m2]
    @property
    def temp_air(self) -> Floats: ...  # noqa: D102  [degC]
    @property
    def wind_speed(self) -> Floats: ...  # noqa: D102  [m/s]


class Ensemble(Protocol):
    """Weather years that members take their hours from.

    Attributes
    ----------
    years : tuple of int
        Calendar years behind it.
    """

    @property
    def years(self) -> tuple[int, ...]: ...  # noqa: D102

    def hours(self, first_day: int, days: int, members: Ints, key: Key) -> Floats:
        """Hours of some days of some members, (member, 24 * day, 5), rows as `NAMES`."""
        ...

    def scores(self, first_day: int, days: int, members: Ints, key: Key) -> Floats:
        """Tell the clearness scores of the same days, (member, day) [1]."""
        ...

    def mean_temp_c(self, doy: int) -> float:
        """Mean air temperature of a day of the year [degC]."""
        ...


@dataclass(frozen=True, slots=True)
class RealYears:
    """Years as they were: member i begins in year i modulo their number.

    A stay that crosses New Year goes on in the year that followed; after the last year comes
    the first, the one place where two years meet that never did.

    Attributes
    ----------
    days : ndarray, (year * 365, 24, 5)
        Hours in the order of `NAMES`, years one after the other.
    years : tuple of int
        Calendar years, each following the one before.
    score : ndarray, (year * 365,)
        Clearness score of each day among those of its season [1].
    """

    days: Floats
    years: tuple[int, ...]
    score: Floats

    def hours(self, first_day: int, days: int, members: Ints, key: Key) -> Floats:
        """As `Ensemble.hours`; nothing is drawn, so the key is not used."""
        del key
        rows = self._rows(first_day, days, members)
        return self.days[rows].reshape(len(members), 24 * days, SKY)

    def scores(self, first_day: int, days: int, members: Ints, key: Key) -> Floats:
        """As `Ensemble.scores`."""
        del key
        return self.score[self._rows(first_day, days, members)]

    def _rows(self, first_day: int, days: int, members: Ints) -> Ints:
        """Real day that each member lives on each day, (member, day)."""
        year, doy = np.divmod(first_day + np.arange(days), DAYS)
        return (members[:, None] + year - 1) % len(self.years) * DAYS + doy

    def mean_temp_c(self, doy: int) -> float:
        """Mean over the years [degC]."""
        return float(self.days[doy::DAYS, :, NAMES.index("temp_air")].mean())

    def only(self, years: Sequence[int]) -> RealYears:
        """Keep some of the years, which must follow each other."""
        keep = [self.years.index(year) for year in years]
        by_year = self.days.reshape(len(self.years), DAYS, 24, SKY)[keep]
        score = self.score.reshape(len(self.years), DAYS)[keep].ravel()
        return replace(self, days=by_year.reshape(-1, 24, SKY), years=tuple(years), score=score)


def real_years(record: HoursOfYears) -> RealYears:
    """Ensemble of a record's years as they were."""
    columns = [getattr(record, name) for name in NAMES]
    days = np.stack(columns, axis=-1).reshape(-1, 24, SKY)
    return RealYears(days, record.years, day_scores(record.ghi.sum(axis=2)))


def day_scores(ghi_wh_m2: Floats) -> Floats:
    """Score the clearness of every day of a record, (year * 365,).

    Parameters
    ----------
    ghi_wh_m2 : ndarray, (year, 365)
        Daily global irradiation; its season is taken out by the record's own yearly course.
    """
    course = yearly_course(ghi_wh_m2.mean(axis=0))
    least = LEAST_COURSE * course.max() + 1e-9
    return clearness_scores(ghi_wh_m2 / np.maximum(course, least), WINDOW_DAYS, around=True).ravel()


def common_years(ensembles: Sequence[RealYears]) -> tuple[int, ...]:
    """Calendar years that every one of some ensembles holds, in order."""
    shared = set.intersection(*(set(ensemble.years) for ensemble in ensembles))
    return tuple(sorted(shared))
