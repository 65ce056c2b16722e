"""How names of the catalogue are written for people: words and spaces, not keys."""

from __future__ import annotations

import re
from collections.abc import Mapping

SPELLED: Mapping[str, str] = {
    "12v": "12 V",
    "ebike": "e-bike",
    "led": "LED",
    "tv": "TV",
    "uv": "UV",
}
# Names whose words alone do not say what the thing is.
NAMES: Mapping[str, str] = {
    "compressor_fridge_12v": "compressor fridge, 12 V",
    "chest_freezer_12v": "chest freezer, 12 V",
    "cpap_dry": "CPAP without humidifier",
    "cpap_heated_humidifier": "CPAP, heated humidifier",
    "phones_tablets": "phones and tablets",
    "rooftop_13500": "air conditioner, rooftop 13500",
    "rooftop_15000": "air conditioner, rooftop 15000",
    "satellite_internet_full": "satellite internet, full-size",
    "satellite_internet_small": "satellite internet, small",
    "tv_media": "TV and player",
}
_KEY = re.compile(r"[a-z0-9]+(?:_[a-z0-9]+)*", re.ASCII)


def called(name: str) -> str:
    """Write a name for people: ``"led_lights"`` is "LED lights".

    A name that somebody made up, with capitals or spaces, stays as it is.
    """
    if name in NAMES:
        return NAMES[name]
    if not _KEY.fullmatch(name):
        return name
    return " ".join(SPELLED.get(word, word) for word in name.split("_"))
