"""The command `arrivals` as people type it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from flatodds.cli.app import main

pytestmark = pytest.mark.end

Capture = pytest.CaptureFixture[str]

SCENARIO = """title = "When to come"
bank.chemistry = "lithium"
bank.volts = 12
bank.amp_hours = 170
array.watts = 600
household.pattern = "light"
household.heat = "none"
uncertain.use_frac = 0.0

[[stay]]
name = "Lakeshore"
place = "44.90, -86.02"
first_day = "1 Jun"
nights = 3
"""


def run(folder: Path, *more: str) -> int:
    file = folder / "my.toml"
    file.write_text(SCENARIO, encoding="utf-8")
    return main(["arrivals", str(file), "--out", str(folder), "--members", "64", "-q", *more])


def test_answer_and_folder(tmp_path: Path, capsys: Capture) -> None:
    assert run(tmp_path, "--nights", "3", "--by", "season") == 0
    shown = capsys.readouterr().out
    assert "Lakeshore: arriving from" in shown
    assert "autumn" in shown
    assert "arriving with 100 %" in shown
    assert all(len(line) <= 80 for line in shown.splitlines()[:-1])
    folder = tmp_path / "when-to-come-arrivals"
    names = sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*.*"))
    assert names == [
        "figures/arrivals.png",
        "figures/arrivals.svg",
        "result.nc",
        "summary.json",
        "tables/weeks.csv",
    ]
    assert run(tmp_path, "--nights", "3", "--json") == 0
    assert len(json.loads(capsys.readouterr().out)["places"][0]["weeks"]) == 52


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (("--nights", "0"), "nights"),
        (("--charge", "101"), "charge"),
        (("--by", "moon"), "--by"),
        (("--odds", "100"), "odds"),
    ],
)
def test_refusals(tmp_path: Path, capsys: Capture, more: tuple[str, ...], words: str) -> None:
    assert run(tmp_path, *more) == 2
    assert words in capsys.readouterr().err
