"""The answers on the page: verdict, chance, range, and three numbers beside them."""

from __future__ import annotations

from collections.abc import Mapping, Set
from dataclasses import dataclass

from flatodds.outcomes import Facts
from flatodds.outcomes.said import (
    answer_sentence,
    counted,
    range_sentence,
    range_words,
    seen,
    unknown_in,
    verdict,
    verdict_sentence,
)
from flatodds.report.detail import energy, percent, when_sentence
from flatodds.report.explain_page import overload_sentence
from flatodds.report.figures import Part
from flatodds.report.generator_words import charging_sentences
from flatodds.report.heat_words import heat_sentences
from flatodds.report.words import clean, number, urgent_told


@dataclass(frozen=True, slots=True)
class Answer:
    """What is said about one stay, or the whole trip.

    `happens` tells of power out, generator, heat and overloads, a paragraph each;
    `numbers` are pairs of a number with its unit, and what it is. `cautions` are safety notes,
    each cut to the sentence that stands alone.
    """

    question: str
    verdict: str
    chance: str
    band: str
    happens: tuple[str, ...]
    numbers: tuple[tuple[str, str], ...]
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class StayRow:
    """One stay in the table of all; `anchor` is empty when it is not shown in detail."""

    anchor: str
    name: str
    first_day: str
    nights: int
    chance: str
    band: str
    verdict: str


def _chance(summary: Part, facts: Facts, part: Part, many: str) -> str:
    return answer_sentence(
        part["odds_flat"],
        members=summary["members"],
        record_years=facts.record_years,
        many=many,
    )


def stay_answer(summary: Part, facts: Facts, dawn: Mapping[str, float], at: int) -> Answer:
    """Answer for one stay."""
    stay = summary["stays"][at]
    several = len(summary["stays"]) > 1
    where = f" at {clean(stay['name'], 80)}" if several else ""
    return Answer(
        question=f"Will the power go out{where}?",
        verdict=verdict_sentence(stay),
        chance=_chance(summary, facts, stay, "stays"),
        band=range_sentence(stay["odds_flat_range"], unknown_in(summary, stay)),
        happens=tuple(
            text
            for text in (
                when_sentence(stay),
                *charging_sentences(summary, facts, stay),
                *heat_sentences(facts, stay),
                overload_sentence(stay),
            )
            if text
        ),
        numbers=_numbers(stay, facts, dawn),
        cautions=() if several else short_cautions(summary),
    )


def _numbers(stay: Part, facts: Facts, dawn: Mapping[str, float]) -> tuple[tuple[str, str], ...]:
    """Give what is left at dawn, how often the reserve is crossed, sun against need."""
    nights = stay["nights"]
    offered = (stay["array_kwh"]["mean"] + stay["spilled_kwh"]["mean"]) / nights
    found = [(percent(dawn["p50"]), "of the battery usually left at dawn")]
    if stay["odds_reserve"] is not None:
        crossed = stay["odds_reserve"]["estimate"]
        said = {0.0: "no simulated stay", 1.0: "every simulated stay"}.get(crossed)
        said = said or seen(crossed, "stays") + " stays"
        found.append((said, f"dip below your reserve of {percent(facts.reserve_frac)}"))
    need = energy(stay["demand_kwh"]["mean"] / nights, facts)
    found.append((f"{number(offered)} kWh", f"of sun on an average day; you need {need}"))
    return tuple(found)


def trip_answer(summary: Part, facts: Facts) -> Answer:
    """Answer for all stays together."""
    trip = summary["trip"]
    return Answer(
        question="Will the power go out on the whole trip?",
        verdict=verdict_sentence(trip),
        chance=_chance(summary, facts, trip, "trips"),
        band=range_sentence(trip["odds_flat_range"], unknown_in(summary, trip)),
        happens=(),
        numbers=(),
        cautions=short_cautions(summary),
    )


def short_cautions(summary: Part) -> tuple[str, ...]:
    """Cut every urgent caution to its first sentence, which stands alone."""
    return tuple(clean(text, 300) for text in urgent_told(summary, short=True))


def stay_table(summary: Part, facts: Facts, anchors: Set[str]) -> tuple[StayRow, ...]:
    """One row per stay of a longer trip."""
    units = counted(summary["members"], facts.record_years, "stays")
    rows = []
    for at, stay in enumerate(summary["stays"]):
        anchor = f"s{at + 1}"
        rows.append(
            StayRow(
                anchor=anchor if anchor in anchors else "",
                name=clean(stay["name"], 80),
                first_day=stay["first_day"],
                nights=stay["nights"],
                chance=seen(stay["odds_flat"]["estimate"], units),
                band=range_words(stay["odds_flat_range"]),
                verdict=verdict(stay["odds_flat"], stay["odds_flat_range"]),
            )
        )
    return tuple(rows)
