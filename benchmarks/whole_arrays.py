"""The same model in numpy over whole arrays: what the compiled kernels are measured against.

The model is not written a second time. A copy of the package is made in which every compiled
function is rewritten mechanically: a loop over the 64 lanes becomes one statement over arrays of
4,096 members, a choice becomes `numpy.where`, `min` and `max` become `numpy.minimum` and
`numpy.maximum`, and nothing is compiled. So the baseline can neither fall behind the model nor
be slowed by hand, and member for member it must give the kernels' results.

    python benchmarks/whole_arrays.py SCENARIO NIGHTS OUT.npz [MEMBERS]

runs the first MEMBERS members (4,096) of the first design in this process and writes the time it
took and every result to OUT.npz. `benchmarks/speed.py` calls it.
"""

from __future__ import annotations

import ast
import re
import shutil
import sys
import tempfile
import time
from pathlib import Path

PACKAGE = Path(__file__).parents[1] / "sim" / "flatodds"
COMPILED = {"inlined", "outlined", "borrowing", "kernel"}
ROOMS = ("weather", "solar", "loads", "battery", "charging", "engine")
MEMBERS = 4096

HELPERS = '''
import math as _math
import numpy as _np


def _wherever(condition, one, other):
    """A choice whose two sides are functions, so that only what is needed is worked out."""
    if isinstance(condition, _np.ndarray):
        return _np.where(condition, one(), other())
    return one() if condition else other()


def _least(*values):
    found = values[0]
    for value in values[1:]:
        found = _np.minimum(found, value)
    return found


def _most(*values):
    found = values[0]
    for value in values[1:]:
        found = _np.maximum(found, value)
    return found


def _kind(value):
    if isinstance(value, float) and not isinstance(value, _np.floating):
        return _np.float64
    return value.dtype.type if isinstance(value, _np.ndarray) else type(value)


def _real(value):
    return value.astype(_np.float64) if isinstance(value, _np.ndarray) else float(value)


def _whole(value):
    return value.astype(_np.int64) if isinstance(value, _np.ndarray) else int(value)


def _own(value):
    return value.copy() if isinstance(value, _np.ndarray) else value


def _both(*parts):
    """As `and` for arrays; the parts are functions, worked out only as far as needed."""
    found = True
    for part in parts:
        if not isinstance(found, _np.ndarray) and not found:
            break
        found = found & part()
    return found


def _either(*parts):
    found = False
    for part in parts:
        if not isinstance(found, _np.ndarray) and found:
            break
        found = found | part()
    return found


class _Maths:
    sqrt, exp, log, cos, sin, floor = _np.sqrt, _np.exp, _np.log, _np.cos, _np.sin, _np.floor
    pi, ceil, inf = _math.pi, _math.ceil, _math.inf


_LANE = _np.arange({lanes})
'''

# Where a function branches on its argument, both branches are worked out and one is taken.
NORMAL = """
def normal(u):
    q = u - 0.5
    r = 0.180625 - q * q
    inner = (
        q
        * (((59.109374720 * r + 159.29113202) * r + 50.434271938) * r + 3.3871327179)
        / (((67.187563600 * r + 78.757757664) * r + 17.895169469) * r + 1.0)
    )
    r = _np.sqrt(-_np.log(_np.where(q < 0.0, u, 1.0 - u))) - 1.6
    z = (((0.17023821103 * r + 1.3067284816) * r + 2.7568153900) * r + 1.4234372777) / (
        (0.12021132975 * r + 0.73700164250) * r + 1.0
    )
    return _np.where(_np.abs(q) <= 0.425, inner, _np.where(q < 0.0, -z, z))
"""


class Lanes(ast.NodeTransformer):
    """Rewrite one compiled function from lanes to whole arrays."""

    def __init__(self) -> None:
        self.lane: str | None = None

    def visit_For(self, node: ast.For) -> ast.AST | list[ast.stmt]:
        over = node.iter
        if (
            isinstance(over, ast.Call)
            and ast.unparse(over.func) == "range"
            and ast.unparse(over.args[-1]) == "LANES"
            and isinstance(node.target, ast.Name)
        ):
            outer, self.lane = self.lane, node.target.id
            body = [self.visit(statement) for statement in node.body]
            self.lane = outer
            return [s for part in body for s in (part if isinstance(part, list) else [part])]
        return self.generic_visit(node)

    def visit_Subscript(self, node: ast.Subscript) -> ast.AST:
        index = node.slice
        parts = index.elts if isinstance(index, ast.Tuple) else [index]
        done = [self._index(part) for part in parts]
        new = ast.Tuple(done, ast.Load()) if isinstance(index, ast.Tuple) else done[0]
        return ast.Subscript(self.visit(node.value), new, node.ctx)

    def _index(self, part: ast.expr) -> ast.expr:
        if self.lane is None:
            return part if isinstance(part, ast.Slice) else self.visit(part)
        if isinstance(part, ast.Name) and part.id == self.lane:
            return ast.Slice()
        if (
            isinstance(part, ast.BinOp)
            and isinstance(part.op, ast.Add)
            and isinstance(part.right, ast.Name)
            and part.right.id == self.lane
        ):
            start = self.visit(part.left)
            stop = ast.BinOp(start, ast.Add(), ast.Name("LANES", ast.Load()))
            return ast.Slice(start, stop)
        return part if isinstance(part, ast.Slice) else self.visit(part)

    def visit_Name(self, node: ast.Name) -> ast.AST:
        if node.id == self.lane and isinstance(node.ctx, ast.Load):
            return ast.Name("_LANE", ast.Load())
        return node

    def visit_Assign(self, node: ast.Assign) -> ast.AST:
        node = self.generic_visit(node)  # type: ignore[assignment]
        simple = isinstance(node.targets[0], ast.Name) and isinstance(node.value, ast.Subscript)
        if self.lane is not None and simple:  # a number in the original, not a view
            node.value = call("_own", node.value)
        return node

    def visit_AugAssign(self, node: ast.AugAssign) -> ast.AST:
        node = self.generic_visit(node)  # type: ignore[assignment]
        if isinstance(node.target, ast.Name):
            old = ast.Name(node.target.id, ast.Load())
            return ast.Assign([node.target], ast.BinOp(old, node.op, node.value))
        return node

    def visit_IfExp(self, node: ast.IfExp) -> ast.AST:
        node = self.generic_visit(node)  # type: ignore[assignment]
        sides = [ast.Lambda(NOTHING, side) for side in (node.body, node.orelse)]
        return call("_wherever", node.test, *sides)

    def visit_BoolOp(self, node: ast.BoolOp) -> ast.AST:
        node = self.generic_visit(node)  # type: ignore[assignment]
        parts = [ast.Lambda(NOTHING, value) for value in node.values]
        return call("_both" if isinstance(node.op, ast.And) else "_either", *parts)

    def visit_Call(self, node: ast.Call) -> ast.AST:
        node = self.generic_visit(node)  # type: ignore[assignment]
        if isinstance(node.func, ast.Name) and node.func.id in RENAMED:
            node.func = ast.Name(RENAMED[node.func.id], ast.Load())
        return node

    def visit_Attribute(self, node: ast.Attribute) -> ast.AST:
        node = self.generic_visit(node)  # type: ignore[assignment]
        if isinstance(node.value, ast.Name) and node.value.id == "math":
            node.value = ast.Name("_Maths", ast.Load())
        return node


NOTHING = ast.arguments(posonlyargs=[], args=[], kwonlyargs=[], kw_defaults=[], defaults=[])
RENAMED = {"min": "_least", "max": "_most", "type": "_kind", "float": "_real", "int": "_whole"}


def call(name: str, *args: ast.expr) -> ast.Call:
    return ast.Call(ast.Name(name, ast.Load()), list(args), [])


def is_compiled(node: ast.stmt) -> bool:
    return isinstance(node, ast.FunctionDef) and any(
        isinstance(mark, ast.Name) and mark.id in COMPILED for mark in node.decorator_list
    )


def rewritten(text: str, members: int) -> str:
    """Source of a module with its compiled functions over whole arrays."""
    tree = ast.parse(text)
    for at, node in enumerate(tree.body):
        if not is_compiled(node):
            continue
        assert isinstance(node, ast.FunctionDef)
        node.decorator_list = []
        if node.name == "normal":
            tree.body[at] = ast.parse(NORMAL).body[0]
            continue
        node.body = [
            s
            for part in map(Lanes().visit, node.body)
            for s in (part if isinstance(part, list) else [part])
        ]
    after = 1 + max(
        (n for n, node in enumerate(tree.body) if isinstance(node, ast.ImportFrom | ast.Import)),
        default=0,
    )
    helpers = ast.parse(HELPERS.replace("{lanes}", str(members)))
    tree.body[after:after] = helpers.body
    return ast.unparse(ast.fix_missing_locations(tree))


def copy_package(folder: Path, members: int) -> None:
    """Put a rewritten copy of the package into a folder."""
    target = folder / "flatodds"
    shutil.copytree(PACKAGE, target, ignore=shutil.ignore_patterns("__pycache__"))
    paths = [path for room in ROOMS for path in (target / room).glob("*.py")]
    for path in [*paths, target / "lanes.py"]:
        text = path.read_text(encoding="utf-8")
        if path.name == "lanes.py":
            text = re.sub(r"(?m)^LANES(: \w+)? = \d+", f"LANES = {members}", text, count=1)
        if re.search(r"@(inlined|outlined|kernel)\b", text):
            text = rewritten(text, members)
        path.write_text(text, encoding="utf-8")
    (target / "engine" / "prepare.py").write_text(
        "def begin(): pass\ndef finish(): pass\ndef ready(): return True\n", encoding="utf-8"
    )


def main() -> None:
    scenario_file, nights, out = Path(sys.argv[1]), int(sys.argv[2]), Path(sys.argv[3])
    members = int(sys.argv[4]) if len(sys.argv) > 4 else MEMBERS
    with tempfile.TemporaryDirectory() as folder:
        copy_package(Path(folder), members)
        sys.path.insert(0, folder)
        import numpy as np

        from flatodds.engine.plan import make_plan
        from flatodds.engine.run import run_block
        from flatodds.scenario import load_scenario
        from flatodds.studies.live_one import first_case

        scenario = load_scenario(scenario_file).with_changes({"stay.nights": nights})
        plan = first_case(make_plan(scenario, base_dir=scenario_file.parent))
        with np.errstate(all="ignore"):
            run_block(plan, 0, 1) if members <= 64 else None
            begin = time.process_time()
            block = run_block(plan, 0, 1)
            took = time.process_time() - begin
        np.savez(
            out,
            took=took,
            sums=block.sums,
            extremes=block.extremes,
            daily=block.daily,
            wanted=block.wanted,
            served=block.served,
        )


if __name__ == "__main__":
    main()
