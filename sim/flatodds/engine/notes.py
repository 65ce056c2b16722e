"""What the kernel keeps of a day: sums, daily values, appliances and the hourly trace."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from flatodds.engine import rows as r
from flatodds.lanes import LANES, outlined

Array = npt.NDArray[np.floating]
Ints = npt.NDArray[np.int64]


@outlined
def add_sums(period: int, s: Array, sums: npt.NDArray[np.float64]) -> None:
    """Add the day's sums to the member's period in float64, and clear them."""
    f = type(s[0])
    for k in range(len(r.SUMS)):
        for i in range(LANES):
            sums[i, period, k] += s[(r.FIRST_SUM + k) * LANES + i]
            s[(r.FIRST_SUM + k) * LANES + i] = f(0.0)


@outlined
def note_dawn(s: Array) -> None:
    """Keep the charge fraction at the end of the dawn hour."""
    for i in range(LANES):
        s[r.DAWN + i] = s[r.BEFORE_FRAC + i]


@outlined
def note_shares(h: int, shares: Array, s: Array) -> None:
    """Share of must-have and of spare-sun demand served this hour, for the appliances."""
    f = type(s[0])
    for i in range(LANES):
        asked_w = s[r.MUST_W + i] + s[r.OVER_W + i]
        shares[h, 0, i] = (s[r.MUST_W + i] - s[r.REFUSED_W + i]) / max(asked_w, f(1e-6))
        shares[h, 1, i] = s[r.SPARE_W + i] / max(s[r.SPARE_WANTED_W + i], f(1e-6))


@outlined
def note_day(at: int, s: Array, daily: Array) -> None:
    """Keep a day of the first design, in the order of `rows.DAILY`."""
    for i in range(LANES):
        daily[i, at, 0] = s[r.DAY_WH + i]
        daily[i, at, 1] = s[r.DAY_NEED_WH + i]
        daily[i, at, 2] = s[r.DAY_LOW + i]
        daily[i, at, 3] = s[r.DAWN + i]
        daily[i, at, 4] = s[r.GENERATOR_HOURS + i]
        daily[i, at, 5] = s[r.DAY_HIGH + i]


@outlined
def note_hour(at: int, x: Array, s: Array, trace: Array) -> None:
    """Keep an hour of the first design, in the order of `rows.TRACE`."""
    for i in range(LANES):
        trace[at, 0, i] = x[r.SUNSHINE + i]
        trace[at, 1, i] = x[r.OUTDOOR_C + i]
        trace[at, 2, i] = s[r.POTENTIAL_W + i]
        trace[at, 3, i] = s[r.DIRECT_W + i] + s[r.ACCEPTED_W + i] + s[r.SPARE_W + i]
        trace[at, 4, i] = s[r.MUST_W + i] + s[r.WAIT_W + i] + s[r.OVER_W + i]
        trace[at, 5, i] = s[r.DIRECT_W + i] + s[r.DELIVERED_W + i]
        trace[at, 6, i] = s[r.SPARE_W + i]
        trace[at, 7, i] = s[r.BEFORE_FRAC + i]
        trace[at, 8, i] = s[r.BANK_C + i]
        trace[at, 9, i] = s[r.CABIN_C + i]
        trace[at, 10, i] = s[r.INTO_A + i]
        trace[at, 11, i] = s[r.OUT_A + i]
        trace[at, 12, i] = s[r.OFF + i]
        trace[at, 13, i] = s[r.GENERATOR_W + i]
        trace[at, 14, i] = s[r.DRIVE_W + i]
        trace[at, 15, i] = s[r.HOOKUP_W + i]
        trace[at, 16, i] = s[r.COOL_AC_W + i] + s[r.COOL_DC_W + i]


@outlined
def add_appliances(
    channel: Ints,
    energy: Array,
    wanted: Array,
    shares: Array,
    total_wanted: npt.NDArray[np.float64],
    total_served: npt.NDArray[np.float64],
) -> None:
    """Plug energy wanted and served by each appliance today (can-wait is pooled later)."""
    for a in range(energy.shape[0]):
        need = channel[a] // 2
        for i in range(LANES):
            total_wanted[a, i] += wanted[a, i]
        if need == 1:
            continue
        row = 0 if need == 0 else 1
        for h in range(24):
            for i in range(LANES):
                total_served[a, i] += energy[a, h, i] * shares[h, row, i]
