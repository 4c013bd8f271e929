"""What a reading can be at all: a number far outside, or half a burner, was mistyped and is not written down."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from gaslab import tables, units
from gaslab.refit.job import JobError

# A pressure that moved the other way has moved all the same. A rise in a drop test has not dropped.
_MOVEMENT, _DROP = "no-movement", "permitted-drop"


@dataclass(frozen=True)
class Span:
    """The least and the most that a reading can be, in `unit`; `whole` for a count."""

    least: float
    most: float
    unit: str
    whole: bool

    def check(self, title: str, value: float) -> None:
        """Refuse a number that the reading cannot be. Raises JobError."""
        if self.least <= value <= self.most and (not self.whole or value == int(value)):
            return
        unit = units.printed(self.unit)
        raise JobError(
            f"{title}: read {value:g} {unit}".rstrip()
            + f"; needed {'a whole number' if self.whole else 'a number'} "
            + f"from {self.least:g} to {self.most:g} {unit}".rstrip()
            + ". Nothing was written."
        )


def span(file: str, row: Mapping[str, str], unit: str, resolution: float) -> Span:
    """Return the span of a row with the columns `least` and `most`. Raises TableError."""
    number = int(row["_row"])
    least, most = (tables.number(file, number, name, row[name]) for name in ("least", "most"))
    if not least < most:
        raise tables.TableError(file, number, "most", f"must be above {least:g}; found {most:g}")
    return Span(least, most, unit, unit == "1" and resolution == 1.0)


def judged(criterion: str, value: float) -> tuple[str, float]:
    """Return the limit that a reading is held against, and the number.

    A movement counts whichever way it goes. A rise in a drop test is no drop: it is held against no movement.
    """
    if criterion == _MOVEMENT:
        return criterion, abs(value)
    return (_MOVEMENT, -value) if criterion == _DROP and value < 0.0 else (criterion, value)
