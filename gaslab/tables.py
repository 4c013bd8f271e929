"""The only reader of data/: CSV and TOML files in, frozen and checked rows out.

Most tables are long: one number a row, each with unit, basis, source and status.
A few have columns of their own (`SCHEMAS`). A fault in a file is told with the
file, the row and the column, so that a person can go and mend it.
"""

from __future__ import annotations

import csv
import functools
import json
import math
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import Any

from gaslab import units

STATUSES = ("published", "memory", "practice", "computed", "enter", "invented")
"""What stands behind a number.

published: a published source was seen. memory: a source is named but was not seen.
practice: common trade practice, no source. computed: worked out here or with a
named library. enter: not confirmed; the user must enter it. invented: made up for
the fictional site.
"""

STATUS_WORDS = {
    "published": "published",
    "memory": "from memory, check it",
    "practice": "common practice, no source",
    "computed": "computed",
    "enter": "not confirmed: enter it from the edition in force",
    "invented": "invented for this course",
}


class TableError(ValueError):
    """A fault in a data file: which file, which row, which column, and what is needed."""

    def __init__(self, file: str, row: int | None, column: str | None, problem: str):
        self.file, self.row, self.column, self.problem = file, row, column, problem
        place = f"data/{file}"
        if row is not None:
            place += f", row {row}"
        if column is not None:
            place += f", column {column}"
        super().__init__(f"{place}: {problem}")


FACT_COLUMNS = ("key", "quantity", "value", "unit", "basis", "source", "status", "note")

# Table -> its columns. A table not listed here has FACT_COLUMNS.
SCHEMAS: dict[str, tuple[str, ...]] = {
    "sources": ("key", "document", "edition", "date", "seen", "note"),
    "criteria": (
        "key", "quantity", "basis", "op", "value", "unit", "resolution", "applies_when",
        "source", "clause", "edition", "status", "note",
    ),
    "site_checks": (
        "key", "chapter", "title", "ask", "number", "unit", "resolution", "least", "most", "doubt", "criterion",
        "decision", "line", "source", "status", "note",
    ),
    "procedure": ("key", "kind", "action", "other", "part", "title", "why", "source", "status", "note"),
    "faults": (
        "key", "title", "topic", "parameter", "unit", "obvious", "plain", "marginal", "compare", "threshold",
        "threshold_unit", "sign", "means", "put_right", "source", "status", "note",
    ),
    "glossary": ("term", "meaning", "chapter"),
    "formulas": ("key", "chapter", "title", "formula", "symbols", "source", "status", "note"),
    "findings": ("key", "finding", "reading", "action", "stops", "why", "source", "status", "note"),
    "records": (
        "key", "chapter", "title", "unit", "resolution", "least", "most", "doubt", "criterion", "source", "status",
        "note",
    ),
    "editions": ("about", "now", "before", "since", "source", "status"),
}  # fmt: skip


def data_folder() -> Path:
    """Return the folder that holds the tables: beside the package, or inside its wheel."""
    package = Path(__file__).resolve().parent
    inside, beside = package / "data", package.parent / "data"
    return inside if inside.is_dir() else beside


@dataclass(frozen=True)
class Fact:
    """One number with what stands behind it. `value` is in `unit`; `si` is in SI."""

    key: str
    quantity: str
    value: float
    unit: str
    basis: str
    source: str
    status: str
    note: str

    @property
    def si(self) -> float:
        return units.to_si(self.value, self.unit)


def read_rows(table: str, file: str | None = None) -> Iterator[tuple[int, dict[str, str]]]:
    """Yield (row number as a spreadsheet counts it, row) of a CSV file under data/."""
    file = file or f"{table}.csv"
    wanted = SCHEMAS.get(table, FACT_COLUMNS)
    try:
        text = (data_folder() / file).read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        raise TableError(
            file, None, None, "the file is missing; put it back from a fresh copy of the course"
        ) from None
    except UnicodeDecodeError as error:
        raise TableError(
            file, None, None, f"the file is not UTF-8 text ({error.reason}); save it as UTF-8"
        ) from None
    reader = csv.reader(text.splitlines(), strict=True)
    try:
        header = tuple(next(reader, ()))
        if header != wanted:
            raise TableError(
                file, 1, None, f"the columns must be {','.join(wanted)}; found {','.join(header)}"
            )
        for cells in reader:
            if not cells:
                continue
            if len(cells) != len(wanted):
                raise TableError(
                    file, reader.line_num, None, f"needs {len(wanted)} cells; found {len(cells)}"
                )
            yield reader.line_num, dict(zip(wanted, (cell.strip() for cell in cells), strict=True))
    except csv.Error as error:
        raise TableError(file, reader.line_num, None, f"is not readable as CSV: {error}") from None


def number(file: str, row: int, column: str, text: str) -> float:
    """Return a cell as a finite float, or raise TableError."""
    try:
        value = float(text)
    except ValueError:
        raise TableError(file, row, column, f"needs a number; found {text!r}") from None
    if not math.isfinite(value):
        raise TableError(file, row, column, f"needs a finite number; found {text!r}")
    return value


def check_status(file: str, row: int, cells: Mapping[str, str]) -> None:
    """Refuse a row whose status, unit or source key is not known."""
    if cells["status"] not in STATUSES:
        raise TableError(
            file, row, "status", f"must be one of {', '.join(STATUSES)}; found {cells['status']!r}"
        )
    if "unit" in cells and cells["unit"] not in units.TRADE_UNITS:
        raise TableError(file, row, "unit", f"{cells['unit']!r} is not a listed unit")
    if cells["source"] not in sources():
        raise TableError(file, row, "source", f"{cells['source']!r} is not a key in sources.csv")


@dataclass(frozen=True)
class Source:
    """A document, and what was seen of it."""

    key: str
    document: str
    edition: str
    date: str
    seen: str
    note: str

    @property
    def named(self) -> str:
        """Return the document with its edition, as a screen names it."""
        return f"{self.document}, {self.edition}" if self.edition else self.document


@functools.cache
def sources() -> Mapping[str, Source]:
    """Return every source by key."""
    found: dict[str, Source] = {}
    for row, cells in read_rows("sources"):
        if not cells["key"] or not cells["document"] or not cells["seen"]:
            raise TableError("sources.csv", row, None, "key, document and seen must be filled")
        if cells["key"] in found:
            raise TableError("sources.csv", row, "key", f"{cells['key']!r} stands twice")
        found[cells["key"]] = Source(**cells)
    return MappingProxyType(found)


@functools.cache
def facts(table: str) -> Mapping[tuple[str, str], Fact]:
    """Return every number of a long table by (key, quantity)."""
    file = f"{table}.csv"
    found: dict[tuple[str, str], Fact] = {}
    for row, cells in read_rows(table):
        check_status(file, row, cells)
        if not cells["key"] or not cells["quantity"] or not cells["basis"]:
            raise TableError(file, row, None, "key, quantity and basis must be filled")
        place = (cells["key"], cells["quantity"])
        if place in found:
            raise TableError(file, row, "quantity", f"{place[0]} {place[1]} stands twice")
        filled: dict[str, Any] = {**cells, "value": number(file, row, "value", cells["value"])}
        found[place] = Fact(**filled)
    return MappingProxyType(found)


def fact(table: str, key: str, quantity: str) -> Fact:
    """Return one number of a long table with what stands behind it.

    >>> fact("pipes", "copper-22", "wall").value
    0.9
    """
    try:
        return facts(table)[key, quantity]
    except KeyError:
        known = sorted({k for k, _ in facts(table)})
        hint = f"known keys: {', '.join(known)}" if key not in known else "the key has no such quantity"
        raise TableError(f"{table}.csv", None, None, f"has no {quantity} for {key!r}; {hint}") from None


def si(table: str, key: str, quantity: str) -> float:
    """Return one number of a long table in SI."""
    return fact(table, key, quantity).si


def keys(table: str) -> tuple[str, ...]:
    """Return the keys of a long table, in file order."""
    return tuple(dict.fromkeys(key for key, _ in facts(table)))


@functools.cache
def records(table: str, file: str | None = None) -> tuple[Mapping[str, str], ...]:
    """Return the rows of a table with columns of its own, status and source checked where it has them."""
    found = []
    for row, cells in read_rows(table, file):
        if "status" in cells:
            check_status(file or f"{table}.csv", row, cells)
        found.append(MappingProxyType({**cells, "_row": str(row)}))
    return tuple(found)


def files(folder: str, ending: str) -> tuple[str, ...]:
    """Return the names of the files in a folder under data/, sorted."""
    return tuple(sorted(path.name for path in (data_folder() / folder).glob(f"*{ending}")))


def _no_constant(text: str):
    raise ValueError(f"{text} is not a number")


@functools.cache
def _text(file: str) -> str:
    try:
        return (data_folder() / file).read_text(encoding="utf-8")
    except FileNotFoundError:
        raise TableError(
            file, None, None, "the file is missing; put it back from a fresh copy of the course"
        ) from None


def json_file(file: str) -> dict:
    """Return a JSON file under data/ as a fresh dictionary."""
    try:
        return json.loads(_text(file), parse_constant=_no_constant)
    except ValueError as error:
        row = getattr(error, "lineno", None)
        raise TableError(file, row, None, f"is not readable as JSON: {error}") from None


def toml_file(file: str) -> dict:
    """Return a TOML file under data/ as a fresh dictionary."""
    try:
        return tomllib.loads(_text(file))
    except tomllib.TOMLDecodeError as error:
        raise TableError(file, None, None, f"is not readable as TOML: {error}") from None
