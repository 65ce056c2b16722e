"""A file for HDF5 that bears a full disk without a word until HDF5 is done with it.

HDF5 may crash the process when it closes a file whose last write failed (seen). So it is given
this one: when the disk fails, what there is and what still comes is kept in memory, HDF5
finishes, and the fault is raised then.
"""

from __future__ import annotations

import io
import os
from pathlib import Path
from types import TracebackType
from typing import Any


class Patient(io.RawIOBase):
    """A new file at a path, written through to the disk when the context ends well.

    Raises
    ------
    OSError
        On leaving the context, if any write to the disk failed.
    """

    def __init__(self, path: Path) -> None:
        self._disk = path.open("xb+", buffering=0)
        self._file: Any = self._disk
        self._fault: OSError | None = None

    def readable(self) -> bool:
        """HDF5 reads back what it wrote."""
        return True

    def seekable(self) -> bool:
        """HDF5 goes back and forth."""
        return True

    def writable(self) -> bool:
        """Say that it can be written."""
        return True

    def readinto(self, buffer: Any) -> int:
        """Fill a buffer from the present place."""
        return int(self._file.readinto(buffer) or 0)

    def seek(self, offset: int, whence: int = os.SEEK_SET) -> int:
        """Go to a place; tells where it is."""
        return int(self._file.seek(offset, whence))

    def truncate(self, size: int | None = None) -> int:
        """Cut the file, or make it longer."""
        try:
            return int(self._file.truncate(size))
        except OSError as error:
            self._give_up_the_disk(error)
            return int(self._file.truncate(size))

    def write(self, what: Any) -> int:
        """Write all of it, to the disk or, once that failed, to memory."""
        left = memoryview(what).cast("B")
        size = len(left)
        try:
            while len(left) > 0:
                left = left[self._file.write(left) :]
        except OSError as error:
            self._give_up_the_disk(error)
            self._file.write(left)
        return size

    def _give_up_the_disk(self, error: OSError) -> None:
        """Go on in memory from the same place, with what the disk holds."""
        if self._fault is not None:
            raise error
        self._fault, at = error, self._disk.tell()
        self._disk.seek(0)
        self._file = io.BytesIO(self._disk.read())
        self._file.seek(at)

    def __enter__(self) -> Patient:
        """Begin."""
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        value: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Bring all of it to the disk, or say why that cannot be."""
        try:
            if kind is None and self._fault is None:
                os.fsync(self._disk.fileno())
        finally:
            self._disk.close()
        if kind is None and self._fault is not None:
            raise self._fault
