"""Borrows the maker of invented results from the tests of the room it belongs to."""

from __future__ import annotations

import importlib.util
from collections.abc import Callable
from pathlib import Path

import pytest

from flatodds.engine.results import Results

Fabricate = Callable[..., Results]


@pytest.fixture(scope="session")
def fabricate() -> Fabricate:
    path = Path(__file__).parents[1] / "outcomes" / "conftest.py"
    spec = importlib.util.spec_from_file_location("invented_results", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    made: Fabricate = module.made_results
    return made
