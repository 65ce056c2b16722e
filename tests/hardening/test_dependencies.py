"""What the package stands on: each library is declared, needed, bounded below and free to use.

Known weaknesses of libraries are asked of a public list by `.ci/audit`, which needs a network.
"""

from __future__ import annotations

import ast
import re
import sys
import tomllib
from importlib import metadata
from pathlib import Path

import pytest

import flatodds

ROOT = Path(__file__).parents[2]
SOURCES = sorted(Path(flatodds.__file__).parent.rglob("*.py"))
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
LINES: list[str] = PROJECT["dependencies"]
BROUGHT = {  # imported though another library brings it: module to that library
    "h5py": "h5netcdf",
    "llvmlite": "numba",
    "markupsafe": "jinja2",
    "pydantic_core": "pydantic",
}
OPTIONAL = {"distributed"}  # the extra `cluster`
UNIMPORTED = {"tzdata"}  # read by the standard library's zoneinfo
FREE = re.compile(r"\b(BSD|MIT|Apache|0BSD|Zlib|CC0|CC-BY-4\.0|Python Software Foundation|PSF)\b")
BOUND = re.compile(r"\b[AL]?GPL\b|Commercial|Proprietary", re.IGNORECASE)


def plain(name: str) -> str:
    return re.sub(r"[-_.]+", "-", name).lower()


def names() -> list[str]:
    return [plain(re.split(r"[^A-Za-z0-9._-]", line)[0]) for line in LINES]


def imported() -> set[str]:
    """First words of every module that the package imports, inside functions too."""
    found = set()
    for path in SOURCES:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import):
                found |= {name.name.partition(".")[0] for name in node.names}
            elif isinstance(node, ast.ImportFrom) and node.level == 0 and node.module:
                found.add(node.module.partition(".")[0])
    return found - set(sys.stdlib_module_names) - {"flatodds"}


def owners(module: str) -> set[str]:
    return {plain(name) for name in metadata.packages_distributions().get(module, [])}


def test_every_import_is_declared() -> None:
    declared = set(names())
    for module in imported() - OPTIONAL:
        if module in BROUGHT:
            bringer = BROUGHT[module]
            needs = metadata.requires(bringer) or []
            assert bringer in declared
            assert owners(module) & {plain(re.split(r"[^\w.-]", line)[0]) for line in needs}
        else:
            assert owners(module) & declared, f"{module} is imported and not declared"


def test_nothing_is_declared_in_vain() -> None:
    used = {name for module in imported() for name in owners(module)}
    assert set(names()) - used == UNIMPORTED
    assert set(BROUGHT) <= imported(), "a library that is no longer imported"


@pytest.mark.parametrize("line", LINES)
def test_each_has_a_lowest_version_and_meets_it(line: str) -> None:
    """`.ci/oldest` tries these lowest versions; no upper bound keeps a mended version out."""
    match = re.fullmatch(r"([A-Za-z0-9-]+)>=([0-9.]+)", line)
    assert match is not None

    def numbers(version: str) -> list[int]:
        return [int(part) for part in re.findall(r"\d+", version)]

    assert numbers(metadata.version(match[1])) >= numbers(match[2])


@pytest.mark.parametrize("name", names())
def test_each_may_be_used_by_anyone(name: str) -> None:
    about = metadata.metadata(name)
    said = [*(about.get_all("License-Expression") or [""]), *(about.get_all("Classifier") or [])]
    terms = " ".join(text for text in said if text and (text.startswith("Lic") or text is said[0]))
    terms = terms or " ".join(about.get_all("License") or [])
    assert FREE.search(terms), f"{name}: {terms[:80]}"
    assert not BOUND.search(terms), f"{name}: {terms[:80]}"
