"""What stands behind the answer: how sure it is, what is left out, safety, assumptions, origin."""

from __future__ import annotations

import re
import shlex
from collections.abc import Mapping
from dataclasses import dataclass

from flatodds.outcomes import Facts
from flatodds.outcomes.cautions import SAFETY
from flatodds.outcomes.said import cold_bars, counted, range_words, seen
from flatodds.report.figures import Part
from flatodds.report.words import case_words, clean, urgent_notes, urgent_told
from flatodds.report.writer import slug
from flatodds.scenario.cautions import HEALTH

TEXT_LIMIT = 1000  # letters; own choice
_NULL = re.compile(r"^\S+ is null: (.*)$")

# What no run here knows of: facts about this program.
LEFT_OUT = (
    "Nothing breaks: no blown fuse, loose wire, weak cell or broken panel.",
    "Fuel, gas and water never run out.",
    "Nobody leaves early, or changes the rig, because power runs short.",
    "The battery grows no older while the stay lasts.",
    "Snow covers the panels or it does not; how deep it lies is not followed.",
    "Hills and buildings hide no sun unless horizon_deg in the scenario tells how high they stand.",
)

# Cautions that hold for everyone who reads this page, or for a kind of battery.
FOR_ALL = (
    "These are odds from a model, not a promise. Never let health, warmth or a way to call for "
    "help hang on this battery alone.",  # judgement
    "This page does not check wiring, fuses or ventilation. Battery banks can deliver currents "
    "that start fires: have the work checked by someone qualified.",  # common practice, no source
)
FOR_CHEMISTRY: Mapping[str, str] = {
    "agm": "Charging lead batteries can give off hydrogen, which explodes: vent their box to the "
    "outside and keep sparks away.",  # common practice, no source
    "lithium": "Lithium batteries are damaged by charging below freezing: use a battery whose own "
    "protection stops it.",  # common practice, no source
}


@dataclass(frozen=True, slots=True)
class Assumed:
    """A value nobody gave, and where it comes from."""

    key: str
    value: str
    why: str


@dataclass(frozen=True, slots=True)
class Background:
    """Everything after the figures; all texts are clean and unescaped."""

    sure: tuple[tuple[str, str], ...]
    weather: tuple[tuple[str, str, tuple[str, ...]], ...]
    look: tuple[str, ...]
    left_out: tuple[str, ...]
    safety: tuple[str, ...]
    assumed: tuple[Assumed, ...]
    origin: tuple[tuple[str, str], ...]
    command: str
    python: str


def background_of(summary: Part, facts: Facts, scenario_file: str) -> Background:
    """Collect what stands behind the answer."""
    return Background(
        sure=sure_of(summary, facts),
        weather=weather_of(facts),
        look=_apart(summary, null=False),
        left_out=(*_apart(summary, null=True), *LEFT_OUT),
        safety=safety_of(summary, facts),
        assumed=tuple(
            Assumed(clean(a.key), clean(shorter(a.value)), clean(a.why, TEXT_LIMIT))
            for a in facts.assumed
        ),
        origin=origin_of(summary, facts),
        command=command_of(summary, scenario_file),
        python=(
            "import flatodds\n"
            f'outcomes = flatodds.open_result("{slug(facts.title)}-result")\n'
            "print(outcomes.answer())\n"
            'print(outcomes.table("months"))'
        ),
    )


def sure_of(summary: Part, facts: Facts) -> tuple[tuple[str, str], ...]:
    """Say each kind of doubt in a sentence, with what it is called."""
    part = summary["trip"] if len(summary["stays"]) > 1 else summary["stays"][0]
    many = "trips" if len(summary["stays"]) > 1 else "stays"
    odds, band = part["odds_flat"], part["odds_flat_range"]
    units = counted(summary["members"], facts.record_years, f"simulated {many}")
    told = seen(odds["estimate"], units)
    told = f"{told[0].upper()}{told[1:]}" if told.endswith(units) else f"In {units}: {told}"
    level = f"{summary['confidence'] * 100:.0f} %"
    counting = range_words({"low": odds["low"], "high": odds["high"]})
    found = [
        (
            "Counting",
            f"{told}. From counting alone it could be {counting} ({level} interval).",
        )
    ]
    if summary["theta_points"] > 1:
        spread = case_words(*_largest(facts))
        cold = ""
        if "cold_gate" in summary["theta_over"] and any(map(cold_bars, summary["stays"])):
            cold = ", nor exactly in what cold the battery stops taking charge"
        found.append(
            (
                "Not knowing",
                f"Nobody knows exactly how sunny the place is and how much you will use{cold}. "
                f"The odds average {summary['theta_points']} equally likely guesses, as far as "
                f"{spread}. 8 of 10 of these, with the counting error, lie within "
                f"{range_words(band)}.",
            )
        )
    found.append(
        (
            "Comparing",
            "Comparing two rigs under the same weather is surer than the level itself: what is "
            "wrong with the sun here is wrong for both.",
        )
    )
    return tuple(found)


def _largest(facts: Facts) -> tuple[float, float]:
    """Factors of the gloomiest of the weighted guesses."""
    cases = [case for case in facts.cases if case.weight > 0.0]
    return min(case.sun_factor for case in cases), max(case.use_factor for case in cases)


def weather_of(facts: Facts) -> tuple[tuple[str, str, tuple[str, ...]], ...]:
    """Say what the weather of each stay rests on, with sources; equal ones once."""
    found: dict[tuple[str, tuple[str, ...]], list[str]] = {}
    for stay, basis in zip(facts.stays, facts.bases, strict=True):
        key = (
            clean(basis.sentence, TEXT_LIMIT),
            tuple(clean(s, TEXT_LIMIT) for s in basis.sources),
        )
        found.setdefault(key, []).append(clean(stay.name, 80))
    return tuple((", ".join(names), text, sources) for (text, sources), names in found.items())


def _apart(summary: Part, *, null: bool) -> tuple[str, ...]:
    """Collect the cautions that are not urgent: those about missing numbers, or the others."""
    urgent = set(urgent_notes(summary))
    found = []
    for caution in summary["cautions"]:
        text = clean(caution, TEXT_LIMIT)
        missing = _NULL.match(text)
        if caution in urgent or bool(missing) is not null or caution.startswith(HEALTH):
            continue  # of the rig's medical devices the safety notes speak
        if missing:
            text = missing.group(1)[0].upper() + missing.group(1)[1:]
        found.append(text)
    return tuple(dict.fromkeys(found))


def safety_of(summary: Part, facts: Facts) -> tuple[str, ...]:
    """Collect every safety note: of this rig, of its battery, of all."""
    own = [_plain(clean(text, TEXT_LIMIT)) for text in urgent_told(summary)]
    kind = FOR_CHEMISTRY.get(facts.chemistry)
    return (*own, *((kind,) if kind else ()), *FOR_ALL)


def _plain(text: str) -> str:
    """Drop the word that marks a safety note, where the heading says it already."""
    bare = text.removeprefix(SAFETY)
    return bare[:1].upper() + bare[1:]


def origin_of(summary: Part, facts: Facts) -> tuple[tuple[str, str], ...]:
    """Say where the numbers come from, exactly."""
    hashes = dict.fromkeys(clean(basis.sha256) for basis in facts.bases)
    return (
        ("flatodds", clean(str(summary["flatodds"]))),
        ("simulated years", f"{summary['members']:,}"),
        ("seed", str(summary["seed"])),
        ("scenario SHA-256", clean(summary["scenario"]["sha256"])),
        *(("weather SHA-256", value) for value in hashes),
        (
            "energy that does not add up",
            f"{summary['energy_balance']['relative_error']:.1e} of all",
        ),
        ("flat means", "must-have use refused in an hour, by more than 1 Wh and 0.1 %"),
    )


def command_of(summary: Part, scenario_file: str) -> str:
    """Write the command that repeats the run."""
    name = shlex.quote(clean(scenario_file))
    return f"flatodds run {name} --members {summary['members']} --seed {summary['seed']}"


def shorter(value: str) -> str:
    """Write a number without digits nobody needs."""
    try:
        number = float(value)
    except ValueError:
        return {"None": "-", "True": "yes", "False": "no"}.get(value, value)
    return f"{number:.4g}" if abs(number) < 1e4 else f"{number:.0f}"
