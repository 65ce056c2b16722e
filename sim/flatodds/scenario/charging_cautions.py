"""What deserves a look about generator, drives and hookup, safety first."""

from __future__ import annotations

from collections.abc import Sequence

from flatodds.catalog import Window
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
    "Safety: generator fumes kill: outdoors only, 20 ft (6 m) away, with a CO alarm.",
    "They hold carbon monoxide, which nobody smells and which kills within minutes: never run it"
    " inside, under an awning, in a bay or beside an open door or window, turn the exhaust away"
    " from people and neighbours, and have a working carbon monoxide alarm where you sleep.",
)
REFUELLING = (
    "Let a generator cool before refuelling, and keep it dry.",
    "Fuel on a hot engine burns, and wet generators give shocks: use outdoor cords, and never"
    " feed a house or pedestal circuit from it.",
)


def charging_cautions(
    other: Other, bank: Bank, reserve_frac: float, mean_wh: float, where: Where
) -> list[Problem]:
    """Cautions about charging other than sun; `mean_wh` is what the household uses a day."""
    generator, drive, hookup = other
    found = []
    if generator is not None:
        line = where.line(("generator",))
        found += [Problem(line, *CARBON_MONOXIDE), Problem(line, *REFUELLING)]
        found += _generator_cautions(generator, bank, where)
        found += _overnight(generator, bank, reserve_frac, mean_wh, where)
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


def _overnight(
    generator: Generator, bank: Bank, reserve_frac: float, mean_wh: float, where: Where
) -> list[Problem]:
    """Caution where the start charge does not last through the hours it may not run."""
    pauses_h = [_longest_pause_h(windows) for windows in generator.windows if windows]
    quiet_h = max(pauses_h, default=0.0)
    used_frac = mean_wh * quiet_h / 24.0 / bank.capacity_wh
    left_frac = generator.start_frac - used_frac
    if left_frac >= reserve_frac:
        return []
    left = f"would leave {100.0 * left_frac:.0f} %" if left_frac > 0.0 else "would not do"
    return [
        Problem(
            where.line(("generator", "start_frac")),
            f"In the {quiet_h:g} hours without generator the household uses about"
            f" {100.0 * used_frac:.0f} % of the bank; just above its start at"
            f" {100.0 * generator.start_frac:.0f} % that {left}.",
            "A higher start_frac, more hours or a larger bank would carry it through.",
        )
    ]


def _longest_pause_h(windows: Sequence[Window]) -> float:
    """Longest time between two windows of the day, over midnight too [h]."""
    ordered = sorted(windows)
    starts = [start for start, _ in ordered[1:]] + [ordered[0][0] + 24.0]
    return max(start - end for start, (_, end) in zip(starts, ordered, strict=True))


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
