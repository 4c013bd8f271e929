"""Every row of tests/known_values/*.csv: a value that this program did not make, and the tolerance it brings.

Columns: function, inputs, expected, unit, tolerance, source, clause, note.
function is a name in guard.CALCULATIONS; after a colon stands a field, key or place of the result.
inputs is a JSON object of arguments, SI or {"value": .., "unit": ..}. tolerance is in `unit`, or relative with "%":
the rounding of the source, or a model difference named in the note.
"""

import csv
import importlib
import json
import math
import pkgutil
from collections import Counter
from pathlib import Path

import numpy as np
import pytest

import gaslab.physics
from gaslab import tables, units
from gaslab.guard import CALCULATIONS
from gaslab.physics import network

COLUMNS = ["function", "inputs", "expected", "unit", "tolerance", "source", "clause", "note"]
FOLDER = Path(__file__).parent / "known_values"
MOST_FOR_ONE_FUNCTION = 15
# A closed form worked by hand is a check, but not a value from outside.
OWN = "gaslab"
# What no row of a table can hold, and where it is held against the outside.
HELD_ELSEWHERE = {"physics.network.operating_point"}  # takes a supply curve as a function: test_network

for module in pkgutil.iter_modules(gaslab.physics.__path__, "gaslab.physics."):
    importlib.import_module(module.name)


def rows():
    for file in sorted(FOLDER.glob("*.csv")):
        with file.open(encoding="utf-8", newline="") as opened:
            reader = csv.DictReader(opened, strict=True)
            assert reader.fieldnames == COLUMNS, f"{file.name}: the columns must be {COLUMNS}"
            for row in reader:
                assert None not in row and None not in row.values(), (
                    f"{file.name}:{reader.line_num}: ragged row"
                )
                yield pytest.param(
                    row, id=f"{file.name}:{reader.line_num}:{row['function'].removeprefix('physics.')}"
                )


ROWS = list(rows())
SOURCES = {row["key"]: row for row in tables.records("sources")}


def tolerance(row: dict) -> float:
    """Return the tolerance as a number in the row's unit."""
    text = row["tolerance"]
    share = float(text.removesuffix("%")) / 100.0
    found = abs(float(row["expected"])) * share if text.endswith("%") else float(text)
    whole = float(row["expected"]).is_integer()
    assert math.isfinite(found) and (found > 0.0 or (found == 0.0 and whole)), (
        f"{text!r}: 0 is for counts only"
    )
    return found


def argument(name: str, value):
    if name == "tree":
        return network.Tree(**{key: np.asarray(item) for key, item in value.items()})
    if isinstance(value, dict) and set(value) == {"value", "unit"}:
        number = np.asarray(value["value"], dtype=float)
        return units.to_si(number if number.ndim else float(number), value["unit"])
    return value


def outcome(row: dict) -> float:
    """Return what the program gives, in the row's unit."""
    name, _, field = row["function"].partition(":")
    found = CALCULATIONS[name](
        **{key: argument(key, value) for key, value in json.loads(row["inputs"]).items()}
    )
    if field:
        found = (
            found[int(field)]
            if field.isdigit()
            else found[field]
            if isinstance(found, dict)
            else getattr(found, field)
        )
    return units.from_si(np.asarray(found, dtype=float).item(), row["unit"])


@pytest.mark.parametrize("row", ROWS)
def test_known_value(row):
    assert row["function"].partition(":")[0] in CALCULATIONS, f"unknown function {row['function']}"
    assert row["source"] in SOURCES, f"unknown source {row['source']}"
    assert row["clause"], "say where in the source it stands"
    assert math.isclose(outcome(row), float(row["expected"]), rel_tol=0.0, abs_tol=tolerance(row))


def counts(row: dict) -> bool:
    """Return True when the value comes from outside: not from memory and not worked by hand here."""
    seen_nothing = SOURCES[row["source"]]["seen"].startswith("nothing: from memory")
    return not (seen_nothing or row["note"].startswith("from memory") or row["source"] == OWN)


def test_enough_values_come_from_outside():
    found = Counter(row["function"].partition(":")[0] for (row,) in (p.values for p in ROWS) if counts(row))
    assert sum(min(number, MOST_FOR_ONE_FUNCTION) for number in found.values()) >= 150


def test_no_row_stands_twice():
    places = Counter(
        (row["function"], row["inputs"], row["expected"], row["source"])
        for (row,) in (p.values for p in ROWS)
    )
    assert [place for place, number in places.items() if number > 1] == []


def test_every_calculation_has_a_known_value():
    named = {row["function"].partition(":")[0] for (row,) in (p.values for p in ROWS)}
    assert set(CALCULATIONS) - named == HELD_ELSEWHERE
