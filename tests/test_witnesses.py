"""Every calculation has two witnesses: a value from outside, and a property that holds for any input.

tests/witnesses.csv names them. published_check is a test that reads a publication or a library, or a file of
known values; `hand:` before it owns up that no publication prints such a sum (how much worktop is left beside a
cut). property_check is a test under hypothesis.
"""

import ast
import csv
import functools
import re
from pathlib import Path

import pytest
import test_known_values as known

from gaslab.guard import CALCULATIONS

HERE = Path(__file__).parent
WITNESSES = {
    row["function"]: row
    for row in csv.DictReader((HERE / "witnesses.csv").open(encoding="utf-8", newline=""), strict=True)
}
# Sums of lengths: nobody prints them, so a hand sum is the best there is.
NOBODY_PRINTS = {
    "physics.worktop.clip_count",
    "physics.worktop.cut_out_margins",
    "physics.worktop.projection_gap",
}


@functools.cache
def cases_in(file: str) -> dict[str, ast.FunctionDef]:
    tree = ast.parse((HERE / file).read_text(encoding="utf-8"))
    return {
        node.name: node
        for node in tree.body
        if isinstance(node, ast.FunctionDef) and node.name.startswith("test_")
    }


def named(node: str) -> ast.FunctionDef:
    """Return the test that a node name like test_air.py::test_x stands for."""
    file, _, test = node.partition("::")
    assert test in cases_in(file), f"{node} is no test"
    return cases_in(file)[test]


def speaks_of(test: ast.FunctionDef, function: str) -> bool:
    return re.search(rf"\b{function.rpartition('.')[2]}\b", ast.unparse(test)) is not None


def test_every_calculation_is_listed_once():
    rows = list(csv.DictReader((HERE / "witnesses.csv").open(encoding="utf-8", newline="")))
    assert sorted(row["function"] for row in rows) == sorted(CALCULATIONS)


@pytest.mark.parametrize("function", sorted(WITNESSES))
def test_the_witness_from_outside_is_there(function):
    place = WITNESSES[function]["published_check"]
    by_hand = place.startswith("hand: ")
    assert by_hand == (function in NOBODY_PRINTS)
    place = place.removeprefix("hand: ")
    if "::" in place:
        assert speaks_of(named(place), function)
        return
    rows = [row for (row,) in (p.values for p in known.ROWS) if row["function"].partition(":")[0] == function]
    assert place == f"known_values/{function.split('.')[1]}.csv"
    assert [row for row in rows if by_hand or known.counts(row)], "no row of known values comes from outside"


@pytest.mark.parametrize("function", sorted(WITNESSES))
def test_the_property_is_held_for_any_input(function):
    test = named(WITNESSES[function]["property_check"])
    assert any(
        isinstance(mark, ast.Call) and getattr(mark.func, "id", "") == "given" for mark in test.decorator_list
    )
    assert speaks_of(test, function)
    assert [part for part in ast.walk(test) if isinstance(part, ast.Assert)], "it asserts nothing"
