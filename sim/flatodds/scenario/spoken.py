"""Answers of several parts as people type them, taken apart into keys of the starter.

"20 Sep, 45 nights" or "agm, 12 V, 220 Ah" is one answer; order, commas and small words do not
matter. Whether a part may stand is for the scenario to say, not for these readers.
"""

from __future__ import annotations

import re

from flatodds.scenario.dates import DAYS, DayError, day_of_year, parse_day

Parts = dict[str, str]  # key of the starter, and what was answered for it

HOMES = ("trailer", "van", "cabin")
PATTERNS = ("light", "medium", "heavy", "none")
NO_PANELS = ("none", "no", "no panels")
W_PER_KW = 1000.0  # definition
# Labels of lithium banks name volts at rest: common practice, no source.
LABEL_VOLTS = {"12.8": "12", "25.6": "24", "51.2": "48"}
LABEL_KINDS = {"lifepo4": "lithium", "lfp": "lithium"}  # iron phosphate, as labels spell it

_NUMBER = r"\d+(?:[.,]\d+)*"
_TIMES = re.compile(rf"({_NUMBER})\s*[x*]\s*({_NUMBER})\s*(?=[a-z]|$)", re.IGNORECASE)
_VOLTS = re.compile(rf"({_NUMBER})\s*v(?:olts?)?\b", re.IGNORECASE)
_AMP_HOURS = re.compile(rf"({_NUMBER})\s*(?:a\.?\s?h\b\.?|amp(?:ere)?[\s-]*hours?)", re.IGNORECASE)
_WATT_HOURS = re.compile(rf"{_NUMBER}\s*k?wh\b", re.IGNORECASE)
_WATTS = re.compile(rf"({_NUMBER})\s*(k?)w?(?:atts?|p)?\.?(?:\s*(?:of\s*)?panels?)?", re.IGNORECASE)
_NIGHTS = re.compile(r"(?:\bfor\s+)?(\d+)\s*(nights?|days?|weeks?)\b", re.IGNORECASE)
_LAST_NUMBER = re.compile(r"(?<=[a-z.,\s])[,\s]+(\d+)$|,\s*(\d+)$", re.IGNORECASE)
_UNTIL = re.compile(r"\s+(?:to|until|till|-+)\s+", re.IGNORECASE)
_SMALL_WORDS = {"a", "an", "and", "at", "bank", "batteries", "battery", "bay", "for", "from", "in",
                "my", "of", "on", "our", "the", "use", "we", "whole", "with"}  # fmt: skip


class UnclearError(ValueError):
    """An answer that cannot be taken apart; holds what to write instead."""


def place(answer: str) -> Parts:
    """Take where as it stands."""
    return {"place": answer}


def when(answer: str) -> Parts:
    """Read the first day and how many nights: ``"20 Sep, 45 nights"``, ``"20 Sep to 4 Nov"``."""
    text = answer.strip()
    ends = _UNTIL.split(_without_from(text))
    if len(ends) == 2 and not _NIGHTS.search(text):
        return {"first_day": ends[0], "nights": str(_nights_between(*ends))}
    if match := _NIGHTS.search(text):
        count, unit = int(match[1]), match[2].lower()
        nights = str(count * 7 if unit.startswith("week") else count)
        text = f"{text[: match.start()]} {text[match.end() :]}"
    elif (match := _LAST_NUMBER.search(text)) and not _is_day(text):
        nights, text = match[1] or match[2], text[: match.start()]
    else:
        raise UnclearError('Say the day and how many nights, as in "20 Sep, 45 nights".')
    first_day = _without_from(text.strip(" ,;"))
    if not first_day:
        raise UnclearError('Say from which day, as in "20 Sep, 45 nights".')
    return {"first_day": first_day, "nights": nights}


def _without_from(text: str) -> str:
    return re.sub(r"^from\s+", "", text, flags=re.IGNORECASE)


def _is_day(text: str) -> bool:
    """Whether the number in a text belongs to its day: "Sep 20"."""
    try:
        parse_day(text)
    except DayError:
        return False
    return True


def _nights_between(first: str, last: str) -> int:
    """Count nights from one day of the year to the next time another comes."""
    try:
        days = [day_of_year(*parse_day(text)) for text in (first, last)]
    except DayError:
        raise UnclearError('Write both days with their months, as in "20 Sep to 4 Nov".') from None
    return (days[1] - days[0]) % DAYS or DAYS


def battery(answer: str) -> Parts:
    """Read kind, volts and ampere-hours: ``"agm, 12 V, 220 Ah"``; what is not said stays."""
    if _WATT_HOURS.search(answer):
        raise UnclearError('Write ampere-hours and volts, as in "lithium, 12 V, 400 Ah".')
    if _TIMES.search(answer):
        raise UnclearError(
            "Say the whole bank: two of 100 Ah side by side are 200 Ah; in a row still 100 Ah,"
            " with twice the volts."
        )
    parts, text = {}, answer
    for key, pattern in (("bank.volts", _VOLTS), ("bank.amp_hours", _AMP_HOURS)):
        if match := pattern.search(text):
            parts[key] = _plain(match[1])
            text = f"{text[: match.start()]} {text[match.end() :]}"
    bare = re.findall(rf"(?<![\w.]){_NUMBER}(?![\w.])", text)
    if "bank.amp_hours" not in parts and len(bare) == 1:
        parts["bank.amp_hours"] = _plain(bare[0])
    elif bare or "bank.amp_hours" not in parts:
        raise UnclearError('Write kind, volts and ampere-hours, as in "lithium, 12 V, 400 Ah".')
    if "bank.volts" in parts:
        parts["bank.volts"] = LABEL_VOLTS.get(parts["bank.volts"], parts["bank.volts"])
    kind = " ".join(_words(re.sub(rf"(?<![\w.]){_NUMBER}(?![\w.])", " ", text)))
    return {"bank.chemistry": LABEL_KINDS.get(kind, kind), **parts} if kind else parts


def panels(answer: str) -> Parts:
    """Read watts of all panels: ``"800"``, ``"2 x 400 W"``, ``"1.2 kW"``, ``"none"``."""
    text = answer.strip()
    if text.lower() in NO_PANELS:
        return {"array.watts": "0"}
    if match := _TIMES.match(text):
        each = _WATTS.fullmatch(text[match.start(2) :])
        if each:
            watts = float(_plain(match[1])) * _watts(each)
            return {"array.watts": f"{watts:g}"}
    whole = _WATTS.fullmatch(text)
    if whole is None:
        raise UnclearError('Write one number of watts, as in "800" or "2 x 400 W".')
    return {"array.watts": f"{_watts(whole):g}"}


def _watts(match: re.Match[str]) -> float:
    return float(_plain(match[1])) * (W_PER_KW if match[2] else 1.0)


def life(answer: str) -> Parts:
    """Read how much is used and in what home: ``"light, van"``; what is not said stays."""
    parts: Parts = {}
    for word in _words(answer):
        if word in HOMES:
            parts["home"] = word
        elif word in PATTERNS:
            parts["household.pattern"] = word
        else:
            raise UnclearError(
                'Write light, medium or heavy, and trailer, van or cabin, as in "light, van".'
            )
    return parts


def _words(text: str) -> list[str]:
    """Words that carry meaning, in small letters."""
    found = re.findall(r"[^\s,;/&+]+", text.lower())
    return [word for word in found if word.strip(".()") not in _SMALL_WORDS]


def _plain(number: str) -> str:
    """Write a number without marks between thousands; a comma may also be a decimal point."""
    if re.fullmatch(r"\d{1,3}(,\d{3})+(\.\d+)?", number):
        return number.replace(",", "")
    return number.replace(",", ".")
