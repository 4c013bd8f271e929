"""The parts of the job that are easily left out: each with its number, decision and line on the sheet."""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import dataclass

from gaslab import tables, units
from gaslab.physics import worktop
from gaslab.refit import context, criteria, doubt, limits, plausible
from gaslab.refit.criteria import Finding
from gaslab.refit.job import Job, JobError
from gaslab.refit.site import Site

HELD_BY = {  # check -> distance measured at the site
    "oven-projection": "oven-gap",
    "new-rise": "rise-beside",
    "clear-of-cables": "spacing-cables",
    "clear-of-boards": "spacing-switchgear",
    "bond-place": "bond-distance",
    "cut-out": "cut-out-side",
}


@dataclass(frozen=True)
class Check:
    """A check: the question, the number that answers it, its limit, the decision and the sheet's line.

    resolution is the step of the number, in its unit; doubt is its kind of doubt (`doubt.KINDS`).
    """

    key: str
    chapter: str
    title: str
    ask: str
    number: str
    unit: str
    resolution: float
    doubt: str
    criterion: str
    decision: str
    line: str
    source: str
    status: str
    note: str
    span: plausible.Span


@functools.cache
def checks() -> tuple[Check, ...]:
    """Return every check, in the order of the job."""
    found = []
    for cells in tables.records("site_checks"):
        row = {name: text for name, text in cells.items() if name != "_row"}
        for column in ("key", "chapter", "title", "ask", "number", "criterion", "decision", "line"):
            if not row[column]:
                raise tables.TableError("site_checks.csv", int(cells["_row"]), column, "must be filled")
        if row["criterion"] not in limits.rows():
            raise tables.TableError(
                "site_checks.csv", int(cells["_row"]), "criterion", "is not the key of a limit"
            )
        if row["doubt"] not in doubt.KINDS:
            raise tables.TableError(
                "site_checks.csv", int(cells["_row"]), "doubt", f"must be one of {doubt.KINDS}"
            )
        step = tables.number("site_checks.csv", int(cells["_row"]), "resolution", row.pop("resolution"))
        span = plausible.span("site_checks.csv", cells, row["unit"], step)
        del row["least"], row["most"]
        found.append(Check(**row, resolution=step, span=span))
    return tuple(found)


def check(key: str) -> Check:
    """Return one check."""
    for one in checks():
        if one.key == key:
            return one
    raise JobError(f"no check is called {key!r}; known: {', '.join(c.key for c in checks())}")


def answer(
    job: Job,
    key: str,
    value: float,
    *,
    more: Mapping[str, object] | None = None,
    action: str = "",
) -> Finding:
    """Record the number for a check (in the check's own unit), judge it, and keep the finding.

    `more` adds what the limit asks and the site does not say, such as `{"gauge": "water"}`.
    """
    one = check(key)
    one.span.check(one.title, value)
    reading = job.record(one.chapter, one.key, value, one.unit, one.resolution, note=one.number)
    limit, number = plausible.judged(one.criterion, reading.value)
    finding = criteria.judge(
        limit,
        units.to_si(number, one.unit),
        doubt.expanded(one.doubt, units.to_si(one.resolution, one.unit)),
        context={**context.criteria_context(job.site), **(more or {})},
    )
    job.finding(finding, one.chapter, about=one.key, action=action)
    return finding


def figure(site: Site, key: str) -> str:
    """Return what the site's own figures say about a check, in words; empty when they say nothing."""
    if key in _FIGURES:
        return _FIGURES[key](site)
    return _distance(site, key) if key in HELD_BY else ""


def _distance(site: Site, key: str) -> str:
    return units.shown(context.measured(site)[HELD_BY[key]], "mm", 0)


def _clips(site: Site) -> str:
    new = [run for run in site.runs if run.state == "new"]
    return "; ".join(
        f"{run.title}: {run.clips:.0f} fitted on {units.shown(run.length, 'm', 2)}" for run in new
    )


def _cutting(site: Site, exposure, quantity: str) -> float:
    """Return a day's exposure from all the tools of the site together."""
    return exposure([getattr(tool, quantity) for tool in site.tools], [tool.duration for tool in site.tools])


_FIGURES = {
    "data-plate": lambda site: f"{site.hob().title}: category {site.hob().category}",
    "oven-isolated": lambda site: (
        f"{site.oven.isolator}; the oven takes {units.shown(site.oven.electric_load, 'kW', 1)}"
    ),
    "cut-out": lambda site: f"{_distance(site, 'cut-out')}; the worktop is {site.worktop.material}",
    "mis-cut-cost": lambda site: (
        f"one wrong cut costs about £{site.worktop.miscut_cost():.0f} (invented prices)"
    ),
    "bond-size": lambda site: units.shown(site.electrical.bond_size, "mm2", 0),
    "clips": _clips,
    "noise": lambda site: units.shown(_cutting(site, worktop.noise_exposure, "noise"), "dB(A)", 1),
    "vibration": lambda site: units.shown(_cutting(site, worktop.vibration_exposure, "vibration"), "m/s2", 2),
    "dust": lambda site: units.shown(_cutting(site, worktop.dust_average, "dust"), "mg/m3", 2),
}
