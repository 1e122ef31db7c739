"""Small changes of the arithmetic, one at a time: each has to make a test fail, or is looked at by a person.

Run: `python3 -m tests.mutation limits` (limits, conformity, fits, gears, welds), with `--most 60` for a drawn share of
the changes and `--minutes 5` for as long. Changed: comparisons, arithmetic, and/or, not, signs, the numbers, the
figures in `Decimal("...")` and the words that have an opposite (in and out, toe and heel, high and low). Left alone:
texts, annotations and `strict=` of a zip, whose lengths are equal. Every change runs the module's own tests in a
process of its own, without a database; one that runs ten times as long as the unchanged code is stopped and counts as
found.
"""

from __future__ import annotations

import argparse
import ast
import contextlib
import copy
import importlib
import io
import os
import random
import signal
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from importlib.abc import Loader, MetaPathFinder
from importlib.machinery import ModuleSpec
from importlib.util import spec_from_loader
from pathlib import Path
from types import ModuleType

import hypothesis
import pytest

ROOT = Path(__file__).resolve().parent.parent
ENGINEERING = ROOT / "measurements" / "engineering"
SEED, EXAMPLES = 20251120, 15
TESTS = ROOT / "tests" / "engineering"

#: The modules of each area, with the tests that speak for them.
AREAS: dict[str, dict[str, tuple[str, ...]]] = {
    "limits": {"limits": ("limits",)},
    "conformity": {"conformity": ("conformity",)},
    "fits": {"fits": ("fits", "windows")},
    "welds": {"welds": ("welds", "windows"), "plug_welds": ("plug_welds",)},
    "gears": {
        "gears/backlash": ("backlash", "set_up_story"),
        "gears/depth_search": ("depth_search",),
        "gears/drawer": ("drawer",),
        "gears/hunting": ("hunting",),
        "gears/once_per_turn": ("once_per_turn", "set_up_story"),
        "gears/pattern": ("pattern",),
        "gears/pattern_charts": ("pattern",),
        "gears/pattern_terms": ("pattern",),
        "gears/pinion": ("pinion", "set_up_story"),
        "gears/shims": ("shims", "set_up_story"),
    },
}

COMPARED = {ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq}
COMPARED |= {ast.In: ast.NotIn, ast.NotIn: ast.In, ast.Is: ast.IsNot, ast.IsNot: ast.Is}
WORKED = {ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.Pow: ast.Mult}
WORKED |= {ast.FloorDiv: ast.Div, ast.Mod: ast.Mult}

#: Words of an enum, and the short names of a chart, with what is said instead.
_PAIRS = (
    ("PINION_IN", "PINION_OUT"), ("RING_IN", "RING_OUT"), ("IN", "OUT"), ("TOWARD", "AWAY"), ("HIGH", "LOW"),
    ("TOE", "HEEL"), ("H", "L"), ("CHART", "INFERENCE"), ("FACE_MILLED", "FACE_HOBBED"), ("TOO_DEEP", "TOO_FAR_OUT"),
    ("NOT_SHIMS", "BACKLASH_FIRST"), ("PLUS_NEEDS_LESS", "PLUS_NEEDS_MORE"), ("UNDER_HEAD_CUP", "UNDER_CAGE_FLANGE"),
    ("ONCE_PER_TURN", "TWICE_PER_TURN"), ("ONE_POINT", "UNCLEAR"), ("GEAR", "SEATING"), ("HUNTING", "NOT"),
)  # fmt: skip
OPPOSITES = dict(_PAIRS) | {one: other for other, one in _PAIRS}
OPPOSITES |= {"M": "H", "CENTRE": "TOE", "MIDDLE": "HIGH", "NONE": "RING_IN", "RULE": "CHART", "READ_AGAIN": "NONE"}
OPPOSITES |= {"EVEN": "UNCLEAR", "RADIAL": "GEAR", "PARTLY": "NOT", "TOWARD_TOE": "CENTRE"}

#: A node, the field that is changed, and what stands there instead.
Change = tuple[ast.AST, str, object]


@dataclass(frozen=True)
class Mutant:
    """One changed module: which change (its number in the tree), on which line, and both texts."""

    tree: ast.Module
    line: int
    said: str


def mutants(source: str) -> list[Mutant]:
    """Every change of a module, in the order of its lines."""
    found = []
    for number, (node, _, _) in enumerate(_changes(ast.parse(source))):
        tree = ast.parse(source)
        place, field, value = list(_changes(tree))[number]
        before = ast.unparse(place)
        setattr(place, field, value)
        found.append(Mutant(tree, getattr(node, "lineno", 0), f"{before}  ->  {ast.unparse(place)}"))
    return found


def _changes(tree: ast.AST) -> Iterator[Change]:
    """The changes of what is computed; texts, annotations and the values of enums in words are left alone."""
    if isinstance(tree, ast.JoinedStr):
        return
    yield from _own(tree)
    for field, value in ast.iter_fields(tree):
        if field in ("annotation", "returns", "decorator_list") or getattr(tree, "arg", "") == "strict":
            continue
        for child in value if isinstance(value, list) else [value]:
            if isinstance(child, ast.AST):
                yield from _changes(child)


def _own(node: ast.AST) -> Iterator[Change]:
    if isinstance(node, ast.Compare):
        for place, operator in enumerate(node.ops):
            ops = list(node.ops)
            ops[place] = COMPARED[type(operator)]()
            yield node, "ops", ops
    elif isinstance(node, ast.BinOp) and type(node.op) in WORKED:
        yield node, "op", WORKED[type(node.op)]()
    elif isinstance(node, ast.BoolOp):
        yield node, "op", ast.Or() if isinstance(node.op, ast.And) else ast.And()
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not | ast.USub):
        yield node, "op", ast.Not() if isinstance(node.op, ast.USub) else ast.UAdd()
        if isinstance(node.op, ast.USub):
            return
    elif isinstance(node, ast.Attribute) and node.attr in OPPOSITES and isinstance(node.ctx, ast.Load):
        yield node, "attr", OPPOSITES[node.attr]
    elif isinstance(node, ast.Name) and node.id in OPPOSITES and isinstance(node.ctx, ast.Load):
        yield node, "id", OPPOSITES[node.id]
    elif isinstance(node, ast.Constant) and isinstance(node.value, bool):
        yield node, "value", not node.value
    elif isinstance(node, ast.Constant) and isinstance(node.value, int | float):
        yield node, "value", node.value + 1
    elif isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in ("Decimal", "Fraction"):
        if node.args and isinstance(node.args[0], ast.Constant) and isinstance(node.args[0].value, str):
            changed = copy.deepcopy(node.args)
            changed[0] = ast.Constant(f"{node.args[0].value}1" if "." in node.args[0].value else "7")
            yield node, "args", changed
    elif isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in ("min", "max"):
        yield node.func, "id", "max" if node.func.id == "min" else "min"


class _Changed(MetaPathFinder, Loader):
    """Gives the changed module where its name is imported."""

    def __init__(self, name: str, tree: ast.Module) -> None:
        self.name, self.tree = name, tree

    def find_spec(self, name: str, path: object = None, target: object = None) -> ModuleSpec | None:
        return spec_from_loader(name, self) if name == self.name else None

    def exec_module(self, module: ModuleType) -> None:
        exec(compile(ast.fix_missing_locations(self.tree), self.name, "exec"), module.__dict__)


def passes(name: str, tree: ast.Module, tests: tuple[str, ...], longest: float) -> bool:
    """Whether the tests still pass with this tree in the module's place; in a child, which is stopped when it hangs."""
    child = os.fork()
    if child == 0:
        code = 1  # a changed module may fail in any way, and every way of failing is found
        try:
            code = _in_child(name, tree, tests)
        finally:
            os._exit(code)
    end = time.monotonic() + longest
    while time.monotonic() < end:
        done, status = os.waitpid(child, os.WNOHANG)
        if done:
            return os.waitstatus_to_exitcode(status) == 0
        time.sleep(0.02)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return False


def _in_child(name: str, tree: ast.Module, tests: tuple[str, ...]) -> int:
    sys.meta_path.insert(0, _Changed(name, tree))
    hypothesis.settings.register_profile("few", max_examples=EXAMPLES, derandomize=True, database=None)
    hypothesis.settings.load_profile("few")
    files = [str(TESTS / f"test_{test}.py") for test in tests]
    alone = ["-x", "-q", "-c", os.devnull, "--rootdir", str(ROOT), "--confcutdir", str(TESTS)]
    alone += ["-p", "no:cacheprovider"]
    with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
        return int(pytest.main([*files, *alone]))


def run(path: str, tests: tuple[str, ...], most: int, until: float, say: Callable[[str], None]) -> tuple[int, int]:
    """Found and tried changes of one module; the others are told."""
    source = (ENGINEERING / f"{path}.py").read_text("utf-8")
    name = f"measurements.engineering.{path.replace('/', '.')}"
    began = time.monotonic()
    if not passes(name, ast.parse(source), tests, 600):
        raise SystemExit(f"{path}: its own tests fail without any change.")
    longest = 10 * (time.monotonic() - began) + 5
    every = mutants(source)
    drawn = random.Random(SEED).sample(every, min(most, len(every)))
    found = tried = 0
    for mutant in sorted(drawn, key=lambda one: one.line):
        if time.monotonic() > until:
            say(f"{path}: the time is up after {tried} of {len(drawn)} changes")
            break
        tried += 1
        if passes(name, mutant.tree, tests, longest):
            say(f"{path}:{mutant.line}: not found: {mutant.said}")
        else:
            found += 1
    say(f"{path}: {found} of {tried} changes found ({100 * found / max(tried, 1):.0f} %), {len(every)} there are")
    return found, tried


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("area", nargs="+", choices=sorted(AREAS))
    parser.add_argument("--most", type=int, default=10_000)
    parser.add_argument("--minutes", type=float, default=30)
    given = parser.parse_args()
    os.chdir(ROOT)
    os.environ["PYTEST_DISABLE_PLUGIN_AUTOLOAD"] = "1"  # neither database nor browser is wanted
    importlib.import_module("hypothesis.strategies")  # imported once, for every child
    for area in given.area:
        until = time.monotonic() + given.minutes * 60
        counts = [
            run(path, tests, given.most, until, lambda line: print(line, flush=True))
            for path, tests in AREAS[area].items()
        ]
        found, tried = (sum(column) for column in zip(*counts, strict=True))
        print(f"{area}: {found} of {tried} changes found, {100 * found / max(tried, 1):.1f} %", flush=True)


if __name__ == "__main__":
    main()
