"""What the kernel keeps of a day: sums, daily values, appliances and the hourly trace."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from flatodds.engine import rows as r
from flatodds.engine.hour import Design
from flatodds.lanes import LANES, outlined
from flatodds.loads.appliances import (
    APPLIANCE,
    CAN_WAIT,
    MUST,
    NEW_ROW,
    OLD_ROW,
    SHRINK,
    SPARE_SUN,
    Uses,
)

Array = npt.NDArray[np.floating]


@outlined
def add_sums(period: int, s: Array, sums: npt.NDArray[np.float64]) -> None:
    """Add the day's sums to the member's period in float64, and clear them."""
    f = type(s[0])
    for k in range(len(r.SUMS)):
        for i in range(LANES):
            sums[period, k, i] += s[(r.FIRST_SUM + k) * LANES + i]
            s[(r.FIRST_SUM + k) * LANES + i] = f(0.0)


@outlined
def note_dawn(s: Array) -> None:
    """Keep the charge fraction at the end of the dawn hour."""
    for i in range(LANES):
        s[r.DAWN + i] = s[r.BEFORE_FRAC + i]


SHARES = 10  # rows of the hour's shares for the appliances
MUST_SHARE, SPARE_SHARE, LINE_SHARE = range(3)  # three charge lines from the third on
OLD_SHARE, NEW_SHARE = 5, 7  # of what was put off, DC and AC
SAVING = 9  # 1 while comfort use is given up
SERVED, SHIFTED, GONE = range(3)  # rows of Out.served, those of the economised case after them
PARTS = 3


@outlined
def note_asked(h: int, design: Design, shares: Array, s: Array) -> None:
    """Keep, before the hour is served, what has been put off and which charge lines are met."""
    f = type(s[0])
    zero = f(0.0)
    one = f(1.0)
    for i in range(LANES):
        frac = s[r.BEFORE_FRAC + i]
        shares[h, 2, i] = one if frac >= design.line_a else zero
        shares[h, 3, i] = one if frac >= design.line_b else zero
        shares[h, 4, i] = one if frac >= design.line_c else zero
        shares[h, 5, i] = s[r.OLD_DC + i]
        shares[h, 6, i] = s[r.OLD_AC + i]
        shares[h, 7, i] = s[r.NEW_DC + i]
        shares[h, 8, i] = s[r.NEW_AC + i]
        shares[h, SAVING, i] = design.economy if frac <= design.caution_frac else zero


@outlined
def note_shares(h: int, shares: Array, s: Array) -> None:
    """Shares served this hour, for the appliances: must-have, spare-sun, put off [1]."""
    f = type(s[0])
    one = f(1.0)
    least = f(1e-6)
    for i in range(LANES):
        asked_w = s[r.MUST_W + i] + s[r.OVER_W + i]
        spare = s[r.SPARE_W + i] / max(s[r.SPARE_WANTED_W + i], least)
        shares[h, 0, i] = (s[r.MUST_W + i] - s[r.REFUSED_W + i]) / max(asked_w, least)
        shares[h, 1, i] = spare
        shares[h, 2, i] *= spare
        shares[h, 3, i] *= spare
        shares[h, 4, i] *= spare
        shares[h, 5, i] = one - s[r.OLD_DC + i] / max(shares[h, 5, i], least)
        shares[h, 6, i] = one - s[r.OLD_AC + i] / max(shares[h, 6, i], least)
        shares[h, 7, i] = one - s[r.NEW_DC + i] / max(shares[h, 7, i], least)
        shares[h, 8, i] = one - s[r.NEW_AC + i] / max(shares[h, 8, i], least)


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
def add_wanted(wanted: Array, total: npt.NDArray[np.float64]) -> None:
    """Add what each appliance wanted today at its plug."""
    for a in range(wanted.shape[0]):
        for i in range(LANES):
            total[a, i] += wanted[a, i]


@outlined
def add_appliances(
    uses: Uses,
    asked: Array,
    energy: Array,
    noted: int,
    shares: Array,
    total: npt.NDArray[np.float64],
) -> None:
    """Plug energy of each appliance today: served, served later, gone without.

    `asked` holds what they ask for by hour, (appliance, 24, LANES); what was put off before
    stands in `energy`.
    What is served of use put off on one side of the inverter is shared alike by all of it.
    Must-have use that economising gives up is gone without. `noted` is 0 for the household as
    planned, 1 for it economised.
    """
    f = type(energy[0, 0, 0])
    one = f(1.0)
    old_row = OLD_ROW + 2 * noted
    new_row = NEW_ROW + 2 * noted
    served = PARTS * noted + SERVED
    shifted = PARTS * noted + SHIFTED
    gone = PARTS * noted + GONE
    for slot in range(uses.slots.shape[0]):
        a = uses.owner[slot, APPLIANCE]
        if slot > 0 and uses.owner[slot - 1, APPLIANCE] == a:
            continue
        need = uses.channel[a] // 2
        side = uses.channel[a] % 2
        if need == CAN_WAIT:
            for h in range(24):
                for i in range(LANES):
                    now = asked[a, h, i]
                    old = energy[a, old_row, i]
                    new = energy[a, new_row, i] + now
                    from_old = old * shares[h, OLD_SHARE + side, i]
                    from_new = new * shares[h, NEW_SHARE + side, i]
                    total[a, served, i] += from_old + from_new
                    at_once = now * shares[h, NEW_SHARE + side, i]
                    total[a, shifted, i] += from_old + (from_new - at_once)
                    energy[a, old_row, i] = old - from_old
                    energy[a, new_row, i] = new - from_new
            for i in range(LANES):
                total[a, gone, i] += energy[a, old_row, i]
                energy[a, old_row, i] = energy[a, new_row, i]
                energy[a, new_row, i] = f(0.0)
            continue
        row = MUST_SHARE if need == MUST else SPARE_SHARE + need - SPARE_SUN
        shrink = uses.slots[slot, SHRINK] if need == MUST else f(0.0)
        for h in range(24):
            for i in range(LANES):
                share = shares[h, row, i] * (one - shares[h, SAVING, i] * shrink)
                total[a, served, i] += asked[a, h, i] * share
                total[a, gone, i] += asked[a, h, i] * (one - share)
