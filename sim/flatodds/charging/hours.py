"""Hours in which charging other than sun can happen, on the simulation's clock."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Window = tuple[float, float]


def share_of_hours(
    days: Iterable[int], windows: Sequence[Window], shift_h: npt.NDArray[np.floating]
) -> Floats:
    """Part of every hour of a stay that lies inside a window of one of the days, (day, 24) [1].

    Parameters
    ----------
    days : iterable of int
        Days of the stay, from 0, on which the windows begin; one outside the stay counts as
        far as its window reaches in.
    windows : sequence of (start, end)
        Hours of the household's clock; the end passes 24 over midnight.
    shift_h : ndarray
        Hours the household's clock is ahead of the simulation's, (day,).
    """
    count = len(shift_h)
    hour = np.arange(24.0 * count)
    share = np.zeros(24 * count)
    for day in days:
        ahead_h = float(shift_h[min(max(day, 0), count - 1)])
        for start_h, end_h in windows:
            start, end = (24.0 * day + h - ahead_h for h in (start_h, end_h))
            share += np.clip(end - hour, 0.0, 1.0) - np.clip(start - hour, 0.0, 1.0)
    return np.clip(share, 0.0, 1.0).reshape(count, 24)
