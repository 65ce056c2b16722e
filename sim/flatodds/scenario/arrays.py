"""Fills in and checks what a scenario says about panels, their controllers and their shade."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

from flatodds.catalog import PanelKind, panels, parse_window
from flatodds.errors import Problem
from flatodds.scenario import defaults_arrays as defaults
from flatodds.scenario.dates import day_of_year, parse_day
from flatodds.scenario.defaults import Ledger
from flatodds.scenario.parts_arrays import Array, Controller, Panel, Shade
from flatodds.scenario.problems import Where, shown

if TYPE_CHECKING:
    from flatodds.scenario.written import WrittenScenario, WrittenStay
    from flatodds.scenario.written_arrays import WrittenArray, WrittenController

PLATE = ("voc_v", "isc_a", "vmp_v", "imp_a", "voc_frac_per_c")
_AIM_WORDS = ("aim_error_deg", "out_hours", "stowed_days_frac", "stow_wind_m_s")
_FACING_WORDS = ("tilt_deg", "tilt_by_month", "azimuth_deg")


def resolve_controllers(
    written: Sequence[WrittenController], where: Where, ledger: Ledger
) -> tuple[tuple[Controller, ...], list[Problem]]:
    """Resolve the controllers; where there are several, each needs a name of its own."""
    problems: list[Problem] = []
    names: set[str] = set()
    found = []
    for index, entry in enumerate(written):
        path = ("controller", index, "name")
        if len(written) > 1 and entry.name is None:
            words = f"{where.key(path)} is missing: there are several controllers."
            problems.append(Problem(where.line(path), words, 'Write: name = "roof"'))
        elif entry.name in names:
            words = f'{where.key(path)} "{shown(entry.name or "")}" is given twice.'
            problems.append(Problem(where.line(path), words, "Give each its own name."))
        names.add(entry.name or "")
        found.append(_controller(entry, index, where, ledger))
    return tuple(found), problems


def _controller(written: WrittenController, index: int, where: Where, ledger: Ledger) -> Controller:
    def key(name: str) -> str:
        return where.key(("controller", index, name))

    kind = ledger.take(key("kind"), written.kind, *defaults.CONTROLLER_KIND)
    if written.amps is None:
        ledger.note(key("amps"), None, defaults.NO_LIMIT)
    return Controller(
        name=written.name or "controller",
        kind=kind,
        amps=written.amps,
        watts=written.watts,
        efficiency_frac=ledger.take(
            key("efficiency_frac"), written.efficiency_frac, *defaults.EFFICIENCY_FRAC[kind]
        ),
        max_volts=written.max_volts,
        max_input_amps=written.max_input_amps,
    )


def resolve_arrays(
    written: WrittenScenario,
    controllers: tuple[Controller, ...],
    bank_v: float,
    where: Where,
    ledger: Ledger,
) -> tuple[tuple[Array, ...], list[Problem]]:
    """Resolve the groups of panels, and list what is wrong among them."""
    arrays = []
    problems: list[Problem] = []
    for index, entry in enumerate(written.array):
        reader = _Entry(entry, index, where, ledger)
        arrays.append(reader.resolve(controllers, bank_v))
        problems += reader.problems
    return tuple(arrays), problems


class _Entry:
    """One group as written, and what is found wrong with it."""

    def __init__(self, entry: WrittenArray, index: int, where: Where, ledger: Ledger) -> None:
        self.entry, self.index, self.where, self.ledger = entry, index, where, ledger
        self.kind: PanelKind | None = None if entry.panel is None else panels()[entry.panel]
        self.problems: list[Problem] = []

    def key(self, name: str) -> str:
        return self.where.key(("array", self.index, name))

    def take(self, name: str, default: Any, why: str) -> Any:
        return self.ledger.take(self.key(name), getattr(self.entry, name), default, why)

    def refuse(self, name: str, found: str, hint: str = "") -> None:
        path = ("array", self.index, name)
        self.problems.append(Problem(self.where.line(path), f"{self.key(name)} {found}", hint))

    def resolve(self, controllers: tuple[Controller, ...], bank_v: float) -> Array:
        entry, aimed = self.entry, self.entry.aimed_times_a_day is not None
        self._facing_agrees()
        at = self._controller(controllers)
        watts, count, panel = self._panels()
        in_series, in_parallel = self._wiring(count)
        if panel is None and controllers[at].kind == "pwm":
            self.ledger.note(self.key("vmp_v"), None, defaults.FOR_THE_BANK)
        tilts = None if entry.tilt_by_month is None else tuple(map(float, entry.tilt_by_month))
        tilt_deg = self._tilt_deg(tilts, aimed=aimed)
        raised = aimed or tilt_deg > 0.0
        area_m2, mass_kg = self._size(watts, count)
        return Array(
            name=entry.name or f"array {self.index}",
            watts=watts,
            controller=at,
            tilt_deg=tilt_deg,
            tilt_by_month=tilts,
            azimuth_deg=entry.azimuth_deg,
            under_trees=self.take(
                "under_trees", *(defaults.UNDER_TREES_GROUND if aimed else defaults.UNDER_TREES)
            ),
            temp_coefficient_frac_per_c=self.take(
                "temp_coefficient_frac_per_c", *defaults.TEMP_COEFFICIENT_FRAC_PER_C
            ),
            loss_frac=self.take("loss_frac", *defaults.LOSS_FRAC),
            shade_frac=self.take(
                "shade_frac", *(defaults.SHADE_FRAC_GROUND if aimed else defaults.SHADE_FRAC)
            ),
            incidence_loss=self.take("incidence_loss", *defaults.INCIDENCE_LOSS),
            mount=self.take("mount", *(defaults.MOUNT_TILTED if raised else defaults.MOUNT_FLAT)),
            noct_c=entry.noct_c,
            count=count,
            in_series=in_series,
            in_parallel=in_parallel,
            panel=panel,
            area_m2=area_m2,
            mass_kg=mass_kg,
            **self._aiming(aimed=aimed),
            **self._cover(aimed=aimed),
        )

    def _facing_agrees(self) -> None:
        entry = self.entry
        aimed = entry.aimed_times_a_day is not None
        for word in _FACING_WORDS if aimed else _AIM_WORDS:
            if getattr(entry, word) is not None:
                other = "aimed_times_a_day"
                if aimed:
                    self.refuse(word, f"and {other} are both written.", "Keep one of them.")
                else:
                    hint = f"Write {other} = 3 for panels on the ground, or leave {word} out."
                    self.refuse(word, f"is for panels turned by hand ({other}).", hint)
        if entry.tilt_deg is not None and entry.tilt_by_month is not None:
            self.refuse("tilt_by_month", "and tilt_deg are both written.", "Keep one of them.")

    def _tilt_deg(self, tilts: tuple[float, ...] | None, *, aimed: bool) -> float:
        if aimed:
            return defaults.AIMED_TILT_DEG
        if tilts is not None:
            tilt_deg = sum(tilts) / len(tilts)
        else:
            tilt_deg = self.take("tilt_deg", *defaults.TILT_DEG)
        if self.entry.azimuth_deg is None and tilt_deg > 0.0:
            self.ledger.note(self.key("azimuth_deg"), None, defaults.EQUATOR)
        return tilt_deg

    def _aiming(self, *, aimed: bool) -> dict[str, Any]:
        """How it is turned and stowed by hand."""
        entry = self.entry
        if not aimed:
            return {
                "aimed_times_a_day": 0,
                "aim_error_deg": 0.0,
                "out_hours": (),
                "stow_wind_m_s": None,
                "stowed_days_frac": 0.0,
            }
        if entry.out_hours is None:
            self.ledger.note(self.key("out_hours"), None, defaults.ALL_DAY)
        hours = ["0-24"] if entry.out_hours is None else entry.out_hours
        return {
            "aimed_times_a_day": entry.aimed_times_a_day,
            "aim_error_deg": self.take("aim_error_deg", *defaults.AIM_ERROR_DEG),
            "out_hours": tuple(parse_window(text) for text in hours),
            "stowed_days_frac": self.take("stowed_days_frac", *defaults.STOWED_DAYS_FRAC),
            "stow_wind_m_s": self.take("stow_wind_m_s", *defaults.STOW_WIND_M_S),
        }

    def _cover(self, *, aimed: bool) -> dict[str, Any]:
        """Dust and snow; panels set up by hand are clean and free of snow when they are."""
        dust = defaults.DUST_PER_DAY_FRAC_GROUND if aimed else defaults.DUST_PER_DAY_FRAC
        snow = defaults.SNOW_COVER_GROUND if aimed else defaults.SNOW_COVER
        covered = self.take("snow_cover", *snow)
        brush = self.entry.brush or defaults.BRUSH[0]
        if covered:
            brush = self.take("brush", *defaults.BRUSH)
        return {
            "dust_per_day_frac": self.take("dust_per_day_frac", *dust),
            "wipe_every_days": self.entry.wipe_every_days,
            "snow_cover": covered,
            "brush": brush,
        }

    def _controller(self, controllers: tuple[Controller, ...]) -> int:
        name = self.entry.controller
        names = [controller.name for controller in controllers]
        if name in names:
            return names.index(name)
        if name is not None:
            self.refuse("controller", f'"{shown(name)}" is no controller of this rig.')
        elif len(names) > 1:
            listed = " or ".join(f'"{shown(other)}"' for other in names)
            self.refuse(
                "controller", "is missing: there are several controllers.", f"Use {listed}."
            )
        return 0

    def _panels(self) -> tuple[float, int, Panel | None]:
        """Label watts of the group, number of panels, and the data plate if it is known."""
        entry, kind = self.entry, self.kind
        each_w = None if kind is None else kind.watts
        if entry.vmp_v is not None and entry.imp_a is not None:
            each_w = entry.vmp_v * entry.imp_a
        count = entry.count
        if count is None and entry.in_series is not None and entry.in_parallel is not None:
            count = entry.in_series * entry.in_parallel
        if count is None and entry.watts is not None and each_w is not None:
            count = max(1, round(entry.watts / each_w))
        count = 1 if count is None else count
        watts = entry.watts
        if watts is None and each_w is not None:
            watts = count * each_w
        if watts is None:
            self.refuse(
                "watts", "is missing.", f"Write: {self.key('watts')} = 800, or a panel and a count."
            )
            watts = 100.0
        return float(watts), count, self._plate(watts / count)

    def _plate(self, each_w: float) -> Panel | None:
        """Give one panel's data plate; what is not written comes from its kind and watts."""
        entry, kind = self.entry, self.kind
        if kind is not None:
            scale = each_w / kind.watts
            values = {name: getattr(kind, name) for name in PLATE}
            values |= {"isc_a": kind.isc_a * scale, "imp_a": kind.imp_a * scale}
            values |= {n: getattr(entry, n) for n in PLATE if getattr(entry, n) is not None}
            return Panel(**values)
        missing = [name for name in PLATE if getattr(entry, name) is None]
        if len(missing) == len(PLATE):
            return None
        if missing:
            self.refuse(missing[0], "is missing beside the other values of the data plate.")
            return None
        values = {name: float(getattr(entry, name)) for name in PLATE}
        if values["vmp_v"] >= values["voc_v"] or values["imp_a"] >= values["isc_a"]:
            self.refuse(
                "voc_v",
                "and isc_a must be above vmp_v and imp_a.",
                "Copy them from the panel's label: Voc, Isc, Vmp, Imp.",
            )
        return Panel(**values)

    def _wiring(self, count: int) -> tuple[int, int]:
        """Panels in a string, and strings."""
        entry = self.entry
        series, parallel = entry.in_series, entry.in_parallel
        if series is None and parallel is None:
            return 1, count
        if series is None:
            series = max(1, count // (parallel or 1))
        if parallel is None:
            parallel = max(1, count // series)
        if series * parallel != count:
            word = "in_series" if entry.in_series is not None else "in_parallel"
            self.refuse(
                word,
                f"does not fit: {series} in series, {parallel} such strings, {count} panels.",
                "The first two multiplied are the third.",
            )
        return series, parallel

    def _size(self, watts: float, count: int) -> tuple[float, float]:
        """Area [m2] and mass [kg] of the group."""
        entry, kind = self.entry, self.kind
        area_m2, mass_kg = entry.panel_m2, entry.panel_kg
        if kind is not None:
            area_m2 = kind.area_m2 if area_m2 is None else area_m2
            mass_kg = kind.mass_kg if mass_kg is None else mass_kg
        all_m2 = watts / defaults.W_PER_M2 if area_m2 is None else count * area_m2
        all_kg = all_m2 * defaults.KG_PER_M2 if mass_kg is None else count * mass_kg
        return float(all_m2), float(all_kg)


def resolve_shade(entry: WrittenStay, key: Callable[[str], str], ledger: Ledger) -> Shade:
    """Fill in what keeps sun off at a stay; without trees nothing is assumed."""
    horizon = tuple(float(height) for height in entry.horizon_deg or ())
    if not entry.tree_shade_frac:
        return Shade(horizon, 0.0, 0.0, 1.0, ())
    bare = 1.0
    doys: tuple[int, ...] = ()
    if entry.leaves is None:
        ledger.note(key("leaves"), None, defaults.EVERGREEN)
    else:
        doys = tuple(day_of_year(*parse_day(text)) for text in entry.leaves)
        bare = ledger.take(key("bare_shade_frac"), entry.bare_shade_frac, *defaults.BARE_SHADE_FRAC)
    sky = entry.tree_shade_frac * defaults.TREE_SKY_OVER_SUN
    return Shade(
        horizon_deg=horizon,
        tree_shade_frac=entry.tree_shade_frac,
        tree_sky_shade_frac=ledger.take(
            key("tree_sky_shade_frac"), entry.tree_sky_shade_frac, sky, defaults.TREE_SKY
        ),
        bare_shade_frac=bare,
        leaf_doys=doys,
    )
