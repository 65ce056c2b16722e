"""Tables that take seconds to make are kept in the user's cache folder between runs.

A person asks about the same few places again and again with other rigs. What a place's sun and
weather become as tables depends on the place, its files and this program alone, so it is kept
under a hash of all three. Nothing depends on it: a missing, damaged or unwritable file only
means that the tables are made again.
"""

from __future__ import annotations

import contextlib
import dataclasses
import hashlib
import json
import os
import re
import time
import zipfile
from collections.abc import Callable, Iterator
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any, TypeVar

import numpy as np

from flatodds.lanes import kernel_cache

T = TypeVar("T")
Types = tuple[type, ...]

MOST_KEPT = 64  # files of about 1 MB: judgement
# What opening a missing or damaged archive can raise, its contents included.
UNUSABLE = (OSError, EOFError, ValueError, KeyError, TypeError, zipfile.BadZipFile)
STALE_S = 30 * 86_400.0  # another build's folder this old is no longer used: judgement
LIBRARIES = ("numpy", "scipy", "pandas", "pvlib", "gsee-climate-data", "world-temperature-data")
GROUND = ("sun.py", "units.py", "errors.py")  # besides the rooms that hold compiled code


def kept(make: Callable[..., T], *args: Any, key: object = None, types: Types, **named: Any) -> T:
    """Give what a function gives, from the cache folder if it gave it there before.

    Parameters
    ----------
    make : callable
        Without side effects; gives arrays, plain values, tuples, and records of `types`
        holding such. What it raises is not kept.
    *args, **named
        Its arguments: of the same kinds, paths, and frozen records.
    key : object, optional
        What the result depends on beside the arguments and the program, such as the
        contents of files.
    types : tuple of type
        Dataclasses and named tuples that may occur in the result; a result that holds
        others is not kept.
    """
    folder = _folder()
    if folder is None:
        return make(*args, **named)
    digest = hashlib.sha256(make.__qualname__.encode())
    for part in _parts((args, named, key)):
        digest.update(len(part).to_bytes(8, "little") + part)
    path = folder / f"{digest.hexdigest()[:32]}.npz"
    names = {kind.__name__: kind for kind in types}
    with contextlib.suppress(*UNUSABLE):
        found: T = _load(path, names)
        with contextlib.suppress(OSError):
            os.utime(path)  # lately used: the last to be thrown out
        return found
    value = make(*args, **named)
    with contextlib.suppress(OSError, TypeError):
        _save(path, value, names)
        _thin_out(folder)
    return value


def _parts(value: object) -> Iterator[bytes]:
    """Bytes that tell a value from any other of the same kind of call."""
    yield type(value).__name__.encode()
    if isinstance(value, np.ndarray):
        yield f"{value.dtype} {value.shape}".encode()
        yield np.ascontiguousarray(value).tobytes()
    elif dataclasses.is_dataclass(value) and not isinstance(value, type):
        for field in dataclasses.fields(value):
            yield from _parts(getattr(value, field.name))
    elif isinstance(value, dict):
        for name, item in sorted(value.items()):
            yield name.encode()
            yield from _parts(item)
    elif isinstance(value, tuple | list):
        yield str(len(value)).encode()
        for item in value:
            yield from _parts(item)
    elif isinstance(value, bytes):
        yield value
    elif value is None or isinstance(value, str | int | float | bool | Path):
        yield repr(value).encode()
    else:
        raise TypeError(f"no key is made of a {type(value).__name__}")


def program_hash() -> str:
    """Hash of the sources that make tables, and of the libraries they use."""
    folder = kernel_cache()
    digest = hashlib.sha256(b"" if folder is None else folder.name.encode())
    root = Path(__file__).parents[1]
    for name in GROUND:
        digest.update((root / name).read_bytes())
    for library in LIBRARIES:
        with contextlib.suppress(PackageNotFoundError):
            digest.update(f"{library} {version(library)}\n".encode())
    return digest.hexdigest()[:16]


def _folder() -> Path | None:
    kernels = kernel_cache()
    if kernels is None:
        return None
    folder = kernels.parent.parent / "tables" / program_hash()
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError:
        return None
    return folder


def _save(path: Path, value: object, names: dict[str, type]) -> None:
    """Write a value aside, then put it in place whole."""
    arrays: list[np.ndarray[Any, Any]] = []
    tree = json.dumps(_tree(value, names, arrays))
    beside = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        with beside.open("wb") as stream:
            named: dict[str, Any] = {f"a{n}": array for n, array in enumerate(arrays)}
            np.savez(stream, allow_pickle=False, tree=np.array(tree), **named)
            stream.flush()
            os.fsync(stream.fileno())
        beside.replace(path)
    finally:
        with contextlib.suppress(OSError):
            beside.unlink(missing_ok=True)


def _load(path: Path, names: dict[str, type]) -> Any:
    """Read a value back; the archive's checksums find damage."""
    with path.open("rb") as stream, np.load(stream, allow_pickle=False) as archive:
        arrays = {name: archive[name] for name in archive.files}
    return _value(json.loads(str(arrays["tree"])), names, arrays)


def _tree(value: object, names: dict[str, type], arrays: list[np.ndarray[Any, Any]]) -> Any:
    """Describe a value in JSON, its arrays put aside.

    Raises
    ------
    TypeError
        If it holds anything that cannot be kept.
    """
    if isinstance(value, np.ndarray):
        if value.dtype.hasobject:
            raise TypeError("an array of objects")
        arrays.append(value)
        return {"array": len(arrays) - 1}
    if value is None or isinstance(value, bool | int | float | str):
        return {"is": value}
    kind = type(value)
    if names.get(kind.__name__) is kind:
        fields = (
            [field.name for field in dataclasses.fields(value)]
            if dataclasses.is_dataclass(value)
            else list(value._fields)  # type: ignore[attr-defined]
        )
        held = {name: _tree(getattr(value, name), names, arrays) for name in fields}
        return {"type": kind.__name__, "fields": held}
    if kind is tuple:
        return {"tuple": [_tree(item, names, arrays) for item in value]}  # type: ignore[attr-defined]
    raise TypeError(f"a {kind.__name__}")


def _value(tree: Any, names: dict[str, type], arrays: dict[str, Any]) -> Any:
    if "array" in tree:
        return arrays[f"a{tree['array']}"]
    if "is" in tree:
        return tree["is"]
    if "tuple" in tree:
        return tuple(_value(item, names, arrays) for item in tree["tuple"])
    held = {name: _value(item, names, arrays) for name, item in tree["fields"].items()}
    return names[tree["type"]](**held)


def _thin_out(folder: Path) -> None:
    """Throw out what was used longest ago, here and in what other builds left behind."""
    for other in folder.parent.iterdir():
        ours = re.fullmatch(r"[0-9a-f]{16}", other.name) and other != folder and other.is_dir()
        if ours and time.time() - other.stat().st_mtime > STALE_S:
            for path in other.glob("*.npz"):
                path.unlink(missing_ok=True)
            with contextlib.suppress(OSError):
                other.rmdir()
    files = sorted(folder.glob("*.npz"), key=lambda path: path.stat().st_mtime)
    for path in files[:-MOST_KEPT]:
        path.unlink(missing_ok=True)
