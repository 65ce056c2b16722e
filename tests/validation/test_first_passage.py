"""Days left against first-passage probabilities, and the tower law.

Square sun (see `square_sun`): a bank of N days' load, a sun day brings two days' load, a cloud
day none. The chance to run short by a day is that of a walk between two barriers, by its
transition matrix (W. Feller, An Introduction to Probability Theory and Its Applications, vol. 1,
chapter XIV); with Markov weather the matrix holds the weather too.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import pytest

from flatodds import Scenario
from flatodds.studies.days_left import days_left
from flatodds.studies.grid import Axis
from flatodds.studies.sweep import sweep

if TYPE_CHECKING:
    from tests.validation import square_sun as sq
else:
    import square_sun as sq

pytestmark = [pytest.mark.validation, pytest.mark.usefixtures("estimate_taken_for_exact")]

Floats = npt.NDArray[np.float64]
MEMBERS = 8192


def short_by(bank: int, start: int, stay_sun: float, stay_cloud: float, days: int) -> Floats:
    """Chance of a shortage by the end of each day, (day,).

    Weather is a Markov chain that keeps to sun or cloud with these chances and begins in its
    long-run mix; yields are 2 and 0 days' load, the load is 1.
    """
    sunny = (1 - stay_cloud) / (2 - stay_sun - stay_cloud)
    mass = np.zeros((2, bank + 1))  # (cloud or sun of the day before, units in the bank)
    mass[:, start] = (1 - sunny, sunny)
    lost, found = 0.0, []
    for _ in range(days):
        cloud = mass[0] * stay_cloud + mass[1] * (1 - stay_sun)
        sun = mass[0] * (1 - stay_cloud) + mass[1] * stay_sun
        lost += cloud[0]
        mass = np.zeros_like(mass)
        mass[0, :-1] = cloud[1:]
        mass[1, 1:] = sun[:-1]
        mass[1, -1] += sun[-1]
        found.append(lost)
    return np.array(found)


def sun_days(stay_sun: float, stay_cloud: float, days: int) -> npt.NDArray[np.int64]:
    """Units of sun of each member and day: 2 or 0."""
    rng = np.random.default_rng(3)
    sunny = (1 - stay_cloud) / (2 - stay_sun - stay_cloud)
    now = rng.random(MEMBERS) < sunny
    units = []
    for _ in range(days):
        keep = rng.random(MEMBERS) < np.where(now, stay_sun, stay_cloud)
        now = np.where(keep, now, ~now)
        units.append(2 * now)
    return np.stack(units, axis=1)


@pytest.mark.parametrize(
    ("stay_sun", "stay_cloud", "start"), [(0.5, 0.5, 6), (0.6, 0.4, 3), (0.8, 0.7, 8)]
)
def test_first_passage(stay_sun: float, stay_cloud: float, start: int) -> None:
    nights, bank = 30, 10
    rig = sq.Rig(amp_hours=sq.UNIT_AH * bank, watts=sq.ARRAY_W, nights=1, more=sq.SIX_HOURS)
    found = days_left(
        rig.scenario(),
        start / bank,
        nights=nights,
        charge_error_frac=0.0,
        weather=sq.square_weather(sun_days(stay_sun, stay_cloud, nights + 1)),
        members=MEMBERS,
    )
    wanted = short_by(bank, start, stay_sun, stay_cloud, nights)
    through = [night["estimate"] for night in found.through()]
    for night in range(nights):
        p = wanted[night]
        assert 1.0 - through[night] == pytest.approx(p, abs=sq.sampling(p, MEMBERS) + 1e-12)
    for name, level in (("p10", 0.9), ("p50", 0.5), ("p90", 0.1)):
        exact = next((n for n in range(nights) if 1 - wanted[n] < level), None)
        told = found.lasts()[name]
        assert (told is None) == (exact is None) or abs(1 - wanted[-1] - level) < 0.02
        if told is not None and exact is not None:
            assert abs(told - exact) <= 2  # the chance falls by a point or two a night


def test_equal_odds_over_a_grid_of_banks() -> None:
    """Every bank of a sweep, lived in one pass, has the chance of its own walk."""
    nights, sizes = 60, tuple(range(3, 13))
    rig = sq.Rig(
        amp_hours=sq.UNIT_AH,
        arrival_charge_frac=1.0,
        watts=sq.ARRAY_W,
        nights=nights,
        more=sq.SIX_HOURS,
    )
    found = sweep(
        rig.scenario(),
        [Axis("bank.amp_hours", tuple(sq.UNIT_AH * size for size in sizes))],
        weather=sq.square_weather(sun_days(0.6, 0.4, nights)),
        members=MEMBERS,
    )
    for size, chance in zip(sizes, found.odds, strict=True):
        exact = short_by(size, size, 0.6, 0.4, nights)[-1]
        assert chance == pytest.approx(exact, abs=sq.sampling(exact, MEMBERS))
    # The matrix itself against values worked out apart, 90 days from full.
    assert short_by(5, 5, 0.6, 0.4, 90)[-1] == pytest.approx(0.50272, abs=5e-6)
    assert short_by(10, 10, 0.6, 0.4, 90)[-1] == pytest.approx(0.05309, abs=5e-6)


def test_tower_law(trailer: Scenario) -> None:
    """The outlooks after dull, mixed and clear days, a third each, make up the plain one."""
    members = 3072
    each = {}
    for word in ("dull", "mixed", "clear", None):
        found = days_left(
            trailer, 0.6, nights=14, lately=word, charge_error_frac=0.0, members=members
        )
        each[word] = np.array([night["estimate"] for night in found.through()])
    mean = (each["dull"] + each["mixed"] + each["clear"]) / 3.0
    for night in range(14):
        p = each[None][night]
        both = sq.sampling(p, members) * np.sqrt(1.0 + 1.0 / 3.0)  # two independent estimates
        assert mean[night] == pytest.approx(p, abs=both + 1e-3)
    worst = (each["clear"] - each["dull"]).max()
    assert worst > 0.05  # and knowing the weather does tell something
    assert (each["clear"] >= each["dull"] - 0.02).all()


def test_the_charge_as_read_is_spread(trailer: Scenario) -> None:
    sure = days_left(trailer, 0.6, nights=6, charge_error_frac=0.0, members=256)
    spread = days_left(trailer, 0.6, nights=6, charge_error_frac=0.15, members=256)
    assert len(spread.flat_by()[1]) == 5 * len(sure.flat_by()[1])
    assert spread.flat_by()[1].sum() == pytest.approx(1.0)
    flat, _ = spread.flat_by()
    assert np.array_equal(flat[0], sure.flat_by()[0][0])  # the first charge is the one read
    as_estimated = flat.reshape(5, -1, *flat.shape[1:])[:, 0]  # of the cases of each charge
    by_charge = as_estimated[[1, 2, 0, 3, 4]].any(axis=2).mean(axis=1)  # lowest to highest
    assert (np.diff(by_charge) <= 0.0).all()
    assert by_charge[0] > by_charge[-1]
