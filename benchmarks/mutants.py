"""Are the tests sharp? Changes one thing at a time in a room's source and runs its tests.

    python benchmarks/mutants.py battery outcomes scenario [--sample 300] [--seed 1] [--jobs 2]

A *mutant* is a module with one comparison, sum, number, truth or return value changed. It is
killed when a test fails, and survives when none does; the score is the share killed. Texts are
left alone: most are words for people. For each changed line only the tests that run it are
tried, quickest first; lines that are run while modules load or fixtures are made are tried on
all tests of the room. Compilation is off (NUMBA_DISABLE_JIT=1), or compiled functions would hide
their source. Needs the package `coverage`, and a system that forks.
"""

from __future__ import annotations

import argparse
import ast
import copy
import importlib.util
import json
import os
import random
import resource
import signal
import sys
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from importlib.machinery import ModuleSpec, SourceFileLoader
from pathlib import Path
from types import CodeType
from typing import Any

import pytest

ROOT = Path(__file__).parents[1]
PACKAGE = ROOT / "sim" / "flatodds"
ROOMS = {
    "battery": ("tests/battery", "tests/scenario/test_bank_words.py"),
    "outcomes": ("tests/outcomes",),
    "scenario": (
        "tests/scenario",
        "tests/hardening/test_rare_branches.py",
        "tests/golden/test_golden.py::test_a_scenario_means_what_it_did",
        "tests/golden/test_rigs.py",
    ),
}
LEFT_OUT = ("test_mutations.py", "test_study_schemas.py")  # too slow for each mutant
LONGEST_S = 90  # of processor time; a mutant that runs longer hangs, and is killed
LONGEST_WAIT_S = 900.0  # the same by the clock, for one that waits; a busy machine is no hang
MOST_BYTES = 4 * 2**30
SMALL = {  # how often the tests that repeat themselves do so here
    "NUMBA_DISABLE_JIT": "1",
    "PYTEST_DISABLE_PLUGIN_AUTOLOAD": "1",
    "OMP_NUM_THREADS": "1",
    "FLATODDS_SCENARIOS": "80",
    "FLATODDS_MUTATIONS": "50",
}
COMPARED: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt,
    ast.Eq: ast.NotEq, ast.NotEq: ast.Eq, ast.In: ast.NotIn, ast.NotIn: ast.In,
    ast.Is: ast.IsNot, ast.IsNot: ast.Is,
}  # fmt: skip
COMPUTED: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult,
    ast.FloorDiv: ast.Mult, ast.Mod: ast.Mult, ast.Pow: ast.Mult,
    ast.BitOr: ast.BitAnd, ast.BitAnd: ast.BitOr,
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Mutant:
    """One change: the module's path, the line, what was changed, and the changed code."""

    path: str
    line: int
    first: int  # line at which its statement begins
    what: str
    code: CodeType


def changes(node: ast.AST) -> Iterator[tuple[str, Any]]:
    """Every way to change one node: words for it, and a function that does it."""
    if isinstance(node, ast.Compare):
        for at, op in enumerate(node.ops):
            new = COMPARED[type(op)]
            yield (
                f"{type(op).__name__} to {new.__name__}",
                lambda n, at=at, new=new: n.ops.__setitem__(at, new()),
            )
    elif isinstance(node, (ast.BinOp, ast.AugAssign)) and type(node.op) in COMPUTED:
        other = COMPUTED[type(node.op)]
        yield f"{type(node.op).__name__} to {other.__name__}", lambda n: setattr(n, "op", other())
    elif isinstance(node, ast.BoolOp):
        other_op = ast.Or if isinstance(node.op, ast.And) else ast.And
        yield (
            f"{type(node.op).__name__} to {other_op.__name__}",
            lambda n: setattr(n, "op", other_op()),
        )
    elif isinstance(node, ast.Constant) and isinstance(node.value, bool):
        yield f"{node.value} to {not node.value}", lambda n: setattr(n, "value", not n.value)
    elif isinstance(node, ast.Constant) and isinstance(node.value, (int, float)):
        value = node.value + 1
        yield f"{node.value} to {value}", lambda n: setattr(n, "value", value)
    elif isinstance(node, ast.Return) and node.value is not None:
        if not (isinstance(node.value, ast.Constant) and node.value.value is None):
            yield "return nothing", lambda n: setattr(n, "value", ast.Constant(None))
    elif isinstance(node, (ast.If, ast.IfExp, ast.While)):
        if not isinstance(node.test, (ast.Compare, ast.BoolOp)):  # those are changed themselves
            yield (
                "condition turned round",
                lambda n: setattr(n, "test", ast.UnaryOp(ast.Not(), n.test)),
            )
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub):
        yield "sign turned round", lambda n: setattr(n, "op", ast.UAdd())


def unseen(tree: ast.Module) -> set[int]:
    """Nodes not to be changed: annotations, and what only a type checker reads."""
    left: set[int] = set()
    for node in ast.walk(tree):
        parts: list[ast.AST | None] = []
        if isinstance(node, (ast.AnnAssign, ast.arg)):
            parts = [node.annotation]
        elif isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef)):
            parts = [node.returns]
        elif isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING":
            parts = [node]
        elif isinstance(node, ast.Call) and ast.unparse(node.func) in ("cast", "TypeVar", "zip"):
            parts = list(node.keywords) + (
                node.args[:1] if ast.unparse(node.func) == "cast" else []
            )
        for part in parts:
            if part is not None:
                left |= {id(inner) for inner in ast.walk(part)}
    return left


def statements(node: ast.AST, line: int = 1) -> Iterator[tuple[ast.AST, int]]:
    """Every node, and the first line of the innermost statement that it belongs to."""
    line = node.lineno if isinstance(node, ast.stmt) else line
    yield node, line
    for inner in ast.iter_child_nodes(node):
        yield from statements(inner, line)


def mutants(path: Path) -> Iterator[Mutant]:
    """Every mutant of one module."""
    name = path.relative_to(ROOT).as_posix()
    tree = ast.parse(path.read_text(encoding="utf-8"), name)
    hidden = unseen(tree)
    begins = {id(node): line for node, line in statements(tree)}
    for at, node in enumerate(ast.walk(tree)):
        if id(node) in hidden:
            continue
        for what, change in changes(node):
            other = copy.deepcopy(tree)
            chosen: Any = next(n for i, n in enumerate(ast.walk(other)) if i == at)
            line = chosen.lineno
            change(chosen)
            ast.fix_missing_locations(other)
            first = begins[id(node)]
            yield Mutant(name, line, first, what, compile(other, str(path), "exec"))


class Watch:
    """Learns, by running a room's tests once, which tests run which line, and their times."""

    def __init__(self) -> None:
        import coverage

        self.took: dict[str, float] = {}
        self.cover = coverage.Coverage(data_file=None, include=[str(PACKAGE / "*")])

    @pytest.hookimpl(hookwrapper=True)
    def pytest_runtest_call(self, item: pytest.Item) -> Iterator[None]:
        """Let lines of the test itself carry its name; those of fixtures carry none."""
        self.cover.switch_context(item.nodeid)
        begun = time.monotonic()
        yield
        self.took[item.nodeid] = time.monotonic() - begun
        self.cover.switch_context("")

    def learn(self, tests: tuple[str, ...]) -> Any:
        """Run the tests: seconds of each, and for each file and line the tests that run it."""
        self.cover.start()
        code = pytest.main([*ARGUMENTS, *left_out(), *tests], plugins=[self])
        self.cover.stop()
        if code != 0:
            raise SystemExit("the tests fail before anything is changed")
        data = self.cover.get_data()
        lines = {
            Path(file).relative_to(ROOT).as_posix(): data.contexts_by_lineno(file)
            for file in data.measured_files()
        }
        return [self.took, lines]


class Map:
    """Which tests to try on a mutant."""

    def __init__(self, tests: tuple[str, ...]) -> None:
        self.took, self.lines = aside(lambda: Watch().learn(tests))

    def tests(self, mutant: Mutant) -> list[str]:
        """Tests to try on a mutant, quickest first; none if no test runs its line."""
        lines = self.lines.get(mutant.path, {})
        found = set(lines.get(str(mutant.line), ()))
        if not found:  # an expression of several lines, of which some are never told
            span = range(mutant.first, mutant.line)
            found = {name for at in span for name in lines.get(str(at), ())}
        if "" in found:
            here = {name for names in lines.values() for name in names} - {""}
            return self.quickest(here) + self.quickest(set(self.took) - here)
        return self.quickest(found)

    def quickest(self, names: set[str]) -> list[str]:
        """Names of tests in the order of their time."""
        return sorted(names, key=lambda name: self.took[name])


def aside(job: Callable[[], Any]) -> Any:
    """What a job gives (as JSON), done in a fork so that it leaves nothing loaded here."""
    reader, writer = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(reader)
        try:
            with open(writer, "w") as told:
                json.dump(job(), told)
        except BaseException:
            traceback.print_exc()
            os._exit(1)
        os._exit(0)
    os.close(writer)
    with open(reader) as told:
        text = told.read()
    os.waitpid(child, 0)
    if not text:
        raise SystemExit(1)
    return json.loads(text)


ARGUMENTS = ["-q", "-x", "-p", "no:cacheprovider", "--no-header"]


def left_out() -> list[str]:
    """Words for pytest that leave the slow files out."""
    return [f"--ignore-glob=*/{name}" for name in LEFT_OUT]


class Changed(SourceFileLoader):
    """Loads a module whose code was changed."""

    def __init__(self, name: str, path: str, code: CodeType) -> None:
        super().__init__(name, path)
        self.code = code

    def get_code(self, fullname: str) -> CodeType:
        """The changed code."""
        return self.code


class Finder:
    """Finds the one changed module."""

    def __init__(self, mutant: Mutant) -> None:
        stem = Path(mutant.path).relative_to("sim").with_suffix("")
        self.package = stem.name == "__init__"
        self.name = ".".join(stem.parts[:-1] if self.package else stem.parts)
        self.path, self.code = str(ROOT / mutant.path), mutant.code

    def find_spec(self, name: str, path: Any = None, target: Any = None) -> ModuleSpec | None:
        """Spec of the changed module, and of no other."""
        if name != self.name:
            return None
        loader = Changed(name, self.path, self.code)
        return importlib.util.spec_from_file_location(name, self.path, loader=loader)


def attempt(mutant: Mutant | None, tests: list[str]) -> None:
    """In a fork: run the tests on a mutant, and end with their code."""
    nowhere = os.open(os.devnull, os.O_RDWR)
    for stream in (0, 1, 2):
        os.dup2(nowhere, stream)
    os.chdir(ROOT)
    resource.setrlimit(resource.RLIMIT_AS, (MOST_BYTES, MOST_BYTES))
    used_s = sum(resource.getrusage(resource.RUSAGE_SELF)[:2])
    resource.setrlimit(resource.RLIMIT_CPU, (int(used_s) + LONGEST_S, int(used_s) + LONGEST_S))
    os.environ["FLATODDS_CACHE_DIR"] = tempfile.mkdtemp(dir=os.environ["MUTANTS_FOLDER"])
    if mutant is not None:
        sys.meta_path.insert(0, Finder(mutant))  # type: ignore[arg-type]
    try:
        code = int(pytest.main([*ARGUMENTS, *tests]))
    except BaseException:
        code = 1
    os._exit(code)


def verdicts(work: list[tuple[Mutant | None, list[str]]], jobs: int) -> Iterator[tuple[int, str]]:
    """Try each piece of work in a fork of this process: its number, and what became of it."""
    running: dict[int, tuple[int, float]] = {}
    waiting = list(enumerate(work))[::-1]
    while running or waiting:
        while waiting and len(running) < jobs:
            number, (mutant, tests) = waiting.pop()
            child = os.fork()
            if child == 0:
                os.setpgid(0, 0)
                attempt(mutant, tests)
            running[child] = (number, time.monotonic())
        for child, (number, begun) in list(running.items()):
            done, status = os.waitpid(child, os.WNOHANG)
            if done:
                del running[child]
                if os.WIFSIGNALED(status) and os.WTERMSIG(status) in (
                    signal.SIGXCPU,
                    signal.SIGKILL,
                ):
                    yield number, "hung"
                else:
                    yield number, "survived" if status == 0 else "killed"
            elif time.monotonic() - begun > LONGEST_WAIT_S:
                os.killpg(child, signal.SIGKILL)
                os.waitpid(child, 0)
                del running[child]
                yield number, "hung"
        time.sleep(0.01)


def preload() -> None:
    """Load everything that is not ours, so that each fork need not."""
    names = (
        "numpy pandas xarray scipy.stats pydantic hypothesis.strategies numba jsonschema h5netcdf"
    )
    for name in (*names.split(), "jinja2", "typer", "rich.console", "requests", "pvlib", "tzfpy"):
        if importlib.util.find_spec(name.partition(".")[0]):
            importlib.import_module(name)


def told(mutant: Mutant, why: str) -> str:
    """One line about a survivor, with its source."""
    lines = (ROOT / mutant.path).read_text(encoding="utf-8").splitlines()
    source = lines[mutant.line - 1].strip()
    return f"  {mutant.path}:{mutant.line}  {mutant.what}  ({why})  {source[:90]}"


def judge(room: str, sample: int, seed: int, jobs: int) -> float:
    """Try a room's mutants; print survivors and the score."""
    begun = time.monotonic()
    known = Map(ROOMS[room])
    every = [m for path in sorted((PACKAGE / room).glob("*.py")) for m in mutants(path)]
    chosen = every if not sample else random.Random(seed).sample(every, min(sample, len(every)))  # noqa: S311
    work: list[tuple[Mutant | None, list[str]]] = [(m, known.tests(m)) for m in chosen]
    counts: Counter[str] = Counter()
    untested = [mutant for mutant, tests in work if mutant is not None and not tests]
    tried = [(mutant, tests) for mutant, tests in work if tests]
    survivors = [(mutant, "no test runs this line") for mutant in untested]
    for number, verdict in verdicts(tried, jobs):
        mutant, tests = tried[number]
        assert mutant is not None
        counts[verdict] += 1
        if verdict == "survived":
            survivors.append((mutant, f"{len(tests)} tests"))
            print(told(*survivors[-1]), file=sys.stderr, flush=True)
        if sum(counts.values()) % 20 == 0:
            print(f"{room}: {sum(counts.values())} of {len(tried)}", file=sys.stderr, flush=True)
    for mutant, why in sorted(survivors, key=lambda pair: (pair[0].path, pair[0].line)):
        print(told(mutant, why))
    score = 1.0 - len(survivors) / max(len(work), 1)
    print(
        f"{room}: {len(work)} of {len(every)} mutants tried, {counts['killed']} killed,"
        f" {counts['hung']} hung, {counts['survived']} survived, {len(untested)} on lines without"
        f" test: score {100.0 * score:.1f} %, {time.monotonic() - begun:.0f} s",
        flush=True,
    )
    return score


def main() -> int:
    """Try the rooms named."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("rooms", nargs="*", choices=[*ROOMS, []], default=list(ROOMS))
    parser.add_argument("--sample", type=int, default=0, help="so many mutants a room; 0: all")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--jobs", type=int, default=os.cpu_count() or 1)
    parser.add_argument("--least", type=float, default=0.85, help="score below which this fails")
    chosen = parser.parse_args()
    os.environ.update(SMALL)
    os.chdir(ROOT)
    sys.path.insert(0, str(ROOT / "sim"))
    sys.dont_write_bytecode = True
    preload()
    scores = {}
    for room in chosen.rooms:
        with tempfile.TemporaryDirectory() as folder:
            os.environ["MUTANTS_FOLDER"] = folder
            scores[room] = judge(room, chosen.sample, chosen.seed, chosen.jobs)
    return int(min(scores.values()) < chosen.least)


if __name__ == "__main__":
    raise SystemExit(main())
