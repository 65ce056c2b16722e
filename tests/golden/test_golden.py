"""The scenarios of this repository still mean, and still give, what they did.

Golden values are what the program said once, not the truth: the truth is in tests/validation.
They show every change that reaches a result. One that is meant is written with its reason,
which stays in the files for the reader of the change:

    FLATODDS_GOLDEN="drives last until noon now" pytest tests/golden

Words that are new since may stand beside the golden ones; none may change or go.
"""

from __future__ import annotations

import json
import math
import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from flatodds import Scenario, load_scenario, simulate

HERE = Path(__file__).parent
FOLDER = HERE.parents[1] / "scenarios"
SCENARIOS = sorted(FOLDER.glob("*.toml"))
REASON = os.environ.get("FLATODDS_GOLDEN", "").strip()
# A new scenario has no golden values until an update with a reason makes some.
NAMES = [path.stem for path in SCENARIOS if REASON or (HERE / f"{path.stem}.json").is_file()]
LEAST_REASON = 12  # characters: "fix" tells a reader nothing
MEMBERS, SEED = 64, 20_261_125
# Charge is kept in float32, whose rounding may differ between processors and compilers.
RELATIVE, ABSOLUTE = 1e-5, 1e-6
PLACES = 7  # digits that golden numbers are written with
APART = {"flatodds_version", "flatodds", "scenario_file", "elapsed_s", "sources", "sha256"}
APART |= {"cautions", "sentence", "warnings"}  # words for people, which their own tests hold


def scenario_part(scenario: Scenario) -> dict[str, Any]:
    """What a scenario came to mean, and what it left to assumptions."""
    meant: dict[str, Any] = json.loads(scenario.canonical_json)
    assumed = {item.key: item.value for item in scenario.assumed}
    return {"meant": meant, "assumed": json.loads(json.dumps(assumed, default=str))}


def summary_part(scenario: Scenario) -> dict[str, Any]:
    outcomes = simulate(scenario, members=MEMBERS, seed=SEED)
    found: dict[str, Any] = json.loads(json.dumps(outcomes.summary()))
    return {key: value for key, value in found.items() if key not in APART}


def rounded(value: Any) -> Any:
    """Numbers with fewer digits, so that the files can be read."""
    if isinstance(value, dict):
        return {key: rounded(inner) for key, inner in value.items() if key not in APART}
    if isinstance(value, list):
        return [rounded(inner) for inner in value]
    if isinstance(value, float) and math.isfinite(value):
        return float(f"{value:.{PLACES}g}")
    return value


def apart(golden: Any, found: Any, where: str = "") -> Iterator[str]:
    """Every place where what was found is not what is golden."""
    if isinstance(golden, dict) and isinstance(found, dict):
        for key, inner in golden.items():
            if key in found:
                yield from apart(inner, found[key], f"{where}.{key}")
            else:
                yield f"{where}.{key} is gone"
    elif isinstance(golden, list) and isinstance(found, list):
        if len(golden) != len(found):
            yield f"{where} has {len(found)} entries, not {len(golden)}"
        for at, (left, right) in enumerate(zip(golden, found, strict=False)):
            yield from apart(left, right, f"{where}.{at}")
    elif _number(golden) and _number(found):
        if not math.isclose(golden, found, rel_tol=RELATIVE, abs_tol=ABSOLUTE):
            yield f"{where} = {found!r}, not {golden!r}"
    elif golden != found or type(golden) is not type(found):
        yield f"{where} = {found!r}, not {golden!r}"


def _number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def compare(name: str, part: str, found: dict[str, Any]) -> None:
    """Hold a part against its golden file, or write it there with the reason given."""
    file = HERE / f"{name}.json"
    kept = json.loads(file.read_text(encoding="utf-8")) if file.is_file() else {}
    if REASON:
        if len(REASON) < LEAST_REASON:
            pytest.fail("FLATODDS_GOLDEN must say why the golden values change")
        new = rounded(found)
        if part not in kept or [*apart(kept[part], new), *apart(new, kept[part])]:
            kept = {**kept, "why": {**kept.get("why", {}), part: REASON}, part: new}
            file.write_text(json.dumps(kept, indent=1) + "\n", encoding="utf-8")
        return
    assert part in kept, 'golden values are missing: FLATODDS_GOLDEN="why" writes them'
    assert len(kept["why"][part]) >= LEAST_REASON
    changed = list(apart(kept[part], found))
    told = "\n".join(changed[:20])
    assert not changed, f"{len(changed)} golden values changed:\n{told}"


@pytest.mark.parametrize("name", NAMES)
def test_a_scenario_means_what_it_did(name: str) -> None:
    compare(name, "scenario", scenario_part(load_scenario(FOLDER / f"{name}.toml")))


@pytest.mark.parametrize("name", NAMES)
def test_a_run_gives_what_it_did(name: str) -> None:
    compare(name, "summary", summary_part(load_scenario(FOLDER / f"{name}.toml")))


def test_no_golden_file_is_left_over() -> None:
    assert {path.stem for path in HERE.glob("*.json")} <= {path.stem for path in SCENARIOS}
    assert len(NAMES) > 10


@pytest.mark.parametrize(
    ("golden", "found", "count"),
    [
        ({"a": 1.0}, {"a": 1.000001, "b": 2.0}, 0),
        ({"a": 1.0}, {"a": 1.0001}, 1),
        ({"a": 1.0}, {}, 1),
        ({"a": [1, 2]}, {"a": [1]}, 1),
        ({"a": True}, {"a": 1}, 1),
        ({"a": None}, {"a": 0.0}, 1),
        ({"a": {"b": "x"}}, {"a": {"b": "y"}}, 1),
        ({"a": {"b": "x"}}, {"a": "x"}, 1),
    ],
)
def test_a_change_is_seen(golden: Any, found: Any, count: int) -> None:
    assert len(list(apart(golden, found))) == count


def test_an_update_needs_a_reason(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(globals(), "REASON", "fix")
    with pytest.raises(pytest.fail.Exception, match="must say why"):
        compare(NAMES[0], "scenario", {})
