"""Which readings a trainee puts on the sheet in each chapter, and how they are judged."""

from __future__ import annotations

import functools
import math
from collections.abc import Mapping
from dataclasses import dataclass

from gaslab import tables, units
from gaslab.refit import context, criteria, doubt, lenses, limits, plausible
from gaslab.refit.criteria import Finding
from gaslab.refit.job import Job, JobError
from gaslab.refit.site import Site

RATE = "rate"  # a gas rate: its doubt hangs on how long the meter was watched
SHORTEST_RUN, LONGEST_RUN = 10.0, 3600.0  # s


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
    span: plausible.Span


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
        if row["doubt"] not in (*doubt.KINDS, RATE):
            raise tables.TableError("records.csv", number, "doubt", f"must be one of {(*doubt.KINDS, RATE)}")
        resolution = tables.number("records.csv", number, "resolution", row["resolution"])
        texts = {name: row[name] for name in ("key", "chapter", "title", "unit", "doubt", "criterion")}
        span = plausible.span("records.csv", row, row["unit"], resolution)
        found.append(Wanted(**texts, resolution=resolution, span=span))
    return tuple(one for one in found if chapter in ("", one.chapter))


def put(
    job: Job,
    key: str,
    value: float,
    more: Mapping[str, object] | None = None,
    run: float | None = None,
    action: str = "",
) -> Finding | None:
    """Record a reading (in its own unit) and its finding; None when it is held against no limit.

    `action` is what the trainee decided. How unsure the reading is (k = 2) stands beside the finding.
    It is worked out from the display's step; for a gas rate from the meter, the watch and `run`, the
    time [s] that the meter was watched.
    """
    one = next((one for one in wanted() if one.key == key), None)
    if one is None:
        raise JobError(f"no reading is called {key!r}; known: {', '.join(w.key for w in wanted())}")
    one.span.check(one.title, value)
    job.record(one.chapter, one.key, value, one.unit, one.resolution, note=one.title)
    if not one.criterion:
        return None
    limit, number = plausible.judged(one.criterion, value)
    held = {**context.criteria_context(job.site), "gauge": "electronic-1", **(more or {})}
    finding = criteria.judge(limit, units.to_si(number, one.unit), _doubt(one, job.site, value, run), held)
    job.finding(finding, one.chapter, about=one.key, action=action)
    return finding


def _doubt(one: Wanted, site: Site, value: float, run: float | None) -> float | None:
    """Return the expanded uncertainty [SI] of a reading in its own unit; None where none is worked out."""
    if one.doubt != RATE:
        return doubt.expanded(one.doubt, units.to_si(one.resolution, one.unit))
    share = 1.0 + units.to_si(value, one.unit)  # of what the plate says
    if run is None or share <= 0.0:
        return None
    counted = lenses.timed_rate(site, share * site.hob().plate_input(), run).uncertainty
    return None if math.isinf(counted) else share * counted


def missing(job: Job) -> tuple[Wanted, ...]:
    """Return the readings that the sheet wants and the job does not hold."""
    held = {reading.key for reading in job.readings}
    return tuple(one for one in wanted() if one.key not in held)
