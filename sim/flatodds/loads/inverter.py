"""Battery-side power behind an inverter, and what it can give in warm air."""

from __future__ import annotations

from flatodds.lanes import inlined

RATED_C = 25.0  # air in which an inverter gives its continuous rating: from memory


@inlined
def lasting_w(rated_w: float, heat_loss: float, around_c: float) -> float:
    """Power it gives all day in air of some temperature [W].

    Its rating up to 25 deg C; then a share `heat_loss` less for each kelvin [1/K]. What it gives
    for seconds is not less.
    """
    f = type(around_c)
    warmer_k = max(around_c - f(RATED_C), f(0.0))
    return rated_w * max(f(1.0) - heat_loss * warmer_k, f(0.0))


@inlined
def inverter_dc_w(
    ac_w: float, rated_w: float, curve: tuple[float, float, float], switched_on: float
) -> float:
    """DC power drawn for an AC load [W].

    `curve` holds what it draws with nothing plugged in [W], watts drawn for each watt given,
    and what is added to those at its rating [1]. The first is drawn in hours the inverter is
    switched on, and in any hour it carries a load.
    """
    f = type(ac_w)
    idle_w, slope, bend = curve
    on = f(1.0) if ac_w > f(0.0) else switched_on
    return ac_w * (slope + ac_w * (bend / max(rated_w, f(1.0)))) + on * idle_w
