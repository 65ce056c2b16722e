"""What no line of the package may do, read from its syntax; and a run without any network."""

from __future__ import annotations

import ast
import socket
from collections.abc import Iterator
from pathlib import Path

import pytest

import flatodds

ROOT = Path(flatodds.__file__).parent
SOURCES = sorted(ROOT.rglob("*.py"))
RUNS_CODE = {"pickle", "cPickle", "marshal", "shelve", "dill", "cloudpickle", "joblib", "yaml"}
NETWORK = {"requests", "socket", "ssl", "http", "ftplib", "smtplib", "urllib3", "aiohttp", "httpx"}
CALLS = {"eval", "exec", "compile", "__import__"}
METHODS = {"to_pickle", "read_pickle", "system", "popen", "urlopen"}
SWITCHES = {"shell", "allow_pickle"}
MAY_FETCH = {f"weather/fetch{part}.py" for part in ("", "_hops", "_tries", "_services")}
HTTP_WORDS = {"http://127.0.0.1", "http://localhost", "http://www.w3.org/"}  # no request is made


def nodes(source: str) -> Iterator[ast.AST]:
    yield from ast.walk(ast.parse(source))


def imported(source: str) -> set[str]:
    found: set[str] = set()
    for node in nodes(source):
        if isinstance(node, ast.Import):
            found |= {name.name for name in node.names}
        elif isinstance(node, ast.ImportFrom) and node.level == 0 and node.module:
            found |= {node.module} | {f"{node.module}.{name.name}" for name in node.names}
        elif isinstance(node, ast.Call) and _name(node.func) == "import_module":
            found |= {str(a.value) for a in node.args if isinstance(a, ast.Constant)}
    return found


def _name(node: ast.expr) -> str:
    if isinstance(node, ast.Name):
        return node.id
    return node.attr if isinstance(node, ast.Attribute) else ""


def faults(source: str, where: str) -> list[str]:
    """Everything in a source that the package does without."""
    found = []
    for module in imported(source):
        top = module.partition(".")[0]
        if top in RUNS_CODE:
            found.append(f"imports {module}")
        if where not in MAY_FETCH and (top in NETWORK or module.startswith("urllib.request")):
            found.append(f"imports {module}")
    for node in nodes(source):
        if isinstance(node, ast.Call):
            if isinstance(node.func, ast.Name) and node.func.id in CALLS:
                found.append(f"calls {node.func.id}")
            if isinstance(node.func, ast.Attribute) and node.func.attr in METHODS:
                found.append(f"calls {node.func.attr}")
            for word in node.keywords:
                off = isinstance(word.value, ast.Constant) and word.value.value is False
                if word.arg in SWITCHES and not off and not _ours(node, word.arg):
                    found.append(f"sets {word.arg}")
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            left = node.value
            for allowed in HTTP_WORDS:
                left = left.replace(allowed, "")
            if "http://" in left:
                found.append("holds an address without encryption")
    return found


def _ours(call: ast.Call, word: str) -> bool:
    """Whether `shell` is a caravan's shell, handed to one of our own classes."""
    return word == "shell" and _name(call.func)[:1].isupper() and _name(call.func) != "Popen"


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: path.relative_to(ROOT).as_posix())
def test_no_module_does_what_it_must_not(path: Path) -> None:
    assert not faults(path.read_text(encoding="utf-8"), path.relative_to(ROOT).as_posix())


@pytest.mark.parametrize(
    "line",
    [
        "import pickle",
        "from joblib import load",
        "import yaml",
        "eval('1')",
        "exec(text)",
        "import subprocess; subprocess.run(a, shell=True)",
        "import subprocess; subprocess.Popen(a, shell=words)",
        "np.load(path, allow_pickle=True)",
        "import os; os.system('ls')",
        "import requests",
        "from urllib import request",
        "import http.client",
        "from importlib import import_module; import_module('socket')",
        "url = 'http://example.org/data'",
        "frame.to_pickle(path)",
    ],
)
def test_the_search_finds_each(line: str) -> None:
    assert faults(line, "engine/plan.py")


def test_nothing_is_only_in_a_data_file() -> None:
    """Templates and tables hold no script and no address to load from."""
    for path in sorted(ROOT.rglob("*")):
        if path.suffix in (".j2", ".css", ".toml", ".html"):
            text = path.read_text(encoding="utf-8").lower()
            assert "<script" not in text, path
            assert "http://" not in text, path
            assert "url(" not in text, path
            assert "|safe" not in text.replace(" ", ""), path


class ReachedError(Exception):
    """Something tried to use the network."""


@pytest.fixture
def no_network(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise ReachedError

    for name in ("socket", "create_connection", "getaddrinfo", "gethostbyname"):
        monkeypatch.setattr(socket, name, refuse)


SCENARIO = """title = "Alone"
bank.chemistry = "lithium"
bank.volts = 12
bank.amp_hours = 100
array.watts = 200
household.pattern = "light"
inverter.watts = 1000

[[stay]]
place = "36.10, -79.95"
first_day = "20 Nov"
nights = 2
"""


@pytest.mark.end
@pytest.mark.usefixtures("no_network")
def test_a_whole_run_needs_no_network(tmp_path: Path) -> None:
    from flatodds.cli.app import main

    with pytest.raises(ReachedError):
        socket.create_connection(("127.0.0.1", 9))
    file = tmp_path / "my.toml"
    file.write_text(SCENARIO, encoding="utf-8")
    words = ["run", str(file), "--out", str(tmp_path), "--members", "64", "-q", "--offline"]
    assert main(words) == 0
    assert (tmp_path / "alone-result" / "report.html").is_file()
