"""The packaged texts that `flatodds new` writes: the starter and the demos."""

from __future__ import annotations

import tomllib
from pathlib import Path

from flatodds.errors import UsageError

FOLDER = Path(__file__).parent


def starter() -> str:
    """Text of the commented scenario people begin with."""
    return (FOLDER / "starter.toml").read_text(encoding="utf-8")


def _files() -> dict[str, Path]:
    found = {path.stem: path for path in sorted((FOLDER / "demos").glob("*.toml"))}
    return {"lakeshore-autumn": FOLDER / "starter.toml", **found}


def demos() -> dict[str, str]:
    """Title of every packaged demo, by the name `--demo` takes."""
    return {
        name: str(tomllib.loads(path.read_text(encoding="utf-8"))["title"])
        for name, path in _files().items()
    }


def demo(name: str) -> str:
    """Text of a packaged demo.

    Raises
    ------
    UsageError
        If there is none of that name.
    """
    files = _files()
    if name not in files:
        raise UsageError(
            f"There is no demo {name.encode('unicode_escape').decode('ascii')[:60]}.\n"
            f"  Demos: {', '.join(files)}."
        )
    return files[name].read_text(encoding="utf-8")
