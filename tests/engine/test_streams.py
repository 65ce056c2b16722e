"""Every random stream has a number of its own that never changes, and stored hashes of its words.

A stream that were moved, or shared by something new, would shift results that have nothing to do
with the change. Whoever adds a stream adds it here.
"""

from __future__ import annotations

import hashlib
import importlib
import pkgutil
from typing import Any

import numpy as np
from numba import njit

from flatodds.catalog import appliances
from flatodds.lanes import philox
from flatodds.loads.appliances import stream_of

# Name: first stream, how many, beginning of the SHA-256 of their words. A scenario has at most 16
# groups of panels, each with a stream of its own for the days on which it is stowed.
STREAMS = {
    "STREAM_DAY": (1, 1, "c239a07a826bcc12"),
    "STREAM_YEAR": (2, 1, "155b005bb26db8e4"),
    "STREAM_BEGIN": (3, 1, "a9e0b90acbf70ecb"),
    "STREAM_LATELY": (4, 1, "6de5236825491b15"),
    "STREAM_WET": (5, 1, "5d5fe8878f9e2189"),
    "STREAM_AWAY": (6, 1, "075447ed5497316d"),
    "STREAM_AWAY_YEAR": (7, 1, "f6b403a2286e41ef"),
    "STREAM_BLOCK": (8, 1, "ce2a8f6ead0ab23d"),
    "STREAM_PHASE": (9, 1, "613bfe2251cdc9a9"),
    "STREAM_CLOUD": (16, 6, "a5e1fb29fa988549"),
    "STREAM_STOWED": (64, 16, "7f87e407d248651c"),
}
APPLIANCES_FROM = 1 << 16
ROOMS = ("weather", "solar", "loads", "battery", "charging", "engine")


def declared() -> dict[str, int]:
    """Every constant of the package whose name begins with STREAM."""
    found: dict[str, int] = {}
    for room in ROOMS:
        package = importlib.import_module(f"flatodds.{room}")
        for module in pkgutil.iter_modules(package.__path__, f"flatodds.{room}."):
            held: dict[str, Any] = vars(importlib.import_module(module.name))
            found |= {n: int(v) for n, v in held.items() if n.startswith("STREAM_")}
    return found


def words_hash(first: int, count: int) -> str:
    """Hash of the words of streams, for 3 days, 64 members, 2 places and one key."""
    day, stream, member, place = np.meshgrid(
        np.arange(455, 458, dtype=np.uint64),
        np.arange(first, first + count, dtype=np.uint64),
        np.arange(64, dtype=np.uint64),
        np.arange(2, dtype=np.uint64),
        indexing="ij",
    )
    words: Any = philox(day, stream, member, place, np.uint64(11), np.uint64(12))  # type: ignore[arg-type]
    return hashlib.sha256(np.stack(words).astype("<u8").tobytes()).hexdigest()[:16]


def test_the_package_has_these_streams_and_no_others() -> None:
    assert declared() == {name: first for name, (first, _, _) in STREAMS.items()}


def test_words_of_every_stream_are_what_they_were() -> None:
    found = {name: words_hash(first, count) for name, (first, count, _) in STREAMS.items()}
    assert found == {name: kept for name, (_, _, kept) in STREAMS.items()}


@njit(error_model="numpy")
def compiled(c: Any, k: Any) -> Any:
    return philox(c[0], c[1], c[2], c[3], k[0], k[1])


def test_compiled_words_are_the_published_ones() -> None:
    """Known answers published with the Random123 library (kat_vectors, philox4x32 10)."""
    ones = 0xFFFFFFFF
    pi = (0x243F6A88, 0x85A308D3, 0x13198A2E, 0x03707344)
    published = (
        ((0, 0, 0, 0), (0, 0), (0x6627E8D5, 0xE169C58D, 0xBC57AC4C, 0x9B00DBD8)),
        ((ones,) * 4, (ones, ones), (0x408F276D, 0x41C83B0E, 0xA20BC7C6, 0x6D5451FD)),
        (pi, (0xA4093822, 0x299F31D0), (0xD16CFE09, 0x94FDCCEB, 0x5001E420, 0x24126EA1)),
    )
    for counter, key, words in published:
        found = compiled(np.array(counter, np.uint64), np.array(key, np.uint64))
        assert tuple(int(word) for word in found) == words


def test_no_two_share_a_stream() -> None:
    taken = [first + k for first, count, _ in STREAMS.values() for k in range(count)]
    assert len(taken) == len(set(taken))
    assert max(taken) < APPLIANCES_FROM


def test_appliances_keep_their_streams() -> None:
    """Those of the catalogue as of 2026-11-25; one that is added later moves none of them."""
    numbers = {name: stream_of(name) for name in sorted(appliances())}
    assert len(set(numbers.values())) == len(numbers)
    assert min(numbers.values()) >= APPLIANCES_FROM
    kept = {
        "absorption_fridge_12v_element": 944747881,
        "absorption_fridge_on_gas": 2110261749,
        "absorption_fridge_on_mains": 952015564,
        "air_fryer": 1317041966,
        "air_heater": 1427281254,
        "blender": 487119248,
        "bread_maker": 422442243,
        "cabin_fan": 61832519,
        "camera_and_drone_charging": 1865027825,
        "cell_booster": 168523034,
        "cell_router": 165839741,
        "chest_freezer_12v": 1159233668,
        "clothes_iron": 1194750453,
        "composting_toilet_fan": 333870980,
        "compressor_fridge_12v": 1936767820,
        "cpap_dry": 87374542,
        "cpap_heated_humidifier": 1943943456,
        "desktop_or_console": 718033216,
        "dishwasher_small": 1635300129,
        "drip_coffee": 310228690,
        "electric_blanket_double": 1125935374,
        "espresso_machine": 1170239247,
        "furnace_blower": 1400248155,
        "hair_dryer": 1930238994,
        "induction_hob": 789983146,
        "kettle": 1092083772,
        "laptop": 1610765883,
        "led_lights": 921201719,
        "medicine_cooler": 919946914,
        "microwave": 404267382,
        "night_vent_fan": 2144028616,
        "oxygen_concentrator": 529728553,
        "phones_tablets": 1080659286,
        "pressure_cooker": 1789059864,
        "printer_ink": 1690565392,
        "radio_receiver": 1552969883,
        "residential_fridge": 270816166,
        "rice_cooker": 1544040074,
        "satellite_internet_full": 407908710,
        "satellite_internet_small": 129744243,
        "security_cameras": 112536695,
        "slide_and_jack_motors": 669091899,
        "slow_cooker": 587988812,
        "space_heater": 65636388,
        "standby_detectors": 2057221509,
        "toaster": 1414105144,
        "tool_or_ebike_charging": 1754310321,
        "tv_media": 324487457,
        "vacuum": 1376416642,
        "vent_fan": 1642640070,
        "washer": 444192831,
        "water_heater_element": 847611989,
        "water_pump": 141165945,
        "water_purifier_uv": 788448790,
    }
    assert {name: numbers[name] for name in kept} == kept
