"""Which appliances a household has: those of its pattern, changed and joined by its own."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from flatodds.catalog import Appliance, PatternUse, appliances, parse_window, patterns
from flatodds.catalog.windows import overlapping
from flatodds.errors import Problem
from flatodds.scenario import defaults
from flatodds.scenario.defaults import Ledger
from flatodds.scenario.habits import as_lived
from flatodds.scenario.parts import ApplianceUse, Household
from flatodds.scenario.parts_habits import Habits
from flatodds.scenario.problems import Where, shown
from flatodds.scenario.written import WrittenAppliance, WrittenScenario

HEATERS = {"gas furnace": "furnace_blower", "air heater": "air_heater"}  # by household.heat
MOST_LINES = 3  # different values of only_above_charge_frac that the engine tells apart
ALL_DAY = ((0.0, 24.0),)  # definition
_RUN_WORDS = (
    "minutes",
    "times_a_day",
    "times_a_day_weekend",
    "times_sd",
    "window",
    "wet_day_factor",
)


def resolve_appliances(
    written: WrittenScenario, household: Household, where: Where, ledger: Ledger
) -> tuple[tuple[ApplianceUse, ...], list[Problem]]:
    """Resolve the household's appliances, and list what is wrong among those written."""
    heat, habits = household.heat, household.habits
    pattern = patterns()[written.household.pattern]
    found = {use.use: as_lived(_of_pattern(use), habits) for use in pattern.uses}
    if heat in HEATERS:
        found[HEATERS[heat]] = from_catalogue(appliances()[HEATERS[heat]])
    assumed = {name: catalogue_words(item) for name, item in found.items()}
    problems: list[Problem] = []
    seen: set[str] = set()
    for index, entry in enumerate(written.appliance):
        reader = _Entry(entry, index, habits, where, ledger)
        name = entry.name or entry.use or ""
        if name in seen:
            reader.refuse("name", f'"{shown(name)}" is listed twice.', "Give one of them a name.")
        elif entry.use in HEATERS.values() and (
            entry.use != HEATERS.get(heat) or entry.times_a_day == 0.0
        ):
            reader.refuse(
                "use",
                f'"{entry.use}" does not agree with household.heat = "{heat}".',
                'Without a heater leave it out and write: household.heat = "none"',
            )
        else:
            use = reader.resolve(found.get(name))
            assumed.pop(name, None)
            found.pop(name, None) if entry.times_a_day == 0.0 else None
            if use is not None:
                found[name] = use
        seen.add(name)
        problems += reader.problems
    lines = {use.only_above_charge_frac for use in found.values()} - {None}
    if len(lines) > MOST_LINES:
        path = ("appliance",)
        text = f"There are {len(lines)} different values of only_above_charge_frac."
        problems.append(Problem(where.line(path), text, f"Use at most {MOST_LINES}."))
    for name, words in assumed.items():
        ledger.note(f"appliance.{name}", words, _why(appliances()[name]))
    return tuple(found.values()), problems


def from_catalogue(item: Appliance) -> ApplianceUse:
    """Use a catalogue appliance as the catalogue has it."""
    return ApplianceUse(
        name=item.name,
        use=item.name,
        watts=item.watts,
        side=item.side,
        kind=item.kind,
        minutes=item.minutes,
        times_a_day=item.times_a_day,
        times_a_day_weekend=item.times_a_day_weekend,
        times_sd=item.times_sd,
        windows=item.windows,
        need=item.need,
        duty_frac=item.duty_frac,
        surge_ratio=item.surge_ratio,
        medical=item.medical,
        mean_draw=item.mean_draw,
        only_above_charge_frac=item.only_above_charge_frac,
        shrink_frac=item.shrink_frac,
        when_away=item.when_away,
        wet_day_factor=item.wet_day_factor,
    )


def catalogue_words(use: ApplianceUse) -> str:
    """One line on what an appliance does: ``"65 W ac, 600 min x 1 a day"``."""
    power = f"{use.watts:g} W {use.side}"
    if use.kind == "uses":
        return f"{power}, {use.minutes:g} min x {use.mean_times:.3g} a day"
    words = {
        "steady": "always on",
        "fridge": "by inside temperature",
        "furnace": "by heat need",
        "air-heater": "by heat need",
        "vent": "while windows are open against heat",
    }
    return f"{power}, {words[use.kind]}"


def _why(item: Appliance) -> str:
    return "; ".join(f"{key}: {source}" for key, source in item.sources.items())


def _of_pattern(use: PatternUse) -> ApplianceUse:
    base = from_catalogue(appliances()[use.use])
    changes: dict[str, Any] = dict(use.changes)
    if changes.get("kind") == "steady":
        changes |= always_on()
    return replace(base, **changes)


def label_w(label_kwh_year: float) -> float:
    """Mean power in homes of a fridge with that label [W]."""
    slope, offset_kwh = defaults.LABEL_TO_FIELD
    return (slope * label_kwh_year + offset_kwh) * 1000.0 / defaults.HOURS_A_YEAR


def always_on() -> dict[str, Any]:
    """Values of an appliance that never stops."""
    return {
        "kind": "steady",
        "minutes": 1440.0,
        "times_a_day": 1.0,
        "times_a_day_weekend": 1.0,
        "times_sd": 0.0,
        "windows": ALL_DAY,
        "when_away": True,
        "wet_day_factor": 1.0,
    }


class _Entry:
    """One [[appliance]] of the file on its way to an `ApplianceUse`."""

    def __init__(
        self,
        entry: WrittenAppliance,
        index: int,
        habits: Habits,
        where: Where,
        ledger: Ledger,
    ) -> None:
        self._entry = entry
        self._index = index
        self._habits = habits
        self._where = where
        self._ledger = ledger
        self.problems: list[Problem] = []

    def refuse(self, word: str, found: str, hint: str = "") -> None:
        """Note a problem of one word of this appliance."""
        path = ("appliance", self._index, word)
        self.problems.append(
            Problem(self._where.line(path), f"{self._where.key(path)} {found}", hint)
        )

    def resolve(self, of_pattern: ApplianceUse | None) -> ApplianceUse | None:
        """Give the appliance, or None if it is removed or something is wrong with it."""
        entry = self._entry
        base = of_pattern
        if entry.use is not None and (base is None or base.use != entry.use):
            base = as_lived(from_catalogue(appliances()[entry.use]), self._habits)
        if base is None and entry.name is None:
            self.refuse("name", "is missing.", 'Write use = "microwave", or a name of your own.')
            return None
        if entry.times_a_day == 0.0 and base is not None:
            return None
        use = self._changed(base) if base else self._own()
        if use is not None and not self.problems:
            self._check_runs(use)
            self._check_need(use)
        return None if self.problems else use

    def _written(self) -> dict[str, Any]:
        """Values written, by the names `ApplianceUse` has."""
        words = self._entry.model_dump(exclude_none=True, exclude={"use", "name"})
        if "window" in words:
            words["windows"] = tuple(parse_window(text) for text in words.pop("window"))
        return {k: float(v) if type(v) is int else v for k, v in words.items()}

    def _changed(self, base: ApplianceUse) -> ApplianceUse | None:
        """Catalogue appliance with the written values laid over it."""
        words = self._written()
        kind = words.get("kind", base.kind)
        extra = [word for word in _RUN_WORDS if getattr(self._entry, word) is not None]
        if kind != "uses" and extra:
            self.refuse(
                extra[0],
                f"has no meaning: {shown(base.name)} runs {_manner(kind)}.",
                'To set its runs yourself, write also: kind = "uses"',
            )
            return None
        if kind == "uses" and base.kind != "uses":
            self._need(("minutes", "times_a_day", "window"))
            if self.problems:
                return None
        if kind == "steady":
            words = always_on() | words
        elif "times_a_day" in words:
            words.setdefault("times_a_day_weekend", words["times_a_day"])
            words.setdefault("wet_day_factor", 1.0)
            if base.times_a_day > 0.0 and "times_sd" not in words:
                # As counts do: the spread grows with the root of the mean.
                more = words["times_a_day"] / base.times_a_day
                words["times_sd"] = base.times_sd * more**0.5
        draw = base.mean_draw if kind == "fridge" else None
        label_kwh = words.pop("label_kwh_year", None)
        if draw is not None and base.watts > 0.0:
            ratio = words.get("watts", base.watts) / base.watts
            if label_kwh is not None:
                ratio = label_w(label_kwh) / draw.watts(defaults.KITCHEN_C)
            draw = replace(
                draw,
                base_w=draw.base_w * ratio,
                slope_w_per_c=draw.slope_w_per_c * ratio,
                floor_w=draw.floor_w * ratio,
            )
        elif label_kwh is not None:
            self.refuse("label_kwh_year", f"has no meaning: {shown(base.name)} is no fridge.")
            return None
        if words.get("medical"):
            words.setdefault("shrink_frac", 0.0)
            words.setdefault("when_away", True)
        name = self._entry.name or base.name
        left = sorted(set(_FILLED) - set(words))
        if base.use is not None and left:
            key = self._where.key(("appliance", self._index))
            self._ledger.note(
                f"{key} ({shown(name)})", ", ".join(left), _why(appliances()[base.use])
            )
        return replace(base, name=name, mean_draw=draw, **words)

    def _own(self) -> ApplianceUse | None:
        """Appliance of the user's own, without the catalogue's help."""
        words = self._written()
        steady = words.get("kind") == "steady"
        if words.pop("label_kwh_year", None) is not None:
            self.refuse(
                "label_kwh_year", "goes with a fridge only.", 'Write: use = "residential_fridge"'
            )
        self._need(("watts", "side") if steady else ("watts", "side", *_NEEDED))
        if steady:
            for word in _RUN_WORDS:
                if getattr(self._entry, word) is not None:
                    self.refuse(word, "has no meaning: a steady appliance is always on.")
            words = always_on() | words
        if self.problems:
            return None
        if words["times_a_day"] == 0.0:
            return None
        words.setdefault("kind", "uses")
        words.setdefault("times_a_day_weekend", words["times_a_day"])
        for word, default, why in (
            ("times_sd", defaults.TIMES_SPREAD[0] * words["times_a_day"], defaults.TIMES_SPREAD[1]),
            ("need", "must", defaults.PRACTICE),
            ("duty_frac", 1.0, "draws its watts during the whole run"),
            ("surge_ratio", 1.0, "starts without a surge"),
            ("medical", False, "not written"),
            ("shrink_frac", 0.0, "not given up to save power"),
            ("when_away", words.get("medical", False), "switched off by who goes out"),
            ("wet_day_factor", 1.0, "runs in rain as often as in sun"),
        ):
            key = self._where.key(("appliance", self._index, word))
            words[word] = self._ledger.take(key, words.get(word), default, why)
        words.setdefault("only_above_charge_frac", None)
        return ApplianceUse(name=str(self._entry.name), use=None, mean_draw=None, **words)

    def _need(self, words: tuple[str, ...]) -> None:
        """Note every one of these words that is missing, or that a listed appliance was meant."""
        for word in words:
            if getattr(self._entry, word) is None:
                if word == "watts" and self._entry.name in appliances():
                    hint = f'To take the one listed, write: use = "{self._entry.name}"'
                    self.refuse(word, "is missing.", hint)
                    return
                self.refuse(word, "is missing.", f"Write: {word} = {_EXAMPLES[word]}")

    def _check_runs(self, use: ApplianceUse) -> None:
        """Check that a run fits into each window and windows do not overlap."""
        if overlapping(use.windows):
            self.refuse("window", "has windows that overlap.", "Join them, or part them.")
        shortest_h = min(end_h - start_h for start_h, end_h in use.windows)
        if use.kind == "uses" and use.minutes > 60.0 * shortest_h + 1e-9:
            word = "window" if self._entry.window is not None else "minutes"
            self.refuse(
                word,
                f"leaves no room: a run of {use.minutes:g} minutes does not fit into"
                f" a window of {60.0 * shortest_h:g}.",
                "Widen the window, or write shorter runs and more of them.",
            )

    def _check_need(self, use: ApplianceUse) -> None:
        """Check that nothing medical is shed, and that the rules fit the kind of need."""
        if use.medical and (use.need != "must" or use.shrink_frac > 0.0):
            word = "need" if use.need != "must" else "shrink_frac"
            self.refuse(
                word, "would shed something medical.", "Leave it out, or take medical away."
            )
        if self._entry.only_above_charge_frac is not None and use.need != "spare-sun":
            self.refuse(
                "only_above_charge_frac",
                f'has no meaning with need = "{use.need}".',
                'Write also: need = "spare-sun"',
            )
        if self._entry.shrink_frac and use.need != "must":
            self.refuse(
                "shrink_frac",
                f'has no meaning with need = "{use.need}": it waits or is left out anyway.',
                "Leave it out.",
            )


_NEEDED = ("minutes", "times_a_day", "window")
_FILLED = ("watts", "minutes", "times_a_day", "windows", "need")
_EXAMPLES: Mapping[str, str] = {
    "watts": "600",
    "side": '"ac"',
    "minutes": "30",
    "times_a_day": "1",
    "window": '["7-9"]',
}


def _manner(kind: str) -> str:
    return {
        "steady": "all the time",
        "fridge": "by the temperature inside",
        "furnace": "by the heat the home needs",
        "air-heater": "by the heat the home needs",
        "vent": "while windows are open against heat",
    }[kind]
