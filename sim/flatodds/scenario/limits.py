"""What panels may do to their controller, wires and roof: limits, each with its rule.

The rules are those of the National Electrical Code (NFPA 70), which holds in the United States
and is a sound measure elsewhere. They do not make a design: local codes rule, and a licensed
electrician should check the wiring.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil

from flatodds.errors import Problem
from flatodds.scenario.defaults_arrays import KG_PER_M2, W_PER_M2
from flatodds.scenario.parts import Bank, Stay
from flatodds.scenario.parts_arrays import Array, Controller, Panel
from flatodds.scenario.problems import Where, shown
from flatodds.units import degrees_text

# NEC table 690.7(A), crystalline silicon: from 24 to 20 C down in steps of 5 to -36 to -40 C.
# Seen second-hand for 24 to 20, -6 to -20 and -26 C; the others from memory.
COLD_FACTORS = (1.02, 1.04, 1.06, 1.08, 1.10, 1.12, 1.14, 1.16, 1.18, 1.20, 1.21, 1.23, 1.25)
STANDARD_C = 25.0  # cell temperature of the label
CONTINUOUS = 1.25  # NEC 690.8(A): short-circuit current, for irradiance above 1000 W/m2
CONDUCTOR = 1.25  # NEC 690.8(B): again, for wires and fuses
HOT_CELL_C = 65.0  # on a hot roof: common practice, no source
CHARGING_V_PER_12 = 14.4  # to fill a 12 V bank: common practice, no source
UNEQUAL_FRAC = 0.1  # string volts side by side should agree this well: judgement
# Roof left between vents and hatches [m2]: common practice, no source (van 2 to 4, trailer of
# 7 m 5 to 8); a cabin's is not guessed.
USUAL_ROOF_M2 = {"van": 4.0, "trailer": 8.0}
NO_PLATE = (
    "cold volts and currents are not checked: write panel, or voc_v, isc_a, vmp_v and imp_a of its"
    " data plate"
)
ADVICE = (
    "Local codes rule; have a licensed electrician check it. Panel strings are live whenever"
    " there is light. Roofs kill by falls and panels by wind: mind both."
)


def cold_factor(temp_c: float) -> float:
    """Open-circuit voltage at a temperature over that of the label, by the code's table [1]."""
    if temp_c >= STANDARD_C:
        return 1.0
    at = ceil((20.0 - temp_c) / 5.0)
    return COLD_FACTORS[min(max(at, 0), len(COLD_FACTORS) - 1)]


def cold_string_v(panel: Panel, in_series: int, temp_c: float) -> tuple[float, float]:
    """Open-circuit volts of a string on a cold dawn: by the code's table, by the data sheet."""
    warmer_k = min(temp_c, STANDARD_C) - STANDARD_C
    label_v = in_series * panel.voc_v
    return label_v * cold_factor(temp_c), label_v * (1.0 + panel.voc_frac_per_c * warmer_k)


def coldest_c(stays: Sequence[Stay]) -> tuple[float, bool]:
    """Coldest air of all stays [degree Celsius], and whether it was written for each."""
    return min(map(_cold_of, stays)), all(stay.coldest_c is not None for stay in stays)


def _cold_of(stay: Stay) -> float:
    return estimated_c(stay) if stay.coldest_c is None else stay.coldest_c


def guess_words(stays: Sequence[Stay]) -> str:
    """Say what the coldest air rests on, where it was not written for every stay."""
    coldest = min(stays, key=_cold_of)
    if coldest.coldest_c is not None:
        return "as you wrote it, while that of other stays is our rough guess"
    basis = "by latitude and height alone"
    if coldest.monthly_temp_c is not None:
        basis = "20 C below the coldest month you wrote"
    return (
        f"our rough guess of a usual winter's coldest night, {basis}; records are some 10 C colder"
    )


def estimated_c(stay: Stay) -> float:
    """Coldest night of a usual winter in the middle of a continent [degree Celsius]; judgement.

    Twenty kelvin below the coldest month where monthly temperatures are written; else by
    latitude and height. The code asks for the mean of yearly lowest temperatures (a note to
    690.7(A), from memory); coasts are milder than this by up to 25 K, records some 10 K colder.
    """
    if stay.monthly_temp_c is not None:
        return min(stay.monthly_temp_c) - 20.0
    poleward = max(abs(stay.latitude) - 20.0, 0.0)
    return max(15.0 - 1.7 * poleward - 5.0 * (stay.elevation_m or 0.0) / 1000.0, -45.0)


def hot_string_v(array: Array, panel: Panel) -> float:
    """Volts of a string at its most power on a hot roof [V]."""
    hotter_k = HOT_CELL_C - STANDARD_C
    return array.in_series * panel.vmp_v * (1.0 + panel.voc_frac_per_c * hotter_k)


def short_circuit_a(arrays: Sequence[Array], controller: int) -> float | None:
    """Label short-circuit current of all strings on a controller [A]; None if not known."""
    fed = [array for array in arrays if array.controller == controller]
    if not fed or any(array.panel is None for array in fed):
        return None
    return sum(array.in_parallel * array.panel.isc_a for array in fed if array.panel is not None)


def array_limits(
    arrays: Sequence[Array],
    controllers: Sequence[Controller],
    bank: Bank,
    stays: Sequence[Stay],
    where: Where,
    *,
    us: bool,
) -> tuple[list[Problem], list[Problem]]:
    """Find what must be refused about strings and controllers, and what deserves a look."""
    refused: list[Problem] = []
    cautions: list[Problem] = []
    for index, array in enumerate(arrays):
        if array.panel is None:
            continue
        controller = controllers[array.controller]
        path = ("array", index, "in_series")
        must, problem = _too_many_volts(
            array, array.panel, controller, stays, where.line(path), us=us
        )
        if problem is not None:
            (refused if must else cautions).append(problem)
        if problem := _too_few_volts(array, array.panel, bank, where.line(path)):
            cautions.append(problem)
    for k, controller in enumerate(controllers):
        cautions += _side_by_side(arrays, k, controller, where)
    return refused, cautions


def _too_many_volts(
    array: Array,
    panel: Panel,
    controller: Controller,
    stays: Sequence[Stay],
    line: str,
    *,
    us: bool,
) -> tuple[bool, Problem | None]:
    """Problem when a cold string passes the controller's volts; refused if that is sure."""
    most_v = controller.max_volts
    if most_v is None:
        return False, None
    temp_c, written = coldest_c(stays)
    by_table, by_sheet = cold_string_v(panel, array.in_series, temp_c)
    label_v = array.in_series * panel.voc_v
    if max(by_table, by_sheet) <= most_v:
        return False, None
    fits = array.in_series
    while fits > 0 and max(cold_string_v(panel, fits, temp_c)) > most_v:
        fits -= 1
    found = (
        f"{shown(array.name)}: {array.in_series} panels in series reach {by_table:.1f} V open"
        f" at {degrees_text(temp_c, us=us)} by NEC table 690.7(A), {by_sheet:.1f} V by the data"
        f" sheet, but the controller bears {most_v:g} V."
    )
    hint = f"At most {fits} in series there." if fits else "Another controller or panel is needed."
    if not written:
        hint += f" That cold is {guess_words(stays)}. Write stay.coldest_c if you know better."
    return written or label_v > most_v, Problem(line, found, f"{hint} {ADVICE}")


def _too_few_volts(array: Array, panel: Panel, bank: Bank, line: str) -> Problem | None:
    """Caution when a hot string cannot push current into the bank."""
    needed_v = CHARGING_V_PER_12 * bank.volts / 12.0
    hot_v = hot_string_v(array, panel)
    if bank.chemistry == "ideal" or hot_v >= needed_v:
        return None
    return Problem(
        line,
        f"{shown(array.name)}: its strings give about {hot_v:.0f} V when hot, but the bank needs"
        f" {needed_v:.1f} V to fill. A controller cannot raise volts; the loss is not counted.",
        "Put more panels in series.",
    )


def _side_by_side(
    arrays: Sequence[Array], k: int, controller: Controller, where: Where
) -> list[Problem]:
    """Cautions about strings that share a controller: unequal volts, too much current."""
    found = []
    fed = [array for array in arrays if array.controller == k]
    volts = [array.in_series * array.panel.vmp_v for array in fed if array.panel is not None]
    if volts and controller.kind == "mppt" and max(volts) > (1.0 + UNEQUAL_FRAC) * min(volts):
        path = ("controller", k, "name")
        words = (
            f"{shown(controller.name)}: strings of {min(volts):.0f} and {max(volts):.0f} V side by"
            " side share one voltage; the loss is not counted."
        )
        found.append(Problem(where.line(path), words, "Give them controllers of their own."))
    amps = short_circuit_a(arrays, k)
    limit_a = controller.max_input_amps
    if amps is not None and limit_a is not None and CONTINUOUS * amps > limit_a:
        path = ("controller", k, "max_input_amps")
        words = (
            f"{shown(controller.name)}: its panels can give {CONTINUOUS * amps:.1f} A (1.25 times"
            f" their short-circuit current, NEC 690.8), but it is made for {limit_a:g} A."
        )
        found.append(Problem(where.line(path), words, ADVICE))
    return found


def roof_cautions(
    arrays: Sequence[Array], home: str, roof_m2: float | None, where: Where
) -> list[Problem]:
    """Caution when panels need more room than the roof has."""
    room_m2 = USUAL_ROOF_M2.get(home) if roof_m2 is None else roof_m2
    needed_m2 = sum(array.area_m2 for array in arrays if array.on_roof)
    if room_m2 is None or needed_m2 <= room_m2:
        return []
    usual = f", as a {home} usually has (write roof_m2 for yours)" if roof_m2 is None else ""
    return [
        Problem(
            where.line(("array", 0, "watts")),
            f"The panels need about {needed_m2:.1f} m2 of roof; there are {room_m2:g} m2{usual}.",
            "Between vents, hatches and edges less fits than the outline has.",
        )
    ]


Row = tuple[str, str]


def limit_rows(
    arrays: Sequence[Array],
    controllers: Sequence[Controller],
    stays: Sequence[Stay],
    *,
    us: bool = False,
) -> list[Row]:
    """Tell what to hold against the labels of controllers and wires, and against the roof.

    Volts and currents need a panel's data plate; where there is none that is said. Without
    panels there is nothing to tell.
    """
    if not any(array.area_m2 for array in arrays):
        return []
    temp_c, written = coldest_c(stays)
    guess = "" if written else f", {guess_words(stays)}"
    rows: list[Row] = []
    for array in arrays:
        if array.panel is not None:
            by_table, by_sheet = cold_string_v(array.panel, array.in_series, temp_c)
            rows.append(
                (
                    shown(array.name),
                    f"{array.in_series} in series: {max(by_table, by_sheet):.1f} V open at"
                    f" {degrees_text(temp_c, us=us)}{guess} (NEC table 690.7(A) {by_table:.1f} V,"
                    f" data sheet {by_sheet:.1f} V)",
                )
            )
    for k, controller in enumerate(controllers):
        amps = short_circuit_a(arrays, k)
        if amps is not None:
            rows.append(
                (
                    shown(controller.name),
                    f"panels up to {CONTINUOUS * amps:.1f} A; wires and fuses for"
                    f" {CONTINUOUS * CONDUCTOR * amps:.1f} A (NEC 690.8: 1.25 and 1.25 again)",
                )
            )
    unknown = [shown(array.name) for array in arrays if array.panel is None]
    usual = ""
    if unknown:
        rows.append((", ".join(unknown), NO_PLATE))
        usual = f", where no panel is known at {W_PER_M2:g} W and {KG_PER_M2:g} kg a square metre"
    area_m2 = sum(array.area_m2 for array in arrays)
    mass_kg = sum(array.mass_kg for array in arrays)
    rows.append(("all panels", f"about {area_m2:.1f} m2, {mass_kg:.0f} kg{usual}"))
    rows.append(("mind", ADVICE))
    return rows
