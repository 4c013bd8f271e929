"""Takes typed values out of a TOML table, and says the file and the place when one is not fit."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from gaslab import escape, units
from gaslab.learn.formulas import FormulaError, Tree, parse

LARGEST = 1e12  # no number of the trade is larger


class ItemFileError(ValueError):
    """A fault in a question file: which file, which place in it, and what is needed."""

    def __init__(self, file: str, place: str, problem: str):
        self.file, self.place, self.problem = file, place, problem
        super().__init__(f"{file}{f', {place}' if place else ''}: {problem}")


class Table:
    """One table of the file. Every value is taken once; `finish` refuses what nobody took."""

    def __init__(self, raw: object, file: str, place: str = ""):
        self.file, self.place = file, place
        if not isinstance(raw, Mapping):
            raise ItemFileError(file, place, "must be a table")
        self.raw = dict(raw)
        self.taken: set[str] = set()

    def fault(self, field: str, problem: str) -> ItemFileError:
        return ItemFileError(self.file, ", ".join(part for part in (self.place, field) if part), problem)

    @property
    def empty(self) -> bool:
        return not self.raw

    def has(self, field: str) -> bool:
        return field in self.raw

    def is_table(self, field: str) -> bool:
        return isinstance(self.raw.get(field), Mapping)

    def own_names(self) -> tuple[str, ...]:
        return tuple(self.raw)

    def names(self, field: str) -> tuple[str, ...]:
        """Return the names inside a table of tables; an absent one has none."""
        return self.table(field).own_names()

    def _take(self, field: str, kind: type | tuple[type, ...], what: str) -> Any:
        self.taken.add(field)
        value = self.raw.get(field)
        if value is None:
            raise self.fault(field, f"is missing; it needs {what}")
        if not isinstance(value, kind) or (isinstance(value, bool) and kind is not bool):
            raise self.fault(field, f"needs {what}; found {str(value)[:40]!r}")
        return value

    def text(self, field: str, longest: int) -> str:
        value = self._take(field, str, "text in quotes")
        if not value.strip() or len(value) > longest:
            raise self.fault(field, f"needs 1 to {longest} characters; found {len(value)}")
        if escape.clean(value) != value:
            raise self.fault(field, "holds a character that cannot be printed")
        return value

    def sentence(self, field: str) -> str:
        value = self.text(field, 200)
        if "\n" in value or not value.endswith((".", "?")):
            raise self.fault(field, "needs one short sentence that ends with a full stop")
        return value

    def key(self, field: str) -> str:
        value = self.text(field, 40)
        if not re.fullmatch(r"[a-z][a-z0-9-]*", value):
            raise self.fault(field, f"needs small letters, figures and hyphens; found {value!r}")
        return value

    def unit(self, field: str = "unit") -> str:
        value = self.text(field, 20)
        if value not in units.TRADE_UNITS:
            listed = ", ".join(units.TRADE_UNITS)
            raise self.fault(field, f"{value!r} is not a listed unit; use one of {listed}")
        return value

    def texts(self, field: str) -> tuple[str, ...]:
        values = self._take(field, list, "a list of texts")
        if not all(isinstance(value, str) for value in values):
            raise self.fault(field, "needs a list of texts")
        return tuple(values)

    def number(self, field: str) -> float:
        value = self._take(field, (int, float), "a number")
        return self._finite(field, value)

    def _finite(self, field: str, value: Any) -> float:
        usable = isinstance(value, (int, float)) and not isinstance(value, bool)
        if not usable or not abs(value) <= LARGEST:
            raise self.fault(field, f"needs a number of a usable size; found {str(value)[:40]}")
        return float(value)

    def numbers(self, field: str, count: int) -> list[float]:
        values = self._take(field, list, f"a list of {count} numbers")
        if len(values) != count:
            raise self.fault(field, f"needs {count} numbers; found {len(values)}")
        return [self._finite(field, value) for value in values]

    def whole(self, field: str, low: int, high: int) -> int:
        value = self._take(field, int, f"a whole number from {low} to {high}")
        if not low <= value <= high:
            raise self.fault(field, f"needs a whole number from {low} to {high}; found {value}")
        return value

    def flag(self, field: str) -> bool:
        return self._take(field, bool, "true or false") if field in self.raw else False

    def formula(self, field: str, known: set[str]) -> Tree:
        value = self._take(field, (str, int, float), "a formula in quotes")
        try:
            tree = parse(str(value))
        except FormulaError as error:
            raise self.fault(field, str(error)) from None
        for name in sorted(tree.names - known):
            raise self.fault(field, f"nothing that a trainee can use here is called {name!r}")
        return tree

    def table(self, field: str, name: str = "") -> Table:
        self.taken.add(field)
        value = self.raw.get(field, {})
        inside = Table(value, self.file, ", ".join(part for part in (self.place, field) if part))
        return inside.table(name) if name else inside

    def tables(self, field: str, required: bool = True) -> list[Table]:
        if field not in self.raw and not required:
            return []
        values = self._take(field, list, "a list of tables")
        place = ", ".join(part for part in (self.place, field) if part)
        return [Table(value, self.file, f"{place} {index}") for index, value in enumerate(values, start=1)]

    def finish(self) -> None:
        """Refuse a name that nobody asked for: it is a spelling mistake, or it would do nothing."""
        for field in self.raw:
            if field not in self.taken:
                raise self.fault(field, f"is not known here; known are {', '.join(sorted(self.taken))}")
