"""A result as a labelled Dataset that carries its units and where it came from, and back.

Dimensions are case, member, stay, period (the nights of one stay in one month), day and
appliance. Nothing is rounded or averaged on the way, so a result read back is the same result.
"""

from __future__ import annotations

import secrets
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from flatodds.engine.results import Case, Period
from flatodds.errors import Problem, UsageError
from flatodds.outcomes import labels
from flatodds.outcomes.patient import Patient
from flatodds.outcomes.record import Record, check_record, facts_from_json
from flatodds.outcomes.seal import opened, sealed

if TYPE_CHECKING:
    import xarray as xr

FORMAT = 1  # of the saved file; raised when an older reader would misread it
CONVENTIONS = "CF-1.11"  # CF conventions whose attribute names are used
NO_RECORD = -1  # "record_years" of invented weather
CHUNKS_KEPT = 1 << 16  # bytes a variable holds until the file is closed; by default 1 MB or more
COMPRESSION = {"zlib": True, "complevel": 1, "shuffle": True}  # fastest level; own choice

Variable = tuple[tuple[str, ...], npt.NDArray[Any], dict[str, str]]


def dataset_of(record: Record, *, later: bool = False) -> xr.Dataset:
    """Label the arrays of a result with dimensions, units, long names and provenance.

    With `later`, arrays are read when they are asked for, each time anew, so that a result of
    any size can be written in the memory of its largest quantity.
    """
    import xarray as xr

    return xr.Dataset(
        data_vars=data_variables(record, later=later),
        coords=coordinates(record),
        attrs=provenance(record),
    )


def data_variables(record: Record, *, later: bool = False) -> dict[str, Variable]:
    """Collect the variables: dimensions, values and attributes of each."""
    found: dict[str, Variable] = {}

    def values_of(group: Mapping[str, npt.NDArray[Any]], key: str) -> Any:
        if not later:
            return group[key]
        from flatodds.outcomes.unread import unread

        return unread(lambda: group[key])

    for key in record.sums:
        told = labels.attributes(labels.label_of(labels.SUMS, key))
        found[key] = (("case", "member", "period"), values_of(record.sums, key), told)
    for key in record.extremes:
        told = labels.attributes(labels.label_of(labels.EXTREMES, key))
        found[key] = (("case", "member", "stay"), values_of(record.extremes, key), told)
    for key in record.daily:
        told = labels.attributes(labels.label_of(labels.DAILY, key))
        name = labels.DAILY_PREFIX + key
        found[name] = (("member", "day"), values_of(record.daily, key), told)
    for key in record.plugs:
        told = labels.attributes(labels.PLUGS[key])
        found[key] = (("member", "stay", "appliance"), values_of(record.plugs, key), told)
    text = np.array(record.facts.to_json(), dtype=object)
    found["facts"] = ((), text, {"long_name": "facts of the scenario, JSON"})
    return found


def coordinates(record: Record) -> dict[str, Variable]:
    """Name the cases, stays and appliances; place the periods and days."""

    def texts(dim: str, names: list[str], long_name: str) -> Variable:
        return (dim,), np.array(names, dtype=object), {"long_name": long_name}

    def numbers(dim: str, values: list[int] | list[float], long_name: str) -> Variable:
        return (dim,), np.array(values), {"units": "1", "long_name": long_name}

    cases, periods = record.cases, record.periods
    stays = [stay.name for stay in record.facts.stays]
    return {
        "case": texts("case", [case.name for case in cases], "guess at sun, use and the cold lock"),
        "case_sun_factor": numbers("case", [c.sun_factor for c in cases], "factor on the sun"),
        "case_use_factor": numbers("case", [c.use_factor for c in cases], "factor on use"),
        "case_weight": numbers("case", [c.weight for c in cases], "share in the mixture"),
        "case_gate_later_c": (
            ("case",),
            np.array([c.gate_later_c for c in cases]),
            {"units": "K", "long_name": "how much warmer the cold gate opens"},
        ),
        "member": numbers("member", list(range(record.members)), "simulated year"),
        "stay": texts("stay", stays, "name of the stay"),
        "period_stay": numbers("period", [p.stay for p in periods], "index of the stay"),
        "period_month": numbers("period", [p.month for p in periods], "calendar month"),
        "period_nights": numbers("period", [p.nights for p in periods], "nights in the month"),
        "day_stay": (("day",), record.day_stay, {"units": "1", "long_name": "index of the stay"}),
        "day_doy": (
            ("day",),
            record.day_doy,
            {"units": "1", "long_name": "day of year, 0 is 1 January, no 29 February"},
        ),
        "appliance": texts("appliance", list(record.appliances), "name of the appliance"),
    }


def provenance(record: Record) -> dict[str, Any]:
    """Say which program, scenario, seed and weather made the result."""
    facts = record.facts
    return {
        "Conventions": CONVENTIONS,
        "title": facts.title,
        "source": f"flatodds {facts.version}",
        "flatodds_format": FORMAT,
        "scenario_sha256": facts.sha256,
        "seed": str(record.seed),  # may exceed 64 bits
        "weather_sha256": " ".join(basis.sha256 for basis in facts.bases),
        "record_years": NO_RECORD if record.record_years is None else record.record_years,
        "relative_energy_balance_error": record.balance_error,
    }


def record_from(dataset: xr.Dataset) -> Record:
    """Take a result back out of its Dataset.

    Raises
    ------
    UsageError
        If the Dataset is not one of ours, or was written by a newer version.
    """
    if dataset.attrs.get("flatodds_format") != FORMAT:
        raise UsageError("This is not a flatodds result, or a newer version wrote it.")
    sizes, years = dataset.sizes, int(dataset.attrs["record_years"])
    record = Record(
        facts=facts_from_json(str(dataset["facts"].item())),
        seed=int(dataset.attrs["seed"]),
        members=int(sizes["member"]),
        record_years=None if years == NO_RECORD else years,
        cases=cases_from(dataset),
        periods=periods_from(dataset),
        sums=arrays_over(dataset, ("case", "member", "period")),
        extremes=arrays_over(dataset, ("case", "member", "stay")),
        daily=arrays_over(dataset, ("member", "day")),
        day_stay=dataset["day_stay"].to_numpy(),
        day_doy=dataset["day_doy"].to_numpy(),
        appliances=tuple(str(name) for name in dataset["appliance"].to_numpy()),
        plugs={name: dataset[name].to_numpy() for name in labels.PLUGS if name in dataset},
        balance_error=float(dataset.attrs["relative_energy_balance_error"]),
    )
    check_record(record)
    return record


def arrays_over(dataset: xr.Dataset, dims: tuple[str, ...]) -> dict[str, npt.NDArray[Any]]:
    """Collect the variables over the given dimensions, by the engine's names."""
    return {
        str(name).removeprefix(labels.DAILY_PREFIX): variable.to_numpy()
        for name, variable in dataset.data_vars.items()
        if variable.dims == dims
    }


def cases_from(dataset: xr.Dataset) -> tuple[Case, ...]:
    """Rebuild the cases from their coordinates."""
    keys = ("sun_factor", "use_factor", "weight", "gate_later_c")
    columns = (dataset[f"case_{key}"].to_numpy().tolist() for key in keys)
    return tuple(Case(*row) for row in zip(dataset["case"].to_numpy(), *columns, strict=True))


def periods_from(dataset: xr.Dataset) -> tuple[Period, ...]:
    """Rebuild the periods from their coordinates."""
    columns = (dataset[f"period_{key}"].to_numpy() for key in ("stay", "month", "nights"))
    return tuple(Period(int(s), int(m), int(n)) for s, m, n in zip(*columns, strict=True))


def save_dataset(dataset: xr.Dataset, path: Path) -> None:
    """Write a Dataset as NetCDF-4; a half-written file never bears the final name.

    Raises
    ------
    OSError
        If the disk is full or the place cannot be written; nothing is changed then.
    """
    hidden = path.with_name(f".{path.name}.{secrets.token_hex(4)}.tmp")
    try:
        with Patient(hidden) as file:
            write_into(file, sealed(dataset))
        hidden.replace(path)
    finally:
        hidden.unlink(missing_ok=True)


def write_into(file: Patient, dataset: xr.Dataset) -> None:
    """Write a NetCDF-4 file, a variable at a time: xarray by itself would read all of them first.

    Coordinates go first and are named for the whole file, and by each variable they belong to.
    """
    import h5netcdf
    from xarray.backends import H5NetCDFStore
    from xarray.conventions import encode_dataset_coordinates

    with h5netcdf.File(file, "w", rdcc_nbytes=CHUNKS_KEPT) as inside:
        store = H5NetCDFStore(inside)
        dataset.drop_vars(list(dataset.data_vars)).dump_to_store(store)
        for name in dataset.data_vars:
            variable = encode_dataset_coordinates(dataset[[name]])[0][name]
            variable.encoding = dict(COMPRESSION) if variable.ndim > 1 else {}
            store.store({name: variable}, {})  # type: ignore[no-untyped-call]


def load_record(path: Path) -> Record:
    """Read a result file.

    Raises
    ------
    UsageError
        If there is no such file, or it cannot be read as a result.
    """
    import xarray as xr

    try:
        there = path.is_file()
    except (OSError, ValueError):  # a name that no file can have
        there = False
    if not there:
        raise UsageError(
            Problem(
                str(path), "there is no such result.", "Run a scenario first: flatodds run FILE"
            )
        )
    try:
        with xr.open_dataset(path, engine="h5netcdf") as dataset:
            return record_from(opened(dataset.load()))
    except UsageError:
        raise
    except Exception as error:  # a damaged file makes its readers fail in every way
        raise UsageError(
            Problem(str(path), f"cannot be read as a result ({error}).", "Run the scenario again.")
        ) from error
