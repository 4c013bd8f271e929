"""The job sheet as a printable page: pure text in, one HTML text out.

All text goes through the one escape. Drawings go in as pictures (`img` with the
SVG inside), so nothing in a drawing can restyle or hide a line of the page. The
notice stands in the head of a table, which a printer repeats on every page.
"""

from __future__ import annotations

import base64
from collections.abc import Mapping
from decimal import Decimal

from gaslab import units
from gaslab.escape import html_text

LARGEST_DRAWING = 3_000_000  # characters
MARKS = {"meets": "✓", "does not meet": "✗", "cannot judge": "?", "cannot tell": "?"}

_STYLE = """
@page { size: A4; margin: 10mm; }
* { box-sizing: border-box; }
body { font: 8.5pt/1.25 "DejaVu Sans", Arial, sans-serif; color: #111; background: #fff; }
body { margin: 0 auto; max-width: 190mm; } h1 { font-size: 13pt; margin: 1mm 0; }
h2 { font-size: 10pt; margin: 2.5mm 0 0.5mm; border-bottom: 0.3mm solid #111; }
table { border-collapse: collapse; width: 100%; }
td, th { text-align: left; vertical-align: top; padding: 0.2mm 1mm; }
.lines td, .lines th { border-bottom: 0.1mm solid #999; }
.notice { font-weight: bold; text-align: center; border: 0.5mm solid #111; padding: 0.8mm; }
.open { border: 0.6mm solid #111; padding: 1mm; } .open p { margin: 0.4mm 0; }
.small { font-size: 7.5pt; } .drawings { display: flex; gap: 3mm; } figure { margin: 0; flex: 1; }
img { width: 100%; max-height: 50mm; object-fit: contain; } tr, figure { break-inside: avoid; }
.columns { columns: 2; column-gap: 4mm; font-size: 7.5pt; }
.columns p { margin: 0 0 0.5mm; break-inside: avoid; }
.sign { margin-top: 3mm; }
"""

_BLANK = "_" * 22
_SIGN = f'<p class="sign">Trainee: {_BLANK} &nbsp; Supervised by: {_BLANK} &nbsp; Date: {_BLANK[:12]}</p>'


def page(made: Mapping, open_findings: list[Mapping], drawings: Mapping[str, str]) -> str:
    """Return the whole page."""
    site, t = made["site"], html_text
    body = "".join((
        f"<h1>Job sheet: {t(site['name'])}</h1>",
        f"<p>{t(site['address'])}. {t(site['customer'])}. Job file revision {t(made['revision'])}.</p>",
        f"<p>{t(made['defer'])}</p>",
        _open(open_findings),
        _drawings(drawings),
        _met(made),
        _readings(made),
        _checks(made),
        _advice(made["advice"]),
        _installation(made),
        _SIGN,
    ))  # fmt: skip
    head = f"{t(made['notice'])}<br>{t(made['emergency'])}"
    return (
        '<!DOCTYPE html>\n<html lang="en-GB"><head><meta charset="utf-8">'
        f"<title>{t(made['notice'])}</title><style>{_STYLE}</style></head><body>"
        f'<table><thead><tr><td class="notice">{head}</td></tr></thead>'
        f'<tfoot><tr><td class="notice small">{t(made["notice"])}</td></tr></tfoot>'
        f"<tbody><tr><td>{body}</td></tr></tbody></table></body></html>\n"
    )


def _open(findings: list[Mapping]) -> str:
    if not findings:
        look = "Look at the checks for what was not recorded."
        return f'<div class="open"><b>Still open: no finding.</b> {look}</div>'
    lines = "".join(
        f"<p>{_outcome(f['outcome'])} {_about(f)}: {html_text(f['words'])}. {_done(f)}</p>" for f in findings
    )
    return f'<div class="open"><b>Still open, or open at the time: {len(findings)}</b>{lines}</div>'


def _done(finding: Mapping) -> str:
    advice = f"{html_text(finding['advice'])}. " if finding["advice"] else ""
    return advice + (f"Decided: {html_text(finding['action'])}." if finding["action"] else "")


def _outcome(outcome: str) -> str:
    return f"<b>{MARKS.get(outcome, '')} {html_text(outcome)}</b>"


def _about(finding: Mapping) -> str:
    about = f" ({html_text(finding['about'])})" if finding["about"] else ""
    return html_text(finding["key"]) + about


def _drawings(drawings: Mapping[str, str]) -> str:
    figures = []
    for caption, svg in drawings.items():
        if (
            not isinstance(svg, str)
            or not svg.lstrip().startswith(("<svg", "<?xml"))
            or len(svg) > LARGEST_DRAWING
        ):
            raise ValueError(
                f"drawing {caption!r}: needed an SVG text of at most {LARGEST_DRAWING} characters"
            )
        data = base64.b64encode(svg.encode("utf-8")).decode("ascii")
        text = html_text(caption)
        picture = f'<img alt="{text}" src="data:image/svg+xml;base64,{data}">'
        figures.append(f"<figure>{picture}<figcaption>{text}</figcaption></figure>")
    return f'<div class="drawings">{"".join(figures)}</div>' if figures else ""


def _table(title: str, heads: tuple[str, ...], rows: list[str], nothing: str) -> str:
    if not rows:
        return f"<h2>{title}</h2><p>{nothing}</p>"
    head = "".join(f"<th>{h}</th>" for h in heads)
    return f'<h2>{title}</h2><table class="lines"><tr>{head}</tr>{"".join(rows)}</table>'


def _row(*cells: str) -> str:
    return "<tr>" + "".join(f"<td>{cell}</td>" for cell in cells) + "</tr>"


def _columns(title: str, lines: list[str], nothing: str) -> str:
    body = "".join(f"<p>{line}</p>" for line in lines)
    return (
        f'<h2>{title}</h2><div class="columns">{body}</div>' if lines else f"<h2>{title}</h2><p>{nothing}</p>"
    )


def _as_read(value: float, resolution: float) -> str:
    """Return a reading with the decimals of its instrument: 20.0 mbar, not 20 mbar."""
    exponent = Decimal(str(resolution)).normalize().as_tuple().exponent
    assert isinstance(exponent, int), "a resolution is a finite number"
    places = max(0, -exponent)
    text = f"{value:.{places}f}"
    return html_text(text if float(text) == value else f"{value:.12g}")


def _told_by_checks(records: list[Mapping], name: str, checks: list[Mapping]) -> set[int]:
    """Return the numbers of the newest records of the checks: their own lines tell them."""
    keys = {check["key"] for check in checks}
    return set({r[name]: r["number"] for r in records if r[name] in keys}.values())


def _met(made: Mapping) -> str:
    """Return the findings that meet; every other one stands in full at the head of the sheet."""
    told = _told_by_checks(made["findings"], "about", made["checks"])
    lines = []
    for f in made["findings"]:
        if f["outcome"] == "meets" and f["number"] not in told:
            lines.append(
                f"{_outcome(f['outcome'])} {_about(f)}: {html_text(f['words'])}. {_done(f)}".rstrip()
            )
    return _columns("Findings that meet", lines, "None beside the checks below.")


def _readings(made: Mapping) -> str:
    told = _told_by_checks(made["readings"], "key", made["checks"])
    lines = []
    for r in made["readings"]:
        if r["number"] not in told:
            value = f"{_as_read(r['value'], r['resolution'])} {html_text(units.printed(r['unit']))}"
            note = f", {html_text(r['note'])}" if r["note"] else ""
            where = f"chapter {html_text(r['chapter'])}, {html_text(r['when'])}, {html_text(r['source'])}"
            lines.append(
                f"{html_text(r['key'])}: <b>{value}</b> (to {html_text(r['resolution'])}; {where}{note})"
            )
    return _columns("Readings as seen", lines, "None beside the checks below.")


def _checks(made: Mapping) -> str:
    decided = {f["about"]: f["action"] for f in made["findings"] if f["action"]}
    lines = []
    for c in made["checks"]:
        unit = f" {html_text(units.printed(c['unit']))}".rstrip()
        value = "" if c["value"] is None else f" {c['value']:.12g}{unit}: {html_text(c['number'])}."
        state = _outcome(c["outcome"]) if c["outcome"] else f"<b>{html_text(c['state'])}</b>"
        figure = f" Site: {html_text(c['figure'])}." if c["figure"] else ""
        decision = "" if c["outcome"] == "meets" else f" {html_text(c['decision'])}"
        did = f" Decided: {html_text(decided[c['key']])}." if c["key"] in decided else ""
        lines.append(f"{state} {html_text(c['line'])}.{value}{figure}{decision}{did}")
    return _columns("Checks easily left out", lines, "")


def _advice(advice: list[Mapping]) -> str:
    rows = []
    for a in advice:
        answer = f"declined by {html_text(a['declined_by'])}" if a["declined_by"] else "taken"
        rows.append(_row(html_text(a["point"]), html_text(a["given"]), answer, html_text(a["when"])))
    return _table("Advice", ("Point", "Advice given", "Answer", "When"), rows, "No advice recorded.")


def _installation(made: Mapping) -> str:
    text = "; ".join(f"{html_text(what)}: {html_text(figure)}" for what, figure in made["installation"])
    changes = "; ".join(html_text(words) for words in made["changes"]) or "none"
    return f'<h2>Installation</h2><p class="small">{text}. Changed in the course: {changes}.</p>'
