"""What people did without by appliance, as `run --explain` tells it."""

from __future__ import annotations

from typing import Any

import pytest

from flatodds.report.without_page import without_of
from flatodds.report.without_words import without_rows, without_text


def use(name: str, wanted: float, later: float, gone: float, frugal: float | None) -> Any:
    def amount(kwh: float) -> dict[str, float]:
        return {"mean": kwh, "p10": 0.0, "p50": 0.0, "p90": 0.0}

    return {
        "name": name,
        "wanted_kwh": amount(wanted),
        "served_later_kwh": amount(later),
        "gone_without_kwh": amount(gone),
        "if_economised": None if frugal is None else {"gone_without_kwh": amount(frugal)},
    }


STAYS = [
    {"appliances": [use("air_fryer", 9.0, 2.0, 0.5, 1.0), use("led_lights", 3.0, 0.0, 0.0, 0.4)]},
    {"appliances": [use("air_fryer", 1.0, 0.5, 0.5, 0.25), use("cpap_dry", 2.0, 0.0, 0.0, 0.0)]},
]


def test_stays_are_added_and_who_lacks_nothing_is_left_out() -> None:
    assert without_rows(STAYS) == [
        ("air_fryer", 10.0, 2.5, 1.0, 1.25),
        ("led_lights", 3.0, 0.0, 0.0, 0.4),
    ]
    assert without_text([{"appliances": [use("cpap_dry", 2.0, 0.0, 0.0, 0.0)]}]) == ""


def test_where_nothing_can_be_saved_a_dash_stands() -> None:
    text = without_text([{"appliances": [use("x" * 90, 1.0, 0.0, 0.5, None)]}])
    assert text.split("\n")[3].split()[-4:] == ["1.00", "0.00", "0.50", "-"]


@pytest.mark.parametrize("plain", [False, True])
def test_lines_fit_eighty_columns(plain: bool) -> None:
    long = {"appliances": [use("y" * 90, 12345.0, 2345.0, 345.0, 1234.5)]}
    text = without_text([*STAYS, long], plain=plain)
    assert max(map(len, text.split("\n"))) <= 80
    assert text.isascii()
    assert "LED lights" in text
    assert ("goes without 1.00, 1.25 if you save" in " ".join(text.split())) is plain


def test_the_page_says_the_sums_and_the_largest_part() -> None:
    found = without_of(STAYS)
    assert found is not None
    assert found.finding == (
        "As you wrote it, 1.0 kWh are gone without, most of air fryer (1.0 of 10 kWh). "
        "Saving while the charge is low, 1.6 kWh are gone without, most of air fryer "
        "(1.2 of 10 kWh)."
    )
    assert found.rows[0] == ("air fryer", "10.00", "2.50", "1.00", "1.25")
    assert found.rows[1] == ("LED lights", "3.00", "0.00", "0.00", "0.40")


def test_the_page_has_no_table_where_nobody_lacks_anything() -> None:
    assert without_of([{"appliances": [use("cpap_dry", 2.0, 0.0, 0.0, 0.0)]}]) is None
    waited = without_of([{"appliances": [use("kettle", 2.0, 0.3, 0.0, 0.0)]}])
    assert waited is not None
    assert "hardly anything is gone without" in waited.finding
    assert "gives up nothing" in waited.finding
    unsaved = without_of([{"appliances": [use("kettle", 2.0, 0.0, 0.4, None)]}])
    assert unsaved is not None
    assert "Saving" not in unsaved.finding
    assert unsaved.rows == (("kettle", "2.00", "0.00", "0.40", "-"),)
