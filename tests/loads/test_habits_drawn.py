"""Uses as drawn: means and spreads, others left alone, hours away, and peaks at the minute."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt
import pytest

from flatodds.catalog import appliances
from flatodds.lanes import LANES, kernel
from flatodds.loads.appliances import (
    ENERGY_ROWS,
    NEEDS,
    NEVER_H,
    PEAK_W,
    Away,
    Uses,
    UseSpec,
    draw_uses,
    use_slots,
)
from flatodds.loads.coincidence import LEVELS, peak_hours
from flatodds.loads.often import how_often
from flatodds.loads.reach import CROSSES, RUNS_IN, STARTS_IN, find_reach

Floats = npt.NDArray[np.float64]
KEY: Any = (np.uint64(7), np.uint64(11))
K0, K1 = KEY
DAYS = 250


@kernel
def drawn_day(
    uses: Uses, day: int, shift_h: float, wet: Any, energy: Any, wanted: Any, runs: Any
) -> None:
    """Draw one day for the first block of members."""
    reach = np.empty((3, uses.slots.shape[0]), np.int64)
    find_reach(uses, shift_h, reach)
    draw_uses(uses, day, 0, shift_h, 0, K0, K1, reach[RUNS_IN], wet, energy, wanted, runs)


@kernel
def peaks_of(uses: Uses, shift_h: float, runs: Any, inputs: Any) -> None:
    """Find the peaks of one day."""
    reach = np.empty((3, uses.slots.shape[0]), np.int64)
    find_reach(uses, shift_h, reach)
    peak_hours(uses, reach, runs, True, 0, inputs)


@kernel
def reach_of(uses: Uses, shift_h: float, reach: Any) -> None:
    """Find the hours that each slot can reach."""
    find_reach(uses, shift_h, reach)


def spec(
    name: str, watts: float, minutes: float, *windows: tuple[float, float], **more: Any
) -> UseSpec:
    words = {"times": 1.0, "sd": 0.0, "need": 0, "is_ac": True, "steady": False, **more}
    return UseSpec(
        name=name,
        watts=watts,
        hours=minutes / 60.0,
        times_a_day=words["times"],
        times_a_day_weekend=words.get("weekend", words["times"]),
        times_sd=words["sd"],
        windows=windows,
        need=words["need"],
        is_ac=words["is_ac"],
        steady=words["steady"],
        running_w=words.get("running_w", watts),
        surge_w=words.get("surge_w", 0.0),
        away=words.get("away"),
        wet_day_factor=words.get("wet_day_factor", 1.0),
    )


class Drawn:
    """Days of a household: energy by appliance, day, hour and lane, and runs followed.

    Rain falls on every member of an even number where `showers`.
    """

    def __init__(
        self,
        specs: list[UseSpec],
        days: int = DAYS,
        shift_h: float = 0.0,
        showers: bool = False,
    ) -> None:
        wet = showers * (np.arange(LANES) % 2 == 0).astype(float)
        self.uses = use_slots(specs)
        shape = (len(specs), ENERGY_ROWS, LANES)
        self.energy = np.zeros((days, *shape))
        self.wanted = np.zeros((days, len(specs), LANES))
        self.runs = np.full((days, 4, len(self.uses.slots), LANES), NEVER_H)
        for day in range(days):
            drawn_day(
                self.uses,
                day,
                np.float64(shift_h),
                wet,
                self.energy[day],
                self.wanted[day],
                self.runs[day],
            )


COFFEE = spec("coffee", 1000.0, 9.0, (6.0, 9.0), times=1.0, sd=0.4)
MICROWAVE = spec("microwave", 1050.0, 6.0, (7.0, 9.0), (12.0, 13.0), times=1.5, sd=1.0)
LAPTOP = spec("laptop", 55.0, 60.0, (8.0, 18.0), times=5.0, weekend=2.0, sd=2.0, is_ac=False)


@pytest.mark.parametrize("one", [COFFEE, MICROWAVE, LAPTOP])
def test_runs_a_day_have_the_spread_asked_for(one: UseSpec) -> None:
    runs = Drawn([one]).wanted[:, 0] / (one.watts * one.hours)
    weekend = (np.arange(DAYS)[:, None] + np.arange(LANES)[None, :]) % 7 >= 5
    assert runs[~weekend].std() == pytest.approx(one.times_sd, abs=0.2)


def test_the_catalogue_s_means_and_spreads_are_drawn() -> None:
    """Every appliance that runs by the clock, on weekdays, to 3 % of the spread."""
    items = [item for item in appliances().values() if item.kind == "uses"]
    assert len(items) > 35
    specs = [
        spec(
            item.name,
            1000.0,
            item.minutes,
            *item.windows,
            times=item.times_a_day,
            sd=item.times_sd,
        )
        for item in items
    ]
    drawn = Drawn(specs, 150).wanted
    for a, item in enumerate(items):
        runs = drawn[:, a] / (1000.0 * item.minutes / 60.0)
        error = item.times_sd / runs.size**0.5
        assert runs.mean() == pytest.approx(item.times_a_day, abs=4.5 * error + 1e-9), item.name
        near = max(0.03 * item.times_sd, 1e-6) if item.times_sd > 0.2 else 0.02
        assert runs.std() == pytest.approx(item.times_sd, abs=near), item.name


@pytest.mark.parametrize("sd", [0.0, 0.7, 1.3, 2.5])
@pytest.mark.parametrize("mean", [0.3, 1.0, 2.5, 7.9, 40.0])
def test_chances_give_mean_and_spread(mean: float, sd: float) -> None:
    """From few uncertain runs to days of much and little, by sums over the slots.

    Whole numbers of mean m differ at least by sqrt(part (1 - part)), part being what is after
    the point; uses stacked on a slot by as much more.
    """
    often = how_often(spec("x", 1.0, 1.0, (0.0, 24.0), times=mean, sd=sd))
    chances = np.array(often.weekday)
    assert chances.sum() * often.stacked == pytest.approx(mean)
    assert len(chances) <= 24
    assert np.all(chances * (1.0 + often.tilt) <= 1.0 + 1e-9)
    total, part = chances.sum(), mean / often.stacked % 1.0
    same = (chances**2).sum() * (1.0 + often.tilt**2)
    found = often.stacked * (total - same + (total * often.tilt) ** 2) ** 0.5
    wanted = max(sd, often.stacked * (part * (1.0 - part)) ** 0.5)
    if sd > 1.5 * mean:  # more than such slots can have
        assert found < sd
    else:
        assert found == pytest.approx(wanted, rel=1e-6, abs=1e-6)


def test_runs_a_day_have_the_mean_asked_for() -> None:
    specs = [COFFEE, MICROWAVE, LAPTOP]
    runs = Drawn(specs).wanted / np.array([s.watts * s.hours for s in specs])[None, :, None]
    day = np.arange(DAYS)[:, None] + np.arange(LANES)[None, :]
    weekend = day % 7 >= 5
    for a, one in enumerate(specs):
        for mean, chosen in ((one.times_a_day, ~weekend), (one.times_a_day_weekend, weekend)):
            found = runs[:, a][chosen]
            error = found.std() / len(found) ** 0.5
            assert found.mean() == pytest.approx(mean, abs=4.5 * error + 1e-9)


@pytest.mark.parametrize("factor", [0.5, 1.3, 2.0])
def test_rain_changes_the_mean_of_wet_days_only(factor: float) -> None:
    """Runs on wet and dry weekdays and weekend days, from draws that rain does not move."""
    words = {"times": 1.4, "weekend": 2.2, "sd": 0.9}
    item = spec("tv", 65.0, 60.0, (18.0, 22.5), wet_day_factor=factor, **words)
    drawn, dry = (Drawn([item], DAYS, showers=showers) for showers in (True, False))
    runs = drawn.wanted[:, 0] / 65.0
    weekend = (np.arange(DAYS)[:, None] + np.arange(LANES)[None, :]) % 7 >= 5
    wet = np.broadcast_to(np.arange(LANES) % 2 == 0, weekend.shape)
    for mean, day in ((1.4, ~weekend), (2.2, weekend)):
        for factors, chosen in ((1.0, day & ~wet), (factor, day & wet)):
            found = runs[chosen]
            error = found.std() / len(found) ** 0.5
            assert found.mean() == pytest.approx(mean * factors, abs=4.5 * error + 1e-9)
    assert np.array_equal(drawn.wanted[:, :, 1::2], dry.wanted[:, :, 1::2])


def test_another_appliance_leaves_every_draw_as_it_was() -> None:
    few, more = Drawn([COFFEE, LAPTOP], 30), Drawn([MICROWAVE, COFFEE, LAPTOP], 30)
    assert np.array_equal(few.energy, more.energy[:, 1:])
    assert np.array_equal(few.wanted, more.wanted[:, 1:])


def test_nothing_runs_in_the_hours_away_and_the_rest_is_as_it_was() -> None:
    days = (1 << 0) | (1 << 3)  # Mondays and Thursdays
    out = Away(7, days, 9.0, 12.5)
    here = Drawn([LAPTOP, COFFEE], 60, 1.0)
    gone = Drawn(
        [
            spec(
                "laptop",
                55.0,
                60.0,
                (8.0, 18.0),
                times=5.0,
                weekend=2.0,
                sd=2.0,
                is_ac=False,
                away=out,
            ),
            COFFEE,
        ],
        60,
        1.0,
    )
    number = (np.arange(60)[:, None] + np.arange(LANES)[None, :]) % 7
    away = (number == 0) | (number == 3)
    laptop = np.moveaxis(gone.energy[:, 0], 1, 2)
    before = np.moveaxis(here.energy[:, 0], 1, 2)
    assert np.array_equal(laptop[~away], before[~away])
    assert np.all(laptop[away][:, 8:11] == 0.0)  # household clock 9 to 12 is 8 to 11 here
    assert laptop[away][:, 11].sum() < 0.6 * before[away][:, 11].sum()
    assert np.allclose(laptop[away][:, 12:], before[away][:, 12:])
    assert np.allclose(gone.wanted[:, 0], gone.energy[:, 0].sum(axis=1))
    assert np.array_equal(gone.energy[:, 1], here.energy[:, 1])


def test_a_steady_load_rests_in_the_hours_away() -> None:
    out = Away(2, 1, 10.0, 14.0)
    lamp = spec("lamp", 100.0, 1440.0, (0.0, 24.0), steady=True, away=out)
    drawn = Drawn([lamp], 2)
    even = np.arange(LANES) % 2 == 0
    assert drawn.wanted[0, 0, even] == pytest.approx(2000.0)
    assert drawn.wanted[0, 0, ~even] == pytest.approx(2400.0)
    assert np.all(drawn.energy[0, 0, 10:14, even] == 0.0)


def test_two_runs_meet_as_often_as_geometry_says() -> None:
    """Two uniform starts: P(overlap) = 1 - ((W - d1)^2 + (W - d2)^2) / (2 W^2).

    W is what each start may vary when both windows have the same room for starts.
    """
    room, one_h, two_h = 2.0, 0.5, 0.75
    first = spec("first", 1000.0, 60.0 * one_h, (7.0, 7.0 + room + one_h))
    second = spec("second", 1000.0, 60.0 * two_h, (7.0, 7.0 + room + two_h))
    drawn = Drawn([first, second], 400)
    most = 0.0 * drawn.wanted[:, 0]
    inputs = np.zeros((24, 3 * LEVELS * LANES))
    for day in range(400):
        peaks_of(drawn.uses, np.float64(0.0), drawn.runs[day], inputs)
        most[day] = inputs.reshape(24, 3 * LEVELS, LANES)[:, 0].max(axis=0)
    assert set(np.unique(most)) == {1000.0, 2000.0}
    # A start at time t and the other's run of length d overlap if the other began in (t-d, t].
    miss = ((room - one_h) ** 2 + (room - two_h) ** 2) / (2.0 * room**2)
    found, count = float((most > 1500.0).mean()), most.size
    assert found == pytest.approx(1.0 - miss, abs=4.0 * (miss * (1.0 - miss) / count) ** 0.5)


KITCHEN = [
    COFFEE,
    MICROWAVE,
    spec("kettle", 1200.0, 5.0, (6.0, 9.0), (15.0, 20.0), times=3.0, sd=1.2),
    spec("fryer", 980.0, 18.0, (11.0, 13.0), (17.0, 19.0), sd=0.3, need=1, running_w=1400.0),
    spec("heater", 900.0, 420.0, (20.0, 29.0), times=0.7, sd=0.4, surge_w=300.0),
    spec("boiler", 1400.0, 46.0, (10.0, 15.0), need=NEEDS + 1, surge_w=100.0),
    spec("clock", 40.0, 60.0, (0.0, 24.0), times=3.0),
]


def by_the_minute(specs: list[UseSpec], drawn: Drawn, day: int, lane: int) -> tuple[Floats, Floats]:
    """Highest draw of each hour over 3,600 looks [W], and how long it lasts [h], (24, LEVELS)."""
    looks = (np.arange(24 * 3600) + 0.5) / 3600.0
    watts = np.zeros((LEVELS, len(looks)))
    for a, one in enumerate(specs):
        on = np.zeros(len(looks), dtype=bool)
        for s in np.flatnonzero(drawn.uses.owner[:, 0] == a):
            for back, at in ((0, day), (24, day - 1)):
                begin, end = drawn.runs[at, 0, s, lane] - back, drawn.runs[at, 1, s, lane] - back
                on |= (looks >= begin) & (looks < end)
        watts[min(one.need, 2) :] += on * (one.running_w if one.running_w > 300.0 else 0.0)
    by_hour = watts.reshape(LEVELS, 24, 3600)
    most = by_hour.max(axis=2)
    return most.T, (by_hour == most[:, :, None]).mean(axis=2).T


def test_peaks_are_those_of_a_look_at_every_second() -> None:
    drawn = Drawn(KITCHEN, 12)
    inputs = np.zeros((24, 3 * LEVELS * LANES))
    higher = 0
    off = []
    for day in range(1, 12):
        drawn.runs[day, 2:] = drawn.runs[day - 1, :2] - 24.0
        peaks_of(drawn.uses, np.float64(0.0), drawn.runs[day], inputs)
        found = inputs.reshape(24, 3 * LEVELS, LANES)
        for lane in range(0, LANES, 9):
            brute, lasts_h = by_the_minute(KITCHEN, drawn, day, lane)
            off += np.abs(found[:, 2 * LEVELS :, lane] - lasts_h)[brute > 0.0].tolist()
            assert np.all(found[:, :LEVELS, lane] >= brute)
            higher += int(np.count_nonzero(found[:, :LEVELS, lane] > brute))
        assert np.all(found[:, LEVELS:] >= 0.0)
    assert higher <= 3  # an overlap shorter than a second falls between the looks
    # Where two overlap, the peak is told to last as long as the longer one does.
    assert np.quantile(off, 0.9) < 1e-3
    assert np.mean(off) < 0.02


NIGHT_OUT = Away(2, 1, 18.0, 21.5)
REACHING = [
    *KITCHEN,
    spec("owl", 900.0, 90.0, (22.0, 28.0), (3.0, 5.0), times=2.0, sd=0.8),
    spec("leaver", 1000.0, 50.0, (17.0, 22.0), times=1.5, sd=0.6, away=NIGHT_OUT),
    spec("hob", 1200.0, 20.0, (7.0, 9.0), (12.0, 13.5), (17.25, 19.5), times=4.0, sd=1.0),
]


@pytest.mark.parametrize("shift_h", [0.0, 1.0, -1.5, 5.25])
def test_every_run_lies_in_the_hours_it_can_reach_and_no_hour_is_there_in_vain(
    shift_h: float,
) -> None:
    """Starts, runs and crossings of full hours of 400 days against the hours told beforehand."""
    drawn = Drawn(REACHING, 400, shift_h)
    reach = np.zeros((3, len(drawn.uses.slots)), dtype=np.int64)
    reach_of(drawn.uses, np.float64(shift_h), reach)
    told = (reach[:, :, None] >> np.arange(48)) & 1
    for a, one in enumerate(REACHING):
        slots = np.flatnonzero(drawn.uses.owner[:, 0] == a)
        used = drawn.energy[:, a, :48].sum(axis=(0, 2)) > 0.0
        assert np.all(told[RUNS_IN, slots[0]] >= used), one.name
        spare = np.flatnonzero((told[RUNS_IN, slots[0]] == 1) & ~used)
        assert np.all(used[spare - 1]), one.name  # ends at a full hour, but for rounding
        assert len(spare) <= len(one.windows), one.name
        begin, end = drawn.runs[:, 0, slots], drawn.runs[:, 1, slots]
        ran = begin >= 0.0
        assert ran.any() == (drawn.uses.slots[slots[0], PEAK_W] > 0.0)
        found = set(np.floor(begin[ran]).astype(int).tolist())
        assert found <= set(np.flatnonzero(told[STARTS_IN, slots[0]]).tolist()), one.name
        hours = np.arange(48)[:, None]
        crossed = ((begin[ran] < hours) & (end[ran] > hours)).any(axis=1)
        assert np.all(told[CROSSES, slots[0]] >= crossed), one.name


def test_a_start_draws_its_surge_on_top_of_what_runs() -> None:
    alone = [spec("saw", 500.0, 30.0, (8.0, 9.0), surge_w=700.0)]
    drawn = Drawn(alone, 1)
    inputs = np.zeros((24, 3 * LEVELS * LANES))
    peaks_of(drawn.uses, np.float64(0.0), drawn.runs[0], inputs)
    found = inputs.reshape(24, 3 * LEVELS, LANES)[8]
    assert found[0] == pytest.approx(500.0)
    assert found[LEVELS] == pytest.approx(1200.0)
