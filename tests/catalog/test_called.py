"""Names of the catalogue as people read them."""

from __future__ import annotations

import pytest

from flatodds.catalog import appliances
from flatodds.catalog.called import NAMES, called
from flatodds.catalog.coolers import coolers


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("led_lights", "LED lights"),
        ("compressor_fridge_12v", "compressor fridge, 12 V"),
        ("cpap_dry", "CPAP without humidifier"),
        ("absorption_fridge_12v_element", "absorption fridge 12 V element"),
        ("bread maker", "bread maker"),
        ("Pump_2", "Pump_2"),
        ("", ""),
    ],
)
def test_keys_become_words_and_own_names_stay(name: str, words: str) -> None:
    assert called(name) == words


def test_every_name_of_the_catalogue_becomes_words_of_its_own() -> None:
    known = [*appliances(), *coolers()]
    said = [called(name) for name in known]
    assert len(set(said)) == len(known)
    assert not [words for words in said if "_" in words]
    assert set(NAMES) <= set(known)
