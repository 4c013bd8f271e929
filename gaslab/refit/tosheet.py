"""Which readings a trainee puts on the sheet in each chapter, and how they are judged."""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import dataclass

from gaslab import tables, units
from gaslab.refit import context, criteria, doubt, limits
from gaslab.refit.criteria import Finding
from gaslab.refit.job import Job, JobError


@dataclass(frozen=True)
class Wanted:
    """One reading for the sheet, with the kind of its doubt and the limit it is held against (or none)."""

    key: str
    chapter: str
    title: str
    unit: str
    resolution: float
    doubt: str
    criterion: str


@functools.cache
def wanted(chapter: str = "") -> tuple[Wanted, ...]:
    """Return the readings that the sheet wants from a chapter, or from all."""
    found = []
    for row in tables.records("records"):
        number = int(row["_row"])
        if row["criterion"] and row["criterion"] not in limits.rows():
            raise tables.TableError(
                "records.csv", number, "criterion", f"{row['criterion']!r} is not a limit"
            )
        if row["doubt"] not in doubt.KINDS:
            raise tables.TableError("records.csv", number, "doubt", f"must be one of {doubt.KINDS}")
        resolution = tables.number("records.csv", number, "resolution", row["resolution"])
        texts = {name: row[name] for name in ("key", "chapter", "title", "unit", "doubt", "criterion")}
        found.append(Wanted(**texts, resolution=resolution))
    return tuple(one for one in found if chapter in ("", one.chapter))


def put(
    job: Job,
    key: str,
    value: float,
    more: Mapping[str, object] | None = None,
    uncertainty: float | None = None,
) -> Finding | None:
    """Record a reading (in its own unit) and its finding; None when it is held against no limit.

    `uncertainty` (k = 2, SI) stands beside the finding; by default it is worked out from the display's step.
    """
    one = next((one for one in wanted() if one.key == key), None)
    if one is None:
        raise JobError(f"no reading is called {key!r}; known: {', '.join(w.key for w in wanted())}")
    job.record(one.chapter, one.key, value, one.unit, one.resolution, note=one.title)
    if not one.criterion:
        return None
    held = {**context.criteria_context(job.site), "gauge": "electronic-1", **(more or {})}
    if uncertainty is None:
        uncertainty = doubt.expanded(one.doubt, units.to_si(one.resolution, one.unit))
    finding = criteria.judge(one.criterion, units.to_si(value, one.unit), uncertainty, held)
    job.finding(finding, one.chapter, about=one.key)
    return finding


def missing(job: Job) -> tuple[Wanted, ...]:
    """Return the readings that the sheet wants and the job does not hold."""
    held = {reading.key for reading in job.readings}
    return tuple(one for one in wanted() if one.key not in held)
