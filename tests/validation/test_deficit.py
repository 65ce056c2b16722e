"""More battery or more panels where less sun comes in than is used.

Unserved energy of a year at two packaged weather files, 1.2 kW of panels and 3 kWh a day drawn
evenly, lossless bank: own hourly balance on the direct current that pvlib 0.16.1 gives from
these files (NREL sun position, Hay-Davies sky, SAPM cells, 14.08 % system losses), the year run
twice and the second counted. Tolerance 10 %, for another chain of panels.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest

from flatodds.scenario.variants import Variant
from flatodds.studies.compare import Comparison, compare
from flatodds.studies.upgrades import sensible
from flatodds.weather.readers import read_weather

if TYPE_CHECKING:
    from tests.validation import square_sun as sq
else:
    import square_sun as sq

pytestmark = pytest.mark.validation

# file; tilt; unserved kWh with 5 kWh, with 10 kWh, and with 10 kWh and twice the panels
SITES = {
    "greensboro": ("723170TYA.CSV", 0.0, (64.7, 58.4, 0.0)),
    "sand point": ("703165TY.csv", 60.0, (212.3, 175.7, None)),
}
NAMES = ("ghi", "dni", "dhi", "temp_air", "wind_speed")
BANK_AH = 5000.0 / 12.0


@cache
def compared(site: str) -> Comparison:
    import pvlib

    file, tilt, _ = SITES[site]
    year = read_weather(Path(pvlib.__file__).parent / "data" / file)
    columns = {name: np.tile(getattr(year, name).reshape(1, -1), 2) for name in NAMES}
    table = sq.weather(columns, 2 * 8760, utc_offset_h=year.utc_offset_h)
    rig = sq.Rig(
        amp_hours=BANK_AH,
        arrival_charge_frac=1.0,
        watts=1200.0,
        tilt_deg=tilt,
        loss_frac=0.1408,
        incidence_loss=True,
        temp_coefficient=-0.0037,
        place=f"{year.latitude}, {year.longitude}",
        elevation_m=year.elevation_m,
        first_day="1 Jul",  # full in July: as if the year before had been lived
        nights=365,
        more=sq.steady(125.0),
    )
    twice = {"bank.amp_hours": 2 * BANK_AH}
    variants = [
        Variant("bank", twice),
        Variant("both", {**twice, "array.watts": 2400.0}),
        Variant("panels", {"array.watts": 2400.0}),
    ]
    return compare(rig.scenario(), variants, weather=table, members=1)


def unserved_kwh(site: str) -> list[float]:
    rows = compared(site).summary()["variants"]
    return [row["did_without_kwh"] for row in rows]


# 71.2 against 64.7 kWh with the small bank, 10.1 % where 10 % is allowed. Our chain counts what
# glass reflects of the sky's light as well, which the reference chain does not: some 3 % less sun
# in winter, and what is short grows by three to four times that share.
TOO_FAR = pytest.mark.xfail(strict=True, reason="10.1 % off; sky light reflected by the glass")


@pytest.mark.parametrize("site", [pytest.param("greensboro", marks=TOO_FAR), "sand point"])
def test_unserved_energy(site: str) -> None:
    found = unserved_kwh(site)
    for value, wanted in zip(found, SITES[site][2], strict=False):
        if wanted is not None:
            assert value == pytest.approx(wanted, rel=0.10, abs=0.5)


def test_a_deficit_is_not_cured_by_batteries() -> None:
    """Twice the bank takes about a tenth off what is short; twice the panels all of it."""
    as_written, bank, _, panels = unserved_kwh("greensboro")
    assert 0.05 < 1.0 - bank / as_written < 0.20
    assert panels < 0.02 * as_written
    assert {change.kind for change in sensible(compared("greensboro").scenarios[0])} >= {
        "panels",
        "battery",
    }
