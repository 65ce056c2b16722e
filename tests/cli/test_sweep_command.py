"""The command `sweep` as people type it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from flatodds.cli.app import INTERRUPTED, main

pytestmark = pytest.mark.end

Capture = pytest.CaptureFixture[str]

SCENARIO = """title = "Short stay"
bank.chemistry = "lithium"
bank.volts = 12
bank.amp_hours = 200
array.watts = 800
household.pattern = "light"

[[stay]]
place = "36.10, -79.95"
first_day = "10 Dec"
nights = 4
"""
PANELS, BANK = ("--vary", "array.watts=400:1600:400"), ("--vary", "bank.amp_hours=100,200,300")


def run(folder: Path, *more: str, members: int = 64) -> int:
    file = folder / "my.toml"
    file.write_text(SCENARIO, encoding="utf-8")
    common = ("--out", str(folder), "--members", str(members), "-q")
    return main(["sweep", str(file), *common, *more])


def test_answer_and_folder(tmp_path: Path, capsys: Capture) -> None:
    assert run(tmp_path, *PANELS, *BANK, "--odds", "10") == 0
    shown = capsys.readouterr().out
    assert "of 12 rigs" in shown
    assert "--with-uncertainty" in shown
    assert all(len(line) <= 80 for line in shown.splitlines()[:-1])
    folder = tmp_path / "short-stay-sweep"
    names = sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*.*"))
    assert names == [
        "figures/sweep.png",
        "figures/sweep.svg",
        "result.nc",
        "summary.json",
        "tables/designs.csv",
    ]
    assert len((folder / "tables/designs.csv").read_text(encoding="utf-8").splitlines()) == 13
    drawn = (folder / "figures/sweep.svg").read_text(encoding="utf-8")
    for words in (">panels, W<", ">battery, Ah<", "of 12 rigs"):
        assert words in drawn
    assert not (tmp_path / "short-stay-sweep-unfinished").exists()
    assert run(tmp_path, *PANELS, "--json") == 0
    assert len(json.loads(capsys.readouterr().out)["designs"]) == 4


def test_an_interrupt_is_told_and_gone_on_from(
    tmp_path: Path, capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    from flatodds.studies.store import FileStore

    save = FileStore.save
    saved: list[int] = []

    def stopped(self: FileStore, number: int, first: int, kept: object) -> None:
        if saved:
            raise KeyboardInterrupt
        save(self, number, first, kept)  # type: ignore[arg-type]
        saved.append(first)

    monkeypatch.setattr(FileStore, "save", stopped)
    assert run(tmp_path, *PANELS, members=192) == INTERRUPTED
    told = capsys.readouterr()
    assert "the same command goes on" in " ".join(told.err.split())
    assert told.out == ""
    monkeypatch.setattr(FileStore, "save", save)
    assert run(tmp_path, *PANELS, "--json", members=192) == 0
    resumed = json.loads(capsys.readouterr().out)
    assert run(tmp_path, *PANELS, "--json", members=192) == 0
    assert json.loads(capsys.readouterr().out) == resumed


def test_a_study_that_cannot_be_kept_is_incomplete(tmp_path: Path, capsys: Capture) -> None:
    (tmp_path / "short-stay-sweep-unfinished").write_text("in the way", encoding="utf-8")
    assert run(tmp_path, *PANELS) == 5
    assert "same command again" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("more", "code", "words"),
    [
        ((), 2, "--vary"),
        (("--vary", "array.watts=2:1:1"), 2, "step above 0"),
        ((*PANELS, *BANK, "--vary", "home=van,cabin"), 2, "one or two"),
        (("--vary", "array.wats=1,2"), 3, "array.watts"),
        (("--vary", "array.watts=2:1:1", "--vary", "bank.amphours=1,2"), 2, "bank.amp_hours"),
        (("--vary", "bank.amphours=2:1:1"), 2, "bank.amp_hours"),
        (("--vary", "array.watts=2:1:1", "--vary", "bank.amphours=1,2"), 2, "step above 0"),
        ((*PANELS, "--odds", "0", "--threads", "0"), 2, "threads"),
        ((*PANELS, "--odds", "0"), 2, "odds"),
    ],
)
def test_refusals(
    tmp_path: Path, capsys: Capture, more: tuple[str, ...], code: int, words: str
) -> None:
    assert run(tmp_path, *more) == code
    assert words in " ".join(capsys.readouterr().err.split())
