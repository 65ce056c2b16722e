"""Every scenario here opens with its question, and that command answers it."""

from __future__ import annotations

import json
import shlex
from pathlib import Path

import pytest

from flatodds.cli.app import main

pytestmark = pytest.mark.end

ROOT = Path(__file__).parents[2]
FILES = sorted((ROOT / "scenarios").glob("*.toml"))
ASK = "# Ask:  flatodds "
MEMBERS = "64"
LARGEST = 1_500_000  # bytes of a report
QUESTIONS = {"run", "compare", "upgrades", "sweep", "arrivals", "cooling", "days-left"}


def command_of(file: Path) -> list[str]:
    question, ask = file.read_text(encoding="utf-8").splitlines()[:2]
    assert question.startswith("# ")
    assert question.endswith("?")
    assert ask.startswith(ASK)
    return shlex.split(ask.removeprefix(ASK))


def test_there_is_a_file_for_every_question() -> None:
    assert {command_of(file)[0] for file in FILES} == QUESTIONS


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_the_question_is_answered(
    file: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(ROOT)
    command = command_of(file)
    assert command[1] == f"scenarios/{file.name}"
    assert main([*command, "--members", MEMBERS, "--out", str(tmp_path), "--quiet"]) == 0
    said = capsys.readouterr().out
    assert said.strip()
    assert all(len(line) <= 80 for line in said.splitlines() if str(tmp_path) not in line)
    (written,) = tmp_path.glob("*/summary.json")
    assert json.loads(written.read_text(encoding="utf-8"))
    pages = [page.stat().st_size for page in tmp_path.glob("*/report.html")]
    assert len(pages) == (command[0] == "run")
    assert max(pages, default=0) < LARGEST
    pictures = list(tmp_path.glob("*/figures/*.svg"))
    assert bool(pictures) is (command[0] != "run")
