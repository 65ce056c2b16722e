"""The command `compare` as people type it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from flatodds.cli.app import main
from flatodds.report.compare_words import difference_words, no_difference_words

pytestmark = pytest.mark.end

Capture = pytest.CaptureFixture[str]

SCENARIO = """title = "Short stay"
bank.chemistry = "lithium"
bank.volts = 12
bank.amp_hours = 100
array.watts = 200
household.pattern = "light"

[[stay]]
place = "36.10, -79.95"
first_day = "20 Nov"
nights = 6
"""


def run(folder: Path, *more: str, text: str = SCENARIO) -> int:
    file = folder / "my.toml"
    file.write_text(text, encoding="utf-8")
    return main(["compare", str(file), "--out", str(folder), "--members", "64", "-q", *more])


def test_answer_and_folder(tmp_path: Path, capsys: Capture) -> None:
    change = (
        "--change",
        "array.watts=2000",
        "--name",
        "big roof",
        "--change",
        "bank.amp_hours=101",
    )
    assert run(tmp_path, *change) == 0
    shown = capsys.readouterr().out
    assert "big roof" in shown
    assert "bank.amp_hours = 101: no difference that 64 simulated years can show" in " ".join(
        shown.split()
    )
    assert all(len(line) <= 80 for line in shown.splitlines()[:-1])
    folder = tmp_path / "short-stay-compare"
    names = sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*.*"))
    assert names == [
        "figures/variants.png",
        "figures/variants.svg",
        "result.nc",
        "summary.json",
        "tables/variants.csv",
    ]
    drawn = (folder / "figures/variants.svg").read_text(encoding="utf-8")
    assert drawn.count("run flat") >= 3, "named, described, and printed on the drawing"
    assert run(tmp_path, *change, "--json") == 0  # and an earlier result may be replaced
    assert json.loads(capsys.readouterr().out) == json.loads(
        (folder / "summary.json").read_text(encoding="utf-8")
    )


@pytest.mark.parametrize(
    ("more", "code", "words"),
    [
        ((), 2, "nothing to compare"),
        (("--change", "bank.amphours=3", "--change", "array.watts=-1"), 3, "array.watts"),
        (("--change", "bank"), 2, "no change"),
        (("--name", "x"), 2, "more names"),
        (("--change", "bank.amp_hours=9", "--threads", "0"), 2, "threads"),
    ],
)
def test_refusals(
    tmp_path: Path, capsys: Capture, more: tuple[str, ...], code: int, words: str
) -> None:
    assert run(tmp_path, *more) == code
    shown = capsys.readouterr()
    assert words in shown.err
    assert shown.out == ""
    assert [path.name for path in tmp_path.iterdir()] == ["my.toml"]


@pytest.mark.parametrize(
    ("ends", "words"),
    [
        ((-0.09, -0.12, -0.06), "flat in 9 fewer of 100 such stays (6 to 12)"),
        ((0.052, 0.041, 0.063), "flat in 5 more of 100 such stays (4 to 7)"),
        ((-0.004, -0.007, -0.001), "flat in 4 fewer of 1,000 such stays (1 to 7)"),
    ],
)
def test_differences_in_words(ends: tuple[float, float, float], words: str) -> None:
    assert difference_words(dict(zip(("estimate", "low", "high"), ends, strict=True))) == words


def test_no_difference_in_words() -> None:
    ends = {"estimate": 0.004, "low": -0.008, "high": 0.016}
    said = no_difference_words(ends, 2000, None)
    assert said.startswith("no difference that 2,000 simulated years can show (from 1 fewer")
    years = no_difference_words(ends, 2000, 12)
    assert "12 real years can show" in years
