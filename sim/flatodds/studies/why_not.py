"""Why a change does nothing that can be seen: one plain reason, from what the rigs lived."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any

from flatodds.outcomes.lived import ever_flat, total

if TYPE_CHECKING:
    from flatodds.engine.many import Lived

LITTLE_SPARE, MUCH_SPARE = 0.05, 0.5  # of the sun on offer, left unused; judgement
LITTLE_SUN, LITTLE_TAKEN, LITTLE_USE = 0.03, 0.01, 0.05  # shares that are too little; judgement


def why_not(first: Lived, other: Lived, kind: str, changes: Mapping[str, Any]) -> str:
    """Say why a change does nothing that can be seen.

    Parameters
    ----------
    first, other : Lived
        The scenario as written, and with the change.
    kind : str
        As in `Change`.
    changes : mapping
        What is changed, by dotted keys.

    Returns
    -------
    str
        Never empty: what cannot be explained is at least measured.
    """
    if not first.flat.any():
        return "nothing runs flat as it is"
    kinds = _kinds_of(changes) if kind == "own" else [kind]
    found = (REASONS[one](first, other, changes) for one in kinds if one in REASONS)
    reason = next((text for text in found if text), "")
    if not reason and ever_flat(other).all():
        reason = "it is far too little: every stay still runs flat"
    return reason or _measured(first, other)


def _kinds_of(changes: Mapping[str, Any]) -> list[str]:
    """Kinds that a scenario's own change is one of, by the words it changes."""
    found = []
    for key in changes:
        table = key.split(".")[0]
        kind = "pad" if key.startswith("bank.heating_pad") else KIND_OF_TABLE.get(table)
        if kind is not None and kind not in found:
            found.append(kind)
    return found


def _mean(lived: Lived, *names: str) -> float:
    return sum(float(total(lived, name).mean()) for name in names)


def _more(first: Lived, other: Lived, *names: str) -> float:
    """How much more the second has of something, as a share of the first's."""
    before = _mean(first, *names)
    return _mean(other, *names) / before - 1.0 if before > 0.0 else 0.0


def _spare(first: Lived) -> float:
    """Share of the sun on offer that is left unused."""
    offered = _mean(first, "array_wh", "spilled_wh")
    return _mean(first, "spilled_wh") / offered if offered > 0.0 else 0.0


def _battery(first: Lived, _: Lived, __: Mapping[str, Any]) -> str:
    if _spare(first) < LITTLE_SPARE:
        return "hardly any sun is left over to fill it: less comes in than goes out"
    return ""


def _panels(first: Lived, other: Lived, _: Mapping[str, Any]) -> str:
    if _spare(first) > MUCH_SPARE:
        return "more than half of the sun is left over already: what is short is storage"
    gain = _more(first, other, "array_wh", "spilled_wh")
    if gain < LITTLE_SUN:
        return f"it brings only {100.0 * max(gain, 0.0):.0f} % more sun here"
    return ""


def _habit(first: Lived, other: Lived, _: Mapping[str, Any]) -> str:
    saved = -_more(first, other, "demand_wh")
    if saved < LITTLE_USE:
        return f"it saves only {100.0 * max(saved, 0.0):.0f} % of what you use"
    return ""


def _charging(first: Lived, other: Lived, changes: Mapping[str, Any]) -> str:
    tables = {key.split(".")[0] for key in changes}
    if "generator" in tables and _mean(other, "generator_hours") == 0.0:
        return "it never has to start: the charge stays above where it would"
    if "drive" in tables:
        more_wh = _mean(other, "drive_wh") - _mean(first, "drive_wh")
        if more_wh <= 0.0:
            return "nobody drives in these stays, or the battery takes nothing then"
        used_wh = _mean(first, "demand_wh")
        if used_wh > 0.0 and more_wh < LITTLE_USE * used_wh:
            return f"driving brings only {100.0 * more_wh / used_wh:.1f} % of what you use"
        spilled_wh = _mean(other, "spilled_wh") - _mean(first, "spilled_wh")
        if spilled_wh > MUCH_SPARE * more_wh:
            return "most of what driving brings leaves as much sun unused"
    return ""


def _pad(first: Lived, other: Lived, _: Mapping[str, Any]) -> str:
    if _more(first, other, "array_wh") < LITTLE_TAKEN:
        return "cold hardly ever bars charging here"
    return ""


def _measured(first: Lived, other: Lived) -> str:
    """Say by how much it changes what is gone without."""
    change = 100.0 * _more(first, other, "energy_not_served_wh", "gone_without_wh")
    if abs(change) < 1.0:
        return "what you go without stays the same within 1 %"
    word = "more" if change > 0.0 else "less"
    return f"you go without {abs(change):.0f} % {word} energy, too little to show in the odds"


REASONS: Mapping[str, Callable[[Lived, Lived, Mapping[str, Any]], str]] = {
    "battery": _battery,
    "panels": _panels,
    "habit": _habit,
    "charging": _charging,
    "pad": _pad,
}
KIND_OF_TABLE = {
    "bank": "battery",
    "array": "panels",
    "controller": "panels",
    "household": "habit",
    "appliance": "habit",
    "inverter": "habit",
    "cooling": "habit",
    "generator": "charging",
    "drive": "charging",
}
