"""Sweeps against outside values: loss-of-load sizing, and lines of equal odds.

*Sizing*: share of energy not served of a year at Greensboro for arrays that give 0.8 to 1.5
times the load of the mean December day (2.243 kWh/m2) and banks of half a day to five days'
load, after the terms of M. Egido and E. Lorenzo, "The sizing of stand alone PV-systems: a review
and a proposed new method", Solar Energy Materials and Solar Cells 26, 1992. Values: own daily
balance of the packaged year's light, run twice and the second year counted, tolerance 0.0005.

*Equal odds*: a store of N days' load that gains a day's load with chance p and else loses one
is short on a share (1 - p)(1 - r) / (1 - r^(N+1)) of days, r = p / (1 - p) (gambler's ruin
with one absorbing side reflected: W. Feller, An Introduction to Probability Theory and Its
Applications, vol. 1, chapter XIV).
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import pytest

from flatodds import Axis, Sweep, sweep
from flatodds.weather.readers import read_weather

if TYPE_CHECKING:
    from tests.validation import square_sun as sq
else:
    import square_sun as sq

pytestmark = pytest.mark.validation

Floats = npt.NDArray[np.float64]
LOAD_WH, DECEMBER_KWH_M2 = 1152.0, 2.243
DIM = 0.5  # a day's light falls in six hours: dimmed to what the sun can do, on more panels
OF_ARRAY, OF_STORE = (0.8, 1.0, 1.5), (0.5, 1.0, 2.0, 3.0, 5.0)
NOT_SERVED = (
    (0.0553, 0.0476, 0.0423, 0.0396, 0.0341),
    (0.0251, 0.0157, 0.0070, 0.0035, 0.0),
    (0.0056, 0.0020, 0.0, 0.0, 0.0),
)


def test_sizing_at_greensboro() -> None:
    import pvlib

    year = read_weather(Path(pvlib.__file__).parent / "data" / "723170TYA.CSV")
    day_kwh_m2 = year.ghi.sum(axis=1) / 1000.0
    assert day_kwh_m2[334:].mean() == pytest.approx(DECEMBER_KWH_M2, abs=5e-4)
    light = np.zeros((730, 24))
    light[:, sq.FIRST_HOUR : sq.FIRST_HOUR + sq.LOAD_H] = np.tile(
        DIM * 1000.0 * day_kwh_m2 / sq.LOAD_H, 2
    )[:, None]
    table = sq.weather({"ghi": light.ravel()[None], "dhi": light.ravel()[None]}, 730 * 24)
    rig = sq.Rig(
        arrival_charge_frac=1.0,
        first_day="1 Jul",  # full in July, as if the year before had been lived
        nights=365,
        more=sq.SIX_HOURS,
    )
    watts = tuple(share * LOAD_WH / DECEMBER_KWH_M2 / DIM for share in OF_ARRAY)
    amp_hours = tuple(share * LOAD_WH / 12.0 for share in OF_STORE)
    found = sweep(
        rig.scenario(),
        [Axis("array.watts", watts), Axis("bank.amp_hours", amp_hours)],
        weather=table,
        members=1,
    )
    rows = found.summary()["designs"]
    share = np.array([row["did_without_kwh"] for row in rows]) / (365 * LOAD_WH / 1000.0)
    assert share.reshape(3, 5) == pytest.approx(np.array(NOT_SERVED), abs=0.0005)


MEMBERS, SETTLE, DAYS = 1024, 150, 210
CHANCES, BANKS = (0.5, 0.55, 0.6), tuple(range(2, 12))
LEVELS = (0.02, 0.04, 0.08)


def short_share(p: float, bank: Floats) -> Floats:
    """Share of days that are short, for a bank of any size, (bank,)."""
    if p == 0.5:
        return np.asarray(0.5 / (bank + 1.0))
    r = p / (1.0 - p)
    return np.asarray((1.0 - p) * (1.0 - r) / (1.0 - r ** (bank + 1.0)))


def lived(p: float) -> Sweep:
    """Sweep of banks over independent days, 150 nights to settle and 210 that count."""
    rig = sq.Rig(
        amp_hours=sq.UNIT_AH, arrival_charge_frac=1.0, watts=sq.ARRAY_W, more=sq.SIX_HOURS
    ).scenario()
    written = rig.document["stay"]
    stay = dict(written if isinstance(written, dict) else written[0])
    stays = [
        {**stay, "first_day": "1 Jan", "nights": SETTLE},
        {**stay, "first_day": "31 May", "nights": DAYS},
    ]
    rng = np.random.default_rng(int(1000 * p))
    units = 2 * (rng.random((MEMBERS, SETTLE + DAYS + 1)) < p).astype(np.int64)
    return sweep(
        rig.with_changes({"stay": stays}),
        [Axis("bank.amp_hours", tuple(sq.UNIT_AH * size for size in BANKS))],
        weather=sq.square_weather(units),
        members=MEMBERS,
    )


@pytest.mark.parametrize("p", CHANCES)
def test_lines_of_equal_odds(p: float) -> None:
    """Every bank's share of short days, and where it crosses 2, 4 and 8 of 100 days."""
    found = lived(p)
    shares = []
    for size, one in zip(BANKS, found.lived, strict=True):
        mean, tolerance = sq.mean_and_tolerance(one.amounts["nights_flat"][:, 1] / DAYS)
        assert mean == pytest.approx(float(short_share(p, np.array([size]))[0]), abs=tolerance)
        shares.append(mean)
    fine = np.linspace(BANKS[0], BANKS[-1], 2001)
    for level in LEVELS:
        exact = short_share(p, fine)
        if not exact[-1] < level < exact[0]:
            continue
        crossing = np.interp(-np.log(level), -np.log(exact), fine)
        seen = np.interp(-np.log(level), -np.log(shares), BANKS)
        assert seen == pytest.approx(crossing, abs=0.15)  # of a day's load
