"""Charging while driving: a converter between engine and bank gives fixed amperes."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from flatodds.charging.hours import share_of_hours

if TYPE_CHECKING:
    from flatodds.scenario import Drive

Floats = npt.NDArray[np.float64]


def drive_h(drive: Drive | None, stay: int, shift_h: npt.NDArray[np.floating]) -> Floats:
    """Part of every hour of a stay spent driving, (day, 24) [h]."""
    if drive is None:
        return np.zeros((len(shift_h), 24))
    return share_of_hours(drive.days[stay], drive.windows, shift_h)
