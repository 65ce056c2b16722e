"""A file that bears a full disk until the library that writes it is done."""

from __future__ import annotations

import errno
from pathlib import Path
from typing import Any

import pytest

from flatodds.outcomes.patient import Patient


class Full:
    """A disk with room for so many bytes, and for none by cutting or lengthening."""

    def __init__(self, disk: Any, room: int) -> None:
        self.disk, self.room = disk, room

    def write(self, what: memoryview) -> int:
        if self.disk.tell() >= self.room:
            raise OSError(errno.ENOSPC, "no room")
        return int(self.disk.write(what[: self.room - self.disk.tell()]))

    def truncate(self, size: int | None) -> int:
        raise OSError(errno.ENOSPC, f"no room for {size}")


def test_what_is_written_is_there_and_can_be_read_back(tmp_path: Path) -> None:
    with Patient(tmp_path / "a") as file:
        assert file.readable()
        assert file.writable()
        assert file.seekable()
        assert file.write(b"abcdef") == 6
        assert file.seek(2) == 2
        assert file.read(3) == b"cde"
        assert file.truncate(4) == 4
    assert (tmp_path / "a").read_bytes() == b"abcd"
    with pytest.raises(FileExistsError):
        Patient(tmp_path / "a")


def fill_the_disk(path: Path) -> None:
    with Patient(path) as file:
        file._file = Full(file._disk, 5)
        assert file.write(b"abc") == 3
        assert file.write(b"defgh") == 5  # two on the disk, three in memory
        file.seek(0)
        assert file.read() == b"abcdefgh"
        file.seek(8)
        assert file.write(b"i") == 1
        assert file.seek(0, 2) == 9


def lengthen(path: Path) -> None:
    with Patient(path) as file:
        file.write(b"abc")
        file._file = Full(file._disk, 5)
        assert file.truncate(9) == 9
        assert file.seek(0, 1) == 3


def fail_otherwise(path: Path) -> None:
    with Patient(path) as file:
        file._file = Full(file._disk, 0)
        file.write(b"a")
        raise ValueError("other")


def test_a_full_disk_is_told_at_the_end_only(tmp_path: Path) -> None:
    with pytest.raises(OSError, match="no room"):
        fill_the_disk(tmp_path / "a")
    assert (tmp_path / "a").read_bytes() == b"abcde"


def test_a_disk_that_cannot_grow_a_file(tmp_path: Path) -> None:
    with pytest.raises(OSError, match="no room for 9"):
        lengthen(tmp_path / "a")


def test_another_error_is_not_hidden_by_the_disks(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="other"):
        fail_otherwise(tmp_path / "a")


def test_a_fault_that_is_not_the_disks_is_not_borne(tmp_path: Path) -> None:
    with Patient(tmp_path / "a") as file:
        file._file = Full(file._disk, 0)
        file.write(b"a")
        file._file = Full(file._disk, 0)  # memory is full too
        with pytest.raises(OSError, match="no room"):
            file.write(b"b")
        file._fault = None
