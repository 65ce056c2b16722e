"""The rate effect of lead: two wells of charge, fitted to a battery's Peukert exponent.

The kinetic battery model (Manwell and McGowan, Solar Energy 50 (5), 1993) keeps charge in an
available well that loads draw from, a share c of the whole, and a bound well that follows at
the rate k. From full it gives in t hours of steady current

    q(t) / q_max = k c t / (1 - exp(-k t) + c (k t - 1 + exp(-k t))).

Peukert's rule says that charge given goes as t to the power 1 - 1 / exponent. The table below
holds c and k of the least greatest error between the two from 1 to 20 hours, the 20-hour
charge held equal: 1.1 % at an exponent of 1.11, 2.3 % at 1.25. Above that no two wells come
so close, and the 20-hour charge gives way by as little as keeps 2.3 %: by 1.4 % at 1.3. From
1.33 on the least error of both together is more: 2.4 % at 1.35, 2.6 % at 1.4 (own
computation; a test fits them again). Beyond 20 hours the wells give less than Peukert, as
batteries do.
"""

from __future__ import annotations

import math

import numpy as np

RATED_H = 20.0  # amp_hours are those of a 20-hour discharge: common practice, no source

# Exponent, c, k [1/h], 20-hour charge over the rating [1]; own computation, see above. An
# exponent of 1 has no bound well.
FITS = np.array(
    [
        (1.00, 1.0000, 0.3250, 1.0),
        (1.01, 0.9600, 0.3298, 1.0),
        (1.02, 0.9224, 0.3348, 1.0),
        (1.03, 0.8870, 0.3399, 1.0),
        (1.05, 0.8220, 0.3499, 1.0),
        (1.08, 0.7373, 0.3646, 1.0),
        (1.10, 0.6880, 0.3743, 1.0),
        (1.11, 0.6652, 0.3791, 1.0),
        (1.15, 0.5845, 0.3981, 1.0),
        (1.20, 0.5031, 0.4212, 1.0),
        (1.25, 0.4378, 0.4439, 1.0),
        (1.26, 0.4278, 0.4572, 0.9973),
        (1.28, 0.4091, 0.4832, 0.9916),
        (1.30, 0.3917, 0.5083, 0.9858),
        (1.32, 0.3754, 0.5323, 0.9801),
        (1.35, 0.3513, 0.5540, 0.9760),
        (1.40, 0.3147, 0.5775, 0.9737),
    ]
)


def wells(exponent: float) -> tuple[float, float]:
    """Share c of the available well, and rate k [1/h], for a Peukert exponent of 1 to 1.4."""
    table = FITS.T
    share = float(np.exp(np.interp(exponent, table[0], np.log(table[1]))))
    return share, float(np.interp(exponent, table[0], table[2]))


def given_frac(share: float, rate_per_h: float, hours: float) -> float:
    """Charge given in a steady discharge of so many hours from full, over all there is [1]."""
    kt = rate_per_h * hours
    gone = -math.expm1(-kt)
    return share * kt / (gone + share * (kt - gone))


def rated_frac(exponent: float) -> float:
    """Charge that the wells of a Peukert exponent give in 20 hours, over the rating [1]."""
    return float(np.interp(exponent, FITS[:, 0], FITS[:, 3]))


def whole_of(share: float, rate_per_h: float, rated: float = 1.0) -> float:
    """All charge that slow discharge would give, over the rating [1].

    `rated` is what 20 hours give of the rating [1].
    """
    return rated / given_frac(share, rate_per_h, RATED_H) if share < 1.0 else 1.0


def hour_of(share: float, rate: float) -> tuple[float, float, float]:
    """Share c; part of a difference in level left after an hour; well_drain [Ah per A].

    After an hour of a current I the available charge is
    q1 d + c q (1 - d) - I (a + c b), d = exp(-k), a = (1 - d) / k, b = 1 - a.
    """
    if share == 1.0:
        return 1.0, 1.0, 1.0
    spread = -math.expm1(-rate) / rate
    return share, math.exp(-rate), spread + share * (1.0 - spread)
