"""What the last days say about the next: the generator's state, given the sun of late.

The generator's score z of a day is a weighted sum of a fast and a slow first-order
autoregression and of what lasts all year [1]_, so the three are a linear Gaussian state that z
shows, and a three-state Kalman filter [2]_ gives their distribution after some days of known
sun. Members then start from draws out of that distribution instead of knowing nothing.

A word instead of numbers ("dull", "mixed", "clear") says in which third the mean score of the
last three days lies, of all such three days at that time of year. The mean is drawn from that
third and the state given the mean, which is exact; the three words together are again the
state of which nothing is known.

References
----------
.. [1] See `flatodds.weather.synthetic`.
.. [2] R. E. Kalman, "A new approach to linear filtering and prediction problems", Journal of
   Basic Engineering 82(1), 35-45, 1960.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from flatodds.errors import Problem, UsageError
from flatodds.sun import DAYS
from flatodds.weather.resampled import uniforms
from flatodds.weather.synthetic import (
    CEILING,
    STATE,
    STREAM_YEAR,
    YEAR,
    Z_LIMIT,
    Z_NODES,
    SyntheticTables,
    T,
    W,
    X,
    Y,
    Z,
)

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

STREAM_LATELY = np.uint64(4)
WORDS = ("dull", "mixed", "clear")
WORD_DAYS = 3  # days that a word speaks of: the fast part forgets in about two; own choice
MOST_DAYS = 60  # the slow part forgets in some 12 days; more says nothing more
SUN_ERROR_FRAC = 0.10  # of a day's sun as people know it, sd; judgement, no source
MOST_SCORE = 3.0  # days beyond 1 in 700 count as that; keeps the noise of a score finite
Z_GRID = np.linspace(-Z_LIMIT, Z_LIMIT, Z_NODES)


@dataclass(frozen=True, slots=True)
class Known:
    """Distribution of (fast, slow, year) on the eve of the first day.

    Attributes
    ----------
    mean : (3,)
        Mean; with a third, its value where the last days' mean score is at its own mean.
    covariance : (3, 3)
        Of what stays unknown.
    gain : (3,)
        Change of the mean for each standard deviation of the last days' mean score.
    third : int or None
        Which third of its distribution that mean score lies in, 0 the dullest.
    shows : (3,)
        How that day's score is made of the three.
    """

    mean: Floats
    covariance: Floats
    gain: Floats
    third: int | None
    shows: Floats

    def states(self, members: Ints, key: tuple[np.uint64, np.uint64]) -> Floats:
        """Draw latent states of some members, (STATE, member)."""
        from scipy.special import ndtri

        x, y, t, w = (ndtri(u) for u in uniforms(0, STREAM_LATELY, members, key))
        mean = np.repeat(self.mean[:, None], len(members), axis=1)
        if self.third is not None:
            which = uniforms(1, STREAM_LATELY, members, key)[0]
            mean = mean + np.outer(self.gain, ndtri((self.third + which) / 3.0))
        year = ndtri(uniforms(0, STREAM_YEAR, members, key)[0])
        parts = mean + _root(self.covariance) @ np.stack([x, y, year])
        state = np.empty((STATE, len(members)))
        state[X], state[Y], state[YEAR] = parts
        state[Z] = self.shows @ parts
        state[T], state[W] = t, w
        return state


def _root(covariance: Floats) -> Floats:
    """Lower triangular root of a covariance, which may be singular."""
    root = np.zeros_like(covariance)
    for i in range(len(root)):
        left = covariance[i:, i] - root[i:, :i] @ root[i, :i]
        first = np.sqrt(max(left[0], 0.0))
        root[i:, i] = left / first if first > 1e-9 else 0.0
    return root


def check_word(word: str) -> None:
    """Refuse a word that tells nothing of the last days.

    Raises
    ------
    UsageError
        If it is none of `WORDS`.
    """
    if word not in WORDS:
        offered = ", ".join(WORDS)
        found = f"{word[:40]!r} is not offered; use {offered}."
        raise UsageError(Problem("lately", found, "Or tell their sun: --sun-lately 0.8,1.1,0.6"))


def after_word(tables: SyntheticTables, first_doy: int, word: str) -> Known:
    """State on the eve of a day, after days that a word tells of.

    Raises
    ------
    UsageError
        If it is none of `WORDS`.
    """
    check_word(word)
    days = _days_before(first_doy, WORD_DAYS)
    scores, ending = _paths(tables, days)
    mean_score = scores.mean(axis=0)
    variance = float(mean_score @ mean_score)
    covariance = ending @ mean_score
    gain = covariance / np.sqrt(variance)
    left = ending @ ending.T - np.outer(gain, gain)
    return _known(tables, days, np.zeros(3), left, gain, WORDS.index(word))


def after_sun(tables: SyntheticTables, first_doy: int, sun_kwh_m2: Sequence[float]) -> Known:
    """State on the eve of a day, after days whose sun on the level is known.

    Parameters
    ----------
    tables : SyntheticTables
        Of the place.
    first_doy : int
        Day of the year, 0 to 364, on whose eve the state is wanted.
    sun_kwh_m2 : sequence of float
        Sun of the days before it, the latest last [kWh/m2].

    Raises
    ------
    UsageError
        If there are too many days, or a day has more sun than there is.
    """
    if not 1 <= len(sun_kwh_m2) <= MOST_DAYS:
        raise UsageError(
            Problem("sun lately", f"{len(sun_kwh_m2)} days are given.", f"Give 1 to {MOST_DAYS}.")
        )
    days = _days_before(first_doy, len(sun_kwh_m2))
    _check_sun(tables, days, sun_kwh_m2)
    seen = [score_of(tables, int(d), float(s)) for d, s in zip(days, sun_kwh_m2, strict=True)]
    mean, covariance = kalman(tables, days, np.array([z for z, _ in seen]), [n for _, n in seen])
    return _known(tables, days, mean, covariance, np.zeros(3), None)


def unknown(tables: SyntheticTables, first_doy: int) -> Known:
    """State on the eve of a day when nothing is known of the days before."""
    days = _days_before(first_doy, 1)
    return _known(tables, days, np.zeros(3), np.eye(3), np.zeros(3), None)


def kalman(
    tables: SyntheticTables, days: Ints, scores: Floats, noise: Sequence[float]
) -> tuple[Floats, Floats]:
    """Filter the fast, the slow and the yearly part through days with seen scores.

    Parameters
    ----------
    tables : SyntheticTables
    days : Ints
        Days of the year, (day,).
    scores : Floats
        Score seen on each day, (day,) [1].
    noise : sequence of float
        Variance of the error of each, (day,) [1].

    Returns
    -------
    tuple
        Mean (3,) and covariance (3, 3) after the last day.
    """
    mean, covariance = np.zeros(3), np.eye(3)
    for doy, score, error in zip(days, scores, noise, strict=True):
        keep = np.diag([tables.fast[doy], tables.slow[doy], 1.0])
        mean = keep @ mean
        covariance = keep @ covariance @ keep + np.eye(3) - keep @ keep
        shows = _shows(tables, int(doy))
        gain = covariance @ shows / (shows @ covariance @ shows + error)
        mean = mean + gain * (score - shows @ mean)
        covariance = covariance - np.outer(gain, shows @ covariance)
    return mean, 0.5 * (covariance + covariance.T)


def score_of(tables: SyntheticTables, doy: int, sun_kwh_m2: float) -> tuple[float, float]:
    """Score of a day with so much sun, and the variance of its error [1]."""
    row = np.maximum.accumulate(tables.k_by_z[doy])
    clearness = 1000.0 * sun_kwh_m2 / float(tables.h0_wh_m2[doy])
    score = float(np.clip(np.interp(clearness, row, Z_GRID), -MOST_SCORE, MOST_SCORE))
    ends = np.interp([score - 0.25, score + 0.25], Z_GRID, row)
    slope = max(float(ends[1] - ends[0]) / 0.5, 1e-3)
    return score, (SUN_ERROR_FRAC * clearness / slope) ** 2


def _days_before(first_doy: int, count: int) -> Ints:
    return (first_doy - count + np.arange(count)) % DAYS


def _shows(tables: SyntheticTables, doy: int) -> Floats:
    """How the score of a day is made of the fast, the slow and the yearly part, (3,)."""
    slow, year = float(tables.slow_weight[doy]), float(tables.year_weight[0])
    return np.sqrt([(1.0 - year) * (1.0 - slow), (1.0 - year) * slow, year])


def _paths(tables: SyntheticTables, days: Ints) -> tuple[Floats, Floats]:
    """Scores (day, n) and last state (3, n) as sums of n independent normal numbers."""
    count = 3 * (len(days) + 1)
    state = np.zeros((3, count))
    state[:, :3] = np.eye(3)
    scores = []
    for k, doy in enumerate(days, 1):
        keep = np.array([tables.fast[doy], tables.slow[doy], 1.0])
        state = keep[:, None] * state
        state[:, 3 * k : 3 * k + 3] += np.diag(np.sqrt(1.0 - keep**2))
        scores.append(_shows(tables, int(doy)) @ state)
    return np.array(scores), state


def _known(
    tables: SyntheticTables,
    days: Ints,
    mean: Floats,
    covariance: Floats,
    gain: Floats,
    third: int | None,
) -> Known:
    return Known(
        mean=mean,
        covariance=covariance,
        gain=gain,
        third=third,
        shows=_shows(tables, int(days[-1])),
    )


def _check_sun(tables: SyntheticTables, days: Ints, sun_kwh_m2: Sequence[float]) -> None:
    """Refuse days with less than no sun, or more than a clear sky gives; all at once."""
    problems = []
    for doy, sun in zip(days, sun_kwh_m2, strict=True):
        most = CEILING * float(tables.clear_wh_m2[doy]) / 1000.0
        if not 0.0 <= sun <= most:
            problems.append(
                Problem(
                    "sun lately",
                    f"{sun:g} kWh/m2 is outside 0 to {most:.2g}, the most of a day then and there.",
                    "Give each day's sun on the level in kWh/m2, the latest last.",
                )
            )
    if problems:
        raise UsageError(problems)
