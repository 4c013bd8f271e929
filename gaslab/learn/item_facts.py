"""The course's own numbers in a question: a cell of a table, or an end of a limit in data/criteria.

A limit comes from the shipped rows alone. What one person entered on one machine never
changes a question, so the same paper is marked alike everywhere.
"""

from __future__ import annotations

from gaslab import tables, units
from gaslab.learn.family import Known
from gaslab.learn.item_table import Table
from gaslab.refit import conditions, criteria, limits
from gaslab.refit.limits import Criterion

ENDS = {"low": (">=", ">"), "high": ("<=", "<")}
_REFUSED = (tables.TableError, units.UnitError, criteria.CriterionError, conditions.ConditionError)


def read_fact(part: Table) -> Known:
    """Return the number that one fact of a question file names, in the unit it asks for."""
    unit = part.unit()
    try:
        found = _of_limit(part, unit) if part.has("criterion") else _of_table(part, unit)
    except _REFUSED as error:
        raise part.fault("", str(error)) from None
    part.finish()
    return found


def _of_table(part: Table, unit: str) -> Known:
    fact = tables.fact(part.key("table"), part.text("key", 40), part.text("quantity", 40))
    value = units.convert(fact.value, fact.unit, unit)
    return Known(value, unit, f"{value:.6g}")


def _of_limit(part: Table, unit: str) -> Known:
    """Return one end of a limit, printed as its row writes it; or the edge of a condition of its row."""
    row = _row(part, part.key("criterion"))
    end = part.text("end", 10)
    if end not in ENDS:
        raise part.fault("end", f'must be "low" or "high"; found {end!r}')
    if part.has("edge"):
        value = _edge(part, row, end, unit)
        return Known(value, unit, f"{value:.6g}", row.edition)
    bound = row.low if end == "low" else row.high
    if bound is None:
        raise part.fault("end", f"the limit {row.key!r} has no {end} end: it is {row.words()}")
    value = units.convert(bound, row.unit, unit)
    text = row.written(end) if unit == row.unit else f"{value:.6g}"
    if part.flag("no_sign"):
        value, text = abs(value), text.removeprefix("-")
    return Known(value, unit, text, row.edition)


def _row(part: Table, key: str) -> Criterion:
    """Return the row that applies: the one in force, or that of the edition named. Its figure is known."""
    edition = part.text("edition", 60) if part.has("edition") else None
    context = _context(part.table("when"), key)
    try:
        row = criteria.shipped(key, context, edition)
    except conditions.NotKnown as missing:
        raise part.fault(
            "when", f"the limit {key!r} has several rows; say {missing.args[0]!r} here"
        ) from None
    if row is None:
        which = "in force" if edition is None else f"of the edition {edition!r}"
        raise part.fault("criterion", f"the limit {key!r} has no row {which} for this case")
    if row.from_maker:
        raise part.fault("criterion", f"{key!r} is the maker's figure; a question must give one of its own")
    if not row.known:
        raise part.fault("criterion", f"{key!r} is not confirmed yet, so no question can be judged by it")
    return row


def _context(part: Table, key: str) -> dict[str, object]:
    """Return the case that `when` describes, its numbers in SI, such as { room_volume = "7 m3" }."""
    rows = limits.rows().get(key, ())
    asked = {clause.name for row in rows for clause in conditions.parse(row.applies_when)}
    found: dict[str, object] = {}
    for name in part.own_names():
        if rows and name not in asked:
            needed = ", ".join(sorted(asked)) or "nothing"
            raise part.fault(name, f"the limit {key!r} does not ask for it; it asks for {needed}")
        clauses = conditions.parse(f"{name}={part.text(name, 40)}")
        if len(clauses) != 1 or len(clauses[0].words) > 1:
            raise part.fault(name, "needs one word, or one number with its unit")
        found[name] = clauses[0].words[0] if clauses[0].number is None else clauses[0].number
    return found


def _edge(part: Table, row: Criterion, end: str, unit: str) -> float:
    """Return where the row that applies begins or ends, such as the 5 m3 of `room_volume<5 m3`."""
    name = part.text("edge", 40)
    for clause in conditions.parse(row.applies_when):
        if clause.name == name and clause.number is not None and clause.op in ENDS[end]:
            return float(units.convert(units.from_si(clause.number, clause.unit), clause.unit, unit))
    raise part.fault("edge", f"the row says {row.applies_when!r}, which has no {end} edge of {name!r}")
