"""Where the numbers come from: every figure of the tables, limits and sites, with what stands behind it.

`learn.figures` adds the figures that the question families take from the tables.

Nothing is typed here: the list is read from the same tables that the calculations use.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from gaslab import tables, units
from gaslab.refit import limits
from gaslab.refit import site as sites
from gaslab.refit.faults import GRADES

LONG_TABLES = (
    "constants", "gases", "pipes", "fittings", "meters", "practice", "bench", "instruments",
)  # fmt: skip


@dataclass(frozen=True)
class Figure:
    """One figure that a trainee may meet. `value` is text: a number, a range, or why there is none."""

    table: str
    name: str
    value: str
    unit: str
    basis: str
    source: str
    document: str
    edition: str
    status: str
    note: str

    @property
    def status_words(self) -> str:
        return tables.STATUS_WORDS[self.status]


def figures() -> tuple[Figure, ...]:
    """Return every figure: facts of the tables, formulas, faults, findings, then the limits, then the sites."""
    return (*_facts(), *_formulas(), *_faults(), *_findings(), *_limits(), *_sites())


def figure_of(
    table: str, name: str, value: str, unit: str, basis: str, source: str, status: str, note: str, edition: str = "",
) -> Figure:  # fmt: skip
    """Return a figure with its document; its edition is the document's own unless another is given."""
    behind = tables.sources()[source]
    return Figure(
        table,
        name,
        value,
        units.printed(unit),
        basis,
        source,
        behind.document,
        edition or behind.edition,
        status,
        note,
    )


def _facts() -> Iterator[Figure]:
    for table in LONG_TABLES:
        for (key, quantity), fact in tables.facts(table).items():
            name = f"{key}: {quantity.replace('_', ' ')}"
            yield figure_of(
                table, name, f"{fact.value:g}", fact.unit, fact.basis, fact.source, fact.status, fact.note
            )


def _formulas() -> Iterator[Figure]:
    for row in tables.records("formulas"):
        yield figure_of(
            "formulas", row["title"], row["formula"], "1", row["symbols"], row["source"], row["status"], row["note"],
        )  # fmt: skip


def _faults() -> Iterator[Figure]:
    """Yield of each fault the threshold of its sign, and its sizes on the bench, which are this course's own."""
    for row in tables.records("faults"):
        yield figure_of(
            "faults", f"{row['title']}: its sign", f"{row['compare']} {float(row['threshold']):g}",
            row["threshold_unit"], row["sign"], row["source"], row["status"], row["note"],
        )  # fmt: skip
        sizes = "; ".join(f"{grade} {float(row[grade]):g}" for grade in GRADES)
        yield figure_of(
            "faults", f"{row['title']}: its size", sizes, row["unit"], row["parameter"], "bench", "invented",
            "chosen for the bench",
        )  # fmt: skip


def _findings() -> Iterator[Figure]:
    """Yield the readings that hold a figure. What to do about them is the exercise, so it is not told here."""
    for row in tables.records("findings"):
        if any(letter.isdigit() for letter in row["reading"]):
            yield figure_of(
                "findings", row["finding"], row["reading"], "1", "a reading of the exercise", row["source"],
                row["status"], row["note"],
            )  # fmt: skip


def _limits() -> Iterator[Figure]:
    for key, rows in limits.rows().items():
        for row in rows:
            value = row.words() if row.known else limits.MAKER_WORDS if row.from_maker else "not confirmed"
            note = "superseded; for comparison only" if row.superseded else row.note
            name = f"{key}: {row.quantity}"
            yield figure_of(
                "limits", name, value, row.unit, row.basis, row.source, row.status, note, row.edition
            )


def _sites() -> Iterator[Figure]:
    for key in sites.keys():  # noqa: SIM118 - a function of the module, not a dictionary's
        site = sites.load(key)
        for path, origin in site.origins.items():
            yield figure_of(
                key, path, f"{origin.value:g}", origin.unit, "as described", site.source, origin.status, ""
            )


# The matters whose answer depends on an edition: the limit's key (or the table's), what changed, and from when.
@dataclass(frozen=True)
class EditionMatter:
    """A number that depends on which edition is read."""

    about: str
    now: str
    before: str
    since: str
    source: str
    status: str

    @property
    def named(self) -> str:
        return tables.sources()[self.source].named

    @property
    def status_words(self) -> str:
        return tables.STATUS_WORDS[self.status]


def edition_matters() -> tuple[EditionMatter, ...]:
    """Return what changed between editions, newest document first, from data/editions.csv."""
    names = tables.SCHEMAS["editions"]
    return tuple(EditionMatter(**{name: row[name] for name in names}) for row in tables.records("editions"))
