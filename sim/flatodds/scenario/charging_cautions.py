"""What deserves a look about generator, drives and hookup, safety first."""

from __future__ import annotations

from flatodds.errors import Problem
from flatodds.scenario.charging import Other
from flatodds.scenario.parts import Bank
from flatodds.scenario.parts_charging import Generator
from flatodds.scenario.problems import Where

CHARGING_V_PER_12 = 14.4  # at the end of charging: common practice, no source
PLENTY_L_PER_KWH = 2.0  # a quarter of a small engine's load costs less: common practice, no source

# Distance and alarm: United States Consumer Product Safety Commission, advice on portable
# generators (about 85 deaths a year there). Awning: the same advice, "partly enclosed spaces".
CARBON_MONOXIDE = (
    "Safety: run a generator outdoors only, 20 ft (6 m) or more from any opening.",
    "Its exhaust holds carbon monoxide, which kills unnoticed within minutes: never run it inside,"
    " under an awning, in a bay or beside an open window, turn the exhaust away from people and"
    " neighbours, and have a working carbon monoxide alarm where you sleep.",
)
REFUELLING = (
    "Safety: let a generator cool before refuelling, and keep it dry.",
    "Fuel on a hot engine burns, and wet generators give shocks: use outdoor cords, and never"
    " feed a house or pedestal circuit from it.",
)


def charging_cautions(other: Other, bank: Bank, where: Where) -> list[Problem]:
    """Cautions about charging other than sun."""
    generator, drive, hookup = other
    found = []
    if generator is not None:
        line = where.line(("generator",))
        found += [Problem(line, *CARBON_MONOXIDE), Problem(line, *REFUELLING)]
        found += _generator_cautions(generator, bank, where)
        found += _too_strong("generator.charger_amps", generator.charger_amps, bank, where)
    if drive is not None:
        found += _too_strong("drive.amps", drive.amps, bank, where)
    if hookup is not None:
        found += _too_strong("hookup.charger_amps", hookup.charger_amps, bank, where)
    return found


def _generator_cautions(generator: Generator, bank: Bank, where: Where) -> list[Problem]:
    """Caution where the generator is weaker than its charger, or burns a lot."""
    found = []
    volts = bank.volts / 12.0 * CHARGING_V_PER_12
    drawn_w = generator.charger_amps * volts / generator.charger_efficiency_frac
    if drawn_w > generator.watts:
        held_a = generator.watts * generator.charger_efficiency_frac / volts
        found.append(
            Problem(
                where.line(("generator", "watts")),
                f"A charger of {generator.charger_amps:g} A draws about {drawn_w:.0f} W, more than"
                f" the generator's {generator.watts:g} W.",
                f"It is held to about {held_a:.0f} A; many chargers would stall the engine.",
            )
        )
    if generator.full_load_l_per_kwh > PLENTY_L_PER_KWH:
        found.append(
            Problem(
                where.line(("generator", "load_l_per_kwh")),
                f"{generator.full_load_l_per_kwh:.1f} litres for a kilowatt-hour at full load is a"
                " lot.",
                "Fine if you measured it.",
            )
        )
    return found


def _too_strong(key: str, amps: float, bank: Bank, where: Where) -> list[Problem]:
    """Caution where a charger gives more than the bank takes."""
    table, word = key.split(".")
    most_a = bank.charge_c_rate * bank.amp_hours
    if amps <= most_a:
        return []
    return [
        Problem(
            where.line((table, word)),
            f"{key} = {amps:g} is more than this bank takes ({most_a:.0f} A,"
            f" bank.charge_c_rate {bank.charge_c_rate:g}).",
            "The rest is not counted; set the charger to what the battery's maker allows.",
        )
    ]
