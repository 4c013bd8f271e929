"""What marking gives, written out: tables, results in the QTI standard, and a page to print or save as PDF.

Each time is a new folder, batch-1, batch-2 and so on: a mark given once stays to be seen.
"""

from __future__ import annotations

import base64
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path

from gaslab.assess import exports, pack, qti_results
from gaslab.assess.cohort import Cohort
from gaslab.assess.guide import Key
from gaslab.assess.results import Result, teach_next
from gaslab.assess.standard import Decision
from gaslab.escape import html_text
from gaslab.refit.folder import write_new

MOST_BATCHES = 1_000


class ReportError(ValueError):
    """Results that cannot be written, told in one sentence."""


def new_batch(results: Path) -> Path:
    """Make the next free folder batch-1, batch-2, ... and return it."""
    for number in range(1, MOST_BATCHES + 1):
        folder = results / f"batch-{number}"
        try:
            folder.mkdir(parents=True)
        except FileExistsError:
            continue
        return folder
    raise ReportError(f"There are {MOST_BATCHES} batches in {results.name}. Move the old ones away first.")


def write(
    folder: Path,
    key: Key,
    cohort: Cohort,
    marked: Callable[[], Iterable[Result]],
    decisions: Mapping[str, Decision],
    drawings: Mapping[str, str],
) -> tuple[str, ...]:
    """Write every table and the page into a new, empty folder, and return the names of the files.

    `marked` gives the marked attempts anew each time it is called, so no batch has to fit in memory twice.
    `drawings` are caption -> SVG text.
    """
    found = cohort.analysis()
    files = {
        "results.csv": exports.results_csv(marked(), decisions, spreadsheet=True),
        "steps.csv": exports.steps_csv(marked(), spreadsheet=True),
        "items.csv": exports.items_csv(found, spreadsheet=True),
        "slips.csv": exports.slips_csv(cohort.slips(), spreadsheet=True),
        "results-qti.zip": qti_results.results_package(marked(), key.paper, key.plan.date),
        "report.html": page(key, cohort, decisions, drawings),
    }
    for name, data in files.items():
        write_new(folder / name, data)
    return tuple(files)


def page(key: Key, cohort: Cohort, decisions: Mapping[str, Decision], drawings: Mapping[str, str]) -> bytes:
    """Return the results as one page that needs nothing from outside."""
    most = sum(cohort.most)
    rows = [
        (name, f"{score} of {most}", _decided(decisions.get(name)))
        for name, score in zip(cohort.candidates, cohort.scores(), strict=True)
    ]
    notes = [
        f"Paper {key.paper}, {key.plan.date}. {len(rows)} marked, {len(cohort.refused)} not marked.",
        cohort.analysis().refused or "The item figures stand in items.csv.",
        *teach_next(cohort.slips()),
    ]
    title = f"Results: {key.plan.title}"
    body = "".join((
        f"<h1>{html_text(title)}</h1>\n", *(f"<p>{html_text(note)}</p>\n" for note in notes),
        *(_figure(caption, svg) for caption, svg in drawings.items()),
        _table("Candidates", ("candidate", "score", "decision"), rows),
        _table("Answers that would pass what fails", ("candidate", "item", "step", "reason"), cohort.unsafe),
        _table("Files not marked", ("file", "reason"), [(r.file, r.reason) for r in cohort.refused]),
    ))  # fmt: skip
    return pack.page(title, body)


def _decided(made: Decision | None) -> str:
    return f"{made.outcome}: {made.reason}" if made else "no cut is set"


def _figure(caption: str, svg: str) -> str:
    data = base64.b64encode(svg.encode("utf-8")).decode("ascii")
    return (
        f'<section><p>{html_text(caption)}</p><img alt="{html_text(caption)}" style="width:60%" '
        f'src="data:image/svg+xml;base64,{data}"></section>\n'
    )


def _table(caption: str, heads: tuple[str, ...], rows: Iterable[tuple]) -> str:
    head = "".join(f'<th scope="col">{html_text(each)}</th>' for each in heads)
    body = "".join(
        "<tr>" + "".join(f"<td>{html_text(cell)}</td>" for cell in row) + "</tr>\n" for row in rows
    )
    if not body:
        return f"<p>{html_text(caption)}: none.</p>\n"
    return f"<section><h2>{html_text(caption)}</h2><table><tr>{head}</tr>\n{body}</table></section>\n"
