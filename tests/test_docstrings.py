"""What the code says of itself: formula, units and source in physics; words and types at every public door."""

from __future__ import annotations

import ast
import importlib
import inspect
import pkgutil
import re
from pathlib import Path

import pytest

from gaslab import guard, physics, tables

PACKAGE = Path(guard.__file__).parent
for _found in pkgutil.iter_modules(physics.__path__, "gaslab.physics."):
    importlib.import_module(_found.name)
PHYSICS = {name: one for name, one in guard.CALCULATIONS.items() if name.startswith("physics.")}
FORMULA = re.compile(r"[=/+^<`]| x | - |sqrt|exp|ln|sum|ceil")
COUNTED = {"1", "points"}  # no unit to write in brackets


def words_of(name: str) -> str:
    """Return a calculation's docstring without its example."""
    return (inspect.getdoc(PHYSICS[name]) or "").split(">>>")[0]


def bracketed(words: str) -> set[str]:
    """Return the units that stand in brackets: `[Pa gauge]` tells Pa, `[m3/s at 15 °C]` tells m3/s.

    >>> sorted(bracketed("p [Pa gauge], q [m3/s at 15 °C], mu [Pa s]"))
    ['Pa', 'Pa gauge', 'Pa s', 'm3/s', 'm3/s at 15 °C']
    """
    found = set(re.findall(r"\[([^\]]+)\]", words))
    return found | {re.split(r" gauge| at |,", text)[0] for text in found}


@pytest.mark.parametrize("name", sorted(PHYSICS))
def test_a_calculation_gives_formula_units_and_source(name):
    words, told = words_of(name), PHYSICS[name]
    assert FORMULA.search(words), "no formula"
    needed = {spec.unit for spec in told.specs.values()} | {told.returns or "1"}
    assert needed - COUNTED <= bracketed(words), f"not in [brackets]: {needed - COUNTED - bracketed(words)}"
    source = re.search(r"Source: (common practice|[\w-]+)", words)
    assert source, "no source"
    assert source[1] == "common practice" or source[1] in tables.sources(), (
        f"{source[1]} is not in sources.csv"
    )


@pytest.mark.parametrize("name", sorted(PHYSICS))
def test_an_argument_named_with_a_unit_has_that_unit(name):
    told = PHYSICS[name]
    for argument, unit in re.findall(r"(\w+) \[([^\]]+)\]", words_of(name)):
        if argument in told.specs:
            assert told.specs[argument].unit in bracketed(f"[{unit}]"), argument
    for argument in re.findall(r"`(\w+)` \[", words_of(name)):
        assert argument in inspect.signature(told).parameters, f"takes no {argument}"


def modules() -> list[Path]:
    """Return the package's modules, without the copies that building a wheel leaves."""
    return sorted(path for path in PACKAGE.rglob("*.py") if "build" not in path.relative_to(PACKAGE).parts)


def public_functions() -> list[tuple[str, ast.FunctionDef, bool]]:
    """Return (place, function, whether it stands at the top of its module) for all that others may call."""
    found = []
    for path in modules():
        place = path.relative_to(PACKAGE).as_posix()
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
                found.append((f"{place}: {node.name}", node, True))
            elif isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                inside = [part for part in node.body if isinstance(part, ast.FunctionDef)]
                found += [
                    (f"{place}: {node.name}.{part.name}", part, False)
                    for part in inside
                    if part.name[0] != "_"
                ]
    return found


def test_every_public_function_and_class_says_what_it_is_for():
    silent = [
        place for place, function, at_top in public_functions() if at_top and not ast.get_docstring(function)
    ]
    for path in modules():
        tree = ast.parse(path.read_text(encoding="utf-8"))
        classes = [
            node for node in tree.body if isinstance(node, ast.ClassDef) and not node.name.startswith("_")
        ]
        silent += [f"{path.name}: {node.name}" for node in classes if not ast.get_docstring(node)]
    assert silent == []


def test_every_public_function_outside_physics_is_typed():
    """A calculation takes a number or an array alike; its declaration says unit and range instead."""
    bare = []
    for place, function, _ in public_functions():
        taken = [*function.args.posonlyargs, *function.args.args, *function.args.kwonlyargs]
        given = [one for one in taken if one.arg not in ("self", "cls")]
        if function.returns is None or any(one.annotation is None for one in given):
            guarded = any("calculation" in ast.unparse(mark) for mark in function.decorator_list)
            if not guarded:
                bare.append(place)
    assert bare == []
