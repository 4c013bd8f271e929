"""The mutation run: break the physics a little, one place at a time, and see whether its tests notice.

    .venv/bin/python tests/mutation.py [--count 120] [--only flow,gas] [--chance 1]

A number or an operator of gaslab/physics is changed in a copy of the course; then that module's tests run there.
A mutant that passes them is a survivor: either the tests miss something, or the change means nothing.
"""

import argparse
import ast
import os
import random
import re
import shutil
import subprocess
import sys
import tempfile
import time
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PHYSICS = ROOT / "gaslab" / "physics"
SWAPS = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.Pow: ast.Mult,
    ast.Lt: ast.GtE, ast.LtE: ast.Gt, ast.Gt: ast.LtE, ast.GtE: ast.Lt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
    ast.And: ast.Or, ast.Or: ast.And, ast.USub: ast.UAdd,
}  # fmt: skip
SLOWEST = 180  # s; a mutant that never ends was noticed too
GOAL = 0.85  # of the mutants should be noticed


@dataclass(frozen=True)
class Place:
    """One change: which module, which node of its tree, and in words."""

    module: str
    at: int
    line: int
    words: str


def nodes(tree: ast.Module) -> list[ast.AST]:
    """Return the nodes that can be changed, the same way every time. Docstrings and declared ranges stay."""
    left_alone = {id(part) for node in ast.walk(tree) for part in kept(node)}
    return [node for node in ast.walk(tree) if id(node) not in left_alone and changeable(node)]


def kept(node: ast.AST) -> list[ast.AST]:
    """Return what is not changed: a decorator declares the range of an argument, and test_bad_input walks those."""
    roots = list(getattr(node, "decorator_list", []))
    if isinstance(node, ast.AnnAssign):
        roots.append(node.annotation)
    if isinstance(node, (ast.Raise, ast.JoinedStr)):
        roots.append(node)
    return [part for root in roots for part in ast.walk(root)]


def changeable(node: ast.AST) -> bool:
    if isinstance(node, ast.Constant):
        return isinstance(node.value, (int, float)) and not isinstance(node.value, bool)
    return type(getattr(node, "op", None)) in SWAPS or (
        isinstance(node, ast.Compare) and len(node.ops) == 1 and type(node.ops[0]) in SWAPS
    )


def change(node: ast.AST) -> str:
    """Change a node in place and return the change in words."""
    before = ast.unparse(node)
    if isinstance(node, ast.Constant):
        node.value = (
            1 if node.value == 0 else node.value * 1.05 if isinstance(node.value, float) else node.value + 1
        )
    elif isinstance(node, ast.Compare):
        node.ops = [SWAPS[type(node.ops[0])]()]
    else:
        node.op = SWAPS[type(node.op)]()
    return f"{before}  ->  {ast.unparse(node)}"


def places(module: str) -> list[Place]:
    source = (PHYSICS / f"{module}.py").read_text(encoding="utf-8")
    found = []
    for at in range(len(nodes(ast.parse(source)))):
        node = nodes(ast.parse(source))[at]
        line = node.lineno
        found.append(Place(module, at, line, change(node)))
    return found


def tests_of(module: str) -> list[str]:
    """Return the test files that speak of a module, its own file first."""
    own = ROOT / "tests" / f"test_{module}.py"
    speaks = re.compile(rf"gaslab\.physics\.{module}\b|from gaslab\.physics import [^\n]*\b{module}\b")
    others = [
        path
        for path in sorted((ROOT / "tests").glob("test_*.py"))
        if path != own and speaks.search(path.read_text())
    ]
    return [f"tests/{path.name}" for path in [own, *others] if path.exists()]


def copy_course(folder: Path) -> Path:
    folder.mkdir()
    for name in ("gaslab", "tests", "data"):
        shutil.copytree(ROOT / name, folder / name, ignore=shutil.ignore_patterns("__pycache__", "browser"))
    for name in (".pytest.ini", "requirements.txt"):
        shutil.copy(ROOT / name, folder / name)
    return folder


def run_tests(copy: Path, module: str) -> bool:
    """Return True when the module's tests and doctests all pass in the copy."""
    command = [
        sys.executable, "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider", "--doctest-modules",
        f"gaslab/physics/{module}.py", *tests_of(module),
    ]  # fmt: skip
    # The copy's own gaslab comes first; nothing it leaves behind may serve the next mutant.
    place = {**os.environ, "PYTHONPATH": str(copy), "PYTHONDONTWRITEBYTECODE": "1", "GASLAB_LONG": "0"}
    try:
        done = subprocess.run(
            command, cwd=copy, env=place, capture_output=True, text=True, timeout=SLOWEST, check=False
        )
    except subprocess.TimeoutExpired:
        return False
    if done.returncode not in (0, 1, 2):
        raise RuntimeError(
            f"pytest ended with {done.returncode}:\n{done.stdout[-2000:]}{done.stderr[-2000:]}"
        )
    return done.returncode == 0


def survives(copy: Path, place: Place) -> bool:
    """Return True when a mutant passes the tests of its module."""
    file = copy / "gaslab" / "physics" / f"{place.module}.py"
    source = (PHYSICS / file.name).read_text(encoding="utf-8")
    tree = ast.parse(source)
    change(nodes(tree)[place.at])
    file.write_text(ast.unparse(tree), encoding="utf-8")
    try:
        return run_tests(copy, place.module)
    finally:
        file.write_text(source, encoding="utf-8")


def chosen(modules: list[str], count: int, chance: int) -> list[Place]:
    """Return a drawn sample, spread over the modules in proportion to what can be changed in each."""
    every = [place for module in modules for place in places(module)]
    return random.Random(chance).sample(every, min(count, len(every)))


def half(copy: Path, sample: list[Place]) -> list[Place]:
    survivors = []
    for place in sample:
        if survives(copy, place):
            print(f"survivor: physics/{place.module}.py:{place.line}: {place.words}", flush=True)
            survivors.append(place)
    return survivors


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--count", type=int, default=120)
    parser.add_argument("--chance", type=int, default=1)
    parser.add_argument("--only", default="")
    asked = parser.parse_args()
    modules = sorted(path.stem for path in PHYSICS.glob("*.py") if path.stem != "__init__")
    modules = [module for module in modules if not asked.only or module in asked.only.split(",")]
    started = time.monotonic()
    with tempfile.TemporaryDirectory() as folder:
        copies = [copy_course(Path(folder) / name) for name in ("one", "two")]
        for module in modules:
            if not run_tests(copies[0], module):
                print(f"The tests of {module} fail without any change, so a mutation run would say nothing.")
                return 1
        sample = chosen(modules, asked.count, asked.chance)
        with ThreadPoolExecutor(2) as pool:
            survivors = [
                place for part in pool.map(half, copies, (sample[::2], sample[1::2])) for place in part
            ]
    for module in modules:
        tried = sum(place.module == module for place in sample)
        left = sum(place.module == module for place in survivors)
        print(f"{module:<12} {tried - left:>3} of {tried:>3} noticed")
    noticed = 1 - len(survivors) / len(sample)
    print(
        f"{len(sample)} mutants, {noticed:.0%} noticed, in {time.monotonic() - started:.0f} s (goal {GOAL:.0%})"
    )
    return 0 if noticed >= GOAL else 1


if __name__ == "__main__":
    sys.exit(main())
