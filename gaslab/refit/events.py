"""One line of a bench's log, as plain data."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import asdict, dataclass


@dataclass(frozen=True)
class Event:
    """One line of the log: an action, a reading or a happening (`kind`).

    `refused` says that it could not be done, `took` how long an action lasted [s], `seen`
    what stood in plain sight after it: valves, taps, flames, ends.
    """

    time: float
    kind: str
    name: str
    arguments: Mapping[str, object]
    answer: str
    refused: bool = False
    reading: Mapping[str, object] | None = None
    seen: Mapping[str, object] | None = None
    took: float = 0.0

    def as_record(self) -> dict:
        """Return the event as plain data, fit for JSON."""
        return asdict(self)


def plain(value: object) -> bool | int | float | str | None:
    """Return a value as the log keeps it: plain data only."""
    if isinstance(value, (bool, int)) or value is None or (isinstance(value, float) and math.isfinite(value)):
        return value if not isinstance(value, int) or abs(value) < 2**53 else str(value)[:40]
    return str(value)[:500]
