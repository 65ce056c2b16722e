"""Where results of members lie while a run goes on: few in memory, many in a file without a name.

What members lived is needed member by member, for percentiles and for differences between rigs,
but a quantity at a time. So blocks are written down as they finish, and a quantity is read when
asked for: memory stays the same however many members there are. The file has no name (on Windows
it is deleted when closed), so nothing is left over even when a run is killed.
"""

from __future__ import annotations

import os
import tempfile
import threading
import weakref
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from flatodds.errors import FlatoddsError

Array = npt.NDArray[Any]
Groups = Mapping[str, Mapping[str, Array]]

MOST_IN_MEMORY = 2 << 20  # bytes; little beside the 200 MB that libraries and kernels take

# By group: order of axes with the part (period, stay or day) first and the lane last.
ORDER: Mapping[str, tuple[int, ...]] = {
    "sums": (2, 0, 1),  # (case, member, period)
    "extremes": (2, 0, 1),  # (case, member, stay)
    "daily": (1, 0),  # (member, day)
    "plugs": (1, 2, 0),  # (member, stay, appliance)
}


class Entry(NamedTuple):
    """One quantity within a block: where it begins [byte], its group, stored shape and type."""

    start: int
    group: str
    shape: tuple[int, ...]
    dtype: np.dtype[Any]


class Holding:
    """What the blocks of a run gave, in slots of one size."""

    def __init__(self) -> None:
        self._entries: dict[str, dict[str, Entry]] = {}
        self._size = 0  # of a slot [byte]
        self._lanes = 0  # members in a slot
        self._turn = threading.Lock()  # a place in the file, and what is done there
        self._file = tempfile.SpooledTemporaryFile(MOST_IN_MEMORY, dir=_folder())  # noqa: SIM115
        weakref.finalize(self, self._file.close)

    def put(self, number: int, groups: Groups) -> None:
        """Write down a block: by group and name, arrays of its members.

        Raises
        ------
        FlatoddsError
            If there is no room on the disk.
        """
        if not self._entries:
            self._lay_out(groups)
        parts = [
            np.ascontiguousarray(array.transpose(ORDER[group])).tobytes()
            for group, arrays in groups.items()
            for array in arrays.values()
        ]
        try:
            with self._turn:
                self._file.seek(number * self._size)
                self._file.write(b"".join(parts))
        except OSError as error:
            raise FlatoddsError(
                f"Results could not be put aside ({error.strerror or error}). "
                "Make room, ask for fewer members, or set FLATODDS_CACHE_DIR to another disk."
            ) from error

    def _lay_out(self, groups: Groups) -> None:
        for group, arrays in groups.items():
            self._entries[group] = {}
            for name, array in arrays.items():
                shape = tuple(array.shape[axis] for axis in ORDER[group])
                self._entries[group][name] = Entry(self._size, group, shape, array.dtype)
                self._size += array.nbytes
                self._lanes = shape[-1]

    def group(self, name: str, members: int) -> Held:
        """Quantities of a group, of the first `members` members."""
        return Held(self, self._entries[name], members)

    def read(self, entry: Entry, members: int, first: int, stop: int) -> Array:
        """Parts from `first` to before `stop` of a quantity, axes as it was put."""
        inner = entry.shape[1:]
        each = int(np.prod(inner)) * entry.dtype.itemsize
        back = np.argsort(ORDER[entry.group])
        stored = (stop - first, *inner[:-1], members)
        found = np.empty([stored[axis] for axis in back], entry.dtype)
        by_part = found.transpose(ORDER[entry.group])
        for number in range(-(-members // self._lanes)):
            with self._turn:
                self._file.seek(number * self._size + entry.start + first * each)
                raw = self._file.read((stop - first) * each)
            block = np.frombuffer(raw, entry.dtype).reshape(stop - first, *inner)
            here = by_part[..., number * self._lanes : (number + 1) * self._lanes]
            here[...] = block[..., : here.shape[-1]]
        return found


class Held(Mapping[str, Array]):
    """Quantities by name, each read when asked for and not kept."""

    def __init__(self, holding: Holding, entries: Mapping[str, Entry], members: int) -> None:
        self._holding, self._entries, self._members = holding, entries, members

    def __getitem__(self, name: str) -> Array:
        """Read a quantity."""
        entry = self._entries[name]
        return self._holding.read(entry, self._members, 0, entry.shape[0])

    def __iter__(self) -> Iterator[str]:
        """Names, in order."""
        return iter(self._entries)

    def __len__(self) -> int:
        """Count the names."""
        return len(self._entries)

    def __contains__(self, name: object) -> bool:
        """Tell without reading."""
        return name in self._entries

    def __reduce__(self) -> tuple[type[dict[str, Array]], tuple[dict[str, Array]]]:
        """Copy or pickle as an ordinary dict of all arrays."""
        return dict, (dict(self),)

    def parts(self, name: str, first: int, stop: int) -> Array:
        """Like [name], but only the periods, stays or days from `first` to before `stop`."""
        return self._holding.read(self._entries[name], self._members, first, stop)


def parts_of(arrays: Mapping[str, Array], name: str, at: Sequence[int] | Array, axis: int) -> Array:
    """Read some periods, stays or days of a quantity, in time order, along its axis `axis`.

    Reads no more than those from wherever the quantity lies.
    """
    if isinstance(arrays, Held) and len(at) > 0:
        first = int(min(at))
        found = arrays.parts(name, first, int(max(at)) + 1)
        return np.take(found, [int(part) - first for part in at], axis)
    return np.take(arrays[name], at, axis)


def _folder() -> str | None:
    """Folder for the file: beside the kernels, since a system's own may lie in memory."""
    from flatodds.lanes import kernel_cache  # not above: results are read without a compiler

    kernels = kernel_cache()
    if kernels is None:
        return None
    folder = kernels.parent.parent
    return str(folder) if os.access(folder, os.W_OK) else None
