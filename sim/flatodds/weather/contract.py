"""What every weather table in the program holds, and the gate that user datasets pass."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import numpy.typing as npt

from flatodds.errors import Problem, WeatherError

if TYPE_CHECKING:
    import xarray as xr

GHI, DNI, DHI, TEMP, WIND = range(5)  # rows of an hour's weather
SKY = 5  # how many rows there are
NAMES = ("ghi", "dni", "dhi", "temp_air", "wind_speed")  # pvlib's published nomenclature

DIFFUSE_ABOVE_GLOBAL = 1.10  # BSRN ratio test for a low sun, Long and Dutton (2002)
DIFFUSE_LIT_W_M2 = 50.0  # the same test asks for at least this much global irradiance
DIFFUSE_SHARE_FRAC = 0.05  # hours that may break it before a table is refused; judgement


class Bounds(NamedTuple):
    """Smallest and largest value an hour can have, its unit and who says so."""

    low: float
    high: float
    unit: str
    source: str


_BSRN = "BSRN Global Network recommended QC tests, v2.0 (Long and Dutton 2002), sun overhead"
BOUNDS: Mapping[str, Bounds] = MappingProxyType(
    {
        # 'Extremely rare' upper limits with 1361 W/m2 x 1.034 (perihelion), lower limit -4.
        "ghi": Bounds(-4.0, 1739.0, "W/m2", _BSRN),
        "dni": Bounds(-4.0, 1347.0, "W/m2", _BSRN),
        "dhi": Bounds(-4.0, 1086.0, "W/m2", _BSRN),
        # Records of the WMO World Weather and Climate Extremes Archive: -89.2 and 56.7 degC,
        # gust 113 m/s; rounded outwards.
        "temp_air": Bounds(-90.0, 60.0, "degC", "WMO world records, rounded outwards"),
        "wind_speed": Bounds(0.0, 115.0, "m/s", "WMO world record gust, rounded outwards"),
    }
)

UNIT_WORDS: Mapping[str, frozenset[str]] = MappingProxyType(
    {
        "W/m2": frozenset({"w/m2", "w/m^2", "w/m**2", "wm-2", "wm^-2", "wm**-2", "w/m²"}),
        "degC": frozenset({"degc", "c", "°c", "celsius", "deg_c", "degree_celsius"}),
        "m/s": frozenset({"m/s", "ms-1", "ms^-1", "ms**-1"}),
    }
)

HOUR = np.timedelta64(1, "h")


@dataclass(frozen=True, slots=True)
class WeatherTable:
    """Hourly weather of one or more members, checked.

    Attributes
    ----------
    values : ndarray of float64, (member, hour, 5)
        ghi, dni, dhi [W/m2], temp_air [degC], wind_speed [m/s], in the order of `NAMES`.
    start : numpy.datetime64
        Start of the first hour, UTC.
    members : int
        How many distinct weather members there are.
    """

    values: npt.NDArray[np.float64]
    start: np.datetime64
    members: int


def value_problems(columns: Mapping[str, npt.NDArray[np.float64]], where: str) -> list[Problem]:
    """Every way in which hourly values cannot be weather.

    Parameters
    ----------
    columns : mapping of str to ndarray of float64, all of one shape
        Any of `NAMES` in the units of `BOUNDS`; missing names are not looked at.
    where : str
        What to call the place of the fault: a file's name, or the argument's.
    """
    problems: list[Problem] = []
    for name, values in columns.items():
        if name not in BOUNDS:
            continue
        low, high, unit, source = BOUNDS[name]
        missing = int(np.count_nonzero(~np.isfinite(values)))
        if missing:
            problems.append(
                Problem(
                    where,
                    f"{name} has {missing} missing or infinite values of {values.size}.",
                    "Fill the gaps first; flatodds does not invent hours.",
                )
            )
        outside = np.isfinite(values) & ((values < low) | (values > high))
        if outside.any():
            at = int(np.flatnonzero(outside.ravel())[0])
            problems.append(
                Problem(
                    where,
                    f"{name} has {int(outside.sum())} values outside {low:g} to {high:g} {unit}; "
                    f"the first is {values.ravel()[at]:g} at position {at}.",
                    f"Are the units {unit}? The limits are those of {source}.",
                )
            )
    return problems + _diffuse_problem(columns, where)


def _diffuse_problem(columns: Mapping[str, npt.NDArray[np.float64]], where: str) -> list[Problem]:
    """More diffuse than global irradiance in many hours: columns swapped or misread."""
    if "ghi" not in columns or "dhi" not in columns:
        return []
    ghi, dhi = columns["ghi"], columns["dhi"]
    lit = np.isfinite(ghi) & np.isfinite(dhi) & (ghi > DIFFUSE_LIT_W_M2)
    broken = int(np.count_nonzero(lit & (dhi > DIFFUSE_ABOVE_GLOBAL * ghi)))
    if broken <= DIFFUSE_SHARE_FRAC * np.count_nonzero(lit):
        return []
    return [
        Problem(
            where,
            f"dhi is larger than ghi in {broken} of {np.count_nonzero(lit)} sunny hours, "
            "which cannot be.",
            "Are dni and dhi exchanged?",
        )
    ]


def check_weather(ds: xr.Dataset) -> WeatherTable:
    """Check a dataset of hourly weather and turn it into a table.

    Parameters
    ----------
    ds : xarray.Dataset
        Variables ghi, dni, dhi [W/m2], temp_air [degC], wind_speed [m/s] over the dimensions
        (member, time); `time` holds the start of each hour in UTC without a time zone and
        without gaps, at least one day long, in whole days.

    Raises
    ------
    WeatherError
        With every problem found, not only the first.
    """
    import xarray as xr

    where = "the weather dataset"
    if not isinstance(ds, xr.Dataset):
        found = f"is no xarray.Dataset but {type(ds).__name__}."
        raise WeatherError(Problem(where, found, f"Needed: a Dataset of {', '.join(NAMES)}."))
    problems = _shape_problems(ds, where)
    present = [name for name in NAMES if name in ds.data_vars]
    columns: dict[str, npt.NDArray[np.float64]] = {}
    for name in present:
        problems += _unit_problems(name, ds[name].attrs, where)
        if set(ds[name].dims) == {"member", "time"}:
            if ds[name].dtype.kind not in "iuf":
                problems.append(Problem(where, f"{name} holds {ds[name].dtype}, not numbers."))
                continue
            data = ds[name].transpose("member", "time").to_numpy()
            columns[name] = data.astype(np.float64)
    problems += value_problems(columns, where)
    if problems:
        raise WeatherError(problems)
    values = np.stack([columns[name] for name in NAMES], axis=-1)
    values[..., :TEMP] = np.maximum(values[..., :TEMP], 0.0)  # sensor offsets at night
    start = ds["time"].to_numpy()[0].astype("datetime64[s]")
    return WeatherTable(np.ascontiguousarray(values), start, values.shape[0])


def _shape_problems(ds: xr.Dataset, where: str) -> list[Problem]:
    """Missing variables, wrong dimensions, and everything wrong with the time axis."""
    problems = []
    missing = [name for name in NAMES if name not in ds.data_vars]
    if missing:
        problems.append(
            Problem(where, f"It has no {', '.join(missing)}.", f"Needed: {', '.join(NAMES)}.")
        )
    for name in NAMES:
        if name in ds.data_vars and set(ds[name].dims) != {"member", "time"}:
            dims = ", ".join(str(dim) for dim in ds[name].dims)
            problems.append(
                Problem(
                    where,
                    f"{name} has the dimensions ({dims}), not (member, time).",
                    'For a single member use .expand_dims("member").',
                )
            )
    if ds.sizes.get("member", 1) == 0:
        problems.append(Problem(where, "It has no members."))
    if "time" not in ds.coords:
        return [*problems, Problem(where, "It has no time coordinate.")]
    return problems + _time_problems(ds["time"].to_numpy(), where)


def _time_problems(times: npt.NDArray[Any], where: str) -> list[Problem]:
    """Faults of the time axis: type, length, spacing, and not starting on the hour."""
    if times.dtype.kind != "M":
        return [
            Problem(
                where,
                f"time holds {times.dtype}, not plain dates and hours.",
                "Give UTC without a time zone: .tz_convert('UTC').tz_localize(None).",
            )
        ]
    problems = []
    if times.size < 24 or times.size % 24:
        problems.append(
            Problem(where, f"time has {times.size} hours; whole days of 24 are needed.")
        )
    if np.isnat(times).any():
        return [*problems, Problem(where, "time has empty entries.")]
    uneven = int(np.count_nonzero(np.diff(times) != HOUR))
    if uneven:
        problems.append(
            Problem(where, f"time is not hourly and complete: {uneven} steps are not 1 hour.")
        )
    if times.size and times[0] != times[0].astype("datetime64[h]"):
        problems.append(
            Problem(
                where,
                f"time starts at {times[0].astype('datetime64[s]')}, not on a full hour.",
                "time is the start of each hour.",
            )
        )
    return problems


def _unit_problems(name: str, attrs: Mapping[Any, Any], where: str) -> list[Problem]:
    """Find a `units` attribute that names another unit; none at all is taken on trust."""
    unit = BOUNDS[name].unit
    if "units" not in attrs:
        return []
    written = str(attrs["units"])
    if written.replace(" ", "").lower() in UNIT_WORDS[unit]:
        return []
    return [Problem(where, f"{name} is in {written!r}; flatodds takes {unit}.")]
