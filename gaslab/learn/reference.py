"""The pages to print: a crib of formulas, conversions and limits, and a glossary. All from the data."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from gaslab import tables, units
from gaslab.escape import html_text
from gaslab.refit import limits
from gaslab.refit.limits import Criterion

# Pairs that people mix up. The factor is worked out by the unit registry, not typed.
CONVERSIONS = (
    ("mbar", "Pa"), ("m3", "dm3"), ("m3", "ft3"), ("ft3", "m3"), ("m3/h", "dm3/h"), ("m3/h", "ft3/h"),
    ("kWh", "MJ"), ("MJ/m3", "kWh/m3"), ("kW", "Btu/h"), ("MJ/m3", "Btu/ft3"), ("%", "ppm"), ("l/s", "m3/h"),
)  # fmt: skip
FIGURES = 5
STYLE = """
body{font:1.1rem/1.5 sans-serif;color:#1a1a1a;background:#fffbea;max-width:60rem;margin:1rem auto;padding:0 1rem}
table{border-collapse:collapse;width:100%;margin-bottom:2rem}caption{text-align:left;font-weight:bold;padding:.5rem 0}
th,td{border:1px solid #1a1a1a;padding:.3rem .5rem;text-align:left;vertical-align:top}
dt{font-weight:bold}dd{margin:0 0 .6rem 1rem}
@media print{body{background:white}tr,dt,dd{break-inside:avoid}thead{display:table-header-group}}
"""
DEFER = (
    "Local codes, the maker's instructions and the edition in force decide. "
    "A limit marked from memory or common practice must be checked before it is used."
)


def crib() -> str:
    """Return the crib as one HTML page that needs nothing else."""
    return page(
        "Crib: formulas, conversions and limits",
        f"<p>{html_text(DEFER)}</p>" + formula_table() + conversion_table() + limit_tables(),
    )


def glossary() -> str:
    """Return the glossary as one HTML page, each term once, in order of the alphabet."""
    terms = sorted(glossary_terms(), key=lambda row: row[0].casefold())
    entries = "".join(
        f"<dt>{html_text(term)}</dt><dd>{html_text(meaning)} (chapter {html_text(chapter)})</dd>"
        for term, meaning, chapter in terms
    )
    return page("Glossary", f"<dl>{entries}</dl>")


def glossary_terms() -> tuple[tuple[str, str, str], ...]:
    """Return (term, meaning, chapter) of every term. A term that stands twice is a fault in the file."""
    rows = tables.records("glossary")
    seen: set[str] = set()
    for row in rows:
        if row["term"].casefold() in seen:
            raise tables.TableError("glossary.csv", int(row["_row"]), "term", f"{row['term']!r} stands twice")
        if not all(row[column] for column in ("term", "meaning", "chapter")):
            raise tables.TableError(
                "glossary.csv", int(row["_row"]), None, "term, meaning and chapter must be filled"
            )
        seen.add(row["term"].casefold())
    return tuple((row["term"], row["meaning"], row["chapter"]) for row in rows)


def formula_table() -> str:
    """Return the table of formulas with what stands behind each."""
    rows = (
        (
            row["chapter"], row["title"], row["formula"], row["symbols"],
            _behind(row["source"], row["status"]), row["note"],
        )
        for row in tables.records("formulas")
    )  # fmt: skip
    return table("Formulas", ("Chapter", "What", "Formula", "Symbols", "What stands behind it", "Note"), rows)


def conversion_table() -> str:
    """Return the table of conversions."""
    rows = (
        (
            f"1 {units.printed(unit)}",
            f"{units.convert(1.0, unit, target):.{FIGURES}g} {units.printed(target)}",
        )
        for unit, target in CONVERSIONS
    )
    return table("Conversions (exact by definition, shown to five figures)", ("This", "is"), rows)


def limit_tables() -> str:
    """Return one table of limits for each quantity's key, superseded editions marked as such."""
    rows = [_limit_row(limit) for found in limits.rows().values() for limit in found]
    return table("Limits", ("Quantity", "Basis", "Applies when", "Limit", "What stands behind it"), rows)


def _limit_row(limit: Criterion) -> tuple[str, ...]:
    if limit.known:
        words = limit.words()
    elif limit.from_maker:
        words = "the maker's figure"
    else:
        words = "not confirmed: enter it from the edition in force"
    return limit.quantity, limit.basis, when_words(limit.applies_when), words, limit.backing()


def when_words(condition: str) -> str:
    """Return the condition of a limit in plain words.

    >>> when_words("room_volume>=5 m3 and door_outside=no")
    'room volume at least 5 m3 and door outside is no'
    """
    for sign, word in (
        (">=", " at least "),
        ("<=", " at most "),
        ("<", " below "),
        (">", " above "),
        ("=", " is "),
    ):
        condition = condition.replace(sign, word)
    return condition.replace("_", " ").replace("|", " or ") or "always"


def _behind(source: str, status: str) -> str:
    if source == "practice":  # a source row for what has no source
        return tables.STATUS_WORDS[status]
    return f"{tables.sources()[source].document}: {tables.STATUS_WORDS[status]}"


def table(caption: str, heads: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """Return an HTML table; every cell goes through the one escape."""
    head = "".join(f'<th scope="col">{html_text(text)}</th>' for text in heads)
    body = "".join("<tr>" + "".join(f"<td>{html_text(cell)}</td>" for cell in row) + "</tr>" for row in rows)
    return f"<table><caption>{html_text(caption)}</caption><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"


def page(title: str, body: str) -> str:
    """Return a whole page around a body that was escaped already."""
    return (
        f'<!DOCTYPE html><html lang="en-GB"><head><meta charset="utf-8"><title>{html_text(title)}</title>'
        f"<style>{STYLE}</style></head><body><h1>{html_text(title)}</h1>{body}</body></html>"
    )
