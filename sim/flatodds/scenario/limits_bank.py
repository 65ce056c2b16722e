"""Limits of the bank: what chargers can push, what the inverter can draw, what it weighs.

Amperes only. Wires, fuses, breakers and how they are laid are left to codes and to people
licensed for them; nothing here replaces either.
"""

from __future__ import annotations

from itertools import pairwise

from flatodds.catalog import chemistries
from flatodds.errors import Problem
from flatodds.scenario.parts import Bank, Inverter
from flatodds.scenario.parts_arrays import Array, Controller
from flatodds.scenario.parts_charging import Generator
from flatodds.scenario.problems import Where

LOW_CHARGE_FRAC = 0.2  # amperes are greatest at low voltage: common practice, no source
HIGH_A = 200.0  # currents that 12 V rigs rarely carry safely for long: common practice, no source
WIRING = (
    "Wires, fuses and breakers are not checked here: follow the maker's manuals and local codes,"
    " and have a licensed electrician do or inspect the work."
)


def low_v(bank: Bank) -> float:
    """Voltage of the bank at rest and nearly empty [V]."""
    points = bank.rest_points
    for (left, left_v), (right, right_v) in pairwise(points):
        if left <= LOW_CHARGE_FRAC <= right:
            return left_v + (LOW_CHARGE_FRAC - left) / (right - left) * (right_v - left_v)
    return points[0][1]


def charge_limit_a(bank: Bank) -> float:
    """Most charge current of the whole bank [A]."""
    return bank.charge_c_rate * bank.amp_hours


def discharge_limit_a(bank: Bank) -> float:
    """Most discharge current of the whole bank [A]."""
    return bank.discharge_c_rate * bank.amp_hours


def panels_a(bank: Bank, arrays: tuple[Array, ...], controllers: tuple[Controller, ...]) -> float:
    """Most current that panels and controllers can push into a bank nearly empty [A]."""
    total_a = 0.0
    for at, controller in enumerate(controllers):
        label_w = sum(array.watts for array in arrays if array.controller == at)
        push_a = label_w * controller.efficiency_frac / low_v(bank)
        total_a += push_a if controller.amps is None else min(push_a, controller.amps)
    return total_a


def inverter_a(bank: Bank, inverter: Inverter) -> float:
    """Find what the inverter draws at its rating from a bank nearly empty [A]."""
    return inverter.watts * (inverter.slope + inverter.bend) / low_v(bank)


def limit_words(
    bank: Bank, arrays: tuple[Array, ...], controllers: tuple[Controller, ...], inverter: Inverter
) -> str:
    """Say, in a line, what the bank allows, what the rig can ask of it, and its weight."""
    push_a, asks = panels_a(bank, arrays, controllers), []
    if push_a > 0.0:
        asks.append(f"panels push up to {push_a:.0f} A")
    if inverter.watts > 0.0:
        asks.append(f"inverter draws up to {inverter_a(bank, inverter):.0f} A")
    limits = f"takes {charge_limit_a(bank):.0f} A and gives {discharge_limit_a(bank):.0f} A at most"
    asked = [", ".join(asks)] if asks else []
    return "; ".join([limits, *asked, f"weighs about {bank.mass_kg:.0f} kg"])


def limit_cautions(
    bank: Bank,
    arrays: tuple[Array, ...],
    controllers: tuple[Controller, ...],
    inverter: Inverter,
    generator: Generator | None,
    where: Where,
) -> list[Problem]:
    """Cautions where the rig can push or draw more than the bank allows."""
    if bank.chemistry == "ideal":
        return []
    found = []
    sources = chemistries()[bank.chemistry].sources
    push_a, most_a = panels_a(bank, arrays, controllers), charge_limit_a(bank)
    also = ""
    if generator is not None:
        push_a += generator.charger_amps
        also = " and generator"
    if push_a > most_a:
        path = ("controller", "amps")
        found.append(
            Problem(
                where.line(path),
                f"Panels{also} can push {push_a:.0f} A into a bank that takes {most_a:.0f} A"
                f" ({bank.charge_c_rate:g} of its ampere-hours;"
                f" {_unbracketed(sources['charge_c_rate'])}).",
                "The simulated bank takes no more; in the real rig, set the chargers' limits so."
                f" {WIRING}",
            )
        )
    draw_a, most_a = inverter_a(bank, inverter), discharge_limit_a(bank)
    if draw_a > most_a:
        found.append(
            Problem(
                where.line(("inverter", "watts")),
                f"At its rating the inverter draws {draw_a:.0f} A at {low_v(bank):.1f} V, from a"
                f" bank that gives {most_a:.0f} A ({bank.discharge_c_rate:g} of its ampere-hours;"
                f" {_unbracketed(sources['discharge_c_rate'])}).",
                f"Protection may open with charge left: more bank, or a smaller inverter. {WIRING}",
            )
        )
    if draw_a > HIGH_A:
        found.append(
            Problem(
                where.line(("bank", "volts")),
                f"The inverter can draw {draw_a:.0f} A at {bank.volts} V; currents above"
                f" {HIGH_A:.0f} A heat poor joints to a fire (common practice, no source).",
                f"A higher bank.volts draws less for the same watts. {WIRING}",
            )
        )
    return found


def _unbracketed(source: str) -> str:
    """Write a source so that it may itself stand in brackets."""
    return source.replace(" (", ", ").replace(")", "")
