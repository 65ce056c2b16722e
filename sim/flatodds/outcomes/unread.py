"""An array that stands in a Dataset and is read only when, and each time that, it is asked for."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import numpy.typing as npt
from xarray.backends import BackendArray
from xarray.core import indexing


class Unread(BackendArray):
    """What xarray needs to know of an array, and how to read it."""

    def __init__(self, read: Callable[[], npt.NDArray[Any]]) -> None:
        first = read()
        self.shape, self.dtype = first.shape, first.dtype
        self._read = read

    def __getitem__(self, key: indexing.ExplicitIndexer) -> Any:
        """Read the array and give the part that is asked for."""
        found = indexing.explicit_indexing_adapter(
            key, self.shape, indexing.IndexingSupport.BASIC, lambda at: self._read()[at]
        )
        return np.asarray(found)


def unread(read: Callable[[], npt.NDArray[Any]]) -> Any:
    """Stand in for an array that `read` gives; it is read once now, for shape and type."""
    return indexing.LazilyIndexedArray(Unread(read))
