"""The limits as data: each row of data/criteria becomes one checked `Criterion`.

A row says its edition and what stands behind it. Its value is a number, two ends
(`18.5..23`), the word `maker` where the maker's figure decides, or empty with the
status `enter` where the limit in force could not be confirmed.

A row's note may begin with marks in brackets: `[superseded]` for an edition that is
no longer in force, `[doubt counts]` where a reading whose uncertainty reaches over
the limit decides nothing.
"""

from __future__ import annotations

import functools
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace

from gaslab import tables, units
from gaslab.refit import conditions

OPERATORS = {"<=": "at most", "<": "below", ">=": "at least", ">": "above", "between": "from"}
GIVEN_WORDS = "given for this exercise, not the standard's"
MAKER_WORDS = "the maker's figure"
FLAGS = ("superseded", "doubt counts")


@dataclass(frozen=True)
class Criterion:
    """A limit. `low`/`high` are in `unit`; both None until an `enter` or `maker` limit is filled in.

    `value` is the cell as its row writes it.
    """

    key: str
    quantity: str
    basis: str
    op: str
    value: str
    low: float | None
    high: float | None
    unit: str
    resolution: float | None
    applies_when: str
    source: str
    clause: str
    edition: str
    status: str
    note: str
    flags: tuple[str, ...] = ()
    from_maker: bool = False
    entered_by: str = ""
    entered_on: str = ""

    @property
    def superseded(self) -> bool:
        return "superseded" in self.flags

    @property
    def known(self) -> bool:
        return self.low is not None or self.high is not None

    def filled(self, value: float, **changes) -> Criterion:
        """Return the limit with one bound filled in, in its unit."""
        if self.op in (">=", ">"):
            return replace(self, low=value, **changes)
        return replace(self, high=value, **changes)

    def written(self, end: str) -> str:
        """Return the low or the high end with the decimals that the row writes, such as 0.0040."""
        return self.value.split("..")[0 if end == "low" else -1]

    def words(self) -> str:
        """Return the limit in words, such as `at most 1 mbar`."""
        unit = units.printed(self.unit)
        tail = f" {unit}" if unit else ""
        if self.op == "between":
            return f"from {self.low:g} to {self.high:g}{tail}"
        return f"{OPERATORS[self.op]} {self.high if self.low is None else self.low:.6g}{tail}"

    def backing(self) -> str:
        """Return what stands behind the limit: source, edition, clause and status."""
        if self.status == "given":
            return GIVEN_WORDS
        parts = [tables.sources()[self.source].document, self.edition, self.clause]
        if self.source == "practice":  # a source row for what has no source
            parts = [self.edition.removeprefix("no edition"), self.clause]
        status = (
            MAKER_WORDS + ", invented for this course"
            if self.from_maker
            else tables.STATUS_WORDS.get(self.status, "")
        )
        if self.entered_by:
            status = f"entered by {self.entered_by} on {self.entered_on}"
        return ", ".join(p for p in (*parts, status, "superseded" if self.superseded else "") if p)


@functools.cache
def rows() -> Mapping[str, tuple[Criterion, ...]]:
    """Return every limit by key, from all the files of data/criteria."""
    found: dict[str, list[Criterion]] = {}
    for name in tables.files("criteria", ".csv"):
        file = f"criteria/{name}"
        for cells in tables.records("criteria", file):
            found.setdefault(cells["key"], []).append(read_row(file, cells))
    return {key: tuple(limits) for key, limits in found.items()}


def read_row(file: str, cells: Mapping[str, str]) -> Criterion:
    """Return the limit in one row of a file, or raise TableError with row and column."""
    row = int(cells["_row"])
    if cells["op"] not in OPERATORS:
        raise tables.TableError(
            file, row, "op", f"must be one of {', '.join(OPERATORS)}; found {cells['op']!r}"
        )
    for column in ("key", "quantity", "basis", "edition"):
        if not cells[column]:
            raise tables.TableError(file, row, column, "must be filled")
    try:
        conditions.parse(cells["applies_when"])
    except conditions.ConditionError as error:
        raise tables.TableError(file, row, "applies_when", str(error)) from None
    marks = re.findall(r"\[([^\]]*)\]", cells["note"])
    if set(marks) - set(FLAGS):
        raise tables.TableError(file, row, "note", f"marks in brackets are {', '.join(FLAGS)}; found {marks}")
    low, high = _bounds(file, row, cells)
    resolution = tables.number(file, row, "resolution", cells["resolution"]) if cells["resolution"] else None
    if resolution is not None and resolution <= 0.0:
        raise tables.TableError(file, row, "resolution", "must be above 0, or empty")
    columns = (
        "key",
        "quantity",
        "basis",
        "op",
        "value",
        "unit",
        "applies_when",
        "source",
        "clause",
        "edition",
        "status",
        "note",
    )
    maker = cells["value"] == "maker"
    return Criterion(
        **{c: cells[c] for c in columns},
        low=low,
        high=high,
        resolution=resolution,
        flags=tuple(marks),
        from_maker=maker,
    )


def _bounds(file: str, row: int, cells: Mapping[str, str]) -> tuple[float | None, float | None]:
    value, op = cells["value"], cells["op"]
    if (value == "") != (cells["status"] == "enter"):
        raise tables.TableError(file, row, "value", "is empty when the status is enter, and only then")
    if value in ("", "maker"):
        if op == "between":
            raise tables.TableError(file, row, "op", "between needs both ends in the row")
        return None, None
    if op == "between":
        ends = value.split("..")
        if len(ends) != 2:
            raise tables.TableError(file, row, "value", f"needs two ends, such as 18.5..23; found {value!r}")
        low, high = (tables.number(file, row, "value", end) for end in ends)
        if low >= high:
            raise tables.TableError(file, row, "value", f"the first end must be the smaller; found {value!r}")
        return low, high
    bound = tables.number(file, row, "value", value)
    return (bound, None) if op in (">=", ">") else (None, bound)
