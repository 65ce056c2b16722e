"""Libraries that results are written with are loaded while a study runs, and waited for."""

from __future__ import annotations

import time

import pytest

from flatodds.cli import study


@pytest.fixture
def loads(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Give what has been loaded, a while after it was begun."""
    done: list[str] = []

    def slowly() -> None:
        time.sleep(0.05)
        done.append("loaded")

    monkeypatch.setattr(study, "read_ahead", slowly)
    return done


def test_loaded_once_and_waited_for(loads: list[str]) -> None:
    show = study.begun(quiet=True)
    for done in range(1, 4):
        show(done, 3)
    assert loads == ["loaded"]
    for done in range(1, 3):  # a study of two parts
        show(done, 2)
    assert loads == ["loaded"]


def test_nothing_is_loaded_where_no_time_is_left(loads: list[str]) -> None:
    study.begun(quiet=True)(1, 1)
    time.sleep(0.1)
    assert loads == []


def test_a_library_that_is_missing_is_told_later(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(study, "WRITTEN_WITH", ("no_such_library_here",))
    study.read_ahead()
