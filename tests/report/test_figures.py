from __future__ import annotations

import dataclasses
import re
from collections.abc import Callable
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
import xarray as xr

from flatodds.engine.results import Case, Results
from flatodds.outcomes import Outcomes
from flatodds.report import figures, figures_charge, figures_energy, figures_odds, figures_use
from flatodds.report.figures import add_axes, drawing, inline_svg, new_figure

Fabricate = Callable[..., Results]


def axes_for_test() -> Any:
    return add_axes(new_figure(300.0), 40.0, 30.0, 10.0, 40.0)


def month_odds(outcomes: Outcomes) -> list[dict[str, Any]]:
    return [dict(row) for _, row in outcomes.odds("month").iterrows()]


def dawns_of(outcomes: Outcomes, stay: int) -> figures_charge.Dawns:
    table = outcomes.table("worst_stay_days")
    return figures_charge.dawns_of(outcomes.dataset, table, stay)


def a_week(flat_hours: range = range(0), days: int = 7) -> xr.Dataset:
    hours = 24 * days
    at = np.arange(hours)
    sun = np.maximum(np.sin((at % 24 - 6) / 12 * np.pi), 0.0) * 400.0
    flat = np.isin(at, flat_hours)
    charge = np.where(flat, 0.05, 0.4 + 0.2 * np.sin(at / 9.0))
    time = np.datetime64("2025-12-30T00:00", "ns") + at * np.timedelta64(1, "h")
    names = {
        "array_w": sun,
        "array_offered_w": sun * 1.25,
        "demand_w": np.full(hours, 60.0),
        "served_w": np.where(flat, 0.0, 60.0),
        "charge_frac": charge,
        "bank_temp_c": np.full(hours, -4.0),
        "flat": flat,
    }
    week = xr.Dataset({key: ("time", value) for key, value in names.items()}, {"time": time})
    return week.assign_attrs(member=17)


def test_squares_count_the_chance_and_its_range() -> None:
    assert figures_odds.square_counts(0.29, 0.652) == (29, 37)
    assert figures_odds.square_counts(0.0, 0.004) == (0, 1)
    assert figures_odds.square_counts(1.0, 1.0) == (99, 1)
    assert figures_odds.square_counts(0.004, 0.02) == (0, 2)
    assert figures_odds.square_counts(0.05, 0.05) == (5, 1)


@pytest.mark.parametrize(("filled", "striped"), [(29, 37), (0, 1), (99, 1)])
def test_a_hundred_squares_are_drawn(filled: int, striped: int) -> None:
    with drawing():
        axes = axes_for_test()
        figures_odds.draw_squares(axes, filled, striped)
    counts = {patch.get_label(): len(patch.get_path().vertices) // 5 for patch in axes.patches}
    empty = {"fine": 100 - filled - striped} if filled + striped < 100 else {}
    some = {"runs flat": filled} if filled else {}
    assert counts == {**some, "may or may not": striped, **empty}
    corners = np.concatenate([patch.get_path().vertices[::5] for patch in axes.patches])
    assert len(np.unique(corners, axis=0)) == 100


def test_dots_stand_at_the_chances_of_the_summary(one_stay: Outcomes) -> None:
    stay = one_stay.summary()["stays"][0]
    guesses = figures_odds.guesses_of(stay, one_stay.facts)
    with drawing():
        axes = axes_for_test()
        figures_odds.draw_dots(axes, guesses)
    whiskers, dots = axes.lines[::2], axes.lines[1::2]
    found = [float(dot.get_xdata()[0]) for dot in dots]
    assert found == pytest.approx([1.0, 2.0, 5.0, 17.0, 25.0, 62.0])
    assert [label.get_text() for label in axes.get_yticklabels()] == [
        "sun 12 % stronger",
        "you use 15 % less",
        "as you wrote it",
        "sun 12 % weaker",
        "you use 15 % more",
        "both",
    ]
    part = stay["odds_flat_if"]["both_bad"]
    assert list(whiskers[-1].get_xdata()) == pytest.approx([100 * part["low"], 100 * part["high"]])
    assert [text.get_text() for text in axes.texts] == ["1", "2", "5", "17", "25", "62"]


def test_month_dots_are_the_odds_by_month(one_stay: Outcomes) -> None:
    rows = month_odds(one_stay)
    with drawing():
        axes = axes_for_test()
        figures_odds.draw_month_odds(axes, rows)
    drawn = [tuple(line.get_ydata()) for line in axes.lines]
    expected: list[tuple[float, ...]] = []
    for row in rows:
        expected.append((100 * row["range_low"], 100 * row["range_high"]))
        expected.append((100 * row["estimate"],))
    for a, b in zip(drawn, expected, strict=True):
        assert a == pytest.approx(b)
    assert axes.get_ylim()[1] >= 100 * max(row["range_high"] for row in rows)


def test_dawn_is_the_share_of_members_day_by_day(three_stays: Outcomes) -> None:
    dawns = dawns_of(three_stays, 1)
    raw = np.sort(three_stays.dataset["daily_dawn_charge_frac"].to_numpy()[:, 60:120], axis=0)
    assert dawns.low == pytest.approx(raw[99])  # the 100th of 1,000
    assert dawns.middle == pytest.approx(raw[499])
    assert dawns.high == pytest.approx(raw[899])
    table = three_stays.table("worst_stay_days")
    of_stay = table[table["stay"] == "stay 2"]
    assert dawns.worst == pytest.approx(of_stay["dawn_charge_frac"].to_numpy())
    assert dawns.dates == tuple(of_stay["date"])
    with drawing():
        axes = axes_for_test()
        figures_charge.draw_dawns(axes, dawns)
        figures_charge.draw_levels(axes, figures_charge.Lines(0.15, 0.05, cold=True))
    low, usual, worst, reserve, cutoff = axes.lines
    assert low.get_ydata() == pytest.approx(100 * dawns.low)
    assert usual.get_ydata() == pytest.approx(100 * dawns.middle)
    assert worst.get_ydata() == pytest.approx(100 * dawns.worst)
    assert reserve.get_ydata()[0] == pytest.approx(15.0)
    assert cutoff.get_label() == "cut-off 5 %, higher in cold"
    styles = {line.get_linestyle() for line in axes.lines}
    assert len(styles) == 4  # dotted and dashed ones are told apart without colour


def test_energy_by_month_agrees_with_the_summary(three_stays: Outcomes) -> None:
    stay = three_stays.summary()["stays"][2]
    months = figures_energy.months_of(three_stays.dataset, 2)
    assert [m.month for m in months] == [m["month"] for m in stay["months"]]
    for mine, theirs in zip(months, stay["months"], strict=True):
        for key in ("array", "demand", "spilled"):
            a_day = theirs[f"{key}_kwh"]["mean"] / 30
            assert getattr(mine, key) == pytest.approx(a_day)
        assert mine.array_ends[1] == pytest.approx(theirs["array_kwh"]["p90"] / 30)
        assert mine.array_ends[0] < mine.array < mine.array_ends[1]
    with drawing():
        axes = axes_for_test()
        figures_energy.draw_went(axes, months, [4])
    widths = [[bar.get_width() for bar in group] for group in axes.containers]
    assert widths == [
        pytest.approx([m.served for m in months]),
        pytest.approx([m.bank_loss for m in months]),
        pytest.approx([m.spilled for m in months]),
    ]


def test_spilled_sun_is_told_by_cause(one_stay: Outcomes) -> None:
    found = one_stay.dataset
    spilled = found["spilled_wh"]
    full, clip = 0.7 * spilled, 0.3 * spilled
    months = figures_energy.months_of(
        found.assign(spilled_full_wh=full, spilled_clip_wh=clip, cold_locked_wh=0.0 * spilled), 0
    )
    for month in months:
        assert month.causes == pytest.approx(
            (0.7 * month.spilled, 0.0, 0.3 * month.spilled, 0.0, 0.0)
        )
    shown = figures_energy.went_figure("w", months)
    assert "(mostly because the battery was full)" in shown.finding
    assert "controller" in shown.svg
    assert "too cold" not in shown.svg
    assert [f"{month.causes[2]:.2f}" for month in months] == [row[5] for row in shown.rows]
    bare = figures_energy.went_figure("w", figures_energy.months_of(found, 0))
    assert "nobody asked for it" in bare.finding


def test_what_an_appliance_lacks_is_drawn_apart(one_stay: Outcomes) -> None:
    bars = [
        figures_use.UseBar("cooler", 28.0, "above-charge", 0.25),
        figures_use.UseBar("fridge", 1.0, "must", 0.999),
    ]
    with drawing():
        axes = axes_for_test()
        figures_use.draw_uses(axes, bars)
    widths = [group[0].get_width() for group in axes.containers]
    assert widths == pytest.approx([7.0, 21.0, 0.999])
    shown = figures_use.uses_figure("u", bars, one_stay.facts)
    assert shown is not None
    assert shown.finding.startswith("Most goes into cooler: 7.0 kWh (547 Ah) a day, 88 % of")
    assert shown.finding.endswith("It asks for 28 kWh (2,188 Ah).")


def test_sun_bars_stand_on_each_other(one_stay: Outcomes) -> None:
    months = figures_energy.months_of(one_stay.dataset, 0)
    with drawing():
        axes = axes_for_test()
        figures_energy.draw_sun(axes, months, one_stay.facts)
    spare, taken = axes.containers
    for k, month in enumerate(months):
        assert taken[k].get_height() == pytest.approx(month.array)
        assert spare[k].get_y() == pytest.approx(month.array)
        assert spare[k].get_height() == pytest.approx(month.spilled)
    assert axes.lines[0].get_ydata() == pytest.approx([m.demand for m in months])
    right = axes.figure.axes[-1]
    ratio = right.get_ylim()[1] / axes.get_ylim()[1]
    assert ratio == pytest.approx(1000.0 / 12.8)


def test_appliances_come_hungriest_first_with_idle_among_them(one_stay: Outcomes) -> None:
    stay = one_stay.summary()["stays"][0]
    bars = figures_use.uses_of(stay, {"fridge": "must", "=lamp": "can-wait"}, 50.0)
    assert bars[0].name == "inverter, idle"
    assert sorted(bar.name for bar in bars) == ["=lamp", "fridge", "inverter, idle"]
    for bar in bars[1:]:
        use = next(part for part in stay["appliances"] if part["name"] == bar.name)
        assert bar.kwh_day == pytest.approx(use["wanted_kwh"]["mean"] / 60)
        assert bar.need == ("must" if bar.name == "fridge" else "can-wait")
    with drawing():
        axes = axes_for_test()
        figures_use.draw_uses(axes, bars)
    drawn = [group[0] for group in axes.containers if group[0].get_linestyle() != ":"]
    assert [bar.get_width() for bar in drawn] == pytest.approx([bar.had_day for bar in bars])
    looks = {(bar.get_facecolor(), bar.get_hatch()) for bar in drawn}
    assert len(looks) == 3


def test_many_appliances_are_folded_and_nothing_is_lost() -> None:
    bars = [
        figures_use.UseBar(f"use {k}", 1.0 / (k + 1), "must" if k < 25 else "spare-sun", 1.0)
        for k in range(30)
    ]
    drawn = figures_use.folded(bars)
    assert len(drawn) == figures_use.MOST_BARS
    assert sum(bar.kwh_day for bar in drawn) == pytest.approx(sum(bar.kwh_day for bar in bars))
    assert drawn[-1].need == "mixed"
    assert drawn[-1].name == "17 smaller ones"


def test_nothing_used_has_no_figure(one_stay: Outcomes) -> None:
    assert figures_use.uses_figure("x", [], one_stay.facts) is None


def test_a_bad_week_marks_its_flat_hours() -> None:
    week = a_week(range(53, 60))
    lines = figures_charge.Lines(0.15, 0.02)
    shown = figures_charge.week_figure("w", week, lines)
    assert "went out on 1 Jan at 05:00 and was missing for 7 hours" in shown.finding
    assert shown.rows[2][0] == "1 Jan"
    assert [row[3] for row in shown.rows] == ["0", "0", "7", "0", "0", "0", "0"]
    sun = week["array_w"].to_numpy()[:24].sum() / 1000
    assert shown.rows[0][1:3] == (f"{sun:.2f} kWh", "1.44 kWh")
    assert "at -4 °C (25 °F) this one had nothing to give with 5 % still in it" in shown.note
    there = figures_charge.week_figure("w", week, dataclasses.replace(lines, us=True))
    assert "at 25 °F (-4 °C) this one" in there.note
    with drawing():
        axes = axes_for_test()
        figures_charge.draw_week_charge(axes, week)
    assert axes.lines[0].get_ydata() == pytest.approx(100 * week["charge_frac"].to_numpy())
    (span,) = axes.patches
    assert (span.get_x(), span.get_x() + span.get_width()) == (53, 60)


def test_a_week_without_flat_hours_says_how_low_it_came() -> None:
    week = a_week()
    shown = figures_charge.week_figure("w", week, figures_charge.Lines(0.15, None))
    low = int(np.argmin(week["charge_frac"].to_numpy()))
    assert "came down to 20 %" in shown.finding
    assert f"{30 + low // 24 if low < 48 else low // 24 - 1} " in shown.finding
    assert "did not run flat" in shown.finding
    assert "cold battery" not in shown.note


def test_a_stay_of_one_night_and_one_member_can_be_drawn(fabricate: Fabricate) -> None:
    results = fabricate(members=1, nights=2)
    outcomes = Outcomes.from_results(results)
    lines = figures_charge.Lines(0.15, 0.05)
    shown = figures_charge.dawn_figure("d", dawns_of(outcomes, 0), lines)
    assert len(shown.rows) == 2
    assert figures_charge.week_figure("w", a_week(days=1), lines).svg.startswith("<svg")


def luminance(colour: str) -> float:
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@pytest.mark.parametrize("name", ["INK", "GREY", "BLUE", "BROWN"])
def test_lines_and_text_stand_out_from_white(name: str) -> None:
    # WCAG 2.2, success criterion 1.4.3: text has a contrast of at least 4.5 to 1.
    assert 1.05 / (luminance(getattr(figures, name)) + 0.05) >= 4.5


def test_fills_next_to_each_other_differ_in_grey() -> None:
    assert abs(luminance(figures.AMBER) - luminance(figures.GREY)) > 0.3
    assert abs(luminance(figures.PALE_BLUE) - luminance(figures.BLUE)) > 0.3


def test_svg_is_trimmed_and_kept_apart() -> None:
    text = (
        '<?xml version="1.0"?><!DOCTYPE svg><svg width="9pt" viewBox="0 0 9 9">'
        "<metadata>x</metadata><style>*{}</style><!-- note -->"
        '<g id="axes_1"><path id="mark" d="M 1.23456 -0.01" style="clip-path: url(#mark)"/>'
        '<use xlink:href="#mark" x="10.000"/><text style="font: 700 12px \'A\', b">1.23456</text>'
        "</g></svg>"
    )
    assert inline_svg(text, "n", "T<", "d&") == (
        '<svg viewBox="0 0 9 9" role="img" aria-labelledby="n-t n-d"><title id="n-t">T&lt;</title>'
        '<desc id="n-d">d&amp;</desc><g><path id="n-mark" d="M 1.2 0" '
        'style="clip-path: url(#n-mark)"/><use href="#n-mark" x="10"/>'
        '<text style="font-size: 12px; font-weight: 700">1.23456</text></g></svg>'
    )


def test_the_same_figure_is_the_same_text_and_names_may_be_anything(
    fabricate: Fabricate, doubt: tuple[Case, ...]
) -> None:
    hostile = ("<script>alert(1)</script>", "$\\frac{ 沙漠 {{7*7}}")
    results = fabricate(
        members=3, scenario={"appliances": (SimpleNamespace(name="x", medical=False),)}
    )
    object.__setattr__(results, "appliances", hostile)
    outcomes = Outcomes.from_results(results)
    bars = figures_use.uses_of(outcomes.summary()["stays"][0], {}, None)
    first = figures_use.uses_figure("u", bars, outcomes.facts)
    again = figures_use.uses_figure("u", bars, outcomes.facts)
    assert first is not None
    assert again is not None
    assert first.svg == again.svg
    assert "<script" not in first.svg
    assert "&lt;script" in first.svg
    assert not re.search(r"https?://", first.svg)


@pytest.mark.parametrize("gate", [None, 1.5])
def test_names_of_guesses_lie_inside_the_drawing(
    one_stay: Outcomes, gate: float | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    named = "cold lock 1.5 C sooner" if gate else "you use 15 % more"
    guesses = [
        figures_odds.Guess(named, 0.2, 0.1, 0.3),
        figures_odds.Guess("as you wrote it", 0.1, 0.1, 0.2),
    ]
    drawn: list[float] = []
    draw = figures_odds.draw_dots

    def measured(axes: Any, rows: Any) -> None:
        draw(axes, rows)
        axes.figure.canvas.draw()
        drawn.extend(text.get_window_extent().x0 for text in axes.get_yticklabels())

    monkeypatch.setattr(figures_odds, "guesses_of", lambda *_: guesses)
    monkeypatch.setattr(figures_odds, "draw_dots", measured)
    stay = one_stay.summary()["stays"][0]
    assert figures_odds.wrong_figure("x", stay, one_stay.facts, 40) is not None
    assert min(drawn) >= 0.0
