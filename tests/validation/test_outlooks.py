"""The tower law of outlooks: averaged over what the last days may have brought, they are `run`.

Histories of three days' sun are drawn from the generator's own state, with the error that
people's figures have. The outlook after each is conditioned by the filter; their mean must be
the outlook of which nothing is known.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest

from flatodds import Scenario, days_left
from flatodds.engine.plan import make_plan
from flatodds.scenario.dates import LENGTHS
from flatodds.weather.lately import Z_GRID, score_of
from flatodds.weather.synthetic import CEILING, SyntheticTables

pytestmark = [pytest.mark.validation, pytest.mark.usefixtures("estimate_taken_for_exact")]

NIGHTS, HISTORIES, MEMBERS = 10, 48, 256
FIRST_DOY = sum(LENGTHS[:10]) + 23


def histories(tables: SyntheticTables) -> list[list[float]]:
    """Sun of the three days before the first, drawn in pairs that mirror each other [kWh/m2]."""
    rng = np.random.default_rng(5)
    half = rng.standard_normal((HISTORIES // 2, 4, 3))
    noise = rng.standard_normal((HISTORIES // 2, 3))
    year = float(tables.year_weight[0])
    found = []
    for start, error in zip(
        np.concatenate([half, -half]), np.concatenate([noise, -noise]), strict=True
    ):
        x, y, lasting = start[0]
        suns = []
        for k, doy in enumerate(range(FIRST_DOY - 3, FIRST_DOY)):
            a, b, w = (
                float(table[doy]) for table in (tables.fast, tables.slow, tables.slow_weight)
            )
            x = a * x + np.sqrt(1.0 - a * a) * start[k + 1, 0]
            y = b * y + np.sqrt(1.0 - b * b) * start[k + 1, 1]
            parts = ((1.0 - year) * (1.0 - w), (1.0 - year) * w, year)
            score = float(np.sqrt(parts) @ (x, y, lasting))
            score += float(np.sqrt(score_of(tables, doy, sun_of(tables, doy, score))[1])) * error[k]
            suns.append(sun_of(tables, doy, score))
        found.append(suns)
    return found


def sun_of(tables: SyntheticTables, doy: int, score: float) -> float:
    clearness = np.interp(score, Z_GRID, np.asarray(tables.k_by_z[doy], dtype=np.float64))
    most = CEILING * float(tables.clear_wh_m2[doy])  # nobody tells of more
    return min(float(clearness * tables.h0_wh_m2[doy]), most) / 1000.0


def test_outlooks_average_to_the_plain_one(trailer: Scenario) -> None:
    plan = make_plan(trailer)
    tables = SyntheticTables(*[np.asarray(v, dtype=np.float64) for v in plan.stays[0].tables])
    each = []
    for at, suns in enumerate(histories(tables)):
        found = days_left(
            trailer,
            0.6,
            nights=NIGHTS,
            lately=suns,
            charge_error_frac=0.0,
            members=MEMBERS,
            seed=100 + at,
        )
        each.append([night["estimate"] for night in found.through()])
    outlooks: npt.NDArray[np.float64] = np.array(each)
    plain = days_left(trailer, 0.6, nights=NIGHTS, charge_error_frac=0.0, members=8192)
    mean = outlooks.mean(axis=0)
    pairs = 0.5 * (outlooks[: HISTORIES // 2] + outlooks[HISTORIES // 2 :])
    error = pairs.std(axis=0, ddof=1) / np.sqrt(len(pairs))
    for night, wanted in enumerate(plain.through()):
        p = wanted["estimate"]
        both = np.hypot(error[night], np.sqrt(p * (1.0 - p) / 8192))
        assert mean[night] == pytest.approx(p, abs=3.29 * both + 1e-3)
    assert np.ptp(outlooks[:, 4]) > 0.10  # and what the days were like does tell something
