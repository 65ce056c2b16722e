"""Full disk, lost permission, damage on disk, two at once: told by name, and nothing is lost."""

from __future__ import annotations

import errno
import multiprocessing
import os
import random
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from flatodds.errors import UsageError
from flatodds.outcomes import Outcomes, open_result
from flatodds.outcomes.dataset import save_dataset
from flatodds.report import alone
from flatodds.report.writer import Content, write_folder, write_result

STEPS = (
    (Path, "mkdir"),
    (Path, "write_text"),
    (Path, "write_bytes"),
    (Path, "rename"),
    (Path, "replace"),
    (Path, "open"),
    (os, "open"),
    (os, "fsync"),
)
FLIPS = int(os.environ.get("FLATODDS_FLIPS", "16"))
SEED = 20261125


@pytest.fixture(scope="module")
def outcomes(fabricate: Callable[..., Any]) -> Outcomes:
    return Outcomes.from_results(fabricate(members=5))


def tree(folder: Path) -> dict[str, bytes]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file()
    }


@contextmanager
def failing(at: int, number: int) -> Iterator[list[str]]:
    """Let the step that comes `at`-th fail with this error, and all of its kind after it."""
    seen: list[str] = []
    with pytest.MonkeyPatch.context() as patch:
        for owner, name in STEPS:
            real = getattr(owner, name)

            def step(*words: Any, _real: Any = real, _name: str = name, **more: Any) -> Any:
                seen.append(_name)
                if len(seen) == at:
                    raise OSError(number, os.strerror(number))
                return _real(*words, **more)

            patch.setattr(owner, name, step)
        yield seen


def small(version: int) -> dict[str, Content]:
    """Every kind of content of a result folder, quickly written."""
    import xarray as xr

    dataset = xr.Dataset({"a": ("x", [float(version)])})
    return {
        "summary.json": f'{{"flatodds": "{version}"}}',
        "result.nc": lambda path: save_dataset(dataset, path),
        "tables/a.csv": "a\n1\n",
        "report.html": b"<p>",
    }


@pytest.mark.parametrize("number", [errno.ENOSPC, errno.EACCES], ids=["full disk", "permission"])
def test_every_step_of_writing_may_fail(number: int, tmp_path: Path) -> None:
    """Whichever step fails, our own error names it, and a whole result is there after."""
    folder = tmp_path / "a-result"
    write_folder(folder, small(1))
    before, refused, at = tree(folder), set(), 0
    write_folder(folder, small(2))
    after = tree(folder)
    while True:
        write_folder(folder, small(1))
        at += 1
        with failing(at, number) as seen:
            try:
                write_folder(folder, small(2))
            except UsageError as error:
                assert os.strerror(number) in str(error)
                refused.add(seen[at - 1])
        assert tree(folder) in (before, after)
        if len(seen) < at:
            break
    assert {"mkdir", "write_text", "write_bytes", "rename", "replace", "fsync"} <= refused
    assert at > 20
    write_folder(folder, small(2))
    assert tree(folder) == after
    assert [path.name for path in tmp_path.iterdir()] == [folder.name]


LIMITED = """
import os, resource, signal, sys
from pathlib import Path
from flatodds.errors import UsageError
from flatodds.outcomes import open_result
from flatodds.report.writer import write_result
outcomes = open_result(sys.argv[1])
outcomes.dataset
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
for limit in map(int, sys.argv[3:]):
    if os.fork() > 0:
        os.wait()
        continue
    most = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (limit, most[1]))
    try:
        write_result(outcomes, Path(sys.argv[2]), {"report.html": b"<p>" * 100_000})
        print("written")
    except UsageError as error:
        print(str(error).splitlines()[0])
    resource.setrlimit(resource.RLIMIT_FSIZE, most)  # who counts lines writes at exit
    sys.exit()
"""


@pytest.mark.skipif(sys.platform == "win32", reason="no limit on a file's size")
def test_a_disk_that_takes_no_more_bytes(outcomes: Outcomes, tmp_path: Path) -> None:
    """The operating system refuses bytes, to Python and to the NetCDF library alike."""
    source = write_result(outcomes, tmp_path / "source").folder
    before = tree(source)
    size = (source / "result.nc").stat().st_size
    limits = [0, 200, 3000, size // 4, size // 2, size - 100, size + 100, 10**8]
    done = subprocess.run(
        [sys.executable, "-c", LIMITED, str(source), str(tmp_path), *map(str, limits)],
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert done.stderr == ""
    lines = done.stdout.splitlines()
    assert lines[-1] == "written"
    assert len(lines) == len(limits)
    assert all("cannot be written" in line for line in lines[:-1])
    assert sorted(path.name for path in tmp_path.iterdir()) == [source.name, "source"]
    assert (tmp_path / source.name / "result.nc").read_bytes() == before["result.nc"]


def same(a: Outcomes, b: Outcomes) -> bool:
    return bool(a.dataset.identical(b.dataset))


def opened_or_refused(path: Path, whole: Outcomes) -> str:
    """Open a damaged result: refused by name, or the very same result."""
    try:
        found = open_result(path)
    except UsageError as error:
        assert str(path) in str(error) or "flatodds result" in str(error)
        assert "Traceback" not in str(error)
        return "refused"
    assert same(found, whole)
    return "same"


def test_flipped_bits_never_pass_as_another_result(outcomes: Outcomes, tmp_path: Path) -> None:
    file = write_result(outcomes, tmp_path).folder / "result.nc"
    whole, chance = file.read_bytes(), random.Random(SEED)
    seen = []
    for _ in range(FLIPS):
        bad = bytearray(whole)
        bad[chance.randrange(len(bad))] ^= 1 << chance.randrange(8)
        file.write_bytes(bytes(bad))
        seen.append(opened_or_refused(file, outcomes))
    assert seen.count("refused") > FLIPS / 10
    file.write_bytes(whole)
    assert same(open_result(file), outcomes)


def test_cut_files_are_refused(outcomes: Outcomes, tmp_path: Path) -> None:
    file = write_result(outcomes, tmp_path).folder / "result.nc"
    whole = file.read_bytes()
    for share in (0.0, 0.001, 0.1, 0.5, 0.9, 0.999):
        file.write_bytes(whole[: int(share * len(whole))])
        assert opened_or_refused(file, outcomes) == "refused"


def test_a_changed_number_is_refused(outcomes: Outcomes, tmp_path: Path) -> None:
    """A file rewritten by another program, one number changed, is not our result."""
    import xarray as xr

    file = write_result(outcomes, tmp_path).folder / "result.nc"
    with xr.open_dataset(file, engine="h5netcdf") as found:
        dataset = found.load()
    dataset["demand_wh"][0, 0, 0] += 1.0
    dataset.to_netcdf(file, engine="h5netcdf")
    with pytest.raises(UsageError, match="damaged"):
        open_result(file)


def _write_many(folder: Path, version: int, times: int) -> None:
    for _ in range(times):
        write_folder(folder, small(version))


@pytest.mark.skipif(not hasattr(os, "fork"), reason="forks")
def test_two_at_once_take_turns(tmp_path: Path) -> None:
    """Two processes replace one result folder again and again: always one whole result."""
    folder, known = tmp_path / "a-result", []
    for version in (1, 2):
        write_folder(folder, small(version))
        known.append(tree(folder))
    fork = multiprocessing.get_context("fork")
    writers = [fork.Process(target=_write_many, args=(folder, v, 12)) for v in (1, 2)]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join(120)
        assert writer.exitcode == 0
    assert tree(folder) in known
    assert [path.name for path in tmp_path.iterdir()] == [folder.name]


def test_who_waits_too_long_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    pytest.importorskip("fcntl")
    monkeypatch.setattr(alone, "PATIENCE_S", 0.1)
    folder = tmp_path / "a-result"
    with alone.alone(tmp_path) as held:
        assert held
        with pytest.raises(UsageError, match="another run"):
            write_folder(folder, {"summary.json": '{"flatodds": "1"}'})
    assert not list(tmp_path.iterdir())
    write_folder(folder, {"summary.json": '{"flatodds": "1"}'})
    assert (folder / "summary.json").is_file()


def test_a_place_without_locks_is_written_all_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    fcntl = pytest.importorskip("fcntl")

    def none(*_: object) -> None:
        raise OSError(errno.ENOLCK, "No locks available")

    monkeypatch.setattr(fcntl, "flock", none)
    with alone.alone(tmp_path) as held:
        assert not held
    monkeypatch.setitem(sys.modules, "fcntl", None)
    with alone.alone(tmp_path) as held:
        assert not held
    fresh = tmp_path / ".a-result.12345678.tmp"
    fresh.mkdir()
    write_folder(tmp_path / "a-result", {"summary.json": '{"flatodds": "1"}'})
    assert fresh.is_dir(), "another run may be writing it"


def test_half_an_old_result_is_never_brought_back(tmp_path: Path) -> None:
    """Killed while the replaced result was being removed, and the new one moved away since."""
    from flatodds.report.writer import discard, recover

    folder, old = tmp_path / "a-result", tmp_path / ".a-result.old"
    write_folder(folder, {"summary.json": '{"flatodds": "1"}', "tables/a.csv": "a\n"})
    folder.rename(old)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("shutil.rmtree", lambda path, ignore_errors: (path / "summary.json").unlink())
        discard(old)
    recover(folder, held=True)
    assert not list(tmp_path.iterdir())
