"""What a bank's temperature does: charge out of reach, charging barred, a heating pad."""

from __future__ import annotations

from flatodds.battery.bank import Bank
from flatodds.lanes import inlined


@inlined
def reachable_floor_ah(bank: Bank, temp_c: float) -> float:
    """Charge below which nothing can be drawn: cut-off, or what cold makes unreachable [Ah].

    Cold never shrinks the charge itself (that would create and destroy energy); it raises
    the floor.
    """
    f = type(temp_c)
    warm = min(f(1.0), bank.warm_frac + bank.warm_slope * temp_c)
    cool = min(bank.cool_frac + bank.cool_slope * temp_c, bank.cold_frac + bank.cold_slope * temp_c)
    share = max(f(0.0), min(warm, cool))
    return bank.capacity_ah * max(bank.cutoff_frac, f(1.0) - share)


@inlined
def cold_gate(bank: Bank, temp_c: float, locked: float) -> tuple[float, float]:
    """Share of the charge current allowed [0 to 1], and the lock's new state (0 or 1).

    No charge at or below the cut; once locked, none until the release temperature; from
    the cut to the ramp's end the allowance rises linearly from its start to all.
    """
    f = type(temp_c)
    shut = f(1.0) if temp_c <= bank.cold_cut_c else f(0.0)
    hold = locked if temp_c < bank.cold_release_c else f(0.0)
    now_locked = max(shut, hold)
    width = max(bank.cold_ramp_c - bank.cold_cut_c, f(1e-3))
    rise = (temp_c - bank.cold_cut_c) * (f(1.0) / width)
    least = bank.cold_start_frac
    allowance = min(max(least + (f(1.0) - least) * rise, f(0.0)), f(1.0))
    return allowance * (f(1.0) - now_locked), now_locked


@inlined
def unheated_c(bank: Bank, bank_c: float, cabin_c: float, outdoor_c: float) -> float:
    """Bank temperature an hour later without heating [deg C]; it lags what is around."""
    inside = bank.inside_frac
    around = inside * cabin_c + (type(bank_c)(1.0) - inside) * outdoor_c
    return around + (bank_c - around) * bank.lag_decay


@inlined
def pad_wanted_w(bank: Bank, unheated: float) -> float:
    """Mean power with which a modulating pad ends the hour at its set temperature [W].

    Exact for a bank that is one lump: warming is proportional to the power, up to all of it.
    """
    f = type(unheated)
    needed = (bank.pad_set_c - unheated) * (f(1.0) / max(bank.pad_lift_k_per_w, f(1e-9)))
    return min(max(needed, f(0.0)), bank.pad_w)
