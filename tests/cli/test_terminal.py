"""The installed command in a process of its own: colour, quiet, JSON, units; terminal and pipe."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from flatodds.cli.app import main
from flatodds.engine import prepare

pytestmark = pytest.mark.end

COMMAND = Path(sys.executable).with_name("flatodds")
ESCAPE = "\x1b"
BRIGHT = {"FORCE_COLOR": "1", "CLICOLOR_FORCE": "1", "TERM": "xterm-256color", "COLUMNS": "80"}
PATIENCE_S = 120
SCENARIO = """title = "Hot week"
bank.chemistry = "lithium"
bank.volts = 24
bank.amp_hours = 20
array.watts = 200
household.pattern = "light"

[generator]
watts = 1000
hours = ["8-20"]

[[stay]]
place = "33.10, -113.40"
elevation_ft = 900
first_day = "1 Jul"
nights = 5
"""

if not COMMAND.exists():
    pytest.skip("flatodds is not installed beside this Python", allow_module_level=True)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "my.toml").write_text(SCENARIO, encoding="utf-8")
    return tmp_path


def environment(**more: str) -> dict[str, str]:
    plain = {k: v for k, v in os.environ.items() if k not in {*BRIGHT, "NO_COLOR"}}
    return {**plain, **more}


def piped(folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    """Run the command with its streams in pipes."""
    return subprocess.run(  # noqa: S603  (our own command and words)
        [str(COMMAND), *words],
        cwd=folder,
        env=environment(),
        capture_output=True,
        text=True,
        timeout=PATIENCE_S,
        check=False,
    )


def on_terminal(folder: Path, *words: str, **variables: str) -> tuple[int, str]:
    """Run the command on a terminal of its own that asks for colour; exit code and all it wrote."""
    pty = pytest.importorskip("pty")
    ours, theirs = pty.openpty()
    process = subprocess.Popen(  # noqa: S603  (our own command and words)
        [str(COMMAND), *words],
        cwd=folder,
        env=environment(**{**BRIGHT, **variables}),
        stdin=theirs,
        stdout=theirs,
        stderr=theirs,
    )
    os.close(theirs)
    said = b""
    while True:
        try:
            more = os.read(ours, 65536)
        except OSError:  # how Linux tells that nobody holds the other end any more
            break
        if not more:
            break
        said += more
    os.close(ours)
    return process.wait(timeout=PATIENCE_S), said.decode("ascii").replace("\r\n", "\n")


RUN = ("run", "my.toml", "--members", "64")


def test_colour_is_never_needed_nor_shown(folder: Path) -> None:
    for words in ((*RUN, "--quiet"), ("run", "--wrong"), ("run", "no.toml"), ("--help",)):
        code, asked = on_terminal(folder, *words)
        again, refused = on_terminal(folder, *words, NO_COLOR="1")
        assert ESCAPE not in asked + refused, words
        assert (code, asked) == (again, refused), words
        assert asked.strip()


def test_progress_is_for_terminals_and_quiet_has_none(folder: Path) -> None:
    code, said = on_terminal(folder, *RUN)
    assert code == 0
    assert re.search(r"\r\d+ of 64 years lived", said)
    assert ESCAPE not in said
    code, quiet = on_terminal(folder, *RUN, "--quiet")
    assert code == 0
    assert "lived" not in quiet
    assert "Will the power go out?" in quiet
    told = piped(folder, *RUN)
    assert "\r" not in told.stdout + told.stderr
    silent = piped(folder, *RUN, "--quiet")
    assert (silent.returncode, silent.stderr) == (0, "")
    assert silent.stdout == told.stdout


def test_the_first_run_says_why_it_is_slow(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(prepare, "ready", lambda: False)
    words = ["run", str(folder / "my.toml"), "--out", str(folder), "--members", "64"]
    assert main(words) == 0
    first = capsys.readouterr()
    assert "once per version. Usually under a minute" in first.err
    assert "Preparing" not in first.out
    assert main([*words, "--quiet"]) == 0
    assert capsys.readouterr().err == ""
    sweep = ["arrivals", *words[1:], "--nights", "2", "--by", "season"]
    assert main(sweep) == 0
    assert "once per version" in capsys.readouterr().err


def test_json_alone_is_on_standard_output(folder: Path) -> None:
    found = piped(folder, *RUN, "--json", "--quiet")
    assert (found.returncode, found.stderr) == (0, "")
    assert json.loads(found.stdout)["members"] == 64
    assert found.stdout == (folder / "hot-week-result/summary.json").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("units", "fuel", "warmth"),
    [
        ("us", r"[\d.]+ gal \([\d.]+ litres\)", r"Hotter than 84 F \(29 C\)"),
        ("si", r"[\d.]+ litres \([\d.]+ gal\)", r"Hotter than 29 C \(84 F\)"),
    ],
)
def test_units_choose_what_comes_first(folder: Path, units: str, fuel: str, warmth: str) -> None:
    found = piped(folder, *RUN, "--quiet", "--units", units, "--plain")
    said = " ".join(found.stdout.split())
    assert found.returncode == 0
    assert re.search(fuel, said)
    assert re.search(warmth, said)
    degrees = warmth.removeprefix("Hotter than ")
    assert re.search(f"Safety: it gets hotter than {degrees} inside", said)
    assert re.search(r"[\d.]+ kWh \([\d,]+ Ah\)", said), "both, whatever the units"
    page = (folder / "hot-week-result/report.html").read_text(encoding="utf-8")
    page = page.replace("\u00a0", " ")
    assert re.search(fuel, page)
    signed = degrees.replace(" F", " °F").replace(" C", " °C")
    assert re.search(f"It gets hotter than {signed} inside", page)


def test_units_that_are_none_are_refused(folder: Path) -> None:
    found = piped(folder, *RUN, "--units", "metric")
    assert found.returncode == 3
    assert '"us"' in found.stderr
    assert not (folder / "hot-week-result").exists()


def test_plain_is_sentences_and_every_screen_is_80_columns_of_ascii(folder: Path) -> None:
    drawn, told = piped(folder, *RUN, "-q").stdout, piped(folder, *RUN, "-q", "--plain").stdout
    assert "|" not in told
    assert "   " not in told
    for text in (drawn, told):
        assert text.isascii()
        assert max(map(len, text.splitlines())) <= 80
