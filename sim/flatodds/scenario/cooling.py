"""Fills in the air conditioner, shade and comfort, and checks them against the rig."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from flatodds.catalog import Window, homes, parse_window
from flatodds.catalog.coolers import coolers
from flatodds.catalog.windows import overlapping
from flatodds.errors import Problem
from flatodds.scenario import defaults_cooling as defaults
from flatodds.scenario.defaults import Ledger
from flatodds.scenario.parts import Household
from flatodds.scenario.parts_arrays import Array
from flatodds.scenario.parts_cooling import Cooling
from flatodds.scenario.problems import Where
from flatodds.scenario.written import WrittenHousehold, WrittenShell
from flatodds.scenario.written_cooling import WrittenCooling
from flatodds.units import c_from_f


def resolve_cooling(
    written: WrittenCooling | None, household: Household, where: Where, ledger: Ledger
) -> tuple[Cooling | None, list[Problem]]:
    """Resolve the air conditioner, and list what is wrong with it."""
    if written is None:
        return None, []
    unit = coolers()[written.unit]
    problems: list[Problem] = []

    def of_unit(name: str) -> Any:
        why = f"{unit.label}: {unit.sources[name]}"
        return ledger.take(f"cooling.{name}", getattr(written, name), getattr(unit, name), why)

    soft = ledger.take("cooling.soft_start", written.soft_start, *defaults.SOFT_START)
    start = "soft_start_w" if soft else "start_w"
    hold_c = both_units(
        "cooling", "inside_cool", (written.inside_cool_c, written.inside_cool_f), where, problems
    )
    cooling = Cooling(
        unit=unit.name,
        watts=float(of_unit("watts")),
        cooling_w=float(of_unit("cooling_w")),
        side=of_unit("side"),
        soft_start=soft,
        start_w=float(
            ledger.take(
                "cooling.start_w", written.start_w, getattr(unit, start), unit.sources[start]
            )
        ),
        hold_c=float(ledger.take("cooling.inside_cool_c", hold_c, *defaults.HOLD_C)),
        need=_need(written, ledger),
        only_above_charge_frac=_above(written, where, ledger, problems),
        windows=_hours("hours", written.hours, where, ledger, problems),
        must_windows=_hours("must_hours", written.must_hours, where, ledger, problems),
        sensible_frac=written.sensible_frac,
        inside_wet_bulb_c=written.inside_wet_bulb_c,
    )
    problems += _temperatures(cooling, household, where)
    return cooling, problems


def both_units(
    table: str,
    word: str,
    values: tuple[float | None, float | None],
    where: Where,
    problems: list[Problem],
) -> float | None:
    """Temperature in Celsius, written in Celsius or Fahrenheit but not both."""
    in_c, in_f = values
    if in_c is not None and in_f is not None:
        path = (table, f"{word}_f")
        found = f"{where.key(path)} and {word}_c are both written."
        problems.append(Problem(where.line(path), found, "Keep one of them."))
    return c_from_f(in_f) if in_c is None and in_f is not None else in_c


def _need(written: WrittenCooling, ledger: Ledger) -> str:
    return ledger.take("cooling.need", written.need, *defaults.NEED)


def _above(written: WrittenCooling, where: Where, ledger: Ledger, problems: list[Problem]) -> float:
    """Charge above which it may run; has no meaning with another need."""
    if written.need in (None, "above-charge"):
        return ledger.take(
            "cooling.only_above_charge_frac",
            written.only_above_charge_frac,
            *defaults.ONLY_ABOVE_CHARGE_FRAC,
        )
    if written.only_above_charge_frac is not None:
        path = ("cooling", "only_above_charge_frac")
        found = f'{where.key(path)} has no meaning with cooling.need = "{written.need}".'
        hint = 'Write cooling.need = "above-charge", or take this line out.'
        problems.append(Problem(where.line(path), found, hint))
    return 0.0


def _hours(
    word: str,
    written: Sequence[str] | None,
    where: Where,
    ledger: Ledger,
    problems: list[Problem],
) -> tuple[Window, ...]:
    if written is None and word == "must_hours":
        return ()
    if written is None:
        ledger.note(f"cooling.{word}", *defaults.ALL_DAY)
        written = [defaults.ALL_DAY[0]]
    windows = tuple(parse_window(text) for text in written)
    if overlapping(windows):
        path = ("cooling", word)
        found = f"{where.key(path)} lists hours that overlap."
        hint = 'Write each hour once, as in ["8-10", "16-19"].'
        problems.append(Problem(where.line(path), found, hint))
    return windows


def _temperatures(cooling: Cooling, household: Household, where: Where) -> list[Problem]:
    """Problem when it would cool what the heater heats, or hold more than is comfortable."""
    path = ("cooling", "inside_cool_c")
    warmest_c = max(household.inside_day_c, household.inside_night_c)
    problems = []
    if household.heat != "none" and cooling.hold_c <= warmest_c:
        problems.append(
            Problem(
                where.line(path),
                f"cooling keeps {cooling.hold_c:g} C while heating keeps {warmest_c:g} C.",
                "Cool to a higher temperature than you heat to.",
            )
        )
    if cooling.hold_c > household.comfort_high_c:
        problems.append(
            Problem(
                where.line(path),
                f"cooling keeps {cooling.hold_c:g} C, above household.comfort_high_c ="
                f" {household.comfort_high_c:g}.",
                "Keep a temperature that does not itself count as hot.",
            )
        )
    return problems


def comfort_high_c(
    written: WrittenHousehold, where: Where, ledger: Ledger, problems: list[Problem]
) -> float:
    """Temperature above which an hour counts as hot [deg C]."""
    values = (written.comfort_high_c, written.comfort_high_f)
    found = both_units("household", "comfort_high", values, where, problems)
    return float(ledger.take("household.comfort_high_c", found, *defaults.COMFORT_HIGH_C))


def shade_frac(written: WrittenShell, ledger: Ledger) -> float:
    """Share of the sun kept off the home."""
    word = ledger.take("shell.shade", written.shade, *defaults.SHADE)
    return defaults.SHADE_FRAC[word]


def sun_aperture_m2(
    shell: WrittenShell,
    home: str,
    arrays: Sequence[Array],
    where: Where,
    ledger: Ledger,
    problems: list[Problem],
) -> float:
    """Window area that would let in as much sun heat as windows, walls and roof do [m2].

    Heat through a roof in sun is U A (alpha / h) G more than in shade (sol-air temperature);
    where the roof is described, that part is worked out and panels above it shade it.
    """
    usual = homes()[home]
    path = ("shell", "sun_aperture_m2")
    if shell.roof is None:
        why = f"{home}: {usual.sources['sun_aperture_m2']}"
        return float(
            ledger.take("shell.sun_aperture_m2", shell.sun_aperture_m2, usual.sun_aperture_m2, why)
        )
    if shell.sun_aperture_m2 is not None:
        found = f"{where.key(path)} and shell.roof are both written."
        problems.append(Problem(where.line(path), found, "Keep one of them."))
        return float(shell.sun_aperture_m2)
    above_m2 = sum(array.area_m2 for array in arrays if array.mount == "roof")
    covered = ledger.take(
        "shell.panels_over_roof_frac",
        shell.panels_over_roof_frac,
        min(above_m2 / usual.roof_m2, 1.0),
        "panels mounted close to the roof, over the roof of the home",
    )
    through = usual.roof_w_per_k * (1.0 - covered)
    light = usual.roof_w_per_k * defaults.ROOF_M2K_W["light"]
    aperture = usual.sun_aperture_m2 - light + through * defaults.ROOF_M2K_W[shell.roof]
    ledger.note("shell.sun_aperture_m2", aperture, f"{home}, {shell.roof} roof: sol-air heat")
    return aperture
