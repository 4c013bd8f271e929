"""The mutation run: break the physics a little, one place at a time, and see whether its tests notice.

    .venv/bin/python tests/mutation.py [--count 240] [--only flow,gas] [--chance 1]

A number or an operator of gaslab/physics is changed in a copy of the course; then the module's rows of known
values, its own tests and its docstrings run there. A mutant that passes them is a survivor: either the tests
miss something, or the change means nothing. Those that mean nothing are listed with the reason in
mutation_equivalent.csv and are not drawn.
"""

import argparse
import ast
import csv
import importlib
import os
import random
import resource
import shutil
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PHYSICS = ROOT / "gaslab" / "physics"
EQUIVALENT = ROOT / "tests" / "mutation_equivalent.csv"
SWAPS = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.Pow: ast.Mult,
    ast.Lt: ast.GtE, ast.LtE: ast.Gt, ast.Gt: ast.LtE, ast.GtE: ast.Lt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
    ast.And: ast.Or, ast.Or: ast.And, ast.USub: ast.UAdd,
}  # fmt: skip
GOAL = 0.95  # of the mutants should be noticed
HELD_WITH = {"settling": "network"}  # the inner steps of a module are held by that module's tests
# Loaded once here, so that each mutant's tests, which run in a child of this process, start at once.
HEAVY = ("numpy", "pint", "pytest", "hypothesis", "scipy.integrate", "scipy.stats", "scipy.optimize",
         "fluids", "CoolProp.CoolProp", "pyaga8", "cantera", "pandas")  # fmt: skip
SLOWER = 10  # times the processor time that the tests take without a change: a mutant that never ends
LEAST_TIME = 30  # s of processor time that any mutant may have
MOST_TIME = 600  # s, for the tests without a change
NEVER_ENDED, PASSED, FAILED = "never ended", 0, 1


@dataclass(frozen=True)
class Place:
    """One change: which module, which node of its tree, the line it stands on, and the change in words."""

    module: str
    at: int
    line: int
    text: str
    words: str


def nodes(tree: ast.Module) -> list[ast.AST]:
    """Return the nodes that can be changed, the same way every time. Docstrings and declared ranges stay."""
    left_alone = {id(part) for node in ast.walk(tree) for part in kept(node)}
    return [node for node in ast.walk(tree) if id(node) not in left_alone and changeable(node)]


def kept(node: ast.AST) -> list[ast.AST]:
    """Return what is not changed: declared ranges, which test_bad_input walks, and the words of a refusal."""
    roots = list(getattr(node, "decorator_list", []))
    if isinstance(node, ast.Assign) and isinstance(node.value, ast.Call):
        named = getattr(node.value.func, "id", "")
        roots += [node] if named in ("positive", "zero_or_more", "between", "Number") else []
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
    lines = source.splitlines()
    found = []
    for at in range(len(nodes(ast.parse(source)))):
        node = nodes(ast.parse(source))[at]
        text = lines[node.lineno - 1].strip()
        found.append(Place(module, at, node.lineno, text, change(node)))
    return found


def equivalents() -> set[tuple[str, str, str]]:
    """Return the changes that mean nothing, each with a written reason: (module, line, change)."""
    with EQUIVALENT.open(encoding="utf-8", newline="") as opened:
        rows = list(csv.DictReader(opened, strict=True))
    every = {(place.module, place.text, place.words) for module in modules_of("") for place in places(module)}
    for row in rows:
        named = (row["module"], row["line"], row["change"])
        if named not in every or not row["reason"]:
            raise SystemExit(f"{EQUIVALENT.name}: {named} is not in the physics any more, or has no reason")
    return {(row["module"], row["line"], row["change"]) for row in rows}


def copy_course(folder: Path) -> Path:
    folder.mkdir()
    for name in ("gaslab", "tests", "data"):
        shutil.copytree(
            ROOT / name, folder / name, ignore=shutil.ignore_patterns("__pycache__", "browser", "build")
        )
    for name in (".pytest.ini", "requirements.txt"):
        shutil.copy(ROOT / name, folder / name)
    return folder


def tests_of(module: str) -> list[str]:
    """Return the arguments that run a module's own tests, its known values and its docstrings."""
    name = HELD_WITH.get(module, module)
    values = ROOT / "tests" / "known_values" / f"{name}.csv"
    chosen = f"test_{name}.py or {module}.py or {values.name}"
    return [  # the quickest first
        "tests/test_known_values.py", "--doctest-modules", f"gaslab/physics/{module}.py",
        f"tests/test_{name}.py", "tests/test_witness_gaps.py", "-k", f"{chosen} or {name}_gap",
    ]  # fmt: skip


def only_find_it() -> None:
    """Let hypothesis stop at the first failure it meets: nobody reads the smallest one here."""
    from hypothesis import Phase, settings

    settings.register_profile("mutation", phases=[Phase.explicit, Phase.generate])
    settings.load_profile("mutation")


def start(copy: Path, module: str, seconds: int) -> int:
    """Start the module's tests in a child that sees only the copy, and return its id."""
    shutil.rmtree(copy / ".hypothesis", ignore_errors=True)  # nothing a mutant leaves may serve the next
    child = os.fork()
    if child:
        return child
    code = FAILED
    try:
        resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds))
        os.chdir(copy)
        out = os.open("tests.txt", os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
        os.dup2(out, 1)
        os.dup2(out, 2)
        sys.path.insert(0, str(copy))
        sys.dont_write_bytecode = True
        os.environ.update(PYTEST_DISABLE_PLUGIN_AUTOLOAD="1", GASLAB_LONG="0")
        import pytest

        code = int(pytest.main(["-x", "-q", "-p", "no:cacheprovider", *tests_of(module)]))
    finally:
        sys.stdout.flush()
        os._exit(code)


def outcome(copy: Path, status: int) -> int | str:
    """Return what a child's end says; a mutant that cannot even be imported (2) was noticed."""
    if os.WIFSIGNALED(status):
        return NEVER_ENDED
    code = os.waitstatus_to_exitcode(status)
    if code not in (0, 1, 2):
        raise RuntimeError(f"pytest ended with {code}:\n{(copy / 'tests.txt').read_text()[-2000:]}")
    return min(code, FAILED)


def break_at(copy: Path, place: Place) -> None:
    source = (PHYSICS / f"{place.module}.py").read_text(encoding="utf-8")
    tree = ast.parse(source)
    change(nodes(tree)[place.at])
    (copy / "gaslab" / "physics" / f"{place.module}.py").write_text(ast.unparse(tree), encoding="utf-8")


def mend(copy: Path, module: str) -> None:
    shutil.copy(PHYSICS / f"{module}.py", copy / "gaslab" / "physics" / f"{module}.py")


def run(copies: list[Path], jobs: list[Place | str], seconds: dict[str, int]) -> Iterator[tuple]:
    """Yield (job, what became of it, seconds of processor used), as many at once as there are copies.

    A job is a place to break, or the name of a module to test as it is.
    """
    waiting, free, running = list(jobs), list(copies), {}
    while waiting or running:
        while waiting and free:
            job, copy = waiting.pop(0), free.pop()
            module = job if isinstance(job, str) else job.module
            if isinstance(job, Place):
                break_at(copy, job)
            running[start(copy, module, seconds.get(module, MOST_TIME))] = (job, module, copy)
        child, status, used = os.wait3(0)
        job, module, copy = running.pop(child)
        mend(copy, module)
        end = outcome(copy, status)
        if isinstance(job, str) and end != PASSED:
            told = (copy / "tests.txt").read_text()[-1500:]
            raise SystemExit(
                f"The tests of {job} fail without any change, so a run would say nothing.\n{told}"
            )
        free.append(copy)
        yield job, end, used.ru_utime + used.ru_stime


def chosen(modules: list[str], count: int, chance: int) -> list[Place]:
    """Return a drawn sample, spread over the modules in proportion to what can be changed in each."""
    nothing = equivalents()
    every = {
        module: [p for p in places(module) if (p.module, p.text, p.words) not in nothing]
        for module in modules
    }
    total = sum(map(len, every.values()))
    share = min(1.0, count / total)
    draw = random.Random(chance)
    return [
        place
        for found in every.values()
        for place in draw.sample(found, min(len(found), -int(-share * len(found) // 1)))
    ]


def modules_of(only: str) -> list[str]:
    names = sorted(path.stem for path in PHYSICS.glob("*.py") if path.stem != "__init__")
    return [name for name in names if not only or name in only.split(",")]


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--count", type=int, default=240)
    parser.add_argument("--chance", type=int, default=1)
    parser.add_argument("--only", default="")
    asked = parser.parse_args()
    for name in HEAVY:
        importlib.import_module(name)
    only_find_it()
    modules, started, ends = modules_of(asked.only), time.monotonic(), {}
    with tempfile.TemporaryDirectory() as folder:
        copies = [copy_course(Path(folder).resolve() / name) for name in ("one", "two")]
        unchanged = {module: used for module, _, used in run(copies, modules, {})}
        seconds = {module: max(LEAST_TIME, round(SLOWER * used)) for module, used in unchanged.items()}
        for place, end, _ in run(copies, chosen(modules, asked.count, asked.chance), seconds):
            ends[place] = end
            print(f"{len(ends)} done", end="\r", file=sys.stderr, flush=True)
            if end != FAILED:
                word = "survivor" if end == PASSED else end
                print(f"{word}: physics/{place.module}.py:{place.line}: {place.words}", flush=True)
    for module in modules:
        own = [end for place, end in ends.items() if place.module == module]
        print(f"{module:<12} {sum(end != PASSED for end in own):>3} of {len(own):>3} noticed")
    noticed = sum(end != PASSED for end in ends.values()) / len(ends)
    never = sum(end == NEVER_ENDED for end in ends.values())
    print(
        f"{len(ends)} mutants, {noticed:.1%} noticed ({never} of them never ended) in "
        f"{time.monotonic() - started:.0f} s; goal {GOAL:.0%}; "
        f"{len(equivalents())} changes left out as meaning nothing"
    )
    return 0 if noticed >= GOAL else 1


if __name__ == "__main__":
    sys.exit(main())
