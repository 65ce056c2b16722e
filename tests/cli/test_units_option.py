"""The option --units of every study: what comes first in print, and what is refused."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from flatodds.cli.app import main

pytestmark = pytest.mark.end

Capture = pytest.CaptureFixture[str]

SCENARIO = """title = "Hot stay"
bank.chemistry = "lithium"
bank.volts = 12
bank.amp_hours = 400
array.watts = 1200
inverter.watts = 2000
household.pattern = "light"

[[stay]]
place = "33.10, -113.40"
first_day = "10 Jul"
nights = 2
"""
ASKED: dict[str, tuple[str, ...]] = {
    "compare": ("--change", "bank.amp_hours=200"),
    "upgrades": (),
    "sweep": ("--vary", "array.watts=400,800"),
    "arrivals": (),
    "cooling": ("--unit", "window_5000"),
    "days-left": ("--charge", "62"),
}


def ask(folder: Path, command: str, *more: str) -> int:
    file = folder / "my.toml"
    file.write_text(SCENARIO, encoding="utf-8")
    common = ("--out", str(folder), "--members", "64", "-q")
    return main([command, str(file), *ASKED[command], *common, *more])


@pytest.mark.parametrize("command", ASKED)
def test_units_that_are_none_are_refused_before_any_work(
    command: str, tmp_path: Path, capsys: Capture
) -> None:
    assert ask(tmp_path, command, "--units", "metric") == 3
    said = capsys.readouterr().err
    assert "units" in said
    assert '"us"' in said
    assert [path.name for path in tmp_path.iterdir()] == ["my.toml"]


@pytest.mark.parametrize(
    ("units", "said"), [("us", "warmer than 84 F (29 C)"), ("si", "warmer than 29 C (84 F)")]
)
def test_units_choose_what_comes_first(
    units: str, said: str, tmp_path: Path, capsys: Capture
) -> None:
    """On the screen; what is counted, and so the summary, is the same in either."""
    assert ask(tmp_path, "cooling", "--units", units) == 0
    assert said in " ".join(capsys.readouterr().out.split())
    summary = json.loads((tmp_path / "hot-stay-cooling/summary.json").read_text(encoding="utf-8"))
    assert ask(tmp_path, "cooling", "--json") == 0
    plain = json.loads(capsys.readouterr().out)
    assert [way["months"] for way in plain["ways"]] == [way["months"] for way in summary["ways"]]
