from __future__ import annotations

import re
import weakref
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any, cast

import numpy as np
import pytest
import xarray as xr

from flatodds.engine.results import Case, Results
from flatodds.errors import UsageError
from flatodds.outcomes import TABLES, Outcomes, open_result
from flatodds.outcomes.patient import Patient

Fabricate = Callable[..., Results]


@pytest.fixture
def outcomes(fabricate: Fabricate, doubt: tuple[Case, ...]) -> Outcomes:
    flat = np.zeros((9, 40, 4))
    flat[:, :6, 1] = 3.0
    return Outcomes.from_results(
        fabricate(flat, cases=doubt, stays=2, title="Désert ☀ <b>", seed=2**90, record_years=20)
    )


def test_a_saved_result_answers_as_the_run_did(outcomes: Outcomes, tmp_path: Path) -> None:
    outcomes.to_netcdf(tmp_path / "result.nc")
    for opened in (open_result(tmp_path), open_result(str(tmp_path / "result.nc"))):
        assert opened.summary() == outcomes.summary()
        assert opened.facts == outcomes.facts
        assert opened.dawn_charge() == outcomes.dawn_charge()
        for name in TABLES:
            assert opened.table(name).equals(outcomes.table(name))
        xr.testing.assert_identical(opened.dataset, outcomes.dataset)
    assert [path.name for path in tmp_path.iterdir()] == ["result.nc"]


def test_a_member_can_be_found_again(fabricate: Fabricate) -> None:
    results = fabricate(stays=2)
    dataset = Outcomes.from_results(results).dataset
    assert dict(dataset.sizes) == {
        "case": 1,
        "member": 40,
        "stay": 2,
        "period": 4,
        "day": 120,
        "appliance": 2,
    }
    picked = dataset["demand_wh"].sel(case="as_estimated", member=17).isel(period=3)
    assert picked.item() == results.sums["demand_wh"][0, 17, 3]
    assert dataset["daily_array_wh"].dtype == np.float32
    by_month = dataset["hours_flat"].groupby("period_month").sum()
    assert by_month.sizes["period_month"] == 2


def test_every_variable_says_its_unit_and_what_it_is(outcomes: Outcomes) -> None:
    words = {"wh": "W h", "w": "W", "ah": "A h", "frac": "1"}
    for name, variable in outcomes.dataset.variables.items():
        assert variable.attrs["long_name"]
        if variable.dtype.kind in "fi":
            unit = variable.attrs["units"]
            assert unit == words.get(str(name).rpartition("_")[2], unit)
        if variable.ndim == 3 and name != "first_flat_day":
            assert re.fullmatch(r"\w+: (sum|maximum|minimum|point)", variable.attrs["cell_methods"])


def test_provenance_is_kept(outcomes: Outcomes, tmp_path: Path) -> None:
    outcomes.to_netcdf(tmp_path / "result.nc")
    with xr.open_dataset(tmp_path / "result.nc", engine="h5netcdf") as saved:
        assert saved.attrs["title"] == "Désert ☀ <b>"
        assert saved.attrs["seed"] == str(2**90)
        assert saved.attrs["scenario_sha256"] == "a" * 64
        assert saved.attrs["weather_sha256"] == f"{'b' * 64} {'b' * 64}"
        assert saved.attrs["source"].startswith("flatodds ")
        assert saved.attrs["record_years"] == 20


class Small:
    """A disk that is full after so many bytes."""

    def __init__(self, file: Any, room: int) -> None:
        self._file, self._room = file, room

    def write(self, what: Any) -> int:
        if self._room <= 0:
            raise OSError("the disk is full")
        written = int(self._file.write(what[: self._room]))
        self._room -= written
        return written

    def __getattr__(self, name: str) -> Any:
        return getattr(self._file, name)


@pytest.mark.parametrize("room", [0, 1, 100, 3000, 20_000])
def test_a_failed_write_leaves_the_earlier_file(
    outcomes: Outcomes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, room: int
) -> None:
    """HDF5 is told nothing of a full disk, since closing the file would end the process."""
    path = tmp_path / "result.nc"
    path.write_text("earlier")
    begin = Patient.__init__

    def small(self: Any, at: Path) -> None:
        begin(self, at)
        self._disk = self._file = Small(self._disk, room)

    monkeypatch.setattr(Patient, "__init__", small)
    with pytest.raises(OSError, match="full"):
        outcomes.to_netcdf(path)
    assert path.read_text() == "earlier"
    assert [entry.name for entry in tmp_path.iterdir()] == ["result.nc"]


def test_a_result_is_written_as_it_is_read_a_quantity_at_a_time(
    fabricate: Fabricate, tmp_path: Path
) -> None:
    """Never two of them in memory by the writer's doing; and what it wrote is the Dataset."""
    results = fabricate()
    given: list[tuple[str, weakref.ref[Any]]] = []
    beside: list[set[str]] = []

    class Told(dict[str, Any]):
        def __getitem__(self, key: str) -> Any:
            beside.append({name for name, one in given if one() is not None and name != key})
            values = np.array(super().__getitem__(key))
            given.append((key, weakref.ref(values)))
            return values

    made = Outcomes.from_results(results)
    record = replace(made._record, sums=Told(made._record.sums))
    Outcomes(record).to_netcdf(tmp_path / "later.nc")
    assert {name for name, _ in given} == set(record.sums)
    assert not any(beside)
    made.to_netcdf(tmp_path / "result.nc")
    xr.testing.assert_identical(open_result(tmp_path).dataset, made.dataset)
    assert (tmp_path / "later.nc").read_bytes() == (tmp_path / "result.nc").read_bytes()


def test_opening_nothing_says_so(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="no such result"):
        open_result(tmp_path)


def test_opening_something_else_says_so(outcomes: Outcomes, tmp_path: Path) -> None:
    path = tmp_path / "result.nc"
    path.write_text("not a result")
    with pytest.raises(UsageError, match="cannot be read"):
        open_result(tmp_path)
    xr.Dataset({"a": ("x", [1.0])}).to_netcdf(path, engine="h5netcdf")
    with pytest.raises(UsageError, match="not a flatodds result"):
        open_result(tmp_path)
    outcomes.to_netcdf(path)
    path.write_bytes(path.read_bytes()[:2000])
    with pytest.raises(UsageError, match="cannot be read"):
        open_result(tmp_path)


def test_a_damaged_result_is_refused(outcomes: Outcomes, tmp_path: Path) -> None:
    damaged = outcomes.dataset.copy(deep=True)
    damaged["hours_flat"][0, 0, 0] = np.nan
    damaged.to_netcdf(tmp_path / "result.nc", engine="h5netcdf")
    with pytest.raises(UsageError, match="hours_flat holds 1 numbers that are not finite"):
        open_result(tmp_path)


def test_what_this_version_has_no_label_for_is_kept(fabricate: Fabricate, tmp_path: Path) -> None:
    results = fabricate()
    cast("dict[str, Any]", results.sums)["pump_wh"] = np.full((1, 40, 2), 3.0)
    cast("dict[str, Any]", results.sums)["pump_starts"] = np.full((1, 40, 2), 5.0)
    Outcomes.from_results(results).to_netcdf(tmp_path / "result.nc")
    dataset = open_result(tmp_path).dataset
    assert dataset["pump_wh"].attrs == {"units": "W h", "long_name": "pump wh"}
    assert dataset["pump_starts"].attrs["units"] == "1"
    assert (dataset["pump_starts"] == 5.0).all()
    assert (dataset["start_ah"] == 320.0).all()
