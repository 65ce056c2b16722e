"""One stay in detail: its answer, the guesses side by side, its days in kWh and Ah."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from flatodds.outcomes import Facts
from flatodds.outcomes.days import MONTHS
from flatodds.outcomes.said import (
    MOSTLY,
    answer_sentence,
    counted,
    of_100,
    range_sentence,
    rounded,
    seen,
    unknown_in,
    verdict_sentence,
)
from flatodds.report.fitting import (
    BAR_ASIDE,
    CHART,
    DAYS,
    GAP,
    GAP_ABOVE,
    SPARE,
    WHISPER,
    Line,
    ranked,
)
from flatodds.report.fitting import MONTHS as MONTHS_RANK
from flatodds.report.generator_words import charging_sentences
from flatodds.report.heat_words import heat_sentences
from flatodds.report.words import (
    matters,
    nights_text,
    number,
    plain_ascii,
    short_of_100,
    words_of,
    wrapped,
)

REST_V_PER_12 = 12.8  # by which people turn Wh of a 12 V bank to Ah: common practice, no source
BAR_WIDTH = 40  # columns; own choice
AXIS = "0        25        50        75       100"
CHART_CASES = ("as_estimated", "economised", "gate_late", "sun_low", "use_high", "both_bad")
ASIDE = ("economised", "gate_late")  # bars that give way first, the lock only if not the worst
BRIGHT_CASES = ("as_estimated", "sun_high", "use_low")  # where the others all run flat
# Ends of bars that make a chart say nothing, and the words for all of them.
ALIKE = (
    ({"none"}, "none of 100"),
    ({"none", "<1"}, "fewer than 1 of 100"),
    ({"all"}, "all of 100"),
    ({"all", ">99"}, "more than 99 of 100"),
)


OWN_WORDS = {"both_bad": "both", "economised": "you save when charge is low"}

Part = Mapping[str, Any]


class Bar(NamedTuple):
    """One guess that was run: its name, words and chance."""

    name: str
    words: str
    chance: float


def answer_lines(
    summary: Part, facts: Facts, part: Part, where: str, many: str = "stays"
) -> list[str]:
    """Verdict, chance and range of a stay or the trip."""
    band = range_sentence(part["odds_flat_range"], unknown_in(summary, part))
    answer = answer_sentence(
        part["odds_flat"],
        members=summary["members"],
        record_years=facts.record_years,
        many=many,
    )
    asked = f"Will the power go out {where}?" if where else "Will the power go out?"
    return [
        *wrapped(f"{asked}  {verdict_sentence(part)}"),
        *wrapped(answer, indent="  "),
        *wrapped(band, indent="  "),
    ]


def stay_detail(
    summary: Part, facts: Facts, dawn: Sequence[Mapping[str, float]], at: int
) -> list[Line]:
    """Answer, chart, months and days of one stay."""
    stay = summary["stays"][at]
    several = len(summary["stays"]) > 1
    happens = when_sentence(stay)
    told = (*charging_sentences(summary, facts, stay), *heat_sentences(facts, stay))
    answer = answer_lines(summary, facts, stay, "")
    if several:  # its chance and range stand in its row
        likeliest = "Likeliest to run flat" if stay["odds_flat"]["estimate"] else "In detail"
        answer = [f"{likeliest}: {plain_ascii(stay['name'], 40)}"]
    return [
        *ranked(answer),
        *ranked([f"  {happens}"] if happens else []),
        *ranked(line for text in told for line in wrapped(text, indent="  ")),
        Line("", GAP_ABOVE),
        *chart(stay, facts),
        *ranked([] if several else month_lines(stay), MONTHS_RANK),
        Line("", GAP),
        *day_rows(stay, facts),
        Line(dawn_sentence(stay, facts, dawn[at]), WHISPER),
    ]


def month_lines(stay: Part) -> list[str]:
    """Say the chance of every month of a stay; nothing where there is but one, or none runs flat.

    Months are of the same stay, so their chances do not add up to its own.
    """
    chances = [(month["month"], month["odds_flat"]["estimate"]) for month in stay["months"]]
    if len(chances) < 2 or not any(chance for _, chance in chances):
        return []
    parts = [f"{MONTHS[month - 1][0]} {short_of_100(chance)}" for month, chance in chances]
    return wrapped(f"in each month, of 100: {', '.join(parts)}", indent="  ")


def when_sentence(stay: Part) -> str:
    """Say how long a stay that runs flat is without power; empty when none does."""
    chance = stay["odds_flat"]["estimate"]
    if chance <= 0.0:
        return ""
    hours = max(rounded(stay["hours_flat"]["mean"] / chance, "nearest"), 1)
    nights = max(rounded(stay["nights_flat"]["mean"] / chance, "nearest"), 1)
    some = "1 hour" if hours == 1 else f"{hours:,} hours"
    return f"When it happens: about {some} without power, spread over {nights_text(nights)}."


def shown_cases(stay: Part, facts: Facts, names: Sequence[str] = CHART_CASES) -> list[Bar]:
    """Collect the guesses of these names that were run and matter here."""
    known = {case.name: case for case in facts.cases}
    rows = []
    for name in names:
        chance = stay["odds_flat_if"][name]
        if chance is None or name not in known or not matters(name, stay):
            continue
        words = OWN_WORDS.get(name) or words_of(known[name])
        rows.append(Bar(name, words, chance["estimate"]))
    return rows


def chart(stay: Part, facts: Facts) -> list[Line]:
    """Draw the chance under each guess as a bar; say it in a sentence where all are alike."""
    shown = shown_cases(stay, facts)
    alike = _alike(shown)
    if alike and min(bar.chance for bar in shown) > MOSTLY:
        bright = shown_cases(stay, facts, BRIGHT_CASES)
        if not _alike(bright):
            shown, alike = bright, None
    if len(shown) > 1 and alike:
        guesses = ", ".join(bar.words for bar in shown if bar.name not in ASIDE)
        return ranked(wrapped(f"Each guess gives {alike}: {guesses}.", indent="  "), CHART)
    lines = [Line(f"  {'stays of 100 that run flat':<28}{AXIS}", CHART)]
    single = max((bar.chance for bar in shown if bar.name in ("sun_low", "use_high")), default=0.0)
    for name, words, chance in shown:
        bar = "#" * rounded(chance * BAR_WIDTH, "nearest")
        worst = name == "gate_late" and chance >= single
        rank = BAR_ASIDE if name in ASIDE and not worst else CHART
        row = f"  {words:<27}|{bar:<{BAR_WIDTH}}{short_of_100(chance):>5}"
        lines.append(Line(row, rank))
    return lines


def _alike(shown: Sequence[Bar]) -> str | None:
    """Say the end of all bars in words, where they are as good as the same."""
    ends = {short_of_100(bar.chance) for bar in shown}
    return next((words for few, words in ALIKE if ends <= few), None)


def energy(kwh: float, facts: Facts) -> str:
    """Write energy in kWh with amp-hours at the rest voltage of the bank as it is labelled."""
    rest_v = facts.bank_v / 12.0 * REST_V_PER_12
    return f"{number(kwh)} kWh ({kwh * 1000.0 / rest_v:,.0f} Ah)"


def day_rows(stay: Part, facts: Facts) -> list[Line]:
    """Set the average day beside the gloomiest week of one stay in ten."""
    nights, week = stay["nights"], stay["worst_week"]["one_in_ten"]
    sun = energy(stay["array_kwh"]["mean"] / nights, facts)
    need = energy(stay["demand_kwh"]["mean"] / nights, facts)
    days = stay["worst_week"]["days"]
    gloomy = "worst week" if days == 7 else f"worst {days} days"
    spare = number(stay["spilled_kwh"]["mean"] / nights)
    return [
        Line(f"  {'Each day':<22}{'average':<22}{gloomy} in 1 stay of 10", DAYS),
        Line(f"  {'sun taken in':<22}{sun:<22}{energy(week['array_kwh_day'], facts)}", DAYS),
        Line(f"  {'needed':<22}{need:<22}{energy(week['demand_kwh_day'], facts)}", DAYS),
        Line(f"  {'spare sun not used':<22}{spare} kWh", SPARE),
    ]


def dawn_sentence(stay: Part, facts: Facts, dawn: Mapping[str, float]) -> str:
    """Say what is usually left at dawn and how often the household's reserve is crossed."""
    left = f"  At dawn usually {percent(dawn['p50'])}"
    if stay["odds_reserve"] is None:
        return f"{left}."
    crossed = stay["odds_reserve"]["estimate"]
    often = f"in {of_100(crossed)} stays"
    if crossed in (0.0, 1.0):
        often = f"in {'every' if crossed else 'no'} simulated stay"
    return f"{left}; below your {percent(facts.reserve_frac)} reserve {often}."


def percent(share: float) -> str:
    """Write a share as a whole percentage."""
    return f"{rounded(share * 100.0, 'nearest')} %"


def plain_detail(
    summary: Part, facts: Facts, dawn: Sequence[Mapping[str, float]], at: int
) -> list[str]:
    """Tell one stay in sentences, without chart or table."""
    stay = summary["stays"][at]
    several = len(summary["stays"]) > 1
    where = f"at {plain_ascii(stay['name'], 30)}" if several else ""
    nights, week = stay["nights"], stay["worst_week"]
    units = counted(summary["members"], facts.record_years)
    guesses = shown_cases(stay, facts)[1:]
    if guesses and _alike(guesses) and guesses[0].chance > MOSTLY:
        guesses += shown_cases(stay, facts, BRIGHT_CASES)[1:]
    texts = [
        *answer_lines(summary, facts, stay, where),
        when_sentence(stay),
        *charging_sentences(summary, facts, stay),
        *heat_sentences(facts, stay),
        *(f"If {bar.words}: {seen(bar.chance, units)}." for bar in guesses),
        f"On an average day the panels bring {energy(stay['array_kwh']['mean'] / nights, facts)}, "
        f"{energy(stay['demand_kwh']['mean'] / nights, facts)} are needed, and "
        f"{number(stay['spilled_kwh']['mean'] / nights)} kWh of spare sun is not used.",
        f"In 1 stay of 10 the worst {week['days']} days bring "
        f"{energy(week['one_in_ten']['array_kwh_day'], facts)} a day or less, while "
        f"{energy(week['one_in_ten']['demand_kwh_day'], facts)} are needed.",
        dawn_sentence(stay, facts, dawn[at]),
    ]
    return [line for text in texts if text for line in wrapped(text.strip())]
