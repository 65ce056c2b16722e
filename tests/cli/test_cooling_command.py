"""The command `cooling` as people type it."""

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
uncertain.use_frac = 0.0

[[stay]]
place = "33.10, -113.40"
first_day = "10 Jul"
nights = 4
"""


def run(folder: Path, *more: str) -> int:
    file = folder / "my.toml"
    file.write_text(SCENARIO, encoding="utf-8")
    return main(["cooling", str(file), "--out", str(folder), "--members", "64", "-q", *more])


def test_answer_and_folder(tmp_path: Path, capsys: Capture) -> None:
    assert run(tmp_path, "--unit", "window_5000") == 0
    shown = capsys.readouterr().out
    assert "Without a generator cooling runs" in " ".join(shown.split())
    assert "Jul" in shown
    assert "Safety: heat kills" in shown
    assert all(len(line) <= 80 for line in shown.splitlines()[:-1])
    folder = tmp_path / "hot-stay-cooling"
    names = sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*.*"))
    assert names == [
        "figures/cooling.png",
        "figures/cooling.svg",
        "result.nc",
        "summary.json",
        "tables/months.csv",
    ]
    rows = (folder / "tables/months.csv").read_text(encoding="utf-8").splitlines()
    assert len(rows) == 1 + 5
    assert run(tmp_path, "--unit", "window_5000", "--json") == 0
    assert json.loads(capsys.readouterr().out) == json.loads(
        (folder / "summary.json").read_text(encoding="utf-8")
    )


def test_nothing_is_prepared_before_all_is_checked(
    tmp_path: Path, capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What is refused is refused at once; a word about the wait comes as the work begins."""
    from flatodds.engine import prepare

    begun: list[str] = []
    monkeypatch.setattr(prepare, "begin", lambda: begun.append("begin"))
    for more in (("--unit", "fridge"), (), ("--unit", "dc_7000", "--threads", "0")):
        assert run(tmp_path, *more) == 2
    capsys.readouterr()
    assert begun == []
    assert run(tmp_path, "--unit", "dc_7000") == 0
    assert begun


@pytest.mark.parametrize(
    ("more", "code", "words"),
    [
        ((), 2, "no air conditioner"),
        (("--unit", "fridge"), 2, "There are: rooftop_13500"),
        (("--unit", "dc_7000", "--months", "summer"), 2, "--months may-sep"),
        (("--unit", "dc_7000", "--threads", "0"), 2, "threads"),
    ],
)
def test_refusals(
    tmp_path: Path, capsys: Capture, more: tuple[str, ...], code: int, words: str
) -> None:
    assert run(tmp_path, *more) == code
    shown = capsys.readouterr()
    assert words in " ".join(shown.err.split())
    assert shown.out == ""
    assert [path.name for path in tmp_path.iterdir()] == ["my.toml"]
