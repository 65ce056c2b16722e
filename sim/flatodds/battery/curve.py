"""A full charge of a bank as a charger's display would show it: amperes, volts, charge.

The rules are those of the hour (`flatodds.battery.bank`: full current, then missing charge
over tau, with an efficiency that falls near full) in steps of one minute. Only the volts are
drawn for the eye: the engine knows one mean voltage on charge, while real terminals creep up
to the voltage the charger then holds. Between the two they rise here with the square of the
current over what the bank would accept (judgement, no source).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from flatodds.battery.bank import charge_efficiency, open_circuit_v
from flatodds.battery.chemistry import bank_record
from flatodds.catalog import chemistries

if TYPE_CHECKING:
    from flatodds.scenario import Bank as BankChoice

Floats = npt.NDArray[np.float64]

STEP_H = 1.0 / 60.0  # a minute; own choice
LONGEST_H = 72.0  # hours after which no more is looked for; own choice
FULL_TAIL = 0.01  # current over ampere-hours at which charging ends: common practice, no source
RISE = 2  # power with which volts approach what the charger holds: judgement, no source
LEAST_MISSING_FRAC = 1e-4  # closer than this is full; own choice


@dataclass(frozen=True, slots=True)
class ChargeCurve:
    """One charge, minute by minute, (minute,) each.

    Attributes
    ----------
    hours, amps, volts, charge_frac : Floats
        Time since the start [h], current [A], terminal voltage [V], state of charge [1].
    bulk_end_h : float
        When the current begins to fall [h].
    charger_a : float
        Current until then [A].
    """

    hours: Floats
    amps: Floats
    volts: Floats
    charge_frac: Floats
    bulk_end_h: float
    charger_a: float

    @property
    def full_h(self) -> float:
        """When the current has fallen to the tail, or the curve ends [h]."""
        return float(self.hours[-1])

    @property
    def bulk_end_frac(self) -> float:
        """State of charge at which the current begins to fall [1]."""
        return float(np.interp(self.bulk_end_h, self.hours, self.charge_frac))


def charge_curve(choice: BankChoice, charger_a: float, start_frac: float = 0.2) -> ChargeCurve:
    """Charge a bank at 25 C from `start_frac` with a charger of so many amperes.

    Parameters
    ----------
    choice : flatodds.scenario.Bank
    charger_a : float
        What the charger gives at most [A]; the bank's own limit may be lower.
    start_frac : float
        Charge at the start [1].
    """
    bank = bank_record(choice)
    held_v = chemistries()[choice.chemistry].full_v * choice.volts / 12.0
    most_a = min(charger_a, bank.charge_limit_a)
    ends_a = min(FULL_TAIL * choice.amp_hours, 0.5 * most_a)
    charge_ah, bulk_end_h = start_frac * bank.capacity_ah, LONGEST_H
    rows = []
    for minute in range(round(LONGEST_H / STEP_H)):
        missing_ah = bank.capacity_ah - charge_ah
        takes_a = missing_ah / bank.acceptance_h
        amps = min(most_a, takes_a)
        if takes_a < most_a:
            bulk_end_h = min(bulk_end_h, minute * STEP_H)
        frac = charge_ah / bank.capacity_ah
        low_v = open_circuit_v(bank, frac) + bank.charge_over_v + amps * bank.resistance_ohm
        rise = (amps / max(takes_a, 1e-9)) ** RISE
        rows.append((minute * STEP_H, amps, low_v + (held_v - low_v) * rise, frac))
        if amps <= ends_a or missing_ah <= LEAST_MISSING_FRAC * bank.capacity_ah:
            break
        eta = charge_efficiency(bank, charge_ah, amps * STEP_H)
        charge_ah = min(charge_ah + eta * amps * STEP_H, bank.capacity_ah)
    hours, amperes, volts, fracs = np.array(rows).T
    return ChargeCurve(
        hours, amperes, volts, fracs, float(min(bulk_end_h, hours[-1])), float(most_a)
    )
