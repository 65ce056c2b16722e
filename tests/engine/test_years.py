"""Real years through the engine: equal shares, one member alone, mixed itineraries, the twin."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from flatodds.engine.plan import Plan, make_plan
from flatodds.engine.run import run_block, run_plan
from flatodds.engine.twin import live
from flatodds.errors import WeatherError
from flatodds.scenario import parse_scenario
from flatodds.sun import sun_table
from flatodds.weather.tables import clear_sky

SEED = 77
RIG = """
title = "years"
bank = { chemistry = "lithium", volts = 12, amp_hours = 100 }
array = { watts = 250 }
household = { pattern = "light", heat = "none" }
"""
PLACE = (36.0, -80.0, 270.0)


def year_file(folder: Path, years: range, name: str = "years.csv") -> str:
    """Plain table of invented years: a dullness each day, the same for a calendar year anywhere."""
    clear = clear_sky(*PLACE, sun_table(*PLACE, -5))
    head = "# latitude: 36\n# longitude: -80\n# elevation_m: 270\n# utc_offset_h: -5\n"
    lines = [head + "time,ghi,dni,dhi,temp_air,wind_speed"]
    for year in years:
        rng = np.random.default_rng(year)
        dull = rng.uniform(0.1, 1.0, 365)
        day = np.datetime64(f"{year}-01-01")
        days = [d for d in day + np.arange(366) if str(d)[:4] == f"{year}"]
        days = [d for d in days if str(d)[5:] != "02-29"]
        for k, date in enumerate(days):
            for h in range(24):
                ghi = clear[k, h] * dull[k]
                lines.append(f"{date}T{h:02d}:00,{ghi:.0f},0,{ghi:.0f},{8 + 4 * dull[k]:.1f},3")
    (folder / name).write_text("\n".join(lines) + "\n")
    return name


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("years")
    year_file(made, range(2001, 2007))
    year_file(made, range(2004, 2008), "later.csv")
    return made


def stay(first: str, nights: int, more: str = 'weather = "years.csv"') -> str:
    return f'[[stay]]\nplace = "36.0, -80.0"\nfirst_day = "{first}"\nnights = {nights}\n{more}\n'


@cache
def plan(folder: Path, stays: str, dtype: Any = np.float64) -> Plan:
    return make_plan(parse_scenario(RIG + stays, "years.toml"), base_dir=folder, dtype=dtype)


WERE = 'weather = "years.csv"\nyears = "as they were"'
SHUFFLED = 'weather = "years.csv"\nyears = "shuffled"'
MIXED = (
    stay("24 Dec", 12, WERE)
    + stay("8 Jan", 4, "")
    + stay("14 Jan", 4, SHUFFLED)
    + stay("20 Jan", 4, "")
)


def test_members_are_rounded_up_so_that_years_count_the_same(folder: Path) -> None:
    real = run_plan(plan(folder, stay("1 Dec", 3, WERE), np.float32), 64, SEED)
    assert (real.members, real.record_years) == (66, 6)
    drawn = run_plan(plan(folder, stay("1 Dec", 3, SHUFFLED), np.float32), 64, SEED)
    assert (drawn.members, drawn.record_years) == (64, 6)


def test_every_real_year_is_lived_equally_often_with_a_fresh_household(folder: Path) -> None:
    made = plan(folder, stay("1 Dec", 3, WERE))
    trace = run_block(made, 0, SEED, trace=True).trace
    ghi, demand = trace[:, 0, :], trace[:, 4, :]
    for member in range(12):
        np.testing.assert_array_equal(ghi[:, member], ghi[:, member + 6])
        assert not np.array_equal(demand[:, member], demand[:, member + 6])
    assert len({tuple(row) for row in ghi.T}) == 6


@pytest.mark.parametrize("stays", [stay("20 Dec", 20, SHUFFLED), MIXED], ids=["shuffled", "mixed"])
def test_blocks_threads_and_company_change_nothing(folder: Path, stays: str) -> None:
    made = plan(folder, stays, np.float32)
    one, two = (run_plan(made, 132, SEED, threads=n) for n in (1, 2))
    for key, values in one.sums.items():
        np.testing.assert_array_equal(values, two.sums[key], err_msg=key)
    alone = run_block(made, 100, SEED)
    np.testing.assert_array_equal(alone.daily[0, :, 0], one.daily["array_wh"][100])


@pytest.mark.parametrize("member", [0, 41])
def test_the_twin_lives_the_same_hours(folder: Path, member: int) -> None:
    made = plan(folder, MIXED)
    lived = live(made, member, SEED)
    trace = run_block(made, 0, SEED, trace=True).trace[:, :, member]
    for at, name in ((0, "ghi"), (1, "temp_air"), (3, "array_w"), (7, "charge_frac")):
        own = np.array([getattr(hour, name) for hour in lived.hours])
        np.testing.assert_allclose(own, trace[:, at], rtol=1e-9, atol=1e-9, err_msg=name)


def test_drawn_stays_begin_settled_and_remember_across_real_ones(folder: Path) -> None:
    """After a stay of real years weather is drawn as if it had gone on unseen."""
    made = plan(folder, MIXED)
    trace = run_block(made, 0, SEED, trace=True).trace
    daily = trace[24 * 12 : 24 * 16, 0, :].reshape(4, 24, 64).sum(axis=1)
    assert daily.min() > 0.0  # no day is left undrawn
    assert (daily.mean(axis=1) > 1000.0).all()  # nor begins dull: winter sun is about 2,000 here
    first, second = made.stays[1].calendar.stay, made.stays[3].calendar.stay
    assert int(first[1]) == 90
    assert int(second[1]) == int(second[0]) - (int(first[0]) + 4)


def test_stays_of_other_files_live_the_same_calendar_years(folder: Path) -> None:
    later = 'weather = "later.csv"\nyears = "as they were"'
    made = plan(folder, stay("1 Dec", 3, WERE) + stay("6 Dec", 3, later))
    assert made.record_years == made.multiple == 3
    assert [place.years.years for place in made.stays if place.years] == [(2004, 2005, 2006)] * 2
    assert any("2004 to 2006" in text for text in made.stays[0].basis.cautions)


def test_files_without_a_common_year_are_refused(folder: Path) -> None:
    year_file(folder, range(2010, 2012), "other.csv")
    other = 'weather = "other.csv"\nyears = "as they were"'
    with pytest.raises(WeatherError, match="in common"):
        plan(folder, stay("1 Dec", 3, WERE) + stay("6 Dec", 3, other))
