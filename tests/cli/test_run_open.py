from __future__ import annotations

from pathlib import Path

import pytest

from flatodds.cli import run as run_command


def test_open_shows_the_page_or_says_where_it_is(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    seen: list[str] = []

    def found(url: str) -> bool:
        seen.append(url)
        return len(seen) > 1

    monkeypatch.setattr("webbrowser.open", found)
    page = tmp_path / "report.html"
    run_command._open(page)
    assert "No browser was found" in capsys.readouterr().err
    run_command._open(page)
    assert seen == [page.as_uri()] * 2
    assert not capsys.readouterr().err
