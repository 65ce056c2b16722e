"""Battery-side power behind an inverter."""

from __future__ import annotations

from flatodds.lanes import inlined


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
