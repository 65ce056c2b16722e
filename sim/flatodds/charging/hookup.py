"""Hookup nights: the pedestal carries the loads, and its charger fills the bank."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from flatodds.charging.hours import share_of_hours

if TYPE_CHECKING:
    from flatodds.scenario import Hookup

Floats = npt.NDArray[np.float64]


def plugged_share(hookup: Hookup | None, stay: int, shift_h: npt.NDArray[np.floating]) -> Floats:
    """Part of every hour of a stay spent plugged in, (day, 24) [1]."""
    if hookup is None:
        return np.zeros((len(shift_h), 24))
    return share_of_hours(hookup.days[stay], hookup.windows, shift_h)
