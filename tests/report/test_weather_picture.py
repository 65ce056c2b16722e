"""How weather is told and drawn: the numbers are those worked out, and every day has its cell."""

from __future__ import annotations

import re

import numpy as np
import pytest

from flatodds.report.weather_figure import calendar_rows, weather_picture
from flatodds.report.weather_words import finding, weather_text
from flatodds.sun import DAYS
from flatodds.weather.spells import DailyWeather, dullness, months


def record(years: int, first_year: int | None = 2005, series: int = 1) -> DailyWeather:
    """Sunny summers, dull winters, and every day different."""
    day = np.arange(years * DAYS)
    rng = np.random.default_rng(3)
    sun = (3.0 - 2.0 * np.cos(2 * np.pi * (day % DAYS + 16) / DAYS)) * rng.uniform(
        0.3, 1.4, (series, day.size)
    )
    temp = 10.0 - 12.0 * np.cos(2 * np.pi * day / DAYS)
    basis = "These are invented. Typical error ±12 %."
    return DailyWeather(sun, np.tile(temp, (series, 1)), first_year, "Lake, invented", basis)


def test_text_tells_the_numbers() -> None:
    daily = record(16)
    by_month, dull = months(daily), dullness(daily)
    text = weather_text(daily, by_month, dull)
    lines = text.split("\n")
    assert max(map(len, lines)) <= 80
    assert text.isascii()
    sun = next(line for line in lines if line.startswith("sun  ")).split()[1:]
    assert sun == [f"{value:.2f}" for value in by_month.sun_kwh_m2]
    rare = next(line for line in lines if line.startswith("sun, 1 in 10")).split()[4:]
    assert rare == [f"{value:.2f}" for value in by_month.dull_kwh_m2]
    week = dull.worst_kwh_m2[7]
    row = next(line for line in lines if line.startswith("dullest 7 days"))
    assert row.split()[-2:] == [f"{week.mean:.2f}", f"{week.tenth:.2f}"]
    run = next(line for line in lines if line.startswith("longest run"))
    assert run.split()[-2:] == [f"{dull.longest_days.mean:.1f}", f"{dull.longest_days.tenth:.1f}"]
    assert "In 1 season Nov to Jan of 10" in text
    assert "+-12 %" in text


def test_few_years_tell_the_worst_instead() -> None:
    daily = record(4)
    dull = dullness(daily)
    text = weather_text(daily, months(daily), dull)
    assert "1 in 10" not in text
    assert "sun, worst of 4" in text
    assert finding(dull).startswith("The dullest week of 3 seasons Nov to Jan brought")
    assert f"{dull.worst_kwh_m2[7].worst:.2f} kWh/m2" in finding(dull)
    assert "of the one season" in finding(dullness(record(2)))


@pytest.mark.parametrize("begin", [0, 151, 334])
def test_every_day_stands_in_its_cell(begin: int) -> None:
    daily = record(3)
    first, rows = calendar_rows(daily, begin)
    assert np.isfinite(rows).sum() == 3 * DAYS
    for day in (0, 1, begin, DAYS, 2 * DAYS + 200, 3 * DAYS - 1):
        row, column = divmod(day + DAYS - begin, DAYS)
        assert rows[row - first, column] == daily.sun_kwh_m2[0, day]


def test_long_records_show_their_last_years() -> None:
    daily = record(40)
    first, rows = calendar_rows(daily, 151)
    assert len(rows) == 30
    last = (40 * DAYS - 1 + DAYS - 151) // DAYS
    assert first + len(rows) - 1 == last
    assert rows[-1][DAYS - 151 - 1] == daily.sun_kwh_m2[0, -1]


def test_picture_names_what_it_marks() -> None:
    daily = record(6)
    dull = dullness(daily)
    svg = weather_picture(daily, dull, "svg").decode()
    assert svg == weather_picture(daily, dull, "svg").decode()
    words = re.sub(r"<[^>]*>", "", svg)
    assert "Daily sun: Lake, invented" in words
    assert f"{dull.worst_kwh_m2[7].worst:.2f} kWh/m2 a day" in words
    assert "2004/05" in words
    assert "2010/11" in words
    assert "<script" not in svg
    assert "generated" not in words


def test_picture_of_generated_years_says_so() -> None:
    daily = record(2, None, series=20)
    svg = weather_picture(daily, dullness(daily), "svg").decode()
    words = re.sub(r"<[^>]*>", "", svg)
    assert "16 of 40 generated years" in words
    assert "of generated year" in words
    assert weather_picture(daily, dullness(daily), "png").startswith(b"\x89PNG")


def test_strange_names_draw() -> None:
    daily = record(2)
    odd = DailyWeather(daily.sun_kwh_m2, daily.temp_c, 2005, "$x_1$ <b>&" * 20, daily.basis)
    svg = weather_picture(odd, dullness(odd), "svg").decode()
    assert "<b>" not in svg
