"""The job sheet: readings, findings, checks and advice of one job, to JSON, CSV and HTML and back.

A sheet is a plain dictionary with a schema. It takes every finding of the job: there
is no way to leave one out, and a file whose open findings do not add up is refused.
It is training paper: it says so on every page and has no place for a licence.
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict

from gaslab import units
from gaslab.escape import csv_text
from gaslab.refit import changed, checks
from gaslab.refit.criteria import MEETS, OUTCOMES
from gaslab.refit.folder import FileFault, parse_json
from gaslab.refit.job import Job
from gaslab.refit.jobsheet_page import page
from gaslab.refit.records import Advice, FindingRecord, Reading, check_value, record_from

SCHEMA = "gaslab-sheet-1"
NOTICE = "TRAINING: SIMULATED READINGS, NOT A GAS SAFETY RECORD"
EMERGENCY = "Smell gas? Great Britain, day and night: 0800 111 999"
DEFER = "Local codes, the makers' instructions and a registered engineer decide."
NOT_RECORDED = "not recorded"

_KEYS = ("schema", "notice", "emergency", "defer", "revision", "site", "installation", "changes", "readings",
         "findings", "checks", "advice", "summary")  # fmt: skip
_CHECK_KEYS = (
    "key",
    "chapter",
    "title",
    "line",
    "number",
    "unit",
    "decision",
    "figure",
    "state",
    "value",
    "outcome",
)


class SheetError(ValueError):
    """A sheet that cannot be read: what is wrong with it, in one sentence."""


def sheet(job: Job) -> dict:
    """Return the job's sheet as plain values."""
    findings = [asdict(f) for f in job.findings]
    return {
        "schema": SCHEMA,
        "notice": NOTICE,
        "emergency": EMERGENCY,
        "defer": DEFER,
        "revision": job.revision,
        "site": {name: getattr(job.site, name) for name in ("key", "name", "address", "customer")},
        "installation": _installation(job.site),
        "changes": [changed.words(job.site, change) for change in job.changes],
        "readings": [asdict(r) for r in job.readings],
        "findings": findings,
        "checks": [_check_line(one, job) for one in checks.checks()],
        "advice": [asdict(a) for a in job.advice],
        "summary": summary(findings),
    }


def _installation(site) -> list[list[str]]:
    """Return the installation as lines of (what, figure)."""
    lines = [
        ["Meter", f"{site.meter.type.upper()}, {site.meter.place}"],
        ["Installation volume, trade's table", units.shown(site.installation_volume(), "dm3", 2)],
        ["Installation volume, exact bores", units.shown(site.installation_volume("bore"), "dm3", 2)],
    ]
    for run in site.runs:
        size = f"{run.pipe.replace('-', ' ')} mm, {units.shown(run.length, 'm', 2)}, {run.state}"
        lines.append([run.title, size])
    for unit in site.connected():
        lines.append(
            [unit.title, f"{units.shown(unit.plate_input(), 'kW', 1)} {unit.basis}, {unit.connection}"]
        )
    return lines


def _check_line(one: checks.Check, job: Job) -> dict:
    """Return a check with its newest answer, or with `not recorded`."""
    readings = [r for r in job.readings if r.key == one.key]
    findings = [f for f in job.findings if f.about == one.key]
    line = {
        name: getattr(one, name) for name in ("key", "chapter", "title", "line", "number", "unit", "decision")
    }
    return {
        **line,
        "figure": checks.figure(job.site, one.key),
        "state": "recorded" if readings else NOT_RECORDED,
        "value": readings[-1].value if readings else None,
        "outcome": findings[-1].outcome if findings else "",
    }


def summary(findings: Sequence[Mapping]) -> dict[str, int]:
    """Return how many findings have each outcome."""
    return {outcome: sum(f["outcome"] == outcome for f in findings) for outcome in OUTCOMES}


def open_findings(made: Mapping) -> list[Mapping]:
    """Return every finding that is not a plain *meets*."""
    return [f for f in made["findings"] if f["outcome"] != MEETS]


def to_json(made: Mapping) -> str:
    """Return the sheet as JSON text."""
    return json.dumps(made, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def from_json(text: str) -> dict:
    """Return the sheet in a JSON text, or raise SheetError."""
    try:
        made = parse_json(text, "the sheet")
        _validate(made)
    except FileFault as fault:
        raise SheetError(f"{fault}.") from None
    return made


def _validate(made: dict) -> None:
    if made.get("schema") != SCHEMA:
        raise FileFault(
            f"the sheet has the layout {str(made.get('schema'))[:40]!r}; this course reads {SCHEMA!r}"
        )
    if tuple(made) != _KEYS:
        raise FileFault(f"the sheet must hold {', '.join(_KEYS)} in this order and nothing else")
    if (made["notice"], made["emergency"], made["defer"]) != (NOTICE, EMERGENCY, DEFER):
        raise FileFault("the sheet's notice has been altered")
    check_value("revision", made["revision"], (int,))
    _texts("site", made["site"], ("key", "name", "address", "customer"))
    for name, kind in (("readings", Reading), ("findings", FindingRecord), ("advice", Advice)):
        for raw in _list(made, name):
            record_from(kind, raw, name)
    for words in _list(made, "changes"):
        check_value("changes", words, (str,))
    for line in _list(made, "installation"):
        if not isinstance(line, list) or len(line) != 2 or not all(isinstance(cell, str) for cell in line):
            raise FileFault("installation: each line must be two texts")
    _validate_checks(made)
    if made["summary"] != summary(made["findings"]):
        raise FileFault("the sheet's summary does not match its findings: one may have been taken out")


def _validate_checks(made: dict) -> None:
    known = [one.key for one in checks.checks()]
    lines = _list(made, "checks")
    if [line.get("key") if isinstance(line, dict) else None for line in lines] != known:
        raise FileFault("the sheet must hold every check once, in order")
    outcomes = {f["about"]: f["outcome"] for f in made["findings"]}
    values = {r["key"]: r["value"] for r in made["readings"]}
    for line in lines:
        key = line["key"]
        _texts(
            f"checks.{key}",
            {k: v for k, v in line.items() if k != "value"},
            tuple(k for k in _CHECK_KEYS if k != "value"),
        )
        state = "recorded" if key in values else NOT_RECORDED
        if (line["outcome"], line.get("value"), line["state"]) != (
            outcomes.get(key, ""),
            values.get(key),
            state,
        ):
            raise FileFault(f"the check {key} does not match the sheet's readings and findings")


def _list(made: dict, name: str) -> list:
    if not isinstance(made[name], list):
        raise FileFault(f"{name}: must be a list")
    return made[name]


def _texts(place: str, raw: object, names: tuple[str, ...]) -> None:
    if not isinstance(raw, dict) or set(raw) != set(names):
        raise FileFault(f"{place}: must name {', '.join(names)}")
    for name in names:
        check_value(f"{place}.{name}", raw[name], (str,))


_COLUMNS = (
    "section",
    "chapter",
    "what",
    "value",
    "unit",
    "resolution",
    "outcome",
    "limit",
    "backing",
    "words",
    "when",
)


def to_csv(made: Mapping) -> str:
    """Return the sheet as CSV (RFC 4180): every line, text cells safe for a spreadsheet."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerow(_COLUMNS)
    for row in _csv_rows(made):
        writer.writerow([cell if isinstance(cell, (int, float)) else csv_text(cell) for cell in row])
    return stream.getvalue()


def _csv_rows(made: Mapping):
    yield _csv_row("notice", words=made["notice"])
    yield _csv_row("emergency", words=made["emergency"])
    yield _csv_row("notice", words=made["defer"])
    for what, text in made["site"].items():
        yield _csv_row("site", what=what, words=text)
    for what, text in made["installation"]:
        yield _csv_row("installation", what=what, words=text)
    for text in made["changes"]:
        yield _csv_row("change", words=text)
    for r in made["readings"]:
        shared = {name: r[name] for name in ("chapter", "value", "unit", "resolution", "when")}
        yield _csv_row("reading", what=r["key"], words=f"{r['source']} {r['note']}".strip(), **shared)
    for f in made["findings"]:
        shared = {name: f[name] for name in ("chapter", "unit", "outcome", "limit", "backing", "when")}
        value = "" if f["reading"] is None else f["reading"]
        words = ". ".join(text for text in (f["words"], f["advice"], f["action"]) if text)
        yield _csv_row("finding", what=f"{f['key']} {f['about']}".strip(), value=value, words=words, **shared)
    for c in made["checks"]:
        value = "" if c["value"] is None else c["value"]
        outcome = c["outcome"] or c["state"]
        words = f"{c['line']}. {c['decision']}"
        yield _csv_row(
            "check",
            chapter=c["chapter"],
            what=c["key"],
            value=value,
            unit=c["unit"],
            outcome=outcome,
            words=words,
        )
    for a in made["advice"]:
        answer = f"declined by {a['declined_by']}" if a["declined_by"] else "taken"
        yield _csv_row("advice", what=a["point"], outcome=answer, words=a["given"], when=a["when"])
    for outcome, count in made["summary"].items():
        yield _csv_row("summary", what=outcome, value=count)


def _csv_row(section: str, **cells) -> list:
    return [section, *(cells.get(column, "") for column in _COLUMNS[1:])]


def to_html(made: Mapping, drawings: Mapping[str, str] | None = None) -> str:
    """Return the sheet as one printable A4 page of HTML.

    `drawings` are SVG texts by caption, such as the pipe run and the pressure trace.
    """
    return page(made, open_findings(made), drawings or {})
