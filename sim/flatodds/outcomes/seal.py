"""A hash over everything a saved result says, so that damage on disk never passes as a result."""

from __future__ import annotations

import hashlib
import json
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

if TYPE_CHECKING:
    import xarray as xr

SEAL = "content_sha256"


def seal_of(dataset: xr.Dataset) -> str:
    """SHA-256 of names, dimensions, values and attributes, in an order of its own.

    It is the same before writing and after reading: numbers count by their bytes in the
    type they have in memory, texts as JSON.
    """
    digest = hashlib.sha256(_attributes(dataset.attrs))
    for name in sorted(str(key) for key in dataset.variables):
        variable = dataset[name].variable
        head = [name, [str(dim) for dim in variable.dims], list(variable.shape)]
        digest.update(json.dumps(head).encode() + _attributes(variable.attrs))
        digest.update(_content(variable.to_numpy()))
    return digest.hexdigest()


def sealed(dataset: xr.Dataset) -> xr.Dataset:
    """Give the Dataset with its hash as an attribute."""
    return dataset.assign_attrs({SEAL: seal_of(dataset)})


def opened(dataset: xr.Dataset) -> xr.Dataset:
    """Take the hash off again; a Dataset that was saved without one is given as it is.

    Raises
    ------
    ValueError
        If the hash is not that of the content.
    """
    bare = dataset.copy()
    written = bare.attrs.pop(SEAL, None)
    if written is not None and str(written) != seal_of(bare):
        raise ValueError("its content is not what was written: the file is damaged")
    return bare


def _content(values: npt.NDArray[Any]) -> bytes:
    if values.dtype.kind in "OUST":
        return json.dumps([str(value) for value in values.ravel().tolist()]).encode()
    return values.dtype.str.encode() + np.ascontiguousarray(values).tobytes()


def _attributes(attrs: Any) -> bytes:
    plain = {str(key): _plain(value) for key, value in attrs.items()}
    return json.dumps(plain, sort_keys=True).encode()


def _plain(value: Any) -> Any:
    """Write an attribute as text: a file gives numbers back in another wrapping."""
    return repr(np.asarray(value).tolist())
