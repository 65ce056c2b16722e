"""Hours of the day between which something may run, written "7-9" or "22-6:30"."""

from __future__ import annotations

import re
from itertools import pairwise

Window = tuple[float, float]  # start and end [hour of the day]; the end passes 24 over midnight

_CLOCK = r"([01]?\d|2[0-4])(?::([0-5]\d))?"
_WINDOW = re.compile(rf"\s*{_CLOCK}\s*-\s*{_CLOCK}\s*", re.ASCII)


def parse_window(text: str) -> Window:
    """Start and end hour of a window such as ``"17-19:30"``.

    A window over midnight ends after 24: ``"22-6"`` gives (22, 30).

    Raises
    ------
    ValueError
        If the text is not two clock times of one day, or both are the same.
    """
    match = _WINDOW.fullmatch(text)
    if match is None:
        raise ValueError("not two clock times from 0 to 24 with a hyphen between")
    hour_a, minute_a, hour_b, minute_b = (int(part or 0) for part in match.groups())
    start_h = hour_a + minute_a / 60.0
    end_h = hour_b + minute_b / 60.0
    if start_h >= 24.0 or end_h > 24.0:
        raise ValueError("a day ends at 24; a window starts before that")
    if start_h == end_h:
        raise ValueError("the window is empty")
    return (start_h, end_h if end_h > start_h else end_h + 24.0)


def window_text(window: Window) -> str:
    """Write a window back as people write it: (22, 30) gives ``"22-6"``."""
    start_h, end_h = window
    return f"{_clock(start_h)}-{_clock(end_h if end_h <= 24.0 else end_h - 24.0)}"


def _clock(hour: float) -> str:
    minutes = round(hour * 60.0)
    return f"{minutes // 60}:{minutes % 60:02d}" if minutes % 60 else str(minutes // 60)


def overlapping(windows: tuple[Window, ...]) -> bool:
    """Whether two of the windows share time, those over midnight included."""
    pieces: list[Window] = []
    for start_h, end_h in windows:
        pieces.append((start_h, min(end_h, 24.0)))
        if end_h > 24.0:
            pieces.append((0.0, end_h - 24.0))
    pieces.sort()
    return any(later[0] < earlier[1] for earlier, later in pairwise(pieces))
