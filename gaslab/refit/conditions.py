"""When a limit applies: a small grammar, such as `room_volume<5 m3 and door_outside=no`.

    condition = clause { " and " clause }        (empty: always)
    clause    = name op value,  op one of <= >= != < > =
    value     = number [unit]  |  word { "|" word }

A number is compared in SI. A word is compared as it stands; `|` gives a choice of words.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import SupportsFloat

from gaslab import units

_CLAUSE = re.compile(r"^([a-z][a-z_0-9]*)\s*(<=|>=|!=|<|>|=)\s*(.+)$")
_NUMBER = re.compile(r"^(-?\d+(?:\.\d+)?)(?:\s+(\S.*))?$")
_WORDS = re.compile(r"^[a-z0-9-]+(?:\s*\|\s*[a-z0-9-]+)*$")


class ConditionError(ValueError):
    """A condition that cannot be read."""


class NotKnown(LookupError):
    """A value that a condition asks for and nobody gave."""


@dataclass(frozen=True)
class Clause:
    """One comparison. `words` is set for words, `number` (SI) for a number written in `unit`."""

    name: str
    op: str
    number: float | None
    words: tuple[str, ...]
    unit: str = "1"

    def holds(self, context: Mapping[str, object]) -> bool:
        """Return whether the clause is true, or raise NotKnown."""
        if context.get(self.name) is None:
            raise NotKnown(self.name.replace("_", " "))
        got = context[self.name]
        if self.number is None:
            text = ("yes" if got else "no") if isinstance(got, bool) else str(got)
            return (text in self.words) == (self.op == "=")
        if isinstance(got, bool) or not isinstance(got, SupportsFloat):
            raise NotKnown(f"{self.name.replace('_', ' ')} as a number")
        return _COMPARE[self.op](float(got), self.number)


_COMPARE = {
    "<": lambda a, b: a < b,
    ">": lambda a, b: a > b,
    "<=": lambda a, b: a <= b,
    ">=": lambda a, b: a >= b,
    "=": lambda a, b: a == b,
    "!=": lambda a, b: a != b,
}


def parse(text: str) -> tuple[Clause, ...]:
    """Return the clauses of a condition; all of them must hold.

    >>> parse("room_volume<5 m3 and door_outside=no")[1].words
    ('no',)
    """
    return tuple(_clause(part.strip()) for part in text.split(" and ")) if text.strip() else ()


def _clause(text: str) -> Clause:
    match = _CLAUSE.match(text)
    if not match:
        raise ConditionError(f"cannot read {text!r}; write it like room_volume<5 m3")
    name, op, value = match.groups()
    number = _NUMBER.match(value)
    if number:
        try:
            unit = number[2] or "1"
            return Clause(name, op, float(units.to_si(float(number[1]), unit)), (), unit)
        except units.UnitError as error:
            raise ConditionError(f"cannot read {text!r}: {error}") from None
    if op not in ("=", "!="):
        raise ConditionError(f"cannot read {text!r}: words are compared with = or != only")
    if not _WORDS.match(value):
        raise ConditionError(f"cannot read {text!r}: a word is small letters, figures and hyphens")
    return Clause(name, op, None, tuple(word.strip() for word in value.split("|")))


def holds(clauses: tuple[Clause, ...], context: Mapping[str, object]) -> bool:
    """Return whether every clause holds. A clause that is false settles it, known or not elsewhere."""
    unknown = None
    for clause in clauses:
        try:
            if not clause.holds(context):
                return False
        except NotKnown as missing:
            unknown = missing
    if unknown:
        raise unknown
    return True
