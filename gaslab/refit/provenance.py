"""Where the numbers come from: every figure of the tables, limits and sites, with what stands behind it.

Nothing is typed here: the list is read from the same tables that the calculations use.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from gaslab import tables, units
from gaslab.refit import limits
from gaslab.refit import site as sites

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
    """Return every figure: facts of the tables, then the limits, then the sites."""
    return (*_facts(), *_limits(), *_sites())


def _figure(
    table: str, name: str, value: str, unit: str, basis: str, source: str, status: str, note: str, edition: str = "",
) -> Figure:  # fmt: skip
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
            yield _figure(
                table, name, f"{fact.value:g}", fact.unit, fact.basis, fact.source, fact.status, fact.note
            )


def _limits() -> Iterator[Figure]:
    for key, rows in limits.rows().items():
        for row in rows:
            value = row.words() if row.known else limits.MAKER_WORDS if row.from_maker else "not confirmed"
            note = "superseded; for comparison only" if row.superseded else row.note
            name = f"{key}: {row.quantity}"
            yield _figure(
                "limits", name, value, row.unit, row.basis, row.source, row.status, note, row.edition
            )


def _sites() -> Iterator[Figure]:
    for key in sites.keys():  # noqa: SIM118 - a function of the module, not a dictionary's
        site = sites.load(key)
        for path, origin in site.origins.items():
            yield _figure(
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


def edition_matters() -> tuple[EditionMatter, ...]:
    """Return what changed between editions, newest document first, from data/editions.csv."""
    names = tables.SCHEMAS["editions"]
    return tuple(EditionMatter(**{name: row[name] for name in names}) for row in tables.records("editions"))
