"""Tables out: RFC 4180 CSV whose text a spreadsheet shows and never runs.

A column is either text or number. Text goes through the one escape, so a leading
formula mark gets an apostrophe; numbers are written from numbers, so -0.4 stays -0.4.
"""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterable, Mapping, Sequence

from gaslab import escape
from gaslab.assess.analysis import Analysis, Interval
from gaslab.assess.results import Result, SlipCount
from gaslab.assess.standard import Decision

TEXT, NUMBER = "text", "number"
BYTE_ORDER_MARK = b"\xef\xbb\xbf"


class ExportError(ValueError):
    """A value that does not belong in its column, told in one sentence."""


def csv_bytes(columns: Mapping[str, str], rows: Iterable[Sequence], *, spreadsheet: bool = False) -> bytes:
    """Return a CSV table in UTF-8 with CRLF line ends.

    `columns` is name -> TEXT or NUMBER. `spreadsheet` puts a byte order mark in front,
    which some spreadsheets need to read the file as UTF-8.
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(columns)
    for row in rows:
        writer.writerow(
            [_cell(name, kind, value) for (name, kind), value in zip(columns.items(), row, strict=True)]
        )
    return (BYTE_ORDER_MARK if spreadsheet else b"") + out.getvalue().encode("utf-8")


def _cell(name: str, kind: str, value: object) -> str:
    if value is None:
        return ""
    if kind == TEXT:
        return escape.csv_text(value)
    if isinstance(value, bool):
        return str(int(value))
    if not isinstance(value, (int, float)) or not math.isfinite(value):
        raise ExportError(f"Column {name} holds numbers; got {escape.clean(str(value))[:40]!r}.")
    return repr(int(value) if isinstance(value, int) else float(value))


STEP_COLUMNS = {
    "candidate": TEXT, "form": TEXT, "item": TEXT, "family": TEXT, "step": TEXT, "kind": TEXT, "answer": TEXT,
    "unit": TEXT, "read": NUMBER, "outcome": TEXT, "marks": NUMBER, "most": NUMBER, "precise": NUMBER,
    "slip": TEXT,
    "follow_through": NUMBER, "consistent_but_unsafe": NUMBER, "rule": TEXT, "reason": TEXT,
    "override_reason": TEXT,
}  # fmt: skip


def steps_csv(results: Iterable[Result], *, spreadsheet: bool = False) -> bytes:
    """Return one row for every step of every attempt, with its rule and reason."""
    return csv_bytes(STEP_COLUMNS, _step_rows(results), spreadsheet=spreadsheet)


def _step_rows(results: Iterable[Result]) -> Iterable[Sequence]:
    for result in results:
        for s in result.steps:
            yield (
                result.candidate, result.form, s.item, s.family, s.step, s.kind, s.text, s.unit,
                None if s.read is None else float(s.read), s.outcome, s.marks, s.most, s.precise, s.slip,
                s.follow_through, s.consistent_but_unsafe, s.rule, s.words, s.override,
            )  # fmt: skip


def results_csv(
    results: Iterable[Result], decisions: Mapping[str, Decision] | None = None, *, spreadsheet: bool = False
) -> bytes:
    """Return one row an attempt: score, precision, critical items missed, and any decision."""
    columns = {
        "candidate": TEXT, "form": TEXT, "score": NUMBER, "most": NUMBER, "precise": NUMBER,
        "precise_of": NUMBER,
        "critical_missed": TEXT, "decision": TEXT, "reason": TEXT, "receipt": TEXT, "seconds": NUMBER,
        "file": TEXT,
    }  # fmt: skip
    rows = []
    for r in results:
        made = (decisions or {}).get(r.candidate)
        rows.append((
            r.candidate, r.form, r.score, r.most, *r.precision, " ".join(r.missed),
            made.outcome if made else "",
            made.reason if made else "", r.receipt, r.seconds, r.file,
        ))  # fmt: skip
    return csv_bytes(columns, rows, spreadsheet=spreadsheet)


def _three(interval: Interval) -> tuple[float | None, float | None, float | None]:
    return interval.value, interval.low, interval.high


def items_csv(found: Analysis, *, spreadsheet: bool = False) -> bytes:
    """Return the item analysis with its intervals; a refused analysis is one row that says so."""
    columns = {
        "item": TEXT, "attempts": NUMBER, "facility": NUMBER, "facility_low": NUMBER, "facility_high": NUMBER,
        "item_rest_r": NUMBER, "r_low": NUMBER, "r_high": NUMBER, "upper_lower": NUMBER,
        "alpha_without": NUMBER,
        "note": TEXT,
    }  # fmt: skip
    rows: list[Sequence] = [
        (i.name, found.attempts, *_three(i.facility), *_three(i.discrimination), i.upper_lower,
         i.alpha_without,
         " ".join((*i.flags, i.discrimination.why)).strip())
        for i in found.items
    ]  # fmt: skip
    if found.refused:
        rows = [("", found.attempts, *(None,) * 8, found.refused)]
    return csv_bytes(columns, rows, spreadsheet=spreadsheet)


def slips_csv(rows: Iterable[SlipCount], *, spreadsheet: bool = False) -> bytes:
    """Return the slip table by family."""
    columns = {
        "family": TEXT,
        "step": TEXT,
        "slip": TEXT,
        "count": NUMBER,
        "answers": NUMBER,
        "share": NUMBER,
    }
    return csv_bytes(
        columns,
        ((r.family, r.step, r.slip, r.count, r.answers, r.share) for r in rows),
        spreadsheet=spreadsheet,
    )
