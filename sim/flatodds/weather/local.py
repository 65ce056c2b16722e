"""Monthly values the user knows: the world grid's days, made to match them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from flatodds.errors import Problem, WeatherError
from flatodds.weather.climate import MAX_K, h0_by_month, world_quantiles
from flatodds.weather.tables import (
    MIN_H0_WH_M2,
    MIN_K,
    PROBABILITY,
    Floats,
    MonthlyK,
)

# Share of extraterrestrial sun that a month can have on average. Lowest and highest monthly K
# of 15 station records: .18 (De Bilt, December) and .73 (Maricopa, May); widened, judgement.
POSSIBLE_K = (0.08, 0.82)
# Yearly sum over the world grid's beyond which month order, hemisphere or unit may be wrong;
# the grid itself was off by up to 68 % at one of 15 places. Judgement.
UNLIKE_GRID = (0.6, 1.5)
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def local_quantiles(
    latitude: float, longitude: float, sun_kwh_m2: Sequence[float], where: str
) -> MonthlyK:
    """Monthly distribution of daily clearness whose means are the user's.

    Parameters
    ----------
    sun_kwh_m2 : sequence of 12 float
        Mean global horizontal irradiation of a day of each month [kWh/m2].
    where : str
        What to call the place in messages.

    Raises
    ------
    WeatherError
        A month has more or less sun than it can have, or the grid is empty here.
    """
    wanted = 1000.0 * np.asarray(sun_kwh_m2, dtype=np.float64)
    h0 = h0_by_month(latitude)
    _check(wanted, h0, where)
    grid = world_quantiles(latitude, longitude)
    mean_k = np.trapezoid(grid.quantiles, PROBABILITY, axis=1)
    ratio = wanted / np.maximum(mean_k * h0, 1.0)
    ratio = np.where(h0 >= MIN_H0_WH_M2, ratio, 1.0)
    return MonthlyK(np.clip(grid.quantiles * ratio[:, None], MIN_K, MAX_K), wanted)


def _check(wanted: Floats, h0: Floats, where: str) -> None:
    """Refuse months that no sky can give."""
    lit = h0 >= MIN_H0_WH_M2
    low, high = (share * h0 for share in POSSIBLE_K)
    bad = [m for m in range(12) if lit[m] and not low[m] <= wanted[m] <= high[m]]
    if not bad:
        return
    m = bad[0]
    in_mj = all(low[i] <= wanted[i] / 3.6 <= high[i] for i in range(12) if lit[i])
    hint = "Sun on the level, kWh per m2 and day, January first."
    if in_mj:
        hint = "These look like MJ: divide each by 3.6."
    raise WeatherError(
        Problem(
            where,
            f"monthly_sun_kwh_m2 has {wanted[m] / 1000:g} for {MONTHS[m]}; "
            f"{low[m] / 1000:.1f} to {high[m] / 1000:.1f} is possible there. "
            f"{len(bad)} such months in all.",
            hint,
        )
    )


def unlike_grid(latitude: float, longitude: float, k: MonthlyK) -> str | None:
    """Caution where the user's year is far from the world grid's."""
    ratio = float(k.ghi_wh_m2.sum() / world_quantiles(latitude, longitude).ghi_wh_m2.sum())
    if UNLIKE_GRID[0] <= ratio <= UNLIKE_GRID[1]:
        return None
    return (
        f"Your monthly sun adds up to {ratio:.1f} times the worldwide estimate: "
        "check that it is kWh per m2 and day on the level, January first."
    )
